"""The machine's clock against the logbooks: entries are made in the order of time.

One entry made by a clock that was far ahead would bar all later ones. The way out is an entry too:
a correction of the clock, from which on the logbook bears the right time again. Nothing before it
changes; what its false times mean is said in :func:`rvsmlog.store.reading.reader.head_at`.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime, timedelta

from sqlalchemy import Connection, text

from rvsmlog.dates import check_instant, show_instant
from rvsmlog.errors import InputError, StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.kinds import KINDS
from rvsmlog.records.people import CLOCK_KINDS, CLOCKS
from rvsmlog.records.trade_fields import Instant, instant_to_scalar, stored_instant
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.books import OPERATOR, Book, books
from rvsmlog.store.reading.reader import clock_corrections, newest_number
from rvsmlog.store.tables import table_name
from rvsmlog.store.writing.chain import CLOCK_TOLERANCE, not_believed
from rvsmlog.store.writing.logbook import writing
from rvsmlog.store.writing.vetting import EAST, FUTURE_TOLERANCE

#: How many entries a refusal names.
_NAMED = 5
#: The logbooks whose clock was corrected.
_CLOCKS, _OTHERS = (f"{kind.replace('-', '_')}_detail" for kind in CLOCK_KINDS)
_CORRECTED = f"SELECT logbook_id FROM {_CLOCKS} UNION SELECT logbook_id FROM {_OTHERS}"
#: A number that no entry reaches.
_ALL = 2**62


@dataclass(frozen=True, slots=True, kw_only=True)
class BookTime:
    """When the newest entry of a logbook was made, by the clock of then.

    Parameters
    ----------
    newest : Ref
        The entry.
    made_at : datetime
        What the clock said.
    ahead : timedelta
        How far that lies ahead of the clock of now; negative where it lies behind.
    """

    newest: Ref
    made_at: datetime
    ahead: timedelta

    @property
    def bars(self) -> bool:
        """Whether no entry can follow until the clock has caught up."""
        return self.ahead > CLOCK_TOLERANCE


@dataclass(frozen=True, slots=True, kw_only=True)
class ToCome:
    """A standing entry about something that has not happened yet by the clock of now."""

    ref: Ref
    title: str
    when: datetime | date


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockState:
    """The clock against the logbooks.

    Parameters
    ----------
    now : datetime
        The machine's clock.
    times : tuple of BookTime
        Each logbook that has entries.
    to_come : tuple of ToCome
        What must be corrected or struck out: till then nothing is judged.
    corrections : tuple of Ref
        Corrections of the clock just made.
    """

    now: datetime
    times: tuple[BookTime, ...]
    to_come: tuple[ToCome, ...]
    corrections: tuple[Ref, ...] = ()


def believed(connection: Connection, now: datetime, book: str | None = None) -> datetime:
    """Give the machine's time, where nothing on record says that the clock is behind.

    By a clock that is a year behind, what ran out last month is in date.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    now : datetime
        The machine's clock.
    book : str, optional
        The logbook that is asked, beside the operator's; every one when left out.

    Raises
    ------
    StoreError
        When the newest entry of a logbook lies ahead of the clock.
    """
    for fault in clock_faults(connection, now, book).values():
        raise fault
    return now


def clock_faults(
    connection: Connection, now: datetime, book: str | None = None
) -> Mapping[str, StoreError]:
    """Say of each logbook whose newest entry lies ahead of the clock that it does, farthest first.

    Parameters
    ----------
    connection, now, book
        As in :func:`believed`.
    """
    only = "" if book is None else " AND b.name IN (:book, :operator)"
    bound = {} if book is None else {"book": book, "operator": OPERATOR}
    found = connection.execute(
        text(
            "SELECT b.name, e.recorded_at FROM logbook b JOIN entry e ON e.logbook_id = b.id "
            "AND e.number = (SELECT max(number) FROM entry WHERE logbook_id = b.id) "
            f"WHERE e.recorded_at > :latest{only} ORDER BY e.recorded_at DESC"
        ),
        {"latest": instant_to_scalar(now + CLOCK_TOLERANCE), **bound},
    )
    return {name: not_believed(now, name, stored_instant(made)) for name, made in found}


def check_possible(connection: Connection, book: str | None = None) -> None:
    """Check that no standing entry says of a time what nobody could know yet.

    Only a clock that was ahead leaves such entries. A defect of next year would not count today,
    and a test of next year would count for a year too long.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    book : str, optional
        The logbook that is asked, beside the operator's; every one when left out.

    Raises
    ------
    StoreError
        When there are some.
    """
    for fault in impossible(connection, book).values():
        raise fault


def impossible(connection: Connection, book: str | None = None) -> Mapping[str, StoreError]:
    """Say of each logbook in which such entries stand which they are, as :func:`check_possible`."""
    corrected = connection.execute(text(_CORRECTED)).scalars().all()
    found = {}
    for each in books(connection) if corrected else ():
        if each.id in corrected and (book is None or each.name in (book, OPERATOR)):
            fault = _impossible(connection, each)
            if fault is not None:
                found[each.name] = fault
    return found


def _impossible(connection: Connection, book: Book) -> StoreError | None:
    """Name the impossible entries of a logbook whose clock was corrected; None without any."""
    for clock in clock_corrections(connection, book):
        query = text("SELECT recorded_at FROM entry WHERE logbook_id = :b AND number = :n")
        made = connection.execute(query, {"b": book.id, "n": clock}).scalar_one()
        found = list(_to_come(connection, book, stored_instant(made), before=clock))
        if found:
            named = ", ".join(str(entry.ref) for entry in found[:_NAMED])
            return StoreError(
                f"made by a clock that was ahead, and of a time that had not come: {named}"
                + (f" and {len(found) - _NAMED:,} more" if len(found) > _NAMED else ""),
                "correct each to the right time, or strike it out; nothing is judged before",
            )
    return None


def clock_state(
    connection: Connection, now: datetime, corrections: tuple[Ref, ...] = ()
) -> ClockState:
    """Hold the clock against every logbook."""
    check_instant(now)
    every = books(connection)
    times = tuple(found for book in every if (found := _time(connection, book, now)) is not None)
    to_come = tuple(each for book in every for each in _to_come(connection, book, now))
    return ClockState(now=now, times=times, to_come=to_come, corrections=corrections)


def look_at_clock(store: Store, now: datetime) -> ClockState:
    """Hold the clock against every logbook of an open store."""
    with store.reading() as connection:
        return clock_state(connection, now)


def correct_clock(
    store: Store, it_is: datetime, cause: str, *, by: str, clock: Callable[[], datetime]
) -> ClockState:
    """Enter a correction of the clock in each logbook that is barred by a newest entry ahead.

    Parameters
    ----------
    store : Store
        Open.
    it_is : datetime
        The time by another clock than the machine's: the two must agree.
    cause : str
        Why the clock was wrong.
    by : str
        Who corrects it.
    clock : callable
        Gives the machine's time.

    Raises
    ------
    InputError
        When the clocks do not agree, or no logbook is barred: nothing was written.
    """
    check_instant(it_is)
    with writing(store, by, clock) as log:
        if abs(log.now - it_is) > CLOCK_TOLERANCE:
            raise InputError(
                f"the machine's clock says {show_instant(log.now)}, not {show_instant(it_is)}",
                "set it first, then give the time by a clock that you trust",
            )
        made = []
        for book in books(log.connection):
            found = _time(log.connection, book, log.now)
            if found is not None and found.bars:
                made.append(log.append(book, CLOCKS[book.kind](cause=cause)))
        if not made:
            raise InputError("no logbook has a newest entry ahead of the clock", "nothing to do")
        return clock_state(log.connection, log.now, tuple(made))


def _time(connection: Connection, book: Book, now: datetime) -> BookTime | None:
    """Give when the newest entry of a logbook was made; None where there is none."""
    number = newest_number(connection, book)
    if not number:
        return None
    query = text("SELECT recorded_at FROM entry WHERE logbook_id = :book AND number = :number")
    made = connection.execute(query, {"book": book.id, "number": number}).scalar_one()
    made_at = stored_instant(made)
    newest = Ref(logbook=book.name, entry=number)
    return BookTime(newest=newest, made_at=made_at, ahead=made_at - now)


def _to_come(
    connection: Connection, book: Book, now: datetime, before: int = _ALL
) -> Iterator[ToCome]:
    """Find what stands in a logbook and has not happened yet."""
    limit = now + FUTURE_TOLERANCE
    for kind in KINDS:
        if not kind.happened or kind.logbook.value != book.kind:
            continue
        field = kind.by_name[kind.happened].type
        bound = field.to_scalar(limit if isinstance(field, Instant) else (limit + EAST).date())
        statement = (
            f"SELECT d.number, d.{kind.happened} FROM {table_name(kind)} d WHERE "
            f"d.logbook_id = :book AND d.{kind.happened} > :bound AND d.number < :before "
            "AND NOT EXISTS (SELECT 1 FROM entry c WHERE c.logbook_id = d.logbook_id "
            "AND c.supersedes = d.number) "
            "ORDER BY d.number"
        )
        given = {"book": book.id, "bound": bound, "before": before}
        for number, when in connection.execute(text(statement), given):
            ref = Ref(logbook=book.name, entry=number)
            happens = kind.read_value(kind.happened, when)
            yield ToCome(ref=ref, title=kind.title, when=happens)
