"""Altitude deviations: large ones stay open until somebody confirms that they are put right."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from types import MappingProxyType

from rvsmlog.dates import local_day, show_instant
from rvsmlog.facts import DeviationCase, Facts
from rvsmlog.findings import Margin, Value
from rvsmlog.records.flights import Deviation
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_met, rule
from rvsmlog.rules.basis import basis_of
from rvsmlog.rules.monitoring import limit_of
from rvsmlog.rules.term import Term
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.rvsm import (
    HIGHEST_LEVEL_BELOW_RVSM,
    LARGE_AAD_FT,
    LARGE_ASE_FT,
    LARGE_TVE_FT,
    AseLimit,
)
from rvsmlog.units import level_to_feet

#: Sizes at and beyond which a deviation is reported, feet.
LIMITS_FT: Mapping[str, int] = MappingProxyType(
    {
        "tve_ft": LARGE_TVE_FT.value,
        "ase_ft": LARGE_ASE_FT.value,
        "aad_ft": LARGE_AAD_FT.value,
    }
)
_LIMITS: dict[str, Value] = {**LIMITS_FT}
_NAMES = {
    "tve_ft": "total vertical error",
    "ase_ft": "altimetry system error",
    "aad_ft": "off the level",
}


@rule(
    "appendix-g-6",
    "appendix-g-7",
    "appendix-g-2d",
    "appendix-g-2e",
    "appendix-g-2f",
    "appendix-g-9b",
    "spa-rvsm-115",
    "spa-rvsm-115-c",
    "aro-ops-200-d1",
    "ac-91-85b-4",
)
def deviation_open(facts: Facts) -> Iterator[Result]:
    """Large altitude deviation that nobody has closed.

    Checks: Every deviation on record without a closure since it happened: from 300 ft of total
    vertical error, 245 ft of altimetry system error or 300 ft off the assigned level on (in feet,
    or between cleared and observed level), RVSM is not to be flown. The first is the sum of the
    last two, signs respected: where a total is stated too and is not that sum, the finding says so
    and the greater in size counts; of the last two, one that is not stated is worked out from the
    total and the other. A smaller altimetry system error bars RVSM too where it is beyond the limit
    of the airframe's basis (200 ft but for a group applied for by 9 April 1997), as one measured by
    height monitoring does. Others are advice. Where the rules set a time for the report, the
    finding says whether it was kept. A large deviation that is closed, but has no report on record,
    is advice.

    Why: A deviation of that size must be reported (appendix G section 6, SPA.RVSM.115), and an
    operator who does not respond to it can lose the authority (section 7). Until its cause is known
    and put right the next flight may repeat it. An aeroplane whose altimetry is beyond the limit of
    section 2 or 9 is none that those sections approve, reported or not.

    Remedy: Report it, find the cause, put it right, and record the closure with the conclusion and
    who confirmed it.

    Known problems: Appendix G sets no time for the report; 72 hours are of the UK and EU rules, and
    are counted from the event. SPA.RVSM.115(c) and AMC2 ARO.OPS.200(d)(1) ask for immediate action
    to put right what caused it; that RVSM is barred until the closure is advisory material from
    memory, applied to every cause, the controller's included: who closes it says so. Where
    altimetry system error is worked out from levels, which are whole hundreds of feet, it may be 50
    ft or more off either way; a total entered without its sign makes it wrong.
    """
    open_cases = [case for case in facts.deviations if not _is_closed(facts, case)]
    for case in open_cases:
        yield _open(facts, case)
    closed = [case for case in facts.deviations if _is_closed(facts, case)]
    unreported = [
        case
        for case in closed
        if excess(case.deviation.record) and case.deviation.record.reported_at is None
    ]
    for case in unreported:
        yield advice(
            f"deviation #{case.deviation.first} is closed, but no report of it is on record",
            remedy="Report it, and correct its entry with the time of the report.",
            limits=_LIMITS,
            evidence=(case.deviation.ref,),
            sources=("appendix-g-6", "spa-rvsm-115"),
        )
    if not facts.deviations:
        yield not_applicable("no altitude deviation on record")
    elif not open_cases and not unreported:
        yield met(
            f"each altitude deviation on record is closed: {len(closed)}",
            values={"closed": len(closed)},
            evidence=tuple(case.closure.ref for case in closed if case.closure is not None),
        )


def _open(facts: Facts, case: DeviationCase) -> Result:
    """Judge a deviation that is open by its sizes."""
    if excess(case.deviation.record):
        return _open_large(facts, case)
    limit = limit_passed(facts, case.deviation.record)
    return _open_small(case) if limit is None else _open_beyond(case, limit)


def _is_closed(facts: Facts, case: DeviationCase) -> bool:
    """Whether a deviation was closed since it happened."""
    day = local_day(case.deviation.record.occurred_at, facts.time_zone)
    return case.closure is not None and case.closure.record.closed_on >= day


def sizes_ft(deviation: Deviation) -> dict[str, int]:
    """Give the sizes of a deviation, feet with sign: what every rule and screen goes by.

    Total vertical error is the algebraic sum of altimetry system error and deviation from the
    assigned level. Where that sum and a stated total differ, the greater in size counts. Of the
    other two, one that is not stated is worked out from the total and the other, of which feet go
    before the whole levels.
    """
    tve, ase, aad = deviation.tve_ft, deviation.ase_ft, _aad_ft(deviation)
    if tve is not None and ase is None and aad is not None:
        ase = tve - (aad if deviation.aad_ft is None else deviation.aad_ft)
    elif tve is not None and ase is not None and aad is None:
        aad = tve - ase
    parts = parts_sum_ft(deviation)
    total = max((each for each in (tve, parts) if each is not None), key=abs, default=None)
    sizes = {"tve_ft": total, "ase_ft": ase, "aad_ft": aad}
    return {name: size for name, size in sizes.items() if size is not None}


def parts_sum_ft(deviation: Deviation) -> int | None:
    """Give the sum of altimetry system error and deviation from the level, None without both."""
    aad = _aad_ft(deviation)
    return None if deviation.ase_ft is None or aad is None else deviation.ase_ft + aad


def contradiction(deviation: Deviation) -> str:
    """Say that a stated total is not the sum of its parts, ``""`` where it is."""
    stated, parts = deviation.tve_ft, parts_sum_ft(deviation)
    if stated is None or parts is None or stated == parts:
        return ""
    return f"total stated {stated:+d} ft, parts make {parts:+d} ft: the greater counts"


def reached(deviation: Deviation) -> tuple[str, ...]:
    """Give the names of the sizes that reach their limits: what a report is about."""
    sizes = sizes_ft(deviation)
    return tuple(name for name, size in sizes.items() if abs(size) >= LIMITS_FT[name])


def excess(deviation: Deviation) -> str:
    """Give the name of the first size that reaches its limit, ``""`` when none does."""
    return next(iter(reached(deviation)), "")


def limit_passed(facts: Facts, deviation: Deviation) -> AseLimit | None:
    """Give the airframe's limit of altimetry system error that a deviation is beyond, else None."""
    error, limit = sizes_ft(deviation).get("ase_ft"), limit_of(facts, basis_of(facts))
    return limit if error is not None and abs(error) > limit.individual_ft else None


