"""Oxygen of the mask that one pilot must wear in normal flight.

91.211(b)(1)(ii) and 135.89(b) know two kinds of it: one supplies oxygen at all times, the other by
itself once the cabin climbs. The equipment's table tells them apart: the second kind has flows of 0
at the cabin altitudes of normal flight. Such a 0 is read here and nowhere else: where a rule asks
for oxygen to be breathed it is no supply.
"""

import math
from collections.abc import Iterable, Iterator

from rvsmlog.frozen import replace
from rvsmlog.science.cabin import cabin_altitude_ft
from rvsmlog.science.oxygen_breathing import tracheal_mmhg
from rvsmlog.science.oxygen_case import WORN_PHASE, CaseNeed, OxygenCase, PhaseNeed
from rvsmlog.science.oxygen_flow import FlowCurve
from rvsmlog.standards.oxygen_figures import Group
from rvsmlog.units import level_to_feet, show_level


def worn_lpm(curve: FlowCurve, low_ft: float, high_ft: float) -> float:
    """Give the greatest flow of a worn mask between two cabin altitudes of normal flight.

    Handbooks often begin at 8,000 or 10,000 ft. Below its first row a table counts with that
    row's flow, by as much more as the air is denser: a demand mask delivers a volume. So does the
    first row above one of 0 count down to that one: where the mask begins is not known.

    Raises
    ------
    OutOfRangeError
        When the points end below the higher altitude.
    """
    zero_ft = curve.zero_to_ft
    # Up to the last row of 0 the greatest of the rows; above it the rest is a table of its own.
    found = [
        flow * _denser(low_ft, curve.points[0][0])
        for height, flow in curve.points
        if height <= zero_ft
    ]
    if found and high_ft <= zero_ft:
        return max(found)
    rows = [point for point in curve.points if point[0] > zero_ft]
    if not rows:
        return curve.drawn_lpm(high_ft)  # refused: it lies beyond the last row
    first_ft, flow = rows[0]
    from_ft = max(low_ft, zero_ft)
    if from_ft < first_ft:
        found.append(flow * _denser(from_ft, first_ft))
    if high_ft >= first_ft:
        found.append(curve.greatest_drawn_lpm(max(low_ft, first_ft), high_ft))
    return max(found)


def _denser(cabin_ft: float, row_ft: float) -> float:
    """Give by how much denser dry air is below a row than at it; 1 from the row up."""
    return max(tracheal_mmhg(cabin_ft, 1.0) / tracheal_mmhg(row_ft, 1.0), 1.0)


def worn_flow(case: OxygenCase, curve: FlowCurve) -> float:
    """Give the flow of the mask that one pilot wears at the planned level, litres a minute.

    The greatest flow from the cabin altitude at the lowest such level up to that at the planned one
    counts, so that a higher level never needs less; from that at which the rule asks oxygen of the
    crew, where it is lower, since the crew's other flows count so too.

    Parameters
    ----------
    case : OxygenCase
        A flight on which a mask is worn.
    curve : FlowCurve
        The crew's flow in normal flight.

    Raises
    ------
    OutOfRangeError
        When the curve ends below the cabin altitude, or says 0 or too little where the rule asks
        the crew to breathe oxygen at that.
    """
    rule = case.oxygen_rule
    low_ft, high_ft = (
        cabin_altitude_ft(level_to_feet(level), case.differential_psi)
        for level in (case.worn_above or 0, case.planned_level)
    )
    asked_ft = rule.lowest_ft(Group.CREW)
    asked = any(band.covers(high_ft) for band in rule.bands_of(Group.CREW))
    # Refused where it is no supply: who wears the mask must breathe from it.
    if asked and math.isfinite(curve.zero_to_ft):
        curve.greatest_lpm(asked_ft, high_ft)
    elif asked and curve.points[0][0] <= high_ft:
        curve.lpm(high_ft)
    return worn_lpm(curve, min(low_ft, asked_ft), high_ft)


def worn_phase(case: OxygenCase, curve: FlowCurve, cabin_ft: float) -> PhaseNeed:
    """Count the mask that one pilot wears at the planned level, at a cabin altitude in feet.

    Raises
    ------
    OutOfRangeError
        When the curve ends below the cabin altitude.
    """
    return PhaseNeed(
        phase=WORN_PHASE,
        minutes=case.cruise_minutes,
        from_ft=cabin_ft,
        to_ft=cabin_ft,
        crew_litres=case.cruise_minutes * worn_flow(case, curve),
        passenger_litres=0.0,
    )


def without_worn(cases: Iterable[CaseNeed]) -> tuple[CaseNeed, ...]:
    """Give cases with the mask that is worn in normal flight left out."""
    return tuple(
        replace(case, phases=tuple(each for each in case.phases if each.phase != WORN_PHASE))
        for case in cases
    )


def worn_assumptions(case: OxygenCase) -> Iterator[str]:
    """Say what was assumed of a mask that is worn."""
    if not case.mask_worn:
        return
    above = show_level(case.worn_above or 0)
    yield (
        f"above {above} one pilot wears a mask for all minutes at the level, in the position "
        f"{case.crew_hold_mode}; its oxygen is spent before any emergency"
    )
    yield (
        f"its flow is the greatest between the cabin altitude at {above} and that at the planned "
        "level; below the table's first row, or the first above one of 0, that row's flow counts, "
        "by as much more as the air is denser"
    )
