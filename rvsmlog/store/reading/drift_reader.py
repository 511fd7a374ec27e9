"""Reading the drift log of an airframe: from what is kept beside the logbook, or from all of it.

What is kept is derived from the readings and never trusted over them: it is taken up only when the
digest of the entry up to which it was made still stands, it is itself as it was written, nothing
that it rests on was corrected since, and no reading came late. Otherwise the readings are gone
through again. Its own digest finds damage; who can write the file can also forge that digest, which
verification finds: it goes through the readings.
"""

import hashlib
from collections.abc import Generator, Iterable
from contextlib import closing
from datetime import UTC, datetime
from itertools import compress
from typing import Any

from sqlalchemy import Connection, text

from rvsmlog import __version__
from rvsmlog.errors import InputError, StoreError
from rvsmlog.facts import Facts
from rvsmlog.frozen import replace
from rvsmlog.records.fields import BEYOND_REAL
from rvsmlog.records.flights import GROUND_PHASES
from rvsmlog.records.trade_fields import instant_to_scalar, scalar_to_instant, stored_instant
from rvsmlog.rules.altimetry_work import PRIMARIES, disturbances
from rvsmlog.science.drift_log import DriftLog, extended, pack, unpack
from rvsmlog.science.drift_readings import LoggedReading, Point, points
from rvsmlog.store.reading.books import Book
from rvsmlog.store.reading.reader import View, view
from rvsmlog.store.reading.side_by_side import SideBySide
from rvsmlog.store.ready import Ready

#: Step in which altimeters are taken to be read where the particulars do not say, feet.
RESOLUTION_FT = 20
_NAME = "drift"
#: What is read of a cross-check, after its number: as a reading has it.
_COLUMNS = (
    *("taken_at", "level", "primary_1_ft", "primary_2_ft", "mach", "standby_ft"),
    "transponder_ft",
)
_FETCH = 500
#: By database: on a server it is kept by a function, as a right to the table would let a login lock
#: it against everybody.
_KEEP = {
    "sqlite": (
        "INSERT INTO derived (logbook_id, name, through, digest, content) "
        "VALUES (:book, :name, :through, :digest, :content) "
        "ON CONFLICT (logbook_id, name) DO UPDATE SET through = excluded.through, "
        "digest = excluded.digest, content = excluded.content"
    ),
    "postgresql": "SELECT rvsmlog_keep(:book, :name, :through, :digest, :content)",
}
_EARLIEST, _LATEST = datetime(1950, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)


def read_drift(connection: Connection, seen: View, facts: Facts) -> DriftLog:
    """Give the drift log of an airframe as known at an entry, up to the question's instant.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    seen : View
        The airframe's logbook.
    facts : Facts
        All else that is known: the particulars, and the work that disturbed the altimetry.
    """
    start = DriftLog(
        resolution_ft=facts.particulars.altimeter_resolution_ft or RESOLUTION_FT,
        since=_since(connection, seen, facts),
    )
    kept = _kept(connection, seen, start)
    if kept is not None:
        try:
            through, log = kept
            with closing(_later(connection, seen, log, through, facts.now)) as later:
                return extended(log, later)
        except InputError:
            pass  # a reading came late: what is kept is of no use
    # Closed here, whatever ends it: a cursor that outlives its connection complains by itself.
    with closing(_readings(connection, seen, start.since, facts.now)) as every:
        return extended(start, every)


def keep_drift(connection: Connection, book: Book, facts: Facts) -> None:
    """Keep an airframe's drift log beside its logbook, for the next check to take up."""
    if facts.drift is None:
        return
    known = next(each for each in facts.seals if each.logbook == book.name)
    if _taken_after(connection, book, known.entry, facts.now):
        # A check about an earlier instant left readings out. Taken up later, they would be missed.
        return
    row = {
        "book": book.id,
        "name": _NAME,
        "through": known.entry,
        "content": pack(facts.drift),
    }
    row["digest"] = _digest(known.digest, str(row["content"]))
    connection.execute(text(_KEEP[connection.dialect.name]), row)


