"""Reading what a dossier shows: one airframe's whole logbook in one state of the store."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, text

from rvsmlog.answers.dossier import Correction, DossierRecords, Run, day_of
from rvsmlog.dates import local_day, start_of_day
from rvsmlog.errors import InputError
from rvsmlog.facts import Facts, Logged, Question
from rvsmlog.records.base import Logbook, Record, RecordKind, Ref
from rvsmlog.records.flights import CrossCheck, Flight
from rvsmlog.records.kinds import KINDS
from rvsmlog.records.trade_fields import instant_to_scalar, scalar_to_instant
from rvsmlog.rules.term import Span, last_minute
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.books import Book
from rvsmlog.store.reading.drift_reader import every_point
from rvsmlog.store.reading.facts_reader import operator_zone, read_facts
from rvsmlog.store.reading.reader import View, read, view
from rvsmlog.store.tables import STRIKE

#: Kinds that come by the thousand, and the field by which those of the span are found.
_MANY: Mapping[RecordKind, str] = {CrossCheck.kind: "taken_at", Flight.kind: "off_at"}
_EARLIEST = date(1950, 1, 1)


def read_dossier(
    store: Store, registration: str, at: datetime, first: date | None, last: date | None
) -> tuple[DossierRecords, Span]:
    """Read an airframe's logbook for a dossier, as known now.

    Parameters
    ----------
    store : Store
        Open.
    registration : str
        The airframe.
    at : datetime
        The instant of the answer.
    first, last : date or None
        The span in the operator's time zone; from the log's beginning, and up to the day of the
        instant, where left out.

    Returns
    -------
    tuple of DossierRecords and Span
        The span with both days.

    Raises
    ------
    InputError
        When no airframe bears the registration, or the span is upside down or lies ahead.
    """
    with store.reading() as connection:
        book = find_airframe(connection, registration)
        zone = operator_zone(connection)
        last = _checked(first, last, local_day(at, zone))
        now = read_facts(connection, book, Question(at=at))
        closes = last_minute(last, zone)
        close = now
        if closes < at:
            close = read_facts(connection, book, Question(at=closes))
        seen = view(connection, book)
        whole = _whole(connection, seen, zone, first, last)
        records = DossierRecords(
            now=now,
            close=close,
            found=_standing(whole, seen),
            corrections=_corrections(connection, seen, whole),
            runs=tuple(_runs(connection, book, zone)),
            history=every_point(connection, seen, close.now),
        )
    return records, Span(first=first or _beginning(records, close), last=last)


def _checked(first: date | None, last: date | None, today: date) -> date:
    """Give the last day of a span that makes sense."""
    if last is None:
        last = today
    if last > today:
        raise InputError(f"--to {last} lies ahead: the answer is for {today}", "end the span there")
    if first is not None and first > last:
        raise InputError(f"--from {first} comes after {last}", "give the earlier day first")
    return last


def _beginning(records: DossierRecords, facts: Facts) -> date:
    """Give the first day of which anything is on record."""
    days = (
        day_of(logged.record, facts.time_zone)
        for every in records.found.values()
        for logged in every
    )
    return min((day for day in days if day is not None), default=facts.today)


Whole = Mapping[str, tuple[Logged[Record], ...]]


def _whole(
    connection: Connection, seen: View, zone: str, first: date | None, last: date
) -> dict[str, tuple[Logged[Record], ...]]:
    """Read every entry as it was made; of those that come by the thousand, the span's."""
    found: dict[str, tuple[Logged[Record], ...]] = {}
    bounds = {
        "first": instant_to_scalar(start_of_day(first or _EARLIEST, zone)),
        "last": instant_to_scalar(last_minute(last, zone)) + 60_000_000 - 1,
    }
    for kind in KINDS:
        if kind.logbook is not Logbook.AIRFRAME:
            continue
        where, bound = "", {}
        if kind in _MANY:
            where, bound = f"d.{_MANY[kind]} BETWEEN :first AND :last", bounds
        order = f"d.{kind.happened}, d.number" if kind.happened else "d.number"
        found[kind.name] = read(
            connection, seen, kind, where=where, order=order, superseded=True, **bound
        )
    for kind in _MANY:
        found[kind.name] += _missing_versions(connection, seen, kind, found[kind.name])
    return found


def _missing_versions(
    connection: Connection, seen: View, kind: RecordKind, found: Iterable[Logged[Any]]
) -> tuple[Logged[Record], ...]:
    """Read the other versions of entries that a correction moved into the span or out of it."""
    here = {logged.ref.entry for logged in found}
    wanted = {
        other
        for number in here
        for other in (seen.corrected.get(number), seen.corrects.get(number))
        if other is not None and other not in here
    }
    numbers = ", ".join(str(int(number)) for number in sorted(wanted))
    if not numbers:
        return ()
    return read(connection, seen, kind, where=f"d.number IN ({numbers})", superseded=True)


def _standing(whole: Whole, seen: View) -> dict[str, tuple[Logged[Record], ...]]:
    """Leave out what was corrected or struck out."""
    return {
        kind: tuple(each for each in every if each.ref.entry not in seen.corrected)
        for kind, every in whole.items()
    }


def _corrections(connection: Connection, seen: View, whole: Whole) -> tuple[Correction, ...]:
    """Read what was corrected or struck out, by whom and why."""
    made = {each.ref.entry: each for every in whole.values() for each in every}
    rows = connection.execute(
        text(
            "SELECT number, kind, supersedes, recorded_at, recorded_by, reason FROM entry "
            "WHERE logbook_id = :book AND supersedes IS NOT NULL ORDER BY number"
        ),
        {"book": seen.book.id},
    )
    found = []
    for number, kind, supersedes, recorded_at, recorded_by, reason in rows:
        # A strike has no details; struck out again or corrected, the last version before it counts.
        was = made.get(supersedes)
        if was is not None:
            found.append(
                Correction(
                    was=was,
                    now=None if kind == STRIKE else made.get(number),
                    ref=Ref(logbook=seen.book.name, entry=number),
                    recorded_at=scalar_to_instant(recorded_at),
                    recorded_by=recorded_by,
                    reason=reason,
                )
            )
    return tuple(found)


def _runs(connection: Connection, book: Book, zone: str) -> Iterator[Run]:
    """Read every entry there is, those of one day and one author together."""
    rows = connection.execute(
        text(
            "SELECT number, kind, recorded_at, recorded_by FROM entry WHERE logbook_id = :book "
            "ORDER BY number"
        ),
        {"book": book.id},
    )

    def made(row: Any) -> tuple[date, str]:
        return local_day(scalar_to_instant(row[2]), zone), row[3]

    for (day, author), group in groupby(rows, key=made):
        entries = [(row[0], row[1]) for row in group]
        yield Run(
            first=entries[0][0],
            last=entries[-1][0],
            recorded_on=day,
            recorded_by=author,
            kinds=tuple(Counter(kind for _, kind in entries).items()),
        )
