"""One entry with its history: what it corrects, what corrects it, which entries name it."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from rvsmlog.records.base import Record, Ref
from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.records.trade_fields import EntryNumber, scalar_to_instant
from rvsmlog.store.books import Book, first_made, superseded_by
from rvsmlog.store.tables import STRIKE, detail, entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """One entry of a chain of corrections.

    Parameters
    ----------
    ref : Ref
        The entry.
    kind : str
        Its kind; ``strike`` for one that strikes out.
    recorded_at : datetime
        When it was made, UTC.
    recorded_by : str
        Who made it.
    supersedes : int or None
        The entry that it corrects.
    reason : str or None
        Why.
    digest : str
        Its digest, hexadecimal.
    record : Record or None
        What it says; None for one that strikes out.
    """

    ref: Ref
    kind: str
    recorded_at: datetime
    recorded_by: str
    supersedes: int | None
    reason: str | None
    digest: str
    record: Record | None


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """An entry, the chain in which it stands, and the entries that name it.

    Parameters
    ----------
    entry : Version
        The one asked for.
    chain : tuple of Version
        From the one first made to the newest.
    named_by : tuple of (Ref, str)
        Entries that name any of the chain, with their kind.
    """

    entry: Version
    chain: tuple[Version, ...]
    named_by: tuple[tuple[Ref, str], ...]

    @property
    def newest(self) -> Version:
        """The newest of the chain: what counts now."""
        return self.chain[-1]

    @property
    def state(self) -> str:
        """How the entry stands: ``standing``, ``corrected`` or ``struck out``."""
        if self.newest.kind == STRIKE:
            return "strikes out" if self.entry is self.newest else "struck out"
        return "standing" if self.entry is self.newest else "corrected"


def history(connection: Connection, book: Book, number: int) -> History:
    """Read one entry with its history.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    book : Book
        The logbook.
    number : int
        The entry.

    Raises
    ------
    InputError
        When there is no such entry.
    """
    root, _ = first_made(connection, book, number)
    numbers = [root]
    while (later := superseded_by(connection, book, numbers[-1])) is not None:
        numbers.append(later[0])
    chain = tuple(_version(connection, book, each) for each in numbers)
    return History(
        entry=chain[numbers.index(number)],
        chain=chain,
        named_by=_named_by(connection, book, root),
    )


def _version(connection: Connection, book: Book, number: int) -> Version:
    """Read one entry that is there."""
    row = connection.execute(
        select(entry).where(entry.c.logbook_id == book.id, entry.c.number == number)
    ).one()
    return Version(
        ref=Ref(logbook=book.name, entry=number),
        kind=row.kind,
        recorded_at=scalar_to_instant(row.recorded_at),
        recorded_by=row.recorded_by,
        supersedes=row.supersedes,
        reason=row.reason,
        digest=bytes(row.digest).hex(),
        record=None if row.kind == STRIKE else _record(connection, book, row.kind, number),
    )


def _record(connection: Connection, book: Book, kind: str, number: int) -> Record:
    """Read an entry's details."""
    table = detail[kind]
    row = connection.execute(
        select(table).where(table.c.logbook_id == book.id, table.c.number == number)
    ).one()
    return KIND[kind].read({spec.name: row._mapping[spec.name] for spec in KIND[kind].fields})


def _named_by(connection: Connection, book: Book, root: int) -> tuple[tuple[Ref, str], ...]:
    """Find the entries that name one; references are kept by the number first made."""
    found = []
    for kind in KINDS:
        for spec in kind.fields:
            if isinstance(spec.type, EntryNumber):
                table = detail[kind.name]
                numbers = connection.execute(
                    select(table.c.number).where(
                        table.c.logbook_id == book.id, table.c[spec.name] == root
                    )
                ).scalars()
                found += [(number, kind.name) for number in numbers]
    return tuple((Ref(logbook=book.name, entry=number), kind) for number, kind in sorted(found))
