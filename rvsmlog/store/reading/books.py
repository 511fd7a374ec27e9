"""Logbooks as they stand: found by name, their seals, and what corrects what."""

from sqlalchemy import Connection, Row, select

from rvsmlog.errors import InputError, StoreError
from rvsmlog.facts import Seal
from rvsmlog.frozen import dataclass
from rvsmlog.store.encoding import genesis, stored_correction, stored_digest, stored_number
from rvsmlog.store.given import check_number
from rvsmlog.store.tables import entry, logbook

#: Name of the operator's logbook.
OPERATOR = "operator"
#: The highest number that a column holds.
_MOST = 2**63 - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """A logbook as it stands in the store."""

    id: int
    uid: str
    kind: str
    name: str


def as_book(row: Row[tuple[int, str, str, str]]) -> Book:
    """Make a logbook of its row.

    Raises
    ------
    StoreError
        When a value is of another type than the store keeps there: the file was damaged or changed.
    """
    found = (row.id, row.uid, row.kind, row.name)
    if tuple(map(type, found)) != (int, str, str, str):
        raise StoreError(
            f"the store is damaged: a logbook reads {found!r}",
            "do not write to it; run `rvsmlog store verify` and restore the newest backup",
        )
    return Book(id=row.id, uid=row.uid, kind=row.kind, name=row.name)


def airframe_book_name(type_designator: str, serial_number: str) -> str:
    """Give the name of an airframe's logbook: type and serial number never change."""
    return f"{type_designator}-{serial_number}"


def find_book(connection: Connection, name: str) -> Book | None:
    """Give the logbook of a name, or None."""
    row = connection.execute(select(logbook).where(logbook.c.name == name)).first()
    return None if row is None else as_book(row)


def books(connection: Connection) -> tuple[Book, ...]:
    """Give all logbooks in the order in which they were opened."""
    rows = connection.execute(select(logbook).order_by(logbook.c.id))
    return tuple(map(as_book, rows))


def seal(connection: Connection, book: Book, head: int | None = None) -> Seal:
    """Give a logbook's newest number and digest, or those of an earlier entry."""
    query = select(entry.c.number, entry.c.digest).where(entry.c.logbook_id == book.id)
    if head is not None:
        query = query.where(entry.c.number <= head)
    row = connection.execute(query.order_by(entry.c.number.desc()).limit(1)).first()
    if row is None:
        start = genesis(book.uid, book.kind, book.name)
        return Seal(logbook=book.name, entry=0, digest=start.hex())
    return Seal(
        logbook=book.name, entry=stored_number(row.number), digest=stored_digest(row.digest).hex()
    )


def entry_kind(connection: Connection, book: Book, number: int) -> tuple[str, int | None]:
    """Give the kind of an entry and the number that it supersedes.

    Raises
    ------
    InputError
        When there is no such entry.
    """
    check_number(number, book.name)
    found = select(entry.c.kind, entry.c.supersedes).where(
        entry.c.logbook_id == book.id, entry.c.number == number
    )
    # A number that no column holds is no entry's either, and the driver would not pass it on.
    row = connection.execute(found).first() if 0 < number <= _MOST else None
    if row is None:
        raise InputError(
            f"there is no entry {book.name}#{number}",
            "the lists show the numbers, such as `rvsmlog crosscheck list REG`",
        )
    if row.supersedes is not None:
        stored_correction(row.supersedes, number)
    return row.kind, row.supersedes


def superseded_by(connection: Connection, book: Book, number: int) -> tuple[int, str] | None:
    """Give the number and kind of the entry that corrects one, or None."""
    row = connection.execute(
        select(entry.c.number, entry.c.kind).where(
            entry.c.logbook_id == book.id, entry.c.supersedes == number
        )
    ).first()
    if row is None:
        return None
    stored_correction(number, row.number)
    return row.number, row.kind


def first_made(connection: Connection, book: Book, number: int) -> tuple[int, str]:
    """Follow corrections back: give the number first made and its kind."""
    kind, supersedes = entry_kind(connection, book, number)
    while supersedes is not None:
        number = supersedes
        kind, supersedes = entry_kind(connection, book, number)
    return number, kind


def newest_made(connection: Connection, book: Book, number: int) -> tuple[int, str]:
    """Follow corrections forward: give the newest number and its kind."""
    newest = number, entry_kind(connection, book, number)[0]
    while (later := superseded_by(connection, book, newest[0])) is not None:
        newest = later
    return newest
