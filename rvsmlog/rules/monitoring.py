"""Height monitoring: measured lately, and within the limits."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from rvsmlog.dates import days_left, months_later
from rvsmlog.facts import ApprovalCase, Facts, Logged
from rvsmlog.findings import Margin, Outcome, Value
from rvsmlog.records.flights import Closure
from rvsmlog.records.papers import Monitoring
from rvsmlog.rules.base import (
    Result,
    advice,
    met,
    not_applicable,
    not_met,
    not_on_record,
    rule,
)
from rvsmlog.rules.basis import ADS_B, basis_of, in_use, of_rvsm, same_marks, same_name
from rvsmlog.rules.confirmations import confirmed_closure, large
from rvsmlog.standards.rvsm import (
    HIGHEST_LEVEL_BELOW_RVSM,
    LARGE_ASE_FT,
    LARGE_TVE_FT,
    MONITORING_ADSB_MONTHS,
    MONITORING_FIRST_MONTHS,
    MONITORING_LONG_TERM_HOURS,
    MONITORING_LONG_TERM_MONTHS,
    AseLimit,
    Basis,
    ase_limit,
)

_BELOW = HIGHEST_LEVEL_BELOW_RVSM.value
_LONG_TERM_SOURCES = ("annex-6-1-7-2-7", "annex-6-2-2-5-2-9")
_ADSB_SOURCES = ("ac-91-85b-4-3",)
_REMEDY = (
    "Have the aeroplane's height monitored (ground station, GPS unit or ADS-B) and record the "
    "result with its date, error and airframe hours; until then plan below RVSM airspace."
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


def limit_of(facts: Facts, basis: Basis) -> AseLimit:
    """Give the limits of altimetry system error that hold for the airframe on a basis."""
    after_split = facts.particulars.type_certificate == "after-1997-04-09"
    return ase_limit(basis, tc_after_split=after_split)


@rule("annex-6-1-7-2-7", "annex-6-2-2-5-2-9", "ac-91-85b-4-3")
def height_monitoring_overdue(facts: Facts) -> Iterator[Result]:
    """Height monitoring overdue, or never done in time.

    Checks: With a specific approval, whether a result was obtained within six months from the issue
    of the first of the approvals that this one continues, and afterwards within two years or 1,000
    airframe hours, whichever is longer: it is overdue only when both have passed. Hours count from
    the result's airframe hours to those of the newest flight; where either is not on record the two
    years alone decide. With the ADS-B based authority, 24 months and no hours. A due day counts.

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


@rule("appendix-g-2d", "appendix-g-2e", "appendix-g-2f", "appendix-g-9b", "appendix-g-6")
def height_monitoring_beyond_limits(facts: Facts) -> Iterator[Result]:
    """Height error beyond the limit at the newest monitoring.

    Checks: The altimetry system error of the newest result against the limit of the airframe's
    basis (group, non-group, or the ADS-B based authority) and type certificate, full envelope; and
    its total vertical error, where given, against 300 ft. An error of exactly the altimetry limit
    passes; a total vertical error of exactly 300 ft does not. From 245 ft of altimetry system error
    and 300 ft of total vertical error on, the finding says that it must be reported. A result whose
    closure names the check that confirms it put right is advice: it is to be measured again.

    Why: The 1,000 ft of separation were reckoned with the limits of appendix G sections 2 and 9. An
    aeroplane beyond them may still be below what must be reported, and yet may not fly there.

    Remedy: Have the altimetry inspected and put right, have the height monitored again, and record
    both; report it where it reaches the reporting limit.

    Known problems: For group aircraft the rule limits the group; holding one aeroplane against the
    group's mean plus three standard deviations is common practice. A single result carries a
    measuring error of its own, which is not taken off.
    """
    result = newest_result(facts)
    if result is None:
        yield not_applicable("no height monitoring on record")
        return
    closure = confirmed_closure(facts, result.first)
    for found in _errors(facts, result):
        failed = found.outcome is Outcome.NOT_MET
        yield found if closure is None or not failed else _put_right(found, closure)


def beyond_limits(facts: Facts, result: Monitoring) -> bool:
    """Whether a result is beyond the limit of the airframe's basis, or of total vertical error."""
    most = limit_of(facts, basis_of(facts)).individual_ft
    return abs(result.ase_ft) > most or large(tve_ft=result.tve_ft)


def _put_right(found: Result, closure: Logged[Closure]) -> Result:
    """Say that an error was closed and by which check it is confirmed put right."""
    check = (closure.record.confirmation or "").replace("-", " ")
    return replace(
        found,
        outcome=Outcome.ADVICE,
        says=f"{found.says.split(':')[0]}; put right, {check} {closure.record.confirmed_on}",
        highest_level=None,
        remedy="Have the height monitored again and record the result.",
        evidence=(*found.evidence, closure.ref),
    )


