"""Writing: numbered entries are added to logbooks, corrected by later ones, never changed.

This is the only module that writes records. A :class:`Writer` holds one transaction: all its
entries are kept, or none.
"""

import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from itertools import groupby, islice

from sqlalchemy import Connection, insert, select

from rvsmlog.dates import show_instant
from rvsmlog.errors import InputError, StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe, Swap
from rvsmlog.records.base import Logbook, Record, RecordKind, Ref
from rvsmlog.records.fields import Scalar
from rvsmlog.records.kinds import KIND
from rvsmlog.records.trade_fields import (
    instant_to_scalar,
    scalar_to_instant,
    stored_instant,
)
from rvsmlog.store.books import Book, find_book
from rvsmlog.store.bulk import insert_rows
from rvsmlog.store.connection import Store, check_revision
from rvsmlog.store.encoding import Head, genesis, next_digest, plain_digest, plain_frame
from rvsmlog.store.foreign import Foreign, check_follows, check_same
from rvsmlog.store.order import check_order
from rvsmlog.store.placement import check_swap
from rvsmlog.store.prepared import Prepared, made_ready
from rvsmlog.store.references import check_correction, entry_fields, resolve
from rvsmlog.store.tables import STRIKE, detail, entry, logbook, table_name
from rvsmlog.store.vetting import AUTHOR, check_identity, check_not_future, checked_reason

#: A clock that is behind the newest entry by more than this is not believed.
CLOCK_TOLERANCE = timedelta(minutes=10)

_BATCH = 1000
#: Pages of a big import that are held in memory, KiB.
_ROOM_KIB = 65_536
_ENTRY_COLUMNS = (
    *("logbook_id", "number", "kind", "recorded_at", "recorded_by", "supersedes", "reason"),
    "digest",
)


@dataclass(slots=True)
class _Tip:
    """The newest entry of a logbook while a transaction adds to it."""

    number: int
    digest: bytes
    recorded_at: int

    def step(self, head: Head, digest: bytes) -> None:
        """Go on to an entry just made."""
        self.number, self.digest, self.recorded_at = head.number, digest, head.recorded_at


#: An entry to be written: its head, its fields as stored, its digest.
_Made = tuple[Head, Mapping[str, Scalar | None], bytes]


