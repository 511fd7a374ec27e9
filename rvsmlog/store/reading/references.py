"""What an entry names must be there: corrections and references, checked before writing."""

from dataclasses import replace
from functools import cache

from sqlalchemy import Connection, select

from rvsmlog.errors import InputError
from rvsmlog.records.airframe import Equipment
from rvsmlog.records.base import FieldError, Record, RecordKind
from rvsmlog.records.kinds import KIND, called
from rvsmlog.records.people import LASTING, Person
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.store.encoding import stored_number
from rvsmlog.store.reading.books import Book, entry_kind, first_made, newest_made, superseded_by
from rvsmlog.store.tables import STRIKE, detail


def check_correction(connection: Connection, book: Book, kind: str, supersedes: int) -> int:
    """Check that an entry may be corrected so, and give the number first made.

    Raises
    ------
    InputError
        When there is no such entry, it is of another kind, or it was corrected already.
    """
    root, root_kind = first_made(connection, book, supersedes)
    if root_kind in LASTING:
        raise InputError(
            f"{book.name}#{supersedes} is {_title(root_kind)}", "it stays as it is, for good"
        )
    if kind not in (STRIKE, root_kind):
        raise InputError(
            f"{book.name}#{supersedes} is {_title(root_kind)}, not {_title(kind)}",
            "a correction is of the same kind",
        )
    if entry_kind(connection, book, supersedes)[0] == STRIKE == kind:
        raise InputError(f"{book.name}#{supersedes} strikes out already", "enter it anew instead")
    later = superseded_by(connection, book, supersedes)
    if later is not None:
        raise InputError(
            f"{book.name}#{supersedes} was corrected by #{later[0]} already",
            f"correct #{later[0]} instead",
        )
    return root


@cache
def entry_fields(kind: RecordKind) -> tuple[tuple[str, EntryNumber], ...]:
    """Give the fields of a kind that name other entries."""
    return tuple(
        (spec.name, spec.type) for spec in kind.fields if isinstance(spec.type, EntryNumber)
    )


def depends(kind: RecordKind) -> bool:
    """Say whether an entry of a kind is held against others, and so must be written after them."""
    return bool(entry_fields(kind)) or kind in (Person.kind, Equipment.kind)


def resolve(connection: Connection, book: Book, record: Record, first: int | None) -> Record:
    """Check the entries that a record names, and name each by the number first made.

    Parameters
    ----------
    connection, book
        Where.
    record : Record
        The record to be written.
    first : int or None
        The number first made of the entry that it corrects.

    Raises
    ------
    FieldError
        When an entry is not there, of the wrong kind, struck out, or taken already.
    """
    changes: dict[str, int] = {}
    for name, wanted in entry_fields(record.kind):
        value = getattr(record, name)
        if value is not None:
            root = _check_reference(connection, book, name, wanted, value)
            if wanted.once:
                _check_once(connection, book, record, name, root, first)
            changes[name] = root
    if not changes:
        return record
    return replace(record, **changes)  # type: ignore[type-var]  # every record is a dataclass


def _check_reference(
    connection: Connection, book: Book, name: str, wanted: EntryNumber, value: int
) -> int:
    """Check one reference and give the number first made."""
    try:
        root, root_kind = first_made(connection, book, value)
    except InputError as error:
        raise FieldError(name, error.message, f"write {wanted.wanted}") from None
    if wanted.kinds and root_kind not in wanted.kinds:
        raise FieldError(
            name,
            f"{book.name}#{value} is {_title(root_kind)}",
            f"write {wanted.wanted}; the lists show the numbers",
        )
    newest, newest_kind = newest_made(connection, book, root)
    if newest_kind == STRIKE:
        raise FieldError(name, f"{book.name}#{value} was struck out by #{newest}")
    return root


def _check_once(
    connection: Connection, book: Book, record: Record, name: str, root: int, first: int | None
) -> None:
    """Refuse a second entry where only one makes sense, a second removal say."""
    table = detail[record.kind.name]
    numbers = connection.execute(
        select(table.c.number).where(table.c.logbook_id == book.id, table.c[name] == root)
    ).scalars()
    for number in map(stored_number, numbers.all()):
        if superseded_by(connection, book, number) is not None:
            continue  # It was struck out, or corrected: what it named then no longer counts.
        if first_made(connection, book, number)[0] != first:
            raise FieldError(
                name,
                f"{book.name}#{root} has its {record.kind.title} already, #{number}",
                "correct or strike out that entry instead",
            )


def _title(kind: str) -> str:
    """Give what the trade calls a kind of entry."""
    return called(KIND[kind]) if kind in KIND else "a struck entry"
