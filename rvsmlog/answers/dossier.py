"""The dossier of one airframe: what of its log belongs into a span of days.

What stands over the span belongs there, and not only what happened within it: the unit that was
fitted years before, the approval in force, the test that still counted on the first day.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import TypeVar, cast

from rvsmlog.answers.drift_analysis import Drift, analysed
from rvsmlog.answers.due import DueItem, due_items
from rvsmlog.dates import local_day
from rvsmlog.facts import ApprovalCase, DefectCase, DeviationCase, EquipmentCase, Facts, Logged
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import Record, Ref
from rvsmlog.records.papers import Monitoring
from rvsmlog.rules.dated import rules_for
from rvsmlog.rules.judged_readings import Judgement, judgement
from rvsmlog.rules.term import Span
from rvsmlog.science.drift_readings import Point
from rvsmlog.verdict import Verdict, judge

R = TypeVar("R", bound=Record)

#: Standing entries of a logbook by the name of their kind, each from the earliest to the latest.
ByKind = Mapping[str, Sequence[Logged[Record]]]
#: What says the day of a record whose kind has no day on which it happened.
_OTHER_DAYS = ("issued_on", "fitted_on", "at")


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """An entry that was corrected or struck out, and the one that did it.

    Parameters
    ----------
    was : Logged
        The entry that no longer counts, as it was made.
    now : Logged or None
        The entry that corrects it, as it was made; None where it was struck out.
    ref : Ref
        The entry that corrects or strikes out.
    recorded_at : datetime
        When that was made, UTC.
    recorded_by : str
        By whom.
    reason : str
        Why.
    """

    was: Logged[Record]
    now: Logged[Record] | None
    ref: Ref
    recorded_at: datetime
    recorded_by: str
    reason: str

    @property
    def changed(self) -> tuple[str, ...]:
        """The names of the fields that differ; all that were filled where it was struck out."""
        record, other = self.was.record, None if self.now is None else self.now.record
        return tuple(
            spec.name
            for spec in record.kind.fields
            if getattr(record, spec.name) != (getattr(other, spec.name) if other else None)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Entries that follow each other, made on one day by one person.

    Parameters
    ----------
    first, last : int
        Their numbers.
    recorded_on : date
        The day in the operator's time zone.
    recorded_by : str
        Who made them.
    kinds : tuple of (str, int)
        How many of each kind, in the order of their first.
    """

    first: int
    last: int
    recorded_on: date
    recorded_by: str
    kinds: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DossierRecords:
    """What is read for a dossier, all as known now.

    Parameters
    ----------
    now : Facts
        As of the instant of the answer.
    close : Facts
        As of the end of the span, or of the instant where that comes before.
    found : mapping
        Every standing entry of the airframe's logbook; of flights and cross-checks those of the
        span.
    corrections : tuple of Correction
        All of the logbook, in the order in which they were made.
    runs : tuple of Run
        Every entry of the logbook.
    history : tuple of Point
        What each flight up to the close says of the altimeters.
    """

    now: Facts
    close: Facts
    found: ByKind
    corrections: tuple[Correction, ...]
    runs: tuple[Run, ...]
    history: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dossier:
    """What an inspector asks of one airframe over a span of days.

    Parameters
    ----------
    span : Span
        The days, both included.
    records : DossierRecords
        What it rests on.
    verdict : Verdict
        The answer at the highest certificated level.
    closing : Verdict
        How each requirement stands at the close, without a planned level.
    due : tuple of DueItem
        What falls due, from the instant of the answer on.
    drift : Drift
        At the close.
    """

    span: Span
    records: DossierRecords
    verdict: Verdict
    closing: Verdict
    due: tuple[DueItem, ...]
    drift: Drift

    @property
    def now(self) -> Facts:
        """The facts of the answer."""
        return self.records.now

    @property
    def close(self) -> Facts:
        """The facts at the end of the span."""
        return self.records.close

    def within(self, kind: str) -> tuple[Logged[Record], ...]:
        """Give the standing entries of a kind whose day is in the span, or that have none."""
        return tuple(each for each in self.records.found.get(kind, ()) if self.covers(each))

    def covers(self, logged: Logged[Record]) -> bool:
        """Say whether the day of an entry is in the span; what has none is in every span."""
        day = day_of(logged.record, self.close.time_zone)
        return day is None or self.span.covers(day)

    @property
    def particulars(self) -> tuple[Logged[Airframe], ...]:
        """Every standing entry of the airframe's particulars, whenever it was made."""
        return self.of(Airframe)

    def of(self, cls: type[R]) -> tuple[Logged[R], ...]:
        """Give what :meth:`within` gives, by the class of the records."""
        return cast("tuple[Logged[R], ...]", self.within(cls.kind.name))

    @property
    def approvals(self) -> tuple[ApprovalCase, ...]:
        """Those in force at some time in the span."""
        return tuple(
            case
            for case in self.close.approvals
            if case.approval.record.issued_on <= self._last
            and not _before(case.approval.record.expires_on, self.span.first)
            and not (case.withdrawal and self._gone(case.withdrawal.record.withdrawn_on))
        )

    @property
    def equipment(self) -> tuple[EquipmentCase, ...]:
        """Units fitted at some time in the span."""
        return tuple(
            case
            for case in self.close.equipment
            if not (case.removal and self._gone(case.removal.record.removed_on))
        )

    @property
    def defects(self) -> tuple[DefectCase, ...]:
        """Defects found or open in the span."""
        return tuple(case for case in self.close.defects if not self._was_done(case))

    @property
    def deviations(self) -> tuple[DeviationCase, ...]:
        """Deviations that happened or were open in the span."""
        return tuple(
            case
            for case in self.close.deviations
            if self.covers(case.deviation)
            or case.closure is None
            or not self._gone(case.closure.record.closed_on)
        )

    @property
    def tests(self) -> tuple[Judgement, ...]:
        """Tests of the span, and the newest before it of each sort and position."""
        chosen = self._with_newest_before(
            self.close.tests, lambda test: (test.test, test.position), lambda test: test.done_on
        )
        return tuple(judgement(self.close, test) for test in chosen)

    @property
    def monitoring(self) -> tuple[Logged[Monitoring], ...]:
        """Results of the span, and the newest before it."""
        return self._with_newest_before(
            self.close.monitoring, lambda _: (), lambda result: result.measured_on
        )

    @property
    def corrections(self) -> tuple[Correction, ...]:
        """Corrections of entries whose day, as it was or as it is now, is in the span."""
        return tuple(
            each
            for each in self.records.corrections
            if self.covers(each.was) or (each.now is not None and self.covers(each.now))
        )

    @property
    def _last(self) -> date:
        return self.close.today

    def _gone(self, day: date) -> bool:
        """Whether something ended before the span began."""
        return day < self.span.first

    def _was_done(self, case: DefectCase) -> bool:
        """Whether a defect was rectified before the span began."""
        if case.is_open or case.rectification is None:
            return False
        return self._gone(local_day(case.rectification.record.done_at, self.close.time_zone))

    def _with_newest_before(
        self, logged: Iterable[Logged[R]], sort: Callable[[R], object], day: Callable[[R], date]
    ) -> tuple[Logged[R], ...]:
        """Give records of the span with the newest of each sort before it; in order of time."""
        every = tuple(logged)
        before = {sort(each.record): each for each in every if self._gone(day(each.record))}
        kept = {each.ref for each in before.values()}
        return tuple(each for each in every if each.ref in kept or not self._gone(day(each.record)))


def dossier(records: DossierRecords, span: Span) -> Dossier:
    """Make the dossier of an airframe.

    Parameters
    ----------
    records : DossierRecords
        As read.
    span : Span
        With a last day.
    """
    now, close = records.now, records.close
    highest = now.particulars.highest_level
    asked = replace(now, question=replace(now.question, level=highest))
    return Dossier(
        span=span,
        records=records,
        verdict=judge(asked, rules_for(asked)),
        closing=judge(close, rules_for(close)),
        due=due_items(now),
        drift=analysed(close),
    )


def day_of(record: Record, zone: str) -> date | None:
    """Give the day to which a record belongs, in a time zone; None where it has none."""
    happened = record.happened()
    for name in _OTHER_DAYS:
        happened = happened or getattr(record, name, None)
    return local_day(happened, zone) if isinstance(happened, datetime) else happened


def _before(day: date | None, other: date) -> bool:
    return day is not None and day < other
