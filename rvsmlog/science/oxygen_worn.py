"""Oxygen of the mask that one pilot must wear in normal flight.

91.211(b)(1)(ii) and 135.89(b) know two kinds of it: one supplies oxygen at all times, the other by
itself once the cabin climbs. The equipment's table tells them apart: the second kind has flows of 0
at the cabin altitudes of normal flight.
"""

from collections.abc import Iterable, Iterator

from rvsmlog.frozen import replace
from rvsmlog.science.cabin import cabin_altitude_ft
from rvsmlog.science.oxygen_case import WORN_PHASE, CaseNeed, OxygenCase, PhaseNeed
from rvsmlog.science.oxygen_flow import FlowCurve, tracheal_mmhg
from rvsmlog.standards.oxygen_figures import Group
from rvsmlog.units import level_to_feet, show_level


def worn_lpm(curve: FlowCurve, low_ft: float, high_ft: float) -> float:
    """Give the greatest flow of a worn mask between two cabin altitudes of normal flight.

    Handbooks often begin at 8,000 or 10,000 ft. Below its first row a table counts with that
    row's flow, by as much more as the air is denser: a demand mask delivers a volume.

    Raises
    ------
    OutOfRangeError
        When the points end below the higher altitude.
    """
    found = []
    if low_ft < curve.lowest_ft:
        denser = tracheal_mmhg(low_ft, 1.0) / tracheal_mmhg(curve.lowest_ft, 1.0)
        found.append(curve.points[0][1] * denser)
    if high_ft >= curve.lowest_ft:
        found.append(curve.greatest_lpm(max(low_ft, curve.lowest_ft), high_ft))
    return max(found)


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
        When the curve ends below the cabin altitude.
    """
    low_ft, high_ft = (
        cabin_altitude_ft(level_to_feet(level), case.differential_psi)
        for level in (case.worn_above or 0, case.planned_level)
    )
    return worn_lpm(curve, min(low_ft, case.oxygen_rule.lowest_ft(Group.CREW)), high_ft)


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
        "level; below the table's first row that row's flow counts, by as much more as the air is "
        "denser"
    )
