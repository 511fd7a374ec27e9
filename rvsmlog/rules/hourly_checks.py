"""Whether the altimeters were compared about every hour in RVSM airspace."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import Margin, Outcome
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.flights import CrossCheck, Flight
from rvsmlog.rules.base import Result, not_applicable, rule
from rvsmlog.rules.margins import BELOW_RVSM
from rvsmlog.rules.readings import between, in_flight, level_of
from rvsmlog.rules.reviews import accepting_review
from rvsmlog.rules.tolerances import crosscheck_tolerance_ft
from rvsmlog.standards.rvsm import CROSSCHECK_GRACE_MINUTES, CROSSCHECK_INTERVAL_MINUTES

_LONGEST = timedelta(minutes=CROSSCHECK_INTERVAL_MINUTES.value + CROSSCHECK_GRACE_MINUTES.value)
_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Gap:
    """Time without a cross-check."""

    start: datetime
    end: datetime

    @property
    def length(self) -> timedelta:
        return self.end - self.start

    @property
    def minutes(self) -> int:
        """Whole minutes, a part of one counted as one: just over the limit shows as over it."""
        return -(-self.length // _MINUTE)

    def __str__(self) -> str:
        return f"{self.start:%H:%M}Z to {self.end:%H:%M}Z"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Visit:
    """A flight in RVSM airspace with its cross-checks in flight."""

    flight: Logged[Flight]
    entered: datetime
    left: datetime
    readings: tuple[Logged[CrossCheck], ...]

    @property
    def inside(self) -> tuple[Logged[CrossCheck], ...]:
        """Those taken in RVSM airspace."""
        return between(self.readings, self.entered, self.left)

    def gaps(self) -> tuple[_Gap, ...]:
        """Give the times between cross-checks, from the last before entry to the exit."""
        before = [
            logged.record.taken_at
            for logged in self.readings
            if logged.record.taken_at < self.entered
        ]
        inside = [logged.record.taken_at for logged in self.inside]
        points = [before[-1] if before else self.entered, *inside, self.left]
        return tuple(_Gap(start=start, end=end) for start, end in pairwise(points))


@rule("nat-doc-001-3-5-1f", "spa-rvsm-105-in-flight")
def hourly_checks_missed(facts: Facts) -> Iterator[Result]:
    """Altimeters not compared every hour on the newest flight in RVSM airspace.

    Checks: The newest flight with times in RVSM airspace: the time between its cross-checks in
    flight, from the last one before entry to the exit, against about one hour. With at least one
    good cross-check in RVSM airspace a longer gap is advice. With none, the evidence is missing
    until the maintenance controller's review accepts the flight's entry.

    Why: The hourly comparison is how a failing altimetry system is found in flight. A flight that
    shows none has not shown that its altimetry held.

    Remedy: Enter the readings that stand in the paper log, with their times; otherwise have the
    maintenance controller review the flight's entry. Compare about every hour from now on.

    Known problems: The text says about one hour; the time allowed beyond it is common practice.
    Under radar some operators rely on the normal scan and write nothing down. Of older flights
    nothing is asked.
    """
    visit = _newest_visit(facts)
    if visit is None:
        yield not_applicable("no flight in RVSM airspace on record")
        return
    gaps = visit.gaps()
    missed = tuple(gap for gap in gaps if gap.length > _LONGEST)
    review = accepting_review(facts, visit.flight, visit.flight.record.on_at)
    day = visit.entered.date()
    if visit.readings and not missed:
        longest, most = max(gap.minutes for gap in gaps), _LONGEST // _MINUTE
        says = f"flight of {day}: at most {longest} min between cross-checks, limit {most} min"
        yield _result(Outcome.MET, says, visit, missed)
    elif any(_is_good(facts, reading) for reading in visit.inside):
        yield _result(Outcome.ADVICE, _missed(visit, missed), visit, missed)
    elif review is not None:
        says = f"flight of {day} without good cross-checks, accepted by review #{review.ref.entry}"
        yield _result(Outcome.ADVICE, says, visit, missed, review.ref)
    else:
        yield _result(Outcome.NOT_ON_RECORD, _missed(visit, missed or gaps), visit, missed)


def _newest_visit(facts: Facts) -> _Visit | None:
    """Give the newest flight with times in RVSM airspace."""
    for logged in reversed(facts.flights):
        flight = logged.record
        if flight.rvsm_from is not None and flight.rvsm_to is not None:
            return _Visit(
                flight=logged,
                entered=flight.rvsm_from,
                left=flight.rvsm_to,
                readings=between(in_flight(facts), flight.off_at, flight.on_at),
            )
    return None


def _is_good(facts: Facts, reading: Logged[CrossCheck]) -> bool:
    """Say whether the primaries agreed within their tolerance."""
    tolerance = crosscheck_tolerance_ft(facts.particulars, level_of(reading.record))
    return abs(reading.record.difference_ft) <= tolerance


def _missed(visit: _Visit, gaps: tuple[_Gap, ...]) -> str:
    """Say when the altimeters were not compared."""
    longest = max(gaps, key=lambda gap: gap.length)
    more = f", and {len(gaps) - 1} gap more" if len(gaps) > 1 else ""
    return (
        f"flight of {visit.entered.date()}: no cross-check from {longest} "
        f"({longest.minutes} min){more}"
    )


def _result(
    outcome: Outcome, says: str, visit: _Visit, missed: tuple[_Gap, ...], *evidence: Ref
) -> Result:
    """Give a result with the numbers and the entries of the flight."""
    longest = max(gap.minutes for gap in visit.gaps())
    most = _LONGEST // _MINUTE
    remedies = {
        Outcome.MET: "",
        Outcome.ADVICE: "Compare the altimeters about every hour and record each cross-check.",
        Outcome.NOT_ON_RECORD: "Enter the readings of the paper log with `rvsmlog crosscheck log`; "
        "without any, have the maintenance controller record an accepting review of entry "
        f"#{visit.flight.first}.",
    }
    return Result(
        outcome=outcome,
        says=says,
        highest_level=BELOW_RVSM if outcome is Outcome.NOT_ON_RECORD else None,
        values={
            "longest_gap_minutes": longest,
            "missed": "; ".join(str(gap) for gap in missed),
            "crosschecks": len(visit.readings),
        },
        limits={"gap_minutes": most},
        margin=Margin(value=most - longest, unit="min") if visit.readings else None,
        evidence=(visit.flight.ref, *(logged.ref for logged in visit.readings), *evidence),
        remedy=remedies[outcome],
    )
