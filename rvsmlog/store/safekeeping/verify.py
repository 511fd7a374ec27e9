"""Verification: every digest of every logbook is computed anew and held against what is kept."""

import struct
from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from sqlalchemy import Connection, text

from rvsmlog.facts import Seal
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import RecordKind
from rvsmlog.records.fields import Scalar
from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.records.people import CLOCK_KINDS
from rvsmlog.store.encoding import Head, genesis, next_digest
from rvsmlog.store.reading.books import Book, books
from rvsmlog.store.reading.reader import newest_number
from rvsmlog.store.tables import STRIKE, table_name

Progress = Callable[[int], None]
_FETCH = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing found wrong in a logbook, or in the store as a whole where no entry is named."""

    logbook: str
    entry: int | None
    says: str

    def __str__(self) -> str:
        where = self.logbook if self.entry is None else f"{self.logbook}#{self.entry}"
        return f"{where} {self.says}"


class Entered(NamedTuple):
    """One entry as it is kept: its head, its details (None where they cannot be had), its digest.

    A head of what no entry ever held may have values of any type.
    """

    head: Head
    scalars: Mapping[str, Scalar | None] | None
    digest: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """What a verification found.

    Parameters
    ----------
    entries : int
        Entries whose digests were computed.
    faults : tuple of Fault
        What is wrong; in each logbook the chain cannot be trusted from the first fault on.
    seals : tuple of Seal
        Newest number and digest of each logbook.
    """

    entries: int
    faults: tuple[Fault, ...]
    seals: tuple[Seal, ...]


def entries_to_verify(connection: Connection) -> int:
    """Give how many entries there are, by the newest number of each logbook."""
    return sum(newest_number(connection, book) for book in books(connection))


def verify(connection: Connection, progress: Progress | None = None) -> Verification:
    """Compute every digest anew.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    progress : callable, optional
        Told the number of entries done, now and then.

    Returns
    -------
    Verification
        Without faults when the store holds exactly what was once written.
    """
    faults: list[Fault] = []
    seals: list[Seal] = []
    done = 0
    for book in books(connection):
        walk = BookWalk(connection, book)
        for _ in walk:
            done += 1
            if progress is not None and done % _FETCH == 0:
                progress(done)
        faults.extend(walk.faults)
        seals.append(Seal(logbook=book.name, entry=walk.number, digest=walk.digest.hex()))
    faults.extend(_strays(connection))
    return Verification(entries=done, faults=tuple(faults), seals=tuple(seals))


class BookWalk:
    """Walks one logbook from its first entry on, and computes each digest anew.

    Iterate over it once. One stream of entries and one of details for each kind are read side by
    side, so that the memory taken does not grow with the log.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    book : Book
        The logbook.

    Attributes
    ----------
    faults : list of Fault
        What was found wrong so far.
    number, digest : int, bytes
        Those of the newest entry passed; 0 and the logbook's start before the first.
    """

    def __init__(self, connection: Connection, book: Book) -> None:
        if connection.dialect.name == "sqlite":
            # A text that is no UTF-8 any more shall be a fault of its entry, not end the reading.
            driver: Any = connection.connection.driver_connection
            driver.text_factory = _as_text
        self.connection = connection
        self.book = book
        self.faults: list[Fault] = []
        self.number = 0
        self.recorded_at = 0
        self.digest = genesis(book.uid, book.kind, book.name)
        self.details = {kind.name: _Details(connection, book, kind) for kind in KINDS}

    def __iter__(self) -> Iterator[Entered]:
        """Check entry by entry, and give each."""
        rows = _stream(
            self.connection,
            "SELECT number, kind, recorded_at, recorded_by, supersedes, reason, digest FROM entry "
            "WHERE logbook_id = :book ORDER BY number",
            book=self.book.id,
        )
        try:
            for number, kind, recorded_at, recorded_by, supersedes, reason, digest in rows:
                head = Head(
                    number=number,
                    kind=kind,
                    recorded_at=recorded_at,
                    recorded_by=recorded_by,
                    supersedes=supersedes,
                    reason=reason,
                )
                yield self._check(head, digest if isinstance(digest, bytes) else b"")
            for details in self.details.values():
                for stray in details.left():
                    self._fault(stray, "has details that belong to no entry of their kind")
        except TypeError:
            # SQLite keeps a value of any type in any column, and numbers sort before texts.
            self._fault(self.number + 1, "has a number that is none, as have those after it")

    def _fault(self, number: int, says: str) -> None:
        self.faults.append(Fault(logbook=self.book.name, entry=number, says=says))

    def _check(self, head: Head, kept: bytes) -> Entered:
        """Check one entry and step the chain forward."""
        expected = self.number + 1
        if head.number != expected:
            last = head.number - 1
            gap = f"#{expected}" if last == expected else f"#{expected}-#{last}"
            self._fault(head.number, f"follows a gap: {gap} missing")
        scalars = self._scalars(head)
        if scalars is not None and self._expected(head, scalars) != kept:
            self._fault(head.number, "was changed, or the entry before it was")
        # The kept digest carries the chain on, so that one change is reported once.
        self.number, self.digest = head.number, kept
        if isinstance(head.recorded_at, int):
            if head.recorded_at < self.recorded_at and head.kind not in CLOCK_KINDS:
                self._fault(head.number, "was made before the entry before it")
            self.recorded_at = head.recorded_at
        return Entered(head, scalars, kept)

    def _expected(self, head: Head, scalars: dict[str, Any]) -> bytes | None:
        """Compute an entry's digest; None when it holds what no entry ever held."""
        try:
            return next_digest(self.digest, head, scalars)
        except (struct.error, TypeError, ValueError, OverflowError):
            return None

    def _scalars(self, head: Head) -> dict[str, Any] | None:
        """Give an entry's details; None when they cannot be had, which is a fault."""
        if head.kind == STRIKE:
            return {}
        if head.kind not in KIND:
            self._fault(head.number, f"is of an unknown kind {head.kind!r}")
            return None
        scalars = self.details[head.kind].of(head.number)
        if scalars is None:
            self._fault(head.number, "has lost its details")
        return scalars