def _taken_after(connection: Connection, book: Book, through: int, at: datetime) -> bool:
    """Say whether a reading among the entries up to one was taken after an instant."""
    found = connection.execute(
        text(
            "SELECT 1 FROM crosscheck_detail WHERE logbook_id = :book AND taken_at > :at "
            "AND number <= :through LIMIT 1"
        ),
        {"book": book.id, "at": instant_to_scalar(at), "through": through},
    ).first()
    return found is not None


def kept_is_sound(connection: Connection, book: Book) -> bool:
    """Say whether what is kept is what the readings give, as verification asks.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    book : Book
        An airframe's logbook.

    Returns
    -------
    bool
        True also where nothing is kept, or nothing that would be taken up.
    """
    row = _row(connection, book)
    if row is None:
        return True
    through, log = row
    start = DriftLog(resolution_ft=log.resolution_ft, since=log.since)
    seen = view(connection, book, through)
    with closing(_readings(connection, seen, log.since, _LATEST)) as every:
        return pack(extended(start, every)) == pack(log)


def _digest(entry_digest: str, content: str) -> str:
    """Bind what is kept to the entry up to which it was made, to its own text, and to this edition.

    Another edition may go through readings in another way, and does so from the first one on.
    """
    return hashlib.sha256(f"{__version__}\n{entry_digest}\n{content}".encode()).hexdigest()


def _since(connection: Connection, seen: View, facts: Facts) -> datetime | None:
    """Say from when readings count: the last work on the altimetry, or the last accepted alarm."""
    found = [work.order(facts.time_zone) for work in disturbances(facts, PRIMARIES)]
    for review in facts.reviews:
        accepted = review.record.accepted
        if accepted and _is_crosscheck(connection, seen, review.record.subject):
            found.append(review.record.reviewed_at)
    return max(found, default=None)


def _is_crosscheck(connection: Connection, seen: View, number: int) -> bool:
    kind = connection.execute(
        text("SELECT kind FROM entry WHERE logbook_id = :book AND number = :number"),
        {"book": seen.book.id, "number": number},
    ).scalar()
    return kind == "crosscheck"


def _kept(connection: Connection, seen: View, start: DriftLog) -> tuple[int, DriftLog] | None:
    """Take up what is kept, where it still holds."""
    row = _row(connection, seen.book, seen.batch)
    if row is None or row[0] > seen.head or any(later > row[0] for later in seen.corrects):
        return None
    if (row[1].since, row[1].resolution_ft) != (start.since, start.resolution_ft):
        return None
    return row


def _row(
    connection: Connection, book: Book, batch: SideBySide | None = None
) -> tuple[int, DriftLog] | None:
    """Read what is kept, and up to which entry it goes; None where it is damaged or of no use."""
    if batch is None:
        batch = SideBySide(connection, (book,))
    row = batch.drift_kept.get(book.id)
    if row is None or not isinstance(row[2], str) or not isinstance(row[3], bytes | memoryview):
        return None
    if _digest(bytes(row[3]).hex(), row[2]) != row[1]:
        return None
    try:
        return row[0], unpack(row[2])
    except InputError:
        return None


def _later(
    connection: Connection, seen: View, log: DriftLog, through: int, at: datetime
) -> Generator[LoggedReading, None, None]:
    """Give the readings entered since, in order of time.

    Raises
    ------
    InputError
        When what is kept knows readings taken after the question's instant.
    """
    if log.last_at is not None and log.last_at > at:
        raise InputError("what is kept goes beyond the question's instant", "")
    if seen.batch is not None and seen.book.id not in seen.batch.read_since:
        return
    # The database sorts, so that a big import is not held here whole. The plus sign keeps it from
    # walking the index on time, through every reading ever made, in search of the newest entries.
    yield from _select(
        connection,
        seen,
        "d.number > :through",
        {"through": through},
        log.since,
        at,
        order=" ORDER BY +d.taken_at, d.number",
        taken_at="+d.taken_at",
    )


def _readings(
    connection: Connection, seen: View, since: datetime | None, at: datetime
) -> Generator[LoggedReading, None, None]:
    """Give all readings in order of time, a few at a time."""
    return _select(connection, seen, "1 = 1", {}, since, at, order=" ORDER BY d.taken_at, d.number")