def _errors(facts: Facts, result: Logged[Monitoring]) -> Iterator[Result]:
    """Judge a result's altimetry system error, and its total vertical error where it is large."""
    yield _system_error(facts, result)
    tve = result.record.tve_ft
    if tve is not None and large(tve_ft=tve):
        yield not_met(
            f"total vertical error {tve:+d} ft on {result.record.measured_on}, "
            f"limit {LARGE_TVE_FT.value} ft: must be reported",
            highest_level=_BELOW,
            remedy=_error_remedy(report=True),
            values={"tve_ft": tve, "measured_on": str(result.record.measured_on)},
            limits={"below_ft": LARGE_TVE_FT.value},
            margin=Margin(value=LARGE_TVE_FT.value - abs(tve), unit="ft"),
            evidence=(result.ref,),
            sources=("appendix-g-6", "spa-rvsm-115"),
        )


def first_issue(facts: Facts, case: ApprovalCase) -> date:
    """Give the day from which the first six months run.

    A renewal does not start them afresh: the earliest approval for the same marks and holder that
    was not withdrawn counts.
    """
    paper = case.approval.record
    chain = [
        other.approval.record.issued_on
        for other in of_rvsm(facts)
        if other.withdrawal is None
        and same_marks(other.approval.record.registration, paper.registration)
        and same_name(other.approval.record.holder, paper.holder)
    ]
    return min(chain, default=paper.issued_on)


def hours_since(facts: Facts, result: Logged[Monitoring]) -> float | None:
    """Give the airframe hours from a result to the newest flight.

    Returns
    -------
    float or None
        None where either is not on record, or the newest flight has fewer than the result.
    """
    then = result.record.airframe_hours
    now = facts.flights[-1].record.airframe_hours if facts.flights else None
    if then is None or now is None or now < then:
        return None
    return round(now - then, 2)


def _no_result(facts: Facts, case: ApprovalCase) -> Result:
    """Judge a specific approval without any result."""
    due = months_later(first_issue(facts, case), MONITORING_FIRST_MONTHS.value)
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
    measured = result.record.measured_on
    due = months_later(measured, MONITORING_LONG_TERM_MONTHS.value)
    first = months_later(first_issue(facts, case), MONITORING_FIRST_MONTHS.value)
    hours, most = hours_since(facts, result), MONITORING_LONG_TERM_HOURS.value
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
    if hours is not None and hours <= most:
        flown = f"two years ended {due}, {hours:g} of {most} hours since"
        margin = Margin(value=round(most - hours, 2), unit="h")
        return replace(base, says=f"height monitored on {measured}: {flown}", margin=margin)
    if facts.today <= first:
        return _due_again(base, measured, first, facts.today)
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


def _system_error(facts: Facts, result: Logged[Monitoring]) -> Result:
    """Judge the altimetry system error of a result."""
    basis = basis_of(facts)
    limit = limit_of(facts, basis)
    error, most = result.record.ase_ft, limit.individual_ft
    says = f"altimetry system error {error:+d} ft on {result.record.measured_on}, limit {most} ft"
    base = met(
        f"{says} ({basis})",
        values={
            "ase_ft": error,
            "measured_on": str(result.record.measured_on),
            "basis": str(basis),
        },
        limits={"ase_ft": most, "report_ft": LARGE_ASE_FT.value},
        margin=Margin(value=most - abs(error), unit="ft"),
        evidence=(result.ref,),
        sources=(limit.source.key,),
    )
    report = abs(error) >= LARGE_ASE_FT.value
    if abs(error) <= most and not report:
        return base
    if abs(error) <= most:
        return replace(
            base,
            outcome=Outcome.ADVICE,
            says=f"{says}: within it, yet must be reported",
            remedy="Report the error, and record the report as a deviation.",
            sources=(limit.source.key, "appendix-g-6"),
        )
    ending = "must be reported" if report else "not reportable, yet barred"
    return replace(
        base,
        outcome=Outcome.NOT_MET,
        says=f"{says}: {ending}",
        highest_level=_BELOW,
        remedy=_error_remedy(report=report),
        sources=(limit.source.key, "appendix-g-6"),
    )


def _error_remedy(*, report: bool) -> str:
    """Say what puts a height error right."""
    told = "Report it and record the deviation; " if report else ""
    mended = (
        "have the altimetry inspected and put right and the height monitored again; record the "
        "work, its tests and the new result."
    )
    return told + (mended if report else mended.capitalize())
