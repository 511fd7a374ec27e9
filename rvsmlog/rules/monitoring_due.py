"""Height monitoring in time: by when an aeroplane must have been measured."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from rvsmlog.dates import days_left, local_day, months_later
from rvsmlog.facts import ApprovalCase, Facts, Logged
from rvsmlog.findings import Margin, Outcome, Value
from rvsmlog.frozen import dataclass
from rvsmlog.records.papers import Monitoring
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_on_record, rule
from rvsmlog.rules.basis import ADS_B, in_use, of_rvsm, same_marks, same_name, withdrawn
from rvsmlog.rules.readings import in_flight
from rvsmlog.rules.term import Term
from rvsmlog.standards.rvsm import (
    HIGHEST_LEVEL_BELOW_RVSM,
    MONITORING_ADSB_MONTHS,
    MONITORING_FIRST_MONTHS,
    MONITORING_LONG_TERM_HOURS,
    MONITORING_LONG_TERM_MONTHS,
)

_BELOW = HIGHEST_LEVEL_BELOW_RVSM.value
_LONG_TERM_SOURCES = ("annex-6-1-7-2-7", "annex-6-2-2-5-2-9")
_ADSB_SOURCES = ("ac-91-85b-4-3",)
_REMEDY = (
    "Have the aeroplane's height monitored (ground station, GPS unit or ADS-B) and record the "
    "result with `rvsmlog monitoring add`: date, error and airframe hours; until then plan below "
    "RVSM airspace."
)


def newest_result(facts: Facts) -> Logged[Monitoring] | None:
    """Give the newest monitoring result; of several of one day the one with the greatest error."""
    if not facts.monitoring:
        return None
    newest = max(logged.record.measured_on for logged in facts.monitoring)
    that_day = [logged for logged in facts.monitoring if logged.record.measured_on == newest]
    return max(that_day, key=lambda logged: abs(logged.record.ase_ft))


def adsb_due(result: Logged[Monitoring]) -> date:
    """Give the last day on which a result serves the ADS-B based authority."""
    return months_later(result.record.measured_on, MONITORING_ADSB_MONTHS.value)


@rule("annex-6-1-7-2-7", "annex-6-2-2-5-2-9", "ac-91-85b-4-3")
def height_monitoring_overdue(facts: Facts) -> Iterator[Result]:
    """Height monitoring overdue, or never done in time.

    Checks: With a specific approval, whether a result was obtained within six months from the issue
    of the first of the approvals that this one continues, and afterwards within two years or 1,000
    airframe hours, whichever is longer: it is overdue only when both have passed. Hours count from
    the result's airframe hours to those of the newest flight; where either is not on record, where
    hours run back, or where a cross-check in flight is newer than the newest flight, the two years
    alone decide. With the ADS-B based authority, 24 months and no hours. A due day counts. Held to
    the day on which the flight ends, as far as --cruise-minutes tells.

    Why: Altimetry system error drifts, and the crew cannot see it: every altimeter on board may
    share it. Annex 6 wants each operator's aeroplanes measured; a single aeroplane is its own
    sample.

    Remedy: Have the aeroplane measured and record the result with the airframe hours.

    Known problems: One summary in the United States says whichever comes first; Annex 6 says
    longer, and that is checked. The 24 months of the ADS-B based authority were read second-hand.
    Operators of several aeroplanes of one type may need to measure only some of them; here each is
    held to the rule. Whether the altimetry was changed since the result is not looked at.
    """
    case = in_use(facts)
    if case is None:
        yield not_applicable("no RVSM approval counts for this flight")
        return
    result = newest_result(facts)
    if case.approval.record.approval == ADS_B:
        yield _on_adsb(facts, result)
    elif result is None:
        yield _no_result(facts, case)
    else:
        yield _long_term(facts, case, result)


def first_issue(facts: Facts, case: ApprovalCase) -> date:
    """Give the day from which the first six months run.

    A renewal does not start them afresh: the earliest approval for the same marks and holder that
    was not withdrawn by today counts.
    """
    paper = case.approval.record
    chain = [
        other.approval.record.issued_on
        for other in of_rvsm(facts)
        if not withdrawn(other, facts.today)
        and same_marks(other.approval.record.registration, paper.registration)
        and same_name(other.approval.record.holder, paper.holder)
    ]
    return min(chain, default=paper.issued_on)


def hours_since(facts: Facts, result: Logged[Monitoring]) -> float | None:
    """Give the airframe hours from a result to the newest flight.

    Returns
    -------
    float or None
        None where either is not on record, where the newest flight has fewer than the result or
        than an earlier flight, or where a cross-check in flight on a later day shows that flights
        are missing from the record.
    """
    then = result.record.airframe_hours
    now = facts.flights[-1].record.airframe_hours if facts.flights else None
    if then is None or now is None or now < then or _flown_since(facts):
        return None
    earlier = (flight.record.airframe_hours for flight in facts.flights)
    if any(hours is not None and hours > now for hours in earlier):
        return None
    return round(now - then, 2)


def _flown_since(facts: Facts) -> bool:
    """Whether a cross-check in flight is of a later day than the newest flight on record."""
    readings = in_flight(facts)
    if not readings or not facts.flights:
        return False
    last, landed = readings[-1].record.taken_at, facts.flights[-1].record.on_at
    return local_day(last, facts.time_zone) > local_day(landed, facts.time_zone)


def first_due(facts: Facts, case: ApprovalCase) -> date:
    """Give the last day for the first monitoring under a specific approval."""
    return months_later(first_issue(facts, case), MONITORING_FIRST_MONTHS.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class LongTerm:
    """Until when a result serves a specific approval.

    Parameters
    ----------
    two_years : date
        Last day of the two years.
    hours : float or None
        Hours flown since; None where they are not on record.
    last_day : date or None
        Last day on which it serves; None while the hours carry it on, whatever the day.
    not_before : date
        It serves up to this day however much is flown: the two years, and the six months that
        follow the first approval.
    """

    two_years: date
    hours: float | None
    last_day: date | None
    not_before: date


def long_term(facts: Facts, case: ApprovalCase, result: Logged[Monitoring]) -> LongTerm:
    """Reckon until when a result serves: two years or 1,000 hours, whichever is longer."""
    two_years = months_later(result.record.measured_on, MONITORING_LONG_TERM_MONTHS.value)
    not_before = max(two_years, first_due(facts, case))
    hours = hours_since(facts, result)
    carried = hours is not None and hours <= MONITORING_LONG_TERM_HOURS.value
    return LongTerm(
        two_years=two_years,
        hours=hours,
        last_day=None if carried else not_before,
        not_before=not_before,
    )


def monitoring_terms(facts: Facts) -> Iterator[Term]:
    """Give until when the height monitoring serves the approval that the flight rests on."""
    case, result = in_use(facts), newest_result(facts)
    if case is None:
        return
    if result is not None:
        yield _term_of(facts, case, result)
    elif case.approval.record.approval != ADS_B:
        yield Term(
            rule=height_monitoring_overdue.name,
            subject="",
            what="first height monitoring",
            last_day=first_due(facts, case),
            evidence=(case.approval.ref,),
            remedy=_REMEDY,
        )


def _term_of(facts: Facts, case: ApprovalCase, result: Logged[Monitoring]) -> Term:
    """Give until when a result serves, by day or by hours."""
    base = Term(
        rule=height_monitoring_overdue.name,
        subject="",
        what="height monitoring",
        last_day=adsb_due(result),
        evidence=(result.ref,),
        remedy=_REMEDY,
    )
    if case.approval.record.approval == ADS_B:
        return base
    serves, then = long_term(facts, case, result), result.record.airframe_hours
    if serves.last_day is not None or then is None or serves.hours is None:
        return replace(base, last_day=serves.last_day)
    most = MONITORING_LONG_TERM_HOURS.value
    return replace(
        base,
        last_day=None,
        last_hours=round(then + most, 2),
        hours_left=round(most - serves.hours, 2),
        not_before=serves.not_before,
    )


def _no_result(facts: Facts, case: ApprovalCase) -> Result:
    """Judge a specific approval without any result."""
    due = first_due(facts, case)
    left = days_left(due, facts.today)
    values: dict[str, Value] = {"first_due_on": str(due), "days_left": left}
    limits: dict[str, Value] = {"first_months": MONITORING_FIRST_MONTHS.value}
    if left >= 0:
        return advice(
            f"no height monitoring on record; the first is due by {due}: {left} days left",
            remedy=_REMEDY,
            values=values,
            limits=limits,
            margin=Margin(value=left, unit="days"),
            evidence=(case.approval.ref,),
        )
    return not_on_record(
        f"no height monitoring on record; the first was due by {due}",
        highest_level=_BELOW,
        remedy=_REMEDY,
        values=values,
        limits=limits,
        evidence=(case.approval.ref,),
    )


def _long_term(facts: Facts, case: ApprovalCase, result: Logged[Monitoring]) -> Result:
    """Judge the newest result by two years or 1,000 hours, whichever is longer."""
    measured, serves = result.record.measured_on, long_term(facts, case, result)
    due, hours, most = serves.two_years, serves.hours, MONITORING_LONG_TERM_HOURS.value
    left = days_left(due, facts.today)
    base = met(
        f"height monitored on {measured}; next due after {due}: {left} days left",
        values={"measured_on": str(measured), "due_on": str(due), "hours_since_h": hours},
        limits={"months": MONITORING_LONG_TERM_MONTHS.value, "hours_h": most},
        margin=Margin(value=left, unit="days"),
        evidence=(result.ref,),
        sources=_LONG_TERM_SOURCES,
    )
    if left >= 0:
        return base
    if hours is not None and serves.last_day is None:
        flown = f"two years ended {due}, {hours:g} of {most} hours since"
        margin = Margin(value=round(most - hours, 2), unit="h")
        return replace(base, says=f"height monitored on {measured}: {flown}", margin=margin)
    if facts.today <= serves.not_before:
        return _due_again(base, measured, serves.not_before, facts.today)
    flown = "hours since not on record" if hours is None else f"{hours:g} hours since"
    return replace(
        base,
        outcome=Outcome.NOT_MET,
        says=f"height monitored on {measured}: two years ended {due}, {flown} (limit {most})",
        highest_level=_BELOW,
        remedy=_REMEDY,
    )


def _due_again(base: Result, measured: date, first: date, today: date) -> Result:
    """Say that an old result is followed by the six months of a new approval."""
    return replace(
        base,
        outcome=Outcome.ADVICE,
        says=f"height monitored on {measured}, too long ago; due under this approval by {first}",
        margin=Margin(value=days_left(first, today), unit="days"),
        remedy=_REMEDY,
    )


def _on_adsb(facts: Facts, result: Logged[Monitoring] | None) -> Result:
    """Judge the ADS-B based authority: 24 months, and none without a result."""
    months = MONITORING_ADSB_MONTHS.value
    if result is None:
        return not_on_record(
            "no height monitoring on record; the ADS-B based authority wants one",
            highest_level=_BELOW,
            remedy=_REMEDY,
            limits={"months": months},
            evidence=(facts.airframe.ref,),
            sources=_ADSB_SOURCES,
        )
    measured, due = result.record.measured_on, adsb_due(result)
    left = days_left(due, facts.today)
    base = met(
        f"height monitored on {measured}; serves until {due}: {left} days left",
        values={"measured_on": str(measured), "due_on": str(due)},
        limits={"months": months},
        margin=Margin(value=left, unit="days"),
        evidence=(result.ref,),
        sources=_ADSB_SOURCES,
    )
    if left >= 0:
        return base
    return replace(
        base,
        outcome=Outcome.NOT_MET,
        says=f"height monitored on {measured}: its {months} months ended {due}",
        highest_level=_BELOW,
        remedy=_REMEDY,
    )
