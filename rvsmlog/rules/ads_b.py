"""Flight in RVSM airspace on ADS-B Out and monitoring, without a specific approval."""

from collections.abc import Iterator

from rvsmlog.dates import days_left
from rvsmlog.facts import ApprovalCase, Facts
from rvsmlog.findings import Margin, Outcome
from rvsmlog.frozen import replace
from rvsmlog.rules.ads_b_out import transmitters
from rvsmlog.rules.base import Result, met, not_applicable, not_met, not_on_record, rule
from rvsmlog.rules.basis import ADS_B, SPECIFIC, ads_b_faults, faults_of, of_rvsm, paper_faults
from rvsmlog.rules.monitoring import limit_of
from rvsmlog.rules.monitoring_due import adsb_due, newest_result
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.rvsm import (
    HIGHEST_LEVEL_BELOW_RVSM,
    MONITORING_ADSB_MONTHS,
    Basis,
)

_BELOW = HIGHEST_LEVEL_BELOW_RVSM.value
_SPECIFIC_REMEDY = "Obtain a specific RVSM approval and record it, or plan below RVSM airspace."


@rule("appendix-g-9", "appendix-g-9a", "appendix-g-9b", "ac-91-85b-4-3", "aim-4-6-4")
def ads_b_route_not_applicable(facts: Facts) -> Iterator[Result]:
    """ADS-B based authority that does not serve this flight.

    Checks: Only where the flight rests on that authority because no specific approval counts: the
    airframe's rules know it; the flight stays in airspace of the United States; an ADS-B Out of
    TSO-C166b or later is fitted and has no open defect, deferred or not; the height was monitored
    within the previous 24 months; and the altimetry system error was at most 200 ft. Each condition
    that fails is a finding.

    Why: Appendix G section 9 takes the place of an approval by continuous monitoring, which works
    only where the aeroplane transmits and somebody listens. Abroad, and under other rules, a
    specific approval is needed.

    Remedy: Mend or fit the ADS-B Out, have the height monitored, and record it; or obtain a
    specific approval and record it.

    Known problems: The 24 months were read second-hand from a note on AC 91-85B paragraph 4.3. That
    the ADS-B Out meets 91.227, and that air traffic control let the flight go without it, cannot be
    recorded. The two altimetry systems, altitude control, alerter and TCAS have rules of their own.
    """
    if any(
        case.approval.record.approval == SPECIFIC and not faults_of(case, facts)
        for case in of_rvsm(facts)
    ):
        yield not_applicable("a specific approval goes before it")
        return
    case = _authority_on_record(facts)
    if case is None:
        yield not_applicable("no ADS-B based authority that counts is on record")
        return
    failures = (*_where(facts, case), *_transmitter(facts, case), *_monitored(facts))
    if failures:
        yield from failures
        return
    yield _serves(facts, case)


def _authority_on_record(facts: Facts) -> ApprovalCase | None:
    """Give the newest ADS-B based authority against whose paper there is nothing."""
    good = [
        case
        for case in of_rvsm(facts)
        if case.approval.record.approval == ADS_B and not paper_faults(case, facts)
    ]
    return good[-1] if good else None


def _where(facts: Facts, case: ApprovalCase) -> Iterator[Result]:
    """See that rules and region let it serve."""
    if facts.region is None:
        yield not_on_record(
            "region of the flight not known: the ADS-B based authority serves in US only",
            highest_level=_BELOW,
            remedy="Name the region of the flight, or record the operator's usual region.",
            evidence=(case.approval.ref,),
        )
    faults = ads_b_faults(facts)
    if faults:
        overlay = authority(facts.particulars.authority)
        yield not_met(
            f"ADS-B based authority #{case.approval.first}: " + "; ".join(faults),
            highest_level=_BELOW,
            remedy=_SPECIFIC_REMEDY,
            values={"region": facts.region, "authority": overlay.code},
            evidence=(case.approval.ref, facts.airframe.ref),
            sources=(overlay.adsb_route_source.key, "aim-4-6-4"),
        )


def _transmitter(facts: Facts, case: ApprovalCase) -> Iterator[Result]:
    """See that an ADS-B Out for Class A airspace is fitted and works."""
    for each in transmitters(facts):
        if each.outcome is not Outcome.MET:
            yield replace(
                each,
                # The rule of the airspace says it by itself; here it is said whose need it is.
                says=f"ADS-B based authority #{case.approval.first}: {each.says}",
                highest_level=_BELOW,
                sources=("appendix-g-9a", "91-225", "91-227"),
            )


def _monitored(facts: Facts) -> Iterator[Result]:
    """See that the height was monitored lately, and the error within the limit."""
    result = newest_result(facts)
    remedy = "Have the height monitored and record the result; until then plan below RVSM airspace."
    if result is None:
        yield not_on_record(
            "no height monitoring on record",
            highest_level=_BELOW,
            remedy=remedy,
            evidence=(facts.airframe.ref,),
            sources=("appendix-g-9a", "ac-91-85b-4-3"),
        )
        return
    due, error = adsb_due(result), result.record.ase_ft
    limit = limit_of(facts, Basis.ADS_B)
    if facts.today > due:
        yield not_met(
            f"height last monitored on {result.record.measured_on}, which served until {due}",
            highest_level=_BELOW,
            remedy=remedy,
            values={"measured_on": str(result.record.measured_on)},
            limits={"months": MONITORING_ADSB_MONTHS.value},
            margin=Margin(value=days_left(due, facts.today), unit="days"),
            evidence=(result.ref,),
            sources=("ac-91-85b-4-3",),
        )
    if abs(error) > limit.individual_ft:
        yield not_met(
            f"altimetry system error {error:+d} ft, limit {limit.individual_ft} ft",
            highest_level=_BELOW,
            remedy="Have the altimetry put right and the height monitored again; record both.",
            values={"ase_ft": error},
            limits={"ase_ft": limit.individual_ft},
            margin=Margin(value=limit.individual_ft - abs(error), unit="ft"),
            evidence=(result.ref,),
            sources=(limit.source.key,),
        )


def _serves(facts: Facts, case: ApprovalCase) -> Result:
    """Say that every condition holds."""
    result = newest_result(facts)
    units = facts.fitted(Function.ADS_B_OUT)
    refs = tuple(unit.equipment.ref for unit in units)
    return met(
        f"ADS-B based authority #{case.approval.first} serves: US, ADS-B Out fitted, monitored",
        evidence=(case.approval.ref, *refs, *((result.ref,) if result else ())),
    )
