"""One transaction's hold on the logbooks: numbers, times and digests, and the rows written.

:class:`rvsmlog.store.writing.logbook.Writer` adds to it what an entry must be like to be taken.
"""

import logging
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from functools import partial
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, insert, select, text

from rvsmlog.dates import check_instant, show_instant
from rvsmlog.errors import InputError, RefusedError, StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Record, Ref
from rvsmlog.records.fields import Scalar
from rvsmlog.records.kinds import KIND
from rvsmlog.records.people import CLOCK_KINDS, Refusal
from rvsmlog.records.trade_fields import instant_to_scalar, stored_instant
from rvsmlog.store.encoding import (
    Head,
    genesis,
    next_digest,
    plain_digests,
    plain_frame,
    stored_digest,
)
from rvsmlog.store.reading.books import OPERATOR, Book, find_book
from rvsmlog.store.ready import Ready, made_ready
from rvsmlog.store.tables import STRIKE, detail, entry, logbook, table_name
from rvsmlog.store.writing.beside import Beside
from rvsmlog.store.writing.bulk import (
    Rows,
    copy_lines,
    hang_up,
    insert_rows,
    settle,
    takes_copy,
)
from rvsmlog.store.writing.people import People, Why, people
from rvsmlog.store.writing.vetting import AUTHOR, checked_reason

#: A clock that is behind the newest entry by more than this is not believed.
CLOCK_TOLERANCE = timedelta(minutes=10)
#: All logbooks rest longer than this but rarely: the clock may have jumped.
JUMP = timedelta(days=40)

#: So many entries at once are worth a thread.
_MANY = 500
#: Pages of a big import that are held in memory, KiB.
_ROOM_KIB = 65_536
_log = logging.getLogger("rvsmlog")
_ENTRY_COLUMNS = (
    *("logbook_id", "number", "kind", "recorded_at", "recorded_by", "supersedes", "reason"),
    "digest",
)
#: Those of an entry that corrects nothing.
_PLAIN_ENTRY_COLUMNS = ("logbook_id", "number", "kind", "recorded_at", "recorded_by", "digest")


def not_believed(now: datetime, book: str, newest: datetime) -> StoreError:
    """Say that a clock lies well behind what is on record: one of the two is wrong."""
    return StoreError(
        f"the clock says {show_instant(now)}, but the newest entry of {book} was made at "
        f"{show_instant(newest)}",
        "set the machine's clock; if it is right and was wrong then, see `rvsmlog store clock`",
    )


@dataclass(slots=True)
class Tip:
    """The newest entry of a logbook while a transaction adds to it."""

    number: int
    digest: bytes
    recorded_at: int

    def step(self, head: Head, digest: bytes) -> None:
        """Go on to an entry just made."""
        self.number, self.digest, self.recorded_at = head.number, digest, head.recorded_at


#: An entry to be written: its head, its fields as stored, its digest.
Made = tuple[Head, Mapping[str, Scalar | None], bytes]


