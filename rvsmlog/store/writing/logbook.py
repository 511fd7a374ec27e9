"""Writing: numbered entries are added to logbooks, corrected by later ones, never changed.

This is the only module that writes records. A :class:`Writer` holds one transaction: all its
entries are kept, or none.
"""

import uuid
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from itertools import islice
from typing import Any

from sqlalchemy import insert

from rvsmlog.errors import DeniedError, InputError, RefusedError, RvsmlogError, StoreError
from rvsmlog.records.airframe import Airframe, Swap
from rvsmlog.records.base import Logbook, Record, RecordKind, Ref
from rvsmlog.records.people import TRANSFER, Person
from rvsmlog.records.trade_fields import scalar_to_instant
from rvsmlog.store.connection import Store, check_revision
from rvsmlog.store.encoding import next_digest
from rvsmlog.store.given import check_text
from rvsmlog.store.reading.books import Book, entry_kind, find_book, first_made
from rvsmlog.store.reading.references import check_correction, depends, resolve
from rvsmlog.store.ready import Ready
from rvsmlog.store.server_errors import is_unheard, unheard
from rvsmlog.store.tables import STRIKE, logbook
from rvsmlog.store.writing.chain import Chain, Made
from rvsmlog.store.writing.foreign import Foreign, check_follows, check_not_ahead, check_same
from rvsmlog.store.writing.order import check_order
from rvsmlog.store.writing.people import check_leaves, check_person
from rvsmlog.store.writing.placement import check_swap
from rvsmlog.store.writing.unit_places import PLACING, UnitPlaces
from rvsmlog.store.writing.vetting import check_identity, check_not_future

_BATCH = 1000


class Writer(Chain):
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

    _places: UnitPlaces | None = None

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
        RefusedError
            When who records may not record that.
        """
        self.allow(record.kind.name, book, supersedes)
        record = self.vet(book, record, supersedes)
        self.check_place(book, record, supersedes)
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
            if any(depends(record.kind) for record in batch):
                for record in batch:
                    self.append(book, record)
            else:
                for kind in {record.kind.name for record in batch}:
                    self.allow(kind, book)
                self._add_many(book, [self.vet(book, record) for record in batch])
        return range(first, self._tip(book).number + 1)

    def append_ready(self, book: Book, ready: Ready) -> range:
        """Add entries of one kind that were vetted already.

        Parameters
        ----------
        book : Book
            Where.
        ready : Ready
            What; by :meth:`vet` or :meth:`vet_ready` in this transaction, with none of them named
            or superseded by another.

        Returns
        -------
        range
            The numbers given.
        """
        first = self._tip(book).number + 1
        if ready.bodies:
            self.allow(ready.kind.name, book)
            self._add_ready(book, ready)
        return range(first, first + len(ready.bodies))

    def vet_ready(self, book: Book, ready: Ready) -> None:
        """Check that records may be added that are held against nothing but themselves.

        Raises
        ------
        InputError
            As :meth:`append`, without saying of which of them.
        """
        kind, newest = ready.kind, None
        if kind.happened:
            # Instants and days alike sort as they are stored.
            stored: list[Any] = [each for each in ready.column(kind.happened) if each is not None]
            newest = kind.read_value(kind.happened, max(stored, default=None))
        self._vet_alone(book, kind, newest, self.now)

    def _vet_alone(
        self, book: Book, kind: RecordKind, happened: datetime | date | None, now: datetime
    ) -> None:
        """Check what is asked of every record before it is held against others."""
        # The lock comes before the checks: what they find must still hold when it is written.
        self._tip(book)
        if kind.logbook.value != book.kind:
            raise InputError(
                f"{kind.title} does not belong in the logbook {book.name}",
                f"it belongs in the {kind.logbook.value}'s logbook",
            )
        check_not_future(kind, happened, now)

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
        kind = record.kind
        self._vet_alone(book, kind, record.happened(), made_at or self.now)
        if isinstance(record, Airframe):
            check_identity(book, record)
        first = None
        if supersedes is not None:
            first = check_correction(self.connection, book, kind.name, supersedes)
        record = resolve(self.connection, book, record, first)
        if isinstance(record, Swap):
            check_swap(self.connection, book, record, first)
        if isinstance(record, Person):
            check_person(self.connection, record, supersedes, anew=made_at is None)
        if made_at is None:
            check_order(self.connection, book, record, first)
        return record

    def strike(self, book: Book, number: int, reason: str) -> Ref:
        """Strike out an entry: it stays readable, and no rule reads it any more."""
        self._tip(book)
        self.allow(first_made(self.connection, book, number)[1], book, number)
        self._check_strike(book, number)
        self.check_place(book, None, number)
        return self._add(book, STRIKE, None, number, reason)

    def check_place(self, book: Book, record: Record | None, changes: int | None = None) -> None:
        """Check that no unit comes to stand where another does, or in two places at once.

        What another store made is not held against it: an older edition took it in.

        Parameters
        ----------
        book : Book
            Where.
        record : Record or None
            A vetted record of any kind; None where an entry is struck out.
        changes : int, optional
            The entry that is corrected or struck out.

        Raises
        ------
        InputError
            When it would.
        """
        first = None if changes is None else first_made(self.connection, book, changes)
        kind = record.kind.name if record is not None else first[1] if first else ""
        if kind in PLACING:
            if self._places is None:
                self._places = UnitPlaces(self.connection, self.now)
            self._places.check(book, record, None if first is None else first[0])

    def _check_strike(self, book: Book, number: int) -> None:
        """Check that an entry may be struck out."""
        check_correction(self.connection, book, STRIKE, number)
        if entry_kind(self.connection, book, number)[0] == Person.kind.name:
            check_leaves(self.connection, number)

    def replay(self, book: Book, entries: Iterable[Foreign]) -> int:
        """Add entries made in another store, as they are: numbers, authors, times and digests.

        Every digest is computed anew, and each entry must have been possible where it stands: what
        it corrects or names must be there, and no time runs backwards but by a correction of the
        clock.

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
        self.allow(TRANSFER, book)
        first = self._tip(book).number
        made: list[Made] = []
        for foreign in entries:
            head = foreign.head
            if len(made) >= _BATCH or head.supersedes is not None or _depends(foreign.record):
                # What an entry is held against must be there to be found.
                self._insert(book, made)
                made.clear()
            self._vet_foreign(book, foreign)
            self._tip(book).step(head, foreign.digest)
            made.append((head, foreign.scalars, foreign.digest))
        self._insert(book, made)
        tip = self._tip(book)
        if tip.number > first:
            check_not_ahead(f"{book.name}#{tip.number}", tip.recorded_at, self.now)
        return tip.number - first

    def _vet_foreign(self, book: Book, foreign: Foreign) -> None:
        """Check that an entry made elsewhere follows from those before it."""
        tip, head = self._tip(book), foreign.head
        where = f"{book.name}#{head.number}"
        check_follows(where, foreign, tip.number, tip.recorded_at)
        if next_digest(tip.digest, head, foreign.scalars) != foreign.digest:
            says = f"{where}: the digest does not agree with what the entry says"
            raise InputError(says, "the file was changed; ask for it anew")
        try:
            if foreign.record is None:
                self._check_strike(book, head.supersedes or 0)
            else:
                made_at = scalar_to_instant(head.recorded_at)
                record = self.vet(book, foreign.record, head.supersedes, made_at=made_at)
                check_same(foreign.record, record)
        except InputError as error:
            raise InputError(f"{where}: {error.message}", error.hint) from None