def _select(
    connection: Connection,
    seen: View,
    condition: str,
    bound: dict[str, object],
    since: datetime | None,
    at: datetime,
    order: str,
    taken_at: str = "d.taken_at",
) -> Generator[LoggedReading, None, None]:
    """Read comparisons in flight, standing ones only."""
    earliest = since or _EARLIEST
    result = connection.execution_options(yield_per=_FETCH).execute(
        text(
            f"SELECT d.number, {', '.join(f'd.{name}' for name in _COLUMNS)} "
            "FROM crosscheck_detail d "
            f"WHERE d.logbook_id = :book AND d.number <= :head AND {condition} "
            f"AND {taken_at} >= :since AND {taken_at} <= :at "
            f"AND d.phase NOT IN {GROUND_PHASES!r} AND d.level IS NOT NULL" + order
        ),
        {
            "book": seen.book.id,
            "head": seen.head,
            "since": instant_to_scalar(earliest),
            "at": instant_to_scalar(at),
            **bound,
        },
    )
    with result as rows:  # whoever takes no more of them leaves no cursor open on the server
        before = instant_to_scalar(earliest)
        for row in rows:
            if row[0] in seen.corrected:
                continue  # whatever stands there: what was put right bars nothing any more
            if not _sound(row) or row[1] < before:  # in no order: the index is damaged
                raise StoreError(
                    f"the store is damaged at {seen.book.name}#{row[0]}: altimeter cross-check",
                    "do not write to it; run `rvsmlog store verify` and restore the newest backup",
                )
            before = row[1]
            yield _logged(*row)


def in_hand(
    numbers: Iterable[int], ready: Ready, since: datetime | None, at: datetime
) -> list[LoggedReading]:
    """Give those of some new cross-checks that would be read, without reading them.

    Parameters
    ----------
    numbers : iterable of int
        Their numbers.
    ready : Ready
        The cross-checks.
    since, at : datetime
        From when to when they count.

    Raises
    ------
    InputError
        When one was taken later: what is kept would lack it.
    """
    earliest, latest = instant_to_scalar(since or _EARLIEST), instant_to_scalar(at)
    columns: list[Any] = list(map(ready.column, ("phase", "level", "taken_at")))
    counts = [
        phase not in GROUND_PHASES and level is not None and taken >= earliest
        for phase, level, taken in zip(*columns, strict=True)
    ]
    if max(compress(columns[-1], counts), default=latest) > latest:
        raise InputError("a reading was taken later", "leave it to a later check")
    counted: list[Any] = [compress(ready.column(name), counts) for name in _COLUMNS]
    taken_at, *rest = counted
    instants = map(scalar_to_instant, taken_at)  # sound, as they were checked on the way in
    return list(map(LoggedReading, compress(numbers, counts), instants, *rest))


def _sound(row: Any) -> bool:
    """Say whether a row holds numbers where an entry has them; SQLite keeps anything anywhere."""
    number, taken_at, level, one, two, mach, standby, transponder = row
    return (
        isinstance(number, int)
        and isinstance(taken_at, int)
        and isinstance(level, int)
        and isinstance(one, int)
        and isinstance(two, int)
        and (mach is None or (isinstance(mach, float) and abs(mach) < BEYOND_REAL))
        and (standby is None or isinstance(standby, int))
        and (transponder is None or isinstance(transponder, int))
    )


def _logged(entry: int, taken_at: int, *rest: Any) -> LoggedReading:
    """Give what stands in the columns as a reading with its entry."""
    return LoggedReading(entry, stored_instant(taken_at), *rest)


def every_point(connection: Connection, seen: View, at: datetime) -> tuple[Point, ...]:
    """Give one point for each flight and band there ever was, for a picture."""
    with closing(_readings(connection, seen, None, at)) as every:
        return points(logged.reading() for logged in every)


def with_drift(connection: Connection, seen: View, facts: Facts) -> Facts:
    """Add the drift log to the other facts."""
    return replace(facts, drift=read_drift(connection, seen, facts))