def report_due_at(deviation: Deviation, authority_code: str) -> datetime | None:
    """Give when a report is due; None where the rules set no time, or none is to be made."""
    hours = authority(authority_code).report_hours
    if hours is None or not reached(deviation):
        return None
    return deviation.occurred_at + timedelta(hours=hours.value)


def report_terms(facts: Facts) -> Iterator[Term]:
    """Give the day by which each large deviation that is not reported must be."""
    for case in facts.deviations:
        deviation = case.deviation.record
        due = report_due_at(deviation, facts.particulars.authority)
        if due is not None and deviation.reported_at is None:
            yield Term(
                rule=deviation_open.name,
                subject=f"{case.deviation.first}.report",
                what=f"report of deviation #{case.deviation.first}, by {show_instant(due)}",
                last_day=local_day(due, facts.time_zone),
                evidence=(case.deviation.ref,),
                remedy="Report it, and correct its entry with the time of the report.",
                limits=False,
            )


def _aad_ft(deviation: Deviation) -> int | None:
    """Give the deviation from the assigned level: the greater of the two ways to state it."""
    stated, cleared, observed = deviation.aad_ft, deviation.cleared_level, deviation.observed_level
    if cleared is None or observed is None:
        return stated
    between = level_to_feet(observed) - level_to_feet(cleared)
    return between if stated is None else max(stated, between, key=abs)


