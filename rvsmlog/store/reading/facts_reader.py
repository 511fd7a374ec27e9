"""From the store to facts: one airframe, its operator and one planned flight, read once."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from itertools import islice
from typing import Any, TypeVar

from sqlalchemy import Connection

from rvsmlog.dates import local_day
from rvsmlog.errors import InputError, RvsmlogError
from rvsmlog.facts import (
    ApprovalCase,
    DefectCase,
    DeviationCase,
    EquipmentCase,
    Facts,
    Logged,
    Question,
    Seal,
    with_swaps,
)
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe, Equipment, Removal, Swap, Work
from rvsmlog.records.base import Record
from rvsmlog.records.defects import (
    AltimetryFault,
    Defect,
    Deferral,
    Extension,
    Rectification,
    Review,
)
from rvsmlog.records.flights import Closure, Deviation, Flight
from rvsmlog.records.operator import Knowledge, Operator, Pilot
from rvsmlog.records.oxygen import OxygenInstallation, OxygenReading
from rvsmlog.records.papers import Approval, Monitoring, Test, Withdrawal
from rvsmlog.records.readings import Readings
from rvsmlog.records.static_errors import StaticError
from rvsmlog.records.trade_fields import instant_to_scalar
from rvsmlog.rules.basis import authority_before
from rvsmlog.store.reading.books import OPERATOR, Book, find_book, seal
from rvsmlog.store.reading.comparisons import exceedances, newest_crosschecks
from rvsmlog.store.reading.drift_reader import with_drift
from rvsmlog.store.reading.reader import View, head_at, read, view, views
from rvsmlog.store.reading.side_by_side import BATCH

R = TypeVar("R", bound=Record)

#: How many of the newest flights.
NEWEST_FLIGHTS = 20
#: How many of the newest oxygen readings, of all systems together.
NEWEST_OXYGEN_READINGS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Heads:
    """The newest entries that are taken as known; None for all there are."""

    airframe: int | None = None
    operator: int | None = None


def operator_zone(connection: Connection) -> str:
    """Give the operator's time zone as on record now, UTC where there is no operator."""
    book = find_book(connection, OPERATOR)
    operator = None if book is None else _newest(_all(connection, view(connection, book), Operator))
    return "UTC" if operator is None else operator.record.time_zone


def heads_at(
    connection: Connection, book: Book, instant: datetime, number: int | None = None
) -> Heads:
    """Give what was known of an airframe, or its entry if one is named, and of its operator."""
    operator = find_book(connection, OPERATOR)
    return Heads(
        airframe=head_at(connection, book, instant) if number is None else number,
        operator=None if operator is None else head_at(connection, operator, instant),
    )


def read_facts(
    connection: Connection, book: Book, question: Question, heads: Heads | None = None
) -> Facts:
    """Read the facts about one airframe for one planned flight.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    book : Book
        The airframe's logbook.
    question : Question
        The planned flight. Records of what happened after its instant are left out.
    heads : Heads, optional
        Read as known at these entries; as known now when left out.

    Raises
    ------
    InputError
        When no particulars of the airframe were on record.
    """
    heads = heads or Heads()
    seen = view(connection, book, heads.airframe)
    operator_book = find_book(connection, OPERATOR)
    crew = None if operator_book is None else view(connection, operator_book, heads.operator)
    return _facts(connection, seen, crew, question)


def read_fleet(
    connection: Connection, fleet: Iterable[Book], question: Question
) -> Iterator[Facts | RvsmlogError]:
    """Read the facts about several airframes as known now, a batch of them side by side.

    They are those of :func:`read_facts`, one airframe after another in the order given, so that no
    more than a batch is held here. Where that would fail, what it fails with stands in their place.
    """
    found = find_book(connection, OPERATOR)
    operator = [] if found is None else [found]
    waiting = iter(fleet)
    while batch := tuple(islice(waiting, BATCH)):
        crew = next(views(connection, operator), None)
        for seen in views(connection, batch):
            try:
                facts = _facts(connection, seen, crew, question)
            except RvsmlogError as fault:
                yield fault
            else:
                yield facts


def _facts(connection: Connection, seen: View, crew: View | None, question: Question) -> Facts:
    """Read the facts about one airframe, and the operator's where there is one."""
    operator = _newest(_all(connection, crew, Operator)) if crew else None
    zone = operator.record.time_zone if operator else "UTC"
    today = local_day(question.at, zone)
    airframes = _all(connection, seen, Airframe)
    airframe = _newest(airframes)
    if airframe is None:
        raise InputError(
            f"the logbook {seen.book.name} had no particulars at entry {seen.head}",
            "name a later entry or instant",
        )
    past = _Past(connection, seen, question.at, today)
    people = _Past(connection, crew, question.at, today) if crew else None
    swaps, closures = past.all(Swap), past.all(Closure)
    facts = Facts(
        question=question,
        time_zone=zone,
        today=today,
        airframe=airframe,
        operator=operator,
        pilots=people.all(Pilot) if people else (),
        knowledge=people.all(Knowledge) if people else (),
        equipment=_equipment(past, swaps),
        work=past.all(Work),
        defects=_defects(past),
        approvals=_approvals(past, airframes),
        tests=past.all(Test),
        monitoring=past.all(Monitoring),
        flights=past.newest(Flight, "off_at", NEWEST_FLIGHTS),
        crosschecks=newest_crosschecks(connection, seen, question.at),
        exceedances=exceedances(connection, seen, question.at, airframe.record),
        deviations=_deviations(past, closures),
        reviews=past.all(Review),
        oxygen=past.all(OxygenInstallation),
        oxygen_readings=past.newest(OxygenReading, "checked_at", NEWEST_OXYGEN_READINGS),
        readings=past.all(Readings),
        swaps=swaps,
        closures=closures,
        static_errors=past.all(StaticError),
        seals=tuple(_seal(connection, each) for each in (seen, crew) if each is not None),
    )
    return with_drift(connection, seen, facts)