class _Details:
    """The details of one kind in one logbook, in order, read as they are needed."""

    def __init__(self, connection: Connection, book: Book, kind: RecordKind) -> None:
        self.names = [spec.name for spec in kind.fields]
        columns = ", ".join(("number", *self.names))
        self.rows = _stream(
            connection,
            f"SELECT {columns} FROM {table_name(kind)} WHERE logbook_id = :book ORDER BY number",
            book=book.id,
        )
        self.strays: list[int] = []
        self.next = next(self.rows, None)

    def of(self, number: int) -> dict[str, Any] | None:
        """Give an entry's details, present ones only; those passed over belong to no entry."""
        while self.next is not None and self.next[0] < number:
            self.strays.append(self.next[0])
            self.next = next(self.rows, None)
        if self.next is None or self.next[0] != number:
            return None
        values = zip(self.names, self.next[1:], strict=True)
        found = {name: value for name, value in values if value is not None}
        self.next = next(self.rows, None)
        return found

    def left(self) -> list[int]:
        """Give the numbers of details that no entry asked for."""
        rest = [] if self.next is None else [self.next[0]]
        return self.strays + rest + [row[0] for row in self.rows]


def _as_text(content: bytes) -> str:
    """Read a text; bytes that are none stay apart from every other text."""
    return content.decode("utf-8", "surrogateescape")


def _stream(connection: Connection, statement: str, **bound: object) -> Iterator[Any]:
    """Read rows a few at a time, so that a large log does not fill the memory."""
    if connection.dialect.name == "sqlite":
        # The driver's own rows: they are read by their place, by the million.
        driver: Any = connection.connection.driver_connection
        # Not the cursor itself: left half-way, as damage leaves it, it would be closed after the
        # database, and complain on the screen.
        yield from iter(driver.execute(statement, bound).fetchone, None)
        return
    result = connection.execute(text(statement), bound, execution_options={"yield_per": _FETCH})
    for rows in result.partitions():
        yield from rows


def _strays(connection: Connection) -> Iterator[Fault]:
    """Find entries and details whose logbook is not there."""
    for table in ("entry", *(table_name(kind) for kind in KINDS)):
        rows = connection.execute(
            text(
                f"SELECT logbook_id, number FROM {table} t WHERE NOT EXISTS "
                "(SELECT 1 FROM logbook b WHERE b.id = t.logbook_id) LIMIT 10"
            )
        )
        for row in rows:
            yield Fault(
                logbook=f"logbook {row[0]}", entry=row[1], says=f"in {table}: no such logbook"
            )
