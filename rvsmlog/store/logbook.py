"""Writing: numbered entries are added to logbooks, corrected by later ones, never changed.

This is the only module that writes records. A :class:`Writer` holds one transaction: all its
entries are kept, or none.
"""

import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from itertools import islice

from sqlalchemy import Connection, insert, select

from rvsmlog.dates import show_instant
from rvsmlog.errors import InputError, StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe, Swap
from rvsmlog.records.base import FieldError, Logbook, Record, Ref
from rvsmlog.records.fields import Scalar, Text
from rvsmlog.records.kinds import KIND
from rvsmlog.records.trade_fields import instant_to_scalar, scalar_to_instant
from rvsmlog.store.books import Book, airframe_book_name, find_book
from rvsmlog.store.connection import Store
from rvsmlog.store.encoding import Head, genesis, next_digest
from rvsmlog.store.placement import check_swap
from rvsmlog.store.references import check_correction, entry_fields, resolve
from rvsmlog.store.tables import STRIKE, detail, entry, logbook, table_name

#: A clock that is behind the newest entry by more than this is not believed.
CLOCK_TOLERANCE = timedelta(minutes=10)
#: How far ahead of the clock a recorded event may lie.
FUTURE_TOLERANCE = timedelta(minutes=10)

_BATCH = 1000
_ENTRY_COLUMNS = ("logbook_id", "number", "kind", "recorded_at", "recorded_by", "digest")
_AUTHOR = Text("who records", longest=80)
_REASON = Text("why")


@dataclass(slots=True)
class _Tip:
    """The newest entry of a logbook while a transaction adds to it."""

    number: int
    digest: bytes
    recorded_at: int


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
            self.by = _AUTHOR.parse(by)
        except InputError as error:
            raise InputError(f"who records: {error.message}", "name yourself with --by") from None
        self.connection = connection
        self.now = now
        self._tips: dict[int, _Tip] = {}

    def open_book(self, kind: Logbook, name: str) -> Book:
        """Open a new logbook.

        Raises
        ------
        InputError
            When there is one of that name already.
        """
        if find_book(self.connection, name) is not None:
            raise InputError(f"there is a logbook {name} already", "add to it instead")
        uid = str(uuid.uuid4())
        values = {"uid": uid, "kind": kind.value, "name": name}
        result = self.connection.execute(insert(logbook).values(**values).returning(logbook.c.id))
        return Book(id=result.scalar_one(), **values)

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

    def vet(self, book: Book, record: Record, supersedes: int | None = None) -> Record:
        """Check that a record may be added, and give it with its references made good.

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
            _check_identity(book, record)
        self._check_not_future(record)
        first = None
        if supersedes is not None:
            first = check_correction(self.connection, book, kind.name, supersedes)
        record = resolve(self.connection, book, record, first)
        if isinstance(record, Swap):
            check_swap(self.connection, book, record, first)
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
            reason=_checked_reason(supersedes, reason),
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
        tip.number, tip.digest, tip.recorded_at = head.number, digest, head.recorded_at
        return Ref(logbook=book.name, entry=head.number)

    def _add_many(self, book: Book, records: Sequence[Record]) -> None:
        """Take the next numbers and write entries and details by the driver's bulk insert."""
        tip = self._tip(book)
        recorded_at = self._recorded_at(book, tip)
        entries = []
        details: dict[str, list[tuple[Scalar | None, ...]]] = {}
        for record in records:
            kind = record.kind.name
            scalars = record.scalars()
            head = Head(
                number=tip.number + 1, kind=kind, recorded_at=recorded_at, recorded_by=self.by
            )
            tip.digest = next_digest(tip.digest, head, scalars)
            tip.number, tip.recorded_at = head.number, recorded_at
            entries.append((book.id, head.number, kind, recorded_at, self.by, tip.digest))
            details.setdefault(kind, []).append((book.id, head.number, *scalars.values()))
        self._insert_many("entry", _ENTRY_COLUMNS, entries)
        for kind, rows in details.items():
            names = ("logbook_id", "number", *(spec.name for spec in KIND[kind].fields))
            self._insert_many(table_name(KIND[kind]), names, rows)

    def _insert_many(
        self, table: str, columns: Sequence[str], rows: Sequence[tuple[object, ...]]
    ) -> None:
        """Insert rows by the driver itself, which is twice as fast as through statements."""
        mark = "?" if self.connection.dialect.paramstyle == "qmark" else "%s"
        marks = ", ".join(mark for _ in columns)
        self.connection.exec_driver_sql(
            f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", rows
        )

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
        newest = scalar_to_instant(tip.recorded_at)
        if newest - self.now > CLOCK_TOLERANCE:
            raise StoreError(
                f"the clock says {show_instant(self.now)}, but the newest entry of {book.name} "
                f"was made at {show_instant(newest)}",
                "set the machine's clock; entries are made in the order of time",
            )
        return tip.recorded_at

    def _check_not_future(self, record: Record) -> None:
        """Refuse to record what has not happened yet."""
        happened = record.happened()
        if happened is None:
            return
        limit = self.now + FUTURE_TOLERANCE
        if isinstance(happened, datetime):
            ahead = happened > limit
        else:
            # Somewhere on earth the calendar is up to 14 hours ahead of UTC.
            ahead = happened > (limit + timedelta(hours=14)).date()
        if ahead:
            raise FieldError(
                record.kind.happened,
                f"{record.kind.by_name[record.kind.happened].type.show(happened)} is in the future",
                "record what has happened; check the date and the time zone",
            )


def _checked_reason(supersedes: int | None, reason: str | None) -> str | None:
    """Ask for a reason with a correction, and only then."""
    if supersedes is None:
        if reason is not None:
            raise InputError("a reason is given, but no entry is corrected", "name the entry")
        return None
    try:
        return _REASON.parse(reason or "")
    except InputError as error:
        raise InputError(f"the reason: {error.message}", "say why the entry is wrong") from None


def _check_identity(book: Book, record: Airframe) -> None:
    """Refuse particulars of another airframe."""
    name = airframe_book_name(record.type_designator, record.serial_number)
    if name != book.name:
        raise InputError(
            f"{name} is not the airframe of the logbook {book.name}",
            "type designator and serial number of an airframe never change",
        )


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
        yield Writer(connection, by, clock())