def _seal(connection: Connection, seen: View) -> Seal:
    """Give the newest entry that was known of a logbook, and its digest."""
    if seen.batch is not None:
        return seen.batch.seals[seen.book.id]
    return seal(connection, seen.book, seen.head)


def _all(connection: Connection, seen: View, cls: type[R]) -> tuple[Logged[R], ...]:
    return read(connection, seen, cls.kind)


def _newest(records: tuple[Logged[R], ...]) -> Logged[R] | None:
    """Give the record whose entry was first made last: a correction keeps its place."""
    return max(records, key=lambda logged: logged.first, default=None)


@dataclass(frozen=True, slots=True)
class _Past:
    """Reads records of what had happened by an instant, from the earliest to the latest."""

    connection: Connection
    seen: View
    at: datetime
    today: date

    def all(self, cls: type[R]) -> tuple[Logged[R], ...]:
        """Give all records of a kind."""
        every = _all(self.connection, self.seen, cls)
        if not every:
            return ()
        records = (logged for logged in every if self._happened(logged))
        name = cls.kind.happened
        if not name:
            return tuple(records)
        return tuple(sorted(records, key=lambda each: (getattr(each.record, name), each.first)))

    def _happened(self, logged: Logged[Any]) -> bool:
        """Say whether what is recorded had happened."""
        happened = logged.record.happened()
        if happened is None:
            return True
        if isinstance(happened, datetime):
            return happened <= self.at
        return bool(happened <= self.today)

    def newest(self, cls: type[R], column: str, count: int) -> tuple[Logged[R], ...]:
        """Give the newest records of a kind that comes by the thousand, by one seek."""
        found = read(
            self.connection,
            self.seen,
            cls.kind,
            where=f"d.{column} <= :at",
            order=f"d.{column} DESC, d.number DESC",
            limit=count,
            at=instant_to_scalar(self.at),
        )
        return tuple(reversed(found))

    def by_target(
        self, cls: type[R], name: str, *, ahead: bool = False
    ) -> dict[int, list[Logged[R]]]:
        """Give records by the entry that they name in a field; with what lies ahead if asked."""
        found: dict[int, list[Logged[R]]] = {}
        for logged in _all(self.connection, self.seen, cls) if ahead else self.all(cls):
            found.setdefault(getattr(logged.record, name), []).append(logged)
        return found


def _last(found: dict[int, list[Logged[R]]], first: int) -> Logged[R] | None:
    """Give the last record that names an entry."""
    return found[first][-1] if first in found else None


def _equipment(past: _Past, swaps: tuple[Logged[Swap], ...]) -> tuple[EquipmentCase, ...]:
    removals = past.by_target(Removal, "equipment")
    cases = tuple(
        EquipmentCase(equipment=fitted, removal=_last(removals, fitted.first))
        for fitted in past.all(Equipment)
    )
    return with_swaps(cases, swaps) if swaps else cases


def _defects(past: _Past) -> tuple[DefectCase, ...]:
    found: Iterable[Any] = (*past.all(Defect), *past.all(AltimetryFault))
    cases = sorted(found, key=lambda logged: (logged.record.found_at, logged.first))
    if not cases:
        return ()
    deferrals = past.by_target(Deferral, "defect")
    extensions = past.by_target(Extension, "deferral")
    rectifications = past.by_target(Rectification, "defect")
    reviews = past.by_target(Review, "subject")
    result = []
    for case in cases:
        deferral = _last(deferrals, case.first)
        deferred = () if deferral is None else (deferral.first,)
        result.append(
            DefectCase(
                defect=case,
                deferral=deferral,
                extensions=tuple(each for key in deferred for each in extensions.get(key, ())),
                rectification=_last(rectifications, case.first),
                reviews=tuple(
                    each for key in (case.first, *deferred) for each in reviews.get(key, ())
                ),
            )
        )
    return tuple(result)


def _approvals(past: _Past, airframes: tuple[Logged[Airframe], ...]) -> tuple[ApprovalCase, ...]:
    # One that lies ahead is known from its entry on; the rules look at its day.
    withdrawals = past.by_target(Withdrawal, "approval", ahead=True)
    return tuple(
        ApprovalCase(
            approval=approval,
            withdrawal=_last(withdrawals, approval.first),
            entered_under=authority_before(airframes, approval.first),
        )
        for approval in past.all(Approval)
    )


def _deviations(past: _Past, closures: tuple[Logged[Closure], ...]) -> tuple[DeviationCase, ...]:
    by_deviation = {closure.record.deviation: closure for closure in closures}
    return tuple(
        DeviationCase(deviation=deviation, closure=by_deviation.get(deviation.first))
        for deviation in past.all(Deviation)
    )
