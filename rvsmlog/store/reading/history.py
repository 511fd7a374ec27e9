"""One entry with its history: what it corrects, what corrects it, which entries name it."""

from datetime import datetime

from sqlalchemy import Connection, select

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Record, Ref
from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.records.trade_fields import stored_instant
from rvsmlog.store.encoding import stored_digest
from rvsmlog.store.reading.books import Book, entry_kind, first_made, superseded_by
from rvsmlog.store.reading.references import entry_fields
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
class Naming:
    """An entry that names another.

    Parameters
    ----------
    ref : Ref
        The entry.
    kind : str
        Its kind.
    superseded_by : int or None
        The entry that corrects it or strikes it out; None where it stands.
    struck : bool
        Whether it was struck out.
    """

    ref: Ref
    kind: str
    superseded_by: int | None
    struck: bool

    @property
    def state(self) -> str:
        """How it stands."""
        if self.superseded_by is None:
            return "standing"
        return f"{'struck out' if self.struck else 'corrected'} by #{self.superseded_by}"


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """An entry, the chain in which it stands, and the entries that name it.

    Parameters
    ----------
    entry : Version
        The one asked for.
    chain : tuple of Version
        From the one first made to the newest.
    named_by : tuple of Naming
        Entries that name any of the chain.
    """

    entry: Version
    chain: tuple[Version, ...]
    named_by: tuple[Naming, ...]

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


def said(connection: Connection, book: Book, number: int) -> Record:
    """Give what an entry says; of one that strikes out, what was struck out.

    Raises
    ------
    InputError
        When there is no such entry.
    """
    kind, supersedes = entry_kind(connection, book, number)
    while kind == STRIKE and supersedes is not None:
        number = supersedes
        kind, supersedes = entry_kind(connection, book, number)
    return _record(connection, book, kind, number)


def _version(connection: Connection, book: Book, number: int) -> Version:
    """Read one entry that is there."""
    row = connection.execute(
        select(entry).where(entry.c.logbook_id == book.id, entry.c.number == number)
    ).one()
    return Version(
        ref=Ref(logbook=book.name, entry=number),
        kind=row.kind,
        recorded_at=stored_instant(row.recorded_at),
        recorded_by=row.recorded_by,
        supersedes=row.supersedes,
        reason=row.reason,
        digest=stored_digest(row.digest).hex(),
        record=None if row.kind == STRIKE else _record(connection, book, row.kind, number),
    )


def _record(connection: Connection, book: Book, kind: str, number: int) -> Record:
    """Read an entry's details."""
    table = detail[kind]
    row = connection.execute(
        select(table).where(table.c.logbook_id == book.id, table.c.number == number)
    ).one()
    return KIND[kind].read({spec.name: row._mapping[spec.name] for spec in KIND[kind].fields})


def _named_by(connection: Connection, book: Book, root: int) -> tuple[Naming, ...]:
    """Find the entries that name one; references are kept by the number first made."""
    found: dict[int, str] = {}
    for kind in KINDS:
        for name, _ in entry_fields(kind):
            table = detail[kind.name]
            numbers = connection.execute(
                select(table.c.number).where(table.c.logbook_id == book.id, table.c[name] == root)
            ).scalars()
            found |= dict.fromkeys(numbers, kind.name)
    return tuple(_naming(connection, book, number, kind) for number, kind in sorted(found.items()))


def _naming(connection: Connection, book: Book, number: int, kind: str) -> Naming:
    """Say how an entry stands that names another."""
    later = superseded_by(connection, book, number)
    return Naming(
        ref=Ref(logbook=book.name, entry=number),
        kind=kind,
        superseded_by=None if later is None else later[0],
        struck=later is not None and later[1] == STRIKE,
    )