class Writer:
    """Adds entries within one transaction.

    Parameters
    ----------
    connection : Connection
        In a write transaction.
    by : str
        Who records.
    now : datetime
        The machine's clock, aware.
    """

    def __init__(self, connection: Connection, by: str, now: datetime) -> None:
        try:
            self.by = AUTHOR.parse(by)
        except InputError as error:
            raise InputError(f"who records: {error.message}", "name yourself with --by") from None
        self.connection = connection
        self.now = now
        self._tips: dict[int, _Tip] = {}

    def open_book(self, kind: Logbook, name: str, uid: str | None = None) -> Book:
        """Open a new logbook, or one that was begun in another store under a uid.

        Raises
        ------
        InputError
            When there is one of that name already.
        """
        if find_book(self.connection, name) is not None:
            raise InputError(f"there is a logbook {name} already", "add to it instead")
        values = {"uid": uid or str(uuid.uuid4()), "kind": kind.value, "name": name}
        result = self.connection.execute(insert(logbook).values(**values).returning(logbook.c.id))
        return Book(id=result.scalar_one(), **values)

    def newest(self, book: Book) -> int:
        """Lock a logbook for the rest of the transaction, and give its newest number."""
        return self._tip(book).number

    def append(
        self,
        book: Book,
        record: Record,
        *,
        supersedes: int | None = None,
        reason: str | None = None,
    ) -> Ref:
        """Add one entry.

        Parameters
        ----------
        book : Book
            Where.
        record : Record
            What.
        supersedes : int, optional
            The entry that it corrects; of the same kind.
        reason : str, optional
            Why it corrects; wanted with ``supersedes``.

        Returns
        -------
        Ref
            The new entry.

        Raises
        ------
        InputError
            When the record belongs elsewhere, names an entry that is not there, lies in the
            future, or the correction is not allowed.
        """
        record = self.vet(book, record, supersedes)
        return self._add(book, record.kind.name, record, supersedes, reason)

    def append_many(self, book: Book, records: Iterable[Record]) -> range:
        """Add many entries to one logbook, a batch at a time.

        Parameters
        ----------
        book : Book
            Where.
        records : iterable of Record
            What; read once, a batch at a time.

        Returns
        -------
        range
            The numbers given, in the order of the records.

        Raises
        ------
        InputError
            As :meth:`append`; the transaction must then be given up.
        """
        first = self._tip(book).number + 1
        pending = iter(records)
        while batch := tuple(islice(pending, _BATCH)):
            if any(entry_fields(record.kind) for record in batch):
                for record in batch:
                    self.append(book, record)
            else:
                self._add_many(book, [self.vet(book, record) for record in batch])
        return range(first, self._tip(book).number + 1)

    def append_ready(self, book: Book, prepared: Sequence[Prepared]) -> range:
        """Add entries of one kind that were vetted already.

        Parameters
        ----------
        book : Book
            Where.
        prepared : sequence of Prepared
            What; each was made of a record that :meth:`vet` gave in this transaction, with none
            of them named or superseded by another.

        Returns
        -------
        range
            The numbers given.
        """
        first = self._tip(book).number + 1
        if prepared:
            self._add_ready(book, prepared[0].record.kind, prepared)
        return range(first, first + len(prepared))

    def vet(
        self,
        book: Book,
        record: Record,
        supersedes: int | None = None,
        *,
        made_at: datetime | None = None,
    ) -> Record:
        """Check that a record may be added, and give it with its references made good.

        Parameters
        ----------
        book, record, supersedes
            As :meth:`append`.
        made_at : datetime, optional
            When the entry was made; now when left out.

        Raises
        ------
        InputError
            As :meth:`append`.
        """
        # The lock comes before the checks: what they find must still hold when it is written.
        self._tip(book)
        kind = record.kind
        if kind.logbook.value != book.kind:
            raise InputError(
                f"{kind.title} does not belong in the logbook {book.name}",
                f"it belongs in the {kind.logbook.value}'s logbook",
            )
        if isinstance(record, Airframe):
            check_identity(book, record)
        check_not_future(record, made_at or self.now)
        first = None
        if supersedes is not None:
            first = check_correction(self.connection, book, kind.name, supersedes)
        record = resolve(self.connection, book, record, first)
        if isinstance(record, Swap):
            check_swap(self.connection, book, record, first)
        if made_at is None:
            check_order(self.connection, book, record, first)
        return record

    def strike(self, book: Book, number: int, reason: str) -> Ref:
        """Strike out an entry: it stays readable, and no rule reads it any more."""
        self._tip(book)
        check_correction(self.connection, book, STRIKE, number)
        return self._add(book, STRIKE, None, number, reason)

    def _add(
        self,
        book: Book,
        kind: str,
        record: Record | None,
        supersedes: int | None,
        reason: str | None,
    ) -> Ref:
        """Take the next number and write entry and details."""
        tip = self._tip(book)
        head = Head(
            number=tip.number + 1,
            kind=kind,
            recorded_at=self._recorded_at(book, tip),
            recorded_by=self.by,
            supersedes=supersedes,
            reason=checked_reason(supersedes, reason),
        )
        scalars = {} if record is None else record.scalars()
        digest = next_digest(tip.digest, head, scalars)
        self.connection.execute(
            insert(entry),
            {
                "logbook_id": book.id,
                "number": head.number,
                "kind": kind,
                "recorded_at": head.recorded_at,
                "recorded_by": head.recorded_by,
                "supersedes": head.supersedes,
                "reason": head.reason,
                "digest": digest,
            },
        )
        if record is not None:
            row = {"logbook_id": book.id, "number": head.number, **scalars}
            self.connection.execute(insert(detail[kind]), row)
        tip.step(head, digest)
        return Ref(logbook=book.name, entry=head.number)

    def _add_many(self, book: Book, records: Iterable[Record]) -> None:
        """Take the next numbers and write entries and details, kind by kind as they stand."""
        for kind, same in groupby(records, lambda record: record.kind):
            self._add_ready(book, kind, [made_ready(record) for record in same])

    def _add_ready(self, book: Book, kind: RecordKind, prepared: Sequence[Prepared]) -> None:
        """Take the next numbers and write entries and details by the driver's bulk insert."""
        tip = self._tip(book)
        recorded_at = self._recorded_at(book, tip)
        frame = plain_frame(kind.name, recorded_at, self.by)
        entries: list[tuple[object, ...]] = []
        details: list[tuple[object, ...]] = []
        digest = tip.digest
        for number, each in enumerate(prepared, tip.number + 1):
            digest = plain_digest(digest, number, frame, each.body)
            entries.append((book.id, number, kind.name, recorded_at, self.by, None, None, digest))
            details.append((book.id, number, *each.scalars))
        insert_rows(self.connection, "entry", _ENTRY_COLUMNS, entries)
        names = ("logbook_id", "number", *kind.by_name)
        insert_rows(self.connection, table_name(kind), names, details)
        tip.number, tip.digest, tip.recorded_at = tip.number + len(prepared), digest, recorded_at

    def expect_many(self) -> None:
        """Give the transaction more room in memory for the pages of the indexes."""
        if self.connection.dialect.name == "sqlite":
            self.connection.exec_driver_sql(f"PRAGMA cache_size = -{_ROOM_KIB}")

    def replay(self, book: Book, entries: Iterable[Foreign]) -> int:
        """Add entries made in another store, as they are: numbers, authors, times and digests.

        Every digest is computed anew, and each entry must have been possible where it stands: what
        it corrects or names must be there, and no time runs backwards.

        Parameters
        ----------
        book : Book
            The same logbook here, with all entries before these.
        entries : iterable of Foreign
            In the order of their numbers; read once, a batch at a time.

        Returns
        -------
        int
            How many were added.

        Raises
        ------
        InputError
            At the first entry that does not follow from those before it; the transaction must then
            be given up.
        """
        first = self._tip(book).number
        made: list[_Made] = []
        for foreign in entries:
            head = foreign.head
            if len(made) >= _BATCH or head.supersedes is not None or _names_others(foreign.record):
                # What an entry is held against must be there to be found.
                self._insert(book, made)
                made.clear()
            self._vet_foreign(book, foreign)
            self._tip(book).step(head, foreign.digest)
            made.append((head, foreign.scalars, foreign.digest))
        self._insert(book, made)
        return self._tip(book).number - first

    def _vet_foreign(self, book: Book, foreign: Foreign) -> None:
        """Check that an entry made elsewhere follows from those before it."""
        tip, head = self._tip(book), foreign.head
        where = f"{book.name}#{head.number}"
        check_follows(where, foreign, tip.number, tip.recorded_at, self.now)
        if next_digest(tip.digest, head, foreign.scalars) != foreign.digest:
            says = f"{where}: the digest does not agree with what the entry says"
            raise InputError(says, "the file was changed; ask for it anew")
        try:
            if foreign.record is None:
                check_correction(self.connection, book, STRIKE, head.supersedes or 0)
            else:
                made_at = scalar_to_instant(head.recorded_at)
                record = self.vet(book, foreign.record, head.supersedes, made_at=made_at)
                check_same(foreign.record, record)
        except InputError as error:
            raise InputError(f"{where}: {error.message}", error.hint) from None

    def _insert(self, book: Book, made: Sequence[_Made]) -> None:
        """Write entries and their details by the driver's bulk insert."""
        entries = []
        details: dict[str, list[tuple[Scalar | None, ...]]] = {}
        for head, scalars, digest in made:
            entries.append(
                (
                    *(book.id, head.number, head.kind, head.recorded_at, head.recorded_by),
                    *(head.supersedes, head.reason, digest),
                )
            )
            if head.kind != STRIKE:
                values = (scalars.get(name) for name in KIND[head.kind].by_name)
                details.setdefault(head.kind, []).append((book.id, head.number, *values))
        if entries:
            insert_rows(self.connection, "entry", _ENTRY_COLUMNS, entries)
        for kind, rows in details.items():
            names = ("logbook_id", "number", *KIND[kind].by_name)
            insert_rows(self.connection, table_name(KIND[kind]), names, rows)

    def _tip(self, book: Book) -> _Tip:
        """Read the newest entry once; on a server the logbook's row is locked first."""
        known = self._tips.get(book.id)
        if known is not None:
            return known
        self.connection.execute(
            select(logbook.c.id).where(logbook.c.id == book.id).with_for_update()
        )
        row = self.connection.execute(
            select(entry.c.number, entry.c.digest, entry.c.recorded_at)
            .where(entry.c.logbook_id == book.id)
            .order_by(entry.c.number.desc())
            .limit(1)
        ).first()
        if row is None:
            tip = _Tip(0, genesis(book.uid, book.kind, book.name), 0)
        else:
            tip = _Tip(row.number, bytes(row.digest), row.recorded_at)
        self._tips[book.id] = tip
        return tip

    def _recorded_at(self, book: Book, tip: _Tip) -> int:
        """Give the time of entry; it never runs backwards within a logbook.

        Raises
        ------
        StoreError
            When the clock is well behind the newest entry: one of the two is wrong.
        """
        clock = instant_to_scalar(self.now)
        if clock >= tip.recorded_at:
            return clock
        newest = stored_instant(tip.recorded_at)
        if newest - self.now > CLOCK_TOLERANCE:
            raise StoreError(
                f"the clock says {show_instant(self.now)}, but the newest entry of {book.name} "
                f"was made at {show_instant(newest)}",
                "set the machine's clock; entries are made in the order of time",
            )
        return tip.recorded_at


def _names_others(record: Record | None) -> bool:
    """Say whether a record names other entries."""
    return record is not None and bool(entry_fields(record.kind))


@contextmanager
def writing(store: Store, by: str, clock: Callable[[], datetime]) -> Iterator[Writer]:
    """Give a writer in one transaction: all its entries are kept, or none.

    Parameters
    ----------
    store : Store
        An open store.
    by : str
        Who records.
    clock : callable
        Gives the present instant. It is read after the lock is taken, so that a writer who had
        to wait does not come with an old time.
    """
    with store.changing() as connection:
        # Another edition may have upgraded the store since it was opened.
        check_revision(store, connection)
        yield Writer(connection, by, clock())