class Chain:
    """Takes numbers and writes entries within one transaction.

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
        if len(self.by.splitlines()) > 1:
            # On a screen, what follows would pass for a line of rvsmlog's own.
            raise InputError("who records: the name has several lines", "name yourself with --by")
        check_instant(now)
        self._connection = connection
        self._beside: Beside | None = None
        self._settles = False
        self._copied: dict[str, bool] = {}
        self.now = now
        self._tips: dict[int, Tip] = {}
        self._people: People | None = None
        self._jump_said = False
        #: What was asked for last, and in which logbook: what a refusal names.
        self.wanted = ""
        self.wanted_in: str | None = None

    @property
    def connection(self) -> Connection:
        """The transaction's connection, when no statement of ours goes on in another thread."""
        self.wait()
        return self._connection

    def why_not(self, wanted: str, of: str | None = None) -> Why | None:
        """Say why who records may not record something; None where it is allowed.

        The list counts as it stood before the transaction: whoever enters it may finish that.
        """
        if self._people is None:
            self._people = people(self.connection, self.now)
        return self._people.why_not(self.by, wanted, of)

    def allow(self, wanted: str, book: Book | None = None, changes: int | None = None) -> None:
        """Go on only where who records may record something.

        Parameters
        ----------
        wanted : str
            A kind of record, or a transfer.
        book : Book, optional
            The logbook in which it is to stand.
        changes : int, optional
            The entry of that logbook that it corrects or strikes out.

        Raises
        ------
        RefusedError
            When the operator's list of people does not allow it.
        """
        self.wanted, self.wanted_in = wanted, None if book is None else book.name
        of = None
        if book is not None and changes is not None:
            found = {"logbook_id": book.id, "number": changes}
            of = self.connection.execute(select(entry.c.recorded_by).filter_by(**found)).scalar()
        why = self.why_not(wanted, of)
        if why is not None:
            raise RefusedError(why.says, why.hint)

    def put_refusal(self, refused: "Chain", why: str) -> Ref:
        """Put on record that somebody tried to record what they may not.

        Raises
        ------
        InputError
            When there is no operator's logbook.
        """
        book = find_book(self.connection, OPERATOR)
        if book is None:
            raise InputError("no operator is on record")
        self._people = self._people or people(self.connection, self.now)
        self.by = self._people.signs(self.by)
        record = Refusal(name=refused.by, wanted=refused.wanted, logbook=refused.wanted_in, why=why)
        return self._add(book, record.kind.name, record, None, None)

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
            recorded_at=self._recorded_at(book, tip, kind),
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
            self._add_ready(book, made_ready(kind, list(same)))

    def _add_ready(self, book: Book, ready: Ready) -> None:
        """Take the next numbers and write entries and details by the driver's bulk insert."""
        tip, kind, count = self._tip(book), ready.kind.name, len(ready.bodies)
        recorded_at = self._recorded_at(book, tip, "")
        frame = plain_frame(kind, recorded_at, self.by)
        digests = plain_digests(tip.digest, tip.number + 1, frame, ready.bodies)
        numbers = range(tip.number + 1, tip.number + count + 1)
        same = ([value] * count for value in (kind, recorded_at, self.by))
        where = [book.id] * count
        table, names = table_name(ready.kind), ("logbook_id", "number", *ready.names)
        entries = self._rows("entry", (where, numbers, *same, digests))
        details = self._rows(table, (where, numbers, *ready.columns))

        def write() -> None:
            insert_rows(self._connection, "entry", _PLAIN_ENTRY_COLUMNS, entries)
            insert_rows(self._connection, table, names, details)
            if self._settles and count >= _MANY:
                settle(self._connection)

        self._write(write, count)
        tip.number, tip.digest, tip.recorded_at = numbers[-1], digests[-1], recorded_at

    def _rows(self, table: str, columns: Sequence[Sequence[Any]]) -> Rows | str:
        """Make columns into what is inserted, here and not beside: it takes the interpreter."""
        if table not in self._copied:
            self._copied[table] = takes_copy(self.connection, table)
        return copy_lines(columns) if self._copied[table] else list(zip(*columns, strict=True))

    def _write(self, write: Callable[[], None], count: int) -> None:
        """Insert some entries, beside what follows where they are many."""
        if self._beside is not None and count >= _MANY:
            self._beside.begin(write)
        else:
            self.wait()
            write()

    def expect_many(self) -> None:
        """Get ready for a big import.

        Its entries are inserted beside what follows. On SQLite the transaction is given more room
        in memory for the pages of the indexes; a server holds them to their digests there, too.
        """
        if self.connection.dialect.name == "sqlite":
            self.connection.exec_driver_sql(f"PRAGMA cache_size = -{_ROOM_KIB}")
            self._beside = Beside()
        else:
            self._settles = True
            driver = self.connection.connection.driver_connection
            self._beside = Beside(cut=partial(hang_up, driver))

    def wait(self) -> None:
        """Wait till all that was added is inserted, and raise what went wrong."""
        if self._beside is not None:
            self._beside.wait()

    def rest(self) -> None:
        """Let nothing go on any more, before the transaction is kept or rolled back."""
        if self._beside is not None:
            self._beside.give_up()

    def _insert(self, book: Book, made: Sequence[Made]) -> None:
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

    def _tip(self, book: Book) -> Tip:
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
            tip = Tip(0, genesis(book.uid, book.kind, book.name), 0)
        else:
            tip = Tip(row.number, stored_digest(row.digest), row.recorded_at)
        self._tips[book.id] = tip
        return tip

    def _recorded_at(self, book: Book, tip: Tip, kind: str) -> int:
        """Give the time of entry; it runs back in a logbook by a correction of the clock only.

        Raises
        ------
        StoreError
            When the clock is well behind the newest entry: one of the two is wrong.
        """
        clock = instant_to_scalar(self.now)
        if tip.number and self.now - stored_instant(tip.recorded_at) > JUMP:
            self._doubt_jump()
        if clock >= tip.recorded_at or kind in CLOCK_KINDS:
            return clock
        newest = stored_instant(tip.recorded_at)
        if newest - self.now > CLOCK_TOLERANCE:
            raise not_believed(self.now, book.name, newest)
        return tip.recorded_at

    def _doubt_jump(self) -> None:
        """Say once that the clock is far ahead of all that is on record."""
        newest = self.connection.execute(
            text(
                "SELECT max((SELECT e.recorded_at FROM entry e WHERE e.logbook_id = b.id "
                "ORDER BY e.number DESC LIMIT 1)) FROM logbook b"
            )
        ).scalar_one()
        rest = self.now - stored_instant(newest)
        if rest > JUMP and not self._jump_said:
            self._jump_said = True
            _log.warning(
                "note: the clock says %s, %s days after the newest entry; if that is wrong, set "
                "it, and see `rvsmlog store clock`: what is recorded now would bar later entries",
                show_instant(self.now),
                rest.days,
            )
