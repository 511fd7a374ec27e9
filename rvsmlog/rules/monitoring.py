"""Height monitoring: the error measured, against its limits."""

from collections.abc import Iterator
from dataclasses import replace

from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import Margin, Outcome
from rvsmlog.records.flights import Closure
from rvsmlog.records.papers import Monitoring
from rvsmlog.rules.base import Result, met, not_applicable, not_met, rule
from rvsmlog.rules.basis import basis_of
from rvsmlog.rules.confirmations import confirmed_closure, large
from rvsmlog.rules.monitoring_due import newest_result
from rvsmlog.standards.rvsm import (
    HIGHEST_LEVEL_BELOW_RVSM,
    LARGE_ASE_FT,
    LARGE_TVE_FT,
    AseLimit,
    Basis,
    Envelope,
    ase_limit,
)

_BELOW = HIGHEST_LEVEL_BELOW_RVSM.value


def limit_of(facts: Facts, basis: Basis, envelope: str = Envelope.FULL) -> AseLimit:
    """Give the limits of altimetry system error that hold for the airframe on a basis."""
    after_split = facts.particulars.type_certificate == "after-1997-04-09"
    return ase_limit(basis, tc_after_split=after_split, envelope=envelope)


@rule("appendix-g-2d", "appendix-g-2e", "appendix-g-2f", "appendix-g-9b", "appendix-g-6")
def height_monitoring_beyond_limits(facts: Facts) -> Iterator[Result]:
    """Height error beyond the limit at the newest monitoring.

    Checks: The altimetry system error of the newest result against the limit of the airframe's
    basis (group, non-group, or the ADS-B based authority) and type certificate in the full RVSM
    envelope; and its total vertical error, where given, against 300 ft. An error of exactly the
    altimetry limit passes; a total vertical error of exactly 300 ft does not. Where the basic
    envelope has a tighter limit (200 ft for a group applied for by 9 April 1997, 160 ft for
    non-group), an error beyond that one and within the other is advice. From 245 ft of altimetry
    system error and 300 ft of total vertical error on, the finding says that it must be reported. A
    result whose closure names the check that confirms it put right is advice: it is to be measured
    again.

    Why: The 1,000 ft of separation were reckoned with the limits of appendix G sections 2 and 9. An
    aeroplane beyond them may still be below what must be reported, and yet may not fly there.

    Remedy: Have the altimetry inspected and put right, have the height monitored again, and record
    both; report it where it reaches the reporting limit.

    Known problems: For group aircraft the rule limits the group; holding one aeroplane against the
    group's mean plus three standard deviations is common practice. A single result carries a
    measuring error of its own, which is not taken off. Speed and weight at the measurement are not
    on record, so that it is not known which envelope they lay in. Ordinary cruise lies in the basic
    one: it reaches at least to the Mach number of long-range cruise plus 0.04.
    """
    result = newest_result(facts)
    if result is None:
        yield not_applicable("no height monitoring on record")
        return
    closure = confirmed_closure(facts, result.first, result.record.measured_on)
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
        return _beyond_basic(base, says, error, limit_of(facts, basis, Envelope.BASIC))
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


def _beyond_basic(base: Result, says: str, error: int, basic: AseLimit) -> Result:
    """Turn a result within the full envelope's limit, but not the basic one's, into advice."""
    if abs(error) <= basic.individual_ft:
        return base
    return replace(
        base,
        outcome=Outcome.ADVICE,
        says=f"{says} of the full envelope, {basic.individual_ft} ft of the basic one",
        limits={**base.limits, "basic_ase_ft": basic.individual_ft},
        remedy="Ask at what speed and weight it was measured: ordinary cruise lies in the basic "
        "envelope, and there it is beyond. Have the altimetry inspected and monitor again.",
    )


def _error_remedy(*, report: bool) -> str:
    """Say what puts a height error right."""
    told = "Report it and record the deviation; " if report else ""
    mended = (
        "have the altimetry inspected and put right and the height monitored again; record the "
        "work, its tests and the new result."
    )
    return told + (mended if report else mended.capitalize())
