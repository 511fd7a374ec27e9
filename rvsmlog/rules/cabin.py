"""The cabin: how high it climbs at the planned level, and the warning that says so."""

import math
from collections.abc import Iterator

from rvsmlog.facts import DefectCase, Facts
from rvsmlog.findings import Margin, Outcome
from rvsmlog.rules.base import Result, met, not_applicable, not_met, not_on_record, rule
from rvsmlog.rules.cabin_differential import Differential, differential_of
from rvsmlog.rules.gone_units import taken_out
from rvsmlog.rules.open_defects import evidence_of, level_of_item, name_of, open_defects, state_of
from rvsmlog.rules.oxygen_systems import ceiling_of, level_of, remaining_level
from rvsmlog.science.atmosphere import HIGHEST_FT
from rvsmlog.science.cabin import cabin_altitude_ft, highest_level_for_cabin
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.oxygen_planning import CABIN_ALTITUDE_LIMIT_FT, PRESSURE_WARNING_ABOVE_FT
from rvsmlog.units import feet_to_level, level_to_feet, show_level


@rule("23-841-legacy", "25-841")
def cabin_altitude_too_high(facts: Facts) -> Iterator[Result]:
    """Cabin altitude above 10,000 ft at the planned level.

    Checks: The cabin altitude at the planned level (or, where none is planned, the certificated
    one) with the greatest differential that the cabin holds on this flight: the airframe's, that of
    an open deferral which states one, or that said of the day, whichever is lowest. The level that
    remains is the highest at which the cabin stays at 10,000 ft or lower.

    Why: At a cabin altitude of 10,000 ft the warning speaks (25.841(b)(6), the former
    23.841(b)(6)). In normal flight the rules begin to ask for oxygen above it (Part 135, Europe,
    New Zealand) or above 12,500 ft (Part 91, Australia). A differential that the day's bleed air or
    a leak does not reach lifts the cabin long before it is noticed.

    Remedy: Plan the level that remains. Where the differential is not on record, record the
    airframe's particulars again with it; where a deferral lowers it, say so in the deferral. Where
    the pressure control was taken out, record the unit fitted in its place.

    Known problems: The standard atmosphere is taken. A flight that means to go with oxygen at a
    higher cabin altitude is not judged here. Without any differential the cabin is taken as
    unpressurised; 8,000 ft, the limit of large aeroplanes, is shown by `rvsmlog oxygen need`.
    """
    differential = differential_of(facts)
    if differential is None:
        yield from _unpressurised(facts)
        return
    yield _against_limit(facts, differential)


def _against_limit(facts: Facts, differential: Differential) -> Result:
    """Hold the cabin altitude against the limit; the level that remains is always said."""
    limit, level = CABIN_ALTITUDE_LIMIT_FT.value, level_of(facts)
    planned_ft = min(level_to_feet(level), HIGHEST_FT)
    cabin_ft = math.ceil(cabin_altitude_ft(planned_ft, differential.psi))
    found = highest_level_for_cabin(limit, differential.psi)
    remains = ceiling_of(facts) if found is None else found
    failed = cabin_ft > limit
    return Result(
        outcome=Outcome.NOT_MET if failed else Outcome.MET,
        says=(
            f"cabin {cabin_ft:,} ft at {show_level(level)} with {differential.psi:g} psi "
            f"({differential.ground}), limit {limit:,} ft"
        ),
        highest_level=remaining_level(facts, remains) if remains < ceiling_of(facts) else None,
        values={"cabin_ft": cabin_ft, "differential_psi": differential.psi},
        limits={"cabin_ft": limit, "highest_level": remains},
        margin=Margin(value=limit - cabin_ft, unit="ft"),
        evidence=differential.refs or (facts.airframe.ref,),
        remedy=(
            f"Plan {show_level(remains)} or lower, or have the cabin hold more differential."
            if failed
            else ""
        ),
    )


def _unpressurised(facts: Facts) -> Iterator[Result]:
    """Say that no differential is known, so that the cabin may be as high as the aeroplane."""
    level = feet_to_level(CABIN_ALTITUDE_LIMIT_FT.value)
    if ceiling_of(facts) <= level:
        yield not_applicable(f"up to {show_level(level)} no cabin is too high")
        return
    remains = remaining_level(facts, level)
    gone = tuple(taken_out(facts, (Function.CABIN_PRESSURE_CONTROL,), remains))
    yield from gone
    if gone:
        return
    yield not_on_record(
        "the cabin differential that holds on this flight is not on record",
        highest_level=remains,
        remedy=(
            "Record it: `rvsmlog airframe add` with --max-differential-psi, as a correction of "
            f"entry #{facts.airframe.ref.entry}; where a deferral lowers it, correct the deferral "
            "to say so; or give --differential."
        ),
        limits={"cabin_ft": CABIN_ALTITUDE_LIMIT_FT.value},
        evidence=(facts.airframe.ref,),
    )


@rule("nco-ide-a-150", "cat-ide-a-235", "23-841-legacy", "25-841")
def cabin_altitude_warning_inoperative(facts: Facts) -> Iterator[Result]:
    """Cabin altitude warning not working, or not on record.

    Checks: Where the aeroplane is certificated above FL250, whether a cabin altitude warning is on
    record as fitted and has no open defect. Where the defect is deferred and the list's item sets
    a highest level, that level decides.

    Why: Loss of pressure dulls the judgement that should notice it. Above 25,000 ft the European
    operating rules ask for a warning, and certification rules everywhere.

    Remedy: Record the unit fitted; have the defect rectified and record the rectification.

    Known problems: For operators in the United States, Australia and New Zealand the threshold is
    taken from the European rules; theirs ask for it through certification.
    """
    highest = feet_to_level(PRESSURE_WARNING_ABOVE_FT.value)
    if ceiling_of(facts) <= highest:
        yield not_applicable(f"asked above {show_level(highest)} only")
        return
    level = remaining_level(facts, highest)
    fitted = facts.fitted(Function.CABIN_ALTITUDE_WARNING)
    cases = open_defects(facts, (Function.CABIN_ALTITUDE_WARNING,))
    if not fitted:
        yield not_on_record(
            "no cabin altitude warning on record as fitted",
            highest_level=level,
            remedy="Record the unit fitted with `rvsmlog equipment fit`.",
            evidence=(facts.airframe.ref,),
        )
    yield from (_warning_lost(case, level) for case in cases)
    if fitted and not cases:
        yield met(
            "cabin altitude warning on record, no open defect",
            evidence=tuple(unit.equipment.ref for unit in fitted),
        )


def _warning_lost(case: DefectCase, level: int) -> Result:
    """Say what remains without the warning: what the list's item sets, else FL250."""
    return level_of_item(case) or not_met(
        f"{name_of(case)}: {state_of(case)}",
        highest_level=level,
        remedy="Have it rectified and record the rectification; or, where the item of the minimum "
        "equipment list sets a highest level, say it in the deferral.",
        evidence=evidence_of(case),
    )