def _depends(record: Record | None) -> bool:
    """Say whether a record is held against other entries."""
    return record is not None and depends(record.kind)


@contextmanager
def writing(
    store: Store, by: str, clock: Callable[[], datetime], *, trace: bool = True
) -> Iterator[Writer]:
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
    trace : bool
        Whether a recording that is refused is put on record itself.

    Raises
    ------
    RefusedError
        When the operator's list of people, or the server, does not allow what was to be recorded:
        nothing of it was written, and the operator's logbook says so.
    StoreError
        When the store cannot be used; where it says that it may be on record, a server gave no
        answer to the commit, else nothing was written.
    """
    check_text(by, "who records")
    log: Writer | None = None
    try:
        with store.changing() as connection:
            # Another edition may have upgraded the store since it was opened.
            check_revision(store, connection)
            log = Writer(connection, by, clock())
            try:
                yield log
                log.wait()
            finally:
                log.rest()
            if log.wanted:  # who is stopped before the commit ends cannot tell
                store.kept = None
        if log.wanted:
            store.kept = True
    except (RefusedError, DeniedError) as error:
        if log is None or not log.wanted:
            raise
        told = _traced(store, log, clock, error) if trace else ""
        raise RefusedError(error.message, error.hint + told) from error
    except StoreError as error:
        if store.kept is None and is_unheard(error):
            raise unheard(store.name) from error
        raise


def _traced(
    store: Store, refused: Writer, clock: Callable[[], datetime], error: RvsmlogError
) -> str:
    """Put a refusal on record, and say where."""
    try:
        with store.changing() as connection:
            ref = Writer(connection, refused.by, clock()).put_refusal(refused, error.message)
    except (InputError, StoreError):
        return "; that could not be put on record"
    return f"; on record as {ref}"