def _open_large(facts: Facts, case: DeviationCase) -> Result:
    """Say what is open, and how it stands with the report."""
    deviation = case.deviation.record
    name = excess(deviation)
    sizes = sizes_ft(deviation)
    size, limit = sizes[name], LIMITS_FT[name]
    report, due = _report(facts, deviation)
    measured = f"{_NAMES[name]} {size:+d} ft, limit {limit} ft"
    against = contradiction(deviation)
    return not_met(
        "; ".join(filter(None, (f"#{case.deviation.first} open: {measured}", against, report))),
        highest_level=HIGHEST_LEVEL_BELOW_RVSM.value,
        remedy=(
            "Report it if that is not done, find and mend the cause, and record the closure with "
            "its conclusion and who confirmed it."
        ),
        values={**sizes, "occurred_at": show_instant(deviation.occurred_at)},
        limits={**_LIMITS, "report_due_at": due},
        margin=Margin(value=limit - abs(size), unit="ft"),
        evidence=(case.deviation.ref,),
    )


def _report(facts: Facts, deviation: Deviation) -> tuple[str, str | None]:
    """Say how it stands with the report, and when it is due where the rules set a time."""
    due, told = report_due_at(deviation, facts.particulars.authority), deviation.reported_at
    if due is None:
        return ("reported" if told else "not reported, no time limit set"), None
    shown = show_instant(due)
    if told is not None:
        return ("reported in time" if told <= due else f"reported late, due {shown}"), shown
    return (f"report overdue, due {shown}" if facts.now > due else f"report due {shown}"), shown


def _open_beyond(case: DeviationCase, limit: AseLimit) -> Result:
    """Say that an altimetry system error need not be reported, and is beyond the limit."""
    deviation, most = case.deviation.record, limit.individual_ft
    sizes, against = sizes_ft(deviation), contradiction(deviation)
    measured = f"{_NAMES['ase_ft']} {sizes['ase_ft']:+d} ft, limit {most} ft"
    says = f"#{case.deviation.first} open: {measured}: not reportable, yet barred"
    return not_met(
        "; ".join(filter(None, (says, against))),
        highest_level=HIGHEST_LEVEL_BELOW_RVSM.value,
        remedy=(
            "Find and mend the cause, and record the closure with its conclusion, who confirmed "
            "it, and the check that confirms it."
        ),
        values={**sizes, "occurred_at": show_instant(deviation.occurred_at)},
        limits={**_LIMITS, "own_ase_ft": most},
        margin=Margin(value=most - abs(sizes["ase_ft"]), unit="ft"),
        evidence=(case.deviation.ref,),
        sources=(limit.source.key,),
    )


def _open_small(case: DeviationCase) -> Result:
    """Note a deviation below every limit."""
    sizes = sizes_ft(case.deviation.record)
    shown = ", ".join(f"{_NAMES[name]} {size:+d} ft" for name, size in sizes.items())
    against = contradiction(case.deviation.record)
    return advice(
        f"deviation #{case.deviation.first} is open, below each limit: {shown}"
        + (f"; {against}" if against else ""),
        remedy="Note its cause and record the closure.",
        values={**sizes},
        limits=_LIMITS,
        evidence=(case.deviation.ref,),
    )
