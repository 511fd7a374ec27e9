"""Oxygen for a flight: what it needs, what is on board, and the highest level that allows.

The rooms behind this door: :mod:`oxygen_case` (the flight and the answer), :mod:`oxygen_flow`
(litres a minute) with :mod:`oxygen_breathing`, :mod:`oxygen_need`, :mod:`oxygen_gas` and
:mod:`oxygen_supply`.
"""

import math
from collections.abc import Callable
from functools import lru_cache

from rvsmlog.errors import OutOfRangeError
from rvsmlog.frozen import dataclass, replace
from rvsmlog.science.oxygen_case import CaseName, CaseNeed, OxygenCase, OxygenNeed, PhaseNeed
from rvsmlog.science.oxygen_flow import (
    FlowBasis,
    FlowCurve,
    FlowTable,
    Mode,
    NoSupplyError,
    TooLittleError,
    flow_curve,
    lasting_minutes,
    shown_minutes,
)
from rvsmlog.science.oxygen_need import contaminated_need, oxygen_needed
from rvsmlog.science.oxygen_supply import (
    Cylinder,
    GaugeReading,
    OxygenSupply,
    gauge_needed_psig,
    oxygen_on_board,
)
from rvsmlog.science.oxygen_worn import without_worn, worn_flow
from rvsmlog.standards.oxygen_figures import CONTAMINATED_AIR_FT, CREW_LEAVES_OXYGEN_FT, Group
from rvsmlog.units import feet_to_level, show_level

__all__ = [
    "CaseName",
    "CaseNeed",
    "Cylinder",
    "Endurance",
    "FlowBasis",
    "FlowCurve",
    "FlowTable",
    "GaugeReading",
    "Group",
    "Mode",
    "NoSupplyError",
    "OxygenCase",
    "OxygenNeed",
    "OxygenSupply",
    "PhaseNeed",
    "TooLittleError",
    "contaminated_need",
    "gauge_for_need_psig",
    "highest_between",
    "highest_level_for",
    "highest_level_where",
    "how_long",
    "lasting_minutes",
    "lowest_level",
    "oxygen_needed",
    "oxygen_on_board",
    "shown_minutes",
    "without_worn",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Endurance:
    """How long the supply lasts in one case.

    Parameters
    ----------
    case : CaseName
        Which case.
    minutes : float
        Minutes; infinite where nobody breathes oxygen.
    what : str
        What the minutes are of.
    """

    case: CaseName
    minutes: float
    what: str


def lowest_level(case: OxygenCase) -> int:
    """Give the lowest level worth asking: that of the hold, or where masks come off."""
    return -feet_to_level(-case.hold_bottom_ft)


def highest_level_for(supply: OxygenSupply, case: OxygenCase) -> int | None:
    """Give the highest level, not above the planned one, whose need the supply covers.

    A higher level never needs less, so the interval between the lowest level worth asking and
    the planned one is halved until the boundary is found. A level at which the equipment's table
    or the rules state no flow does not count as covered.

    Parameters
    ----------
    supply : OxygenSupply
        What is on board.
    case : OxygenCase
        The flight at its planned level.

    Returns
    -------
    int or None
        Flight level, in steps of one; None when no level down to the hold (or 10,000 ft) is
        covered.

    Raises
    ------
    OutOfRangeError, InputError
        When the need cannot be worked out even at the lowest level.
    """
    return highest_level_where(case, supply.covers)


def highest_level_where(case: OxygenCase, allows: Callable[[OxygenNeed], bool]) -> int | None:
    """Give the highest level, not above the planned one, whose need is known and allowed.

    Parameters
    ----------
    case : OxygenCase
        The flight at its planned level.
    allows : callable
        Says whether a need is allowed; once a level is refused, every higher one is taken as
        refused.

    Returns
    -------
    int or None
        Flight level, in steps of one; None when no level down to the hold (or 10,000 ft) is
        allowed.

    Raises
    ------
    OutOfRangeError, InputError
        When the need cannot be worked out even at the lowest level.
    """
    low, needed_at = min(lowest_level(case), case.planned_level), _needs_of(case)

    def allowed(level: int) -> bool:
        try:
            need = needed_at(level)
        except OutOfRangeError:
            return False
        return allows(need)

    if not allows(needed_at(low)):
        return None
    return highest_between(low, case.planned_level, allowed)


def highest_between(low: int, high: int, allowed: Callable[[int], bool]) -> int:
    """Give the highest allowed level from one that is, up to another.

    Once a level is refused, every higher one is taken as refused.
    """
    if allowed(high):
        return high
    while high - low > 1:
        middle = (low + high) // 2
        if allowed(middle):
            low = middle
        else:
            high = middle
    return low


# The airframes of a fleet are alike in all but their gauges: each search asks about the same cases.
@lru_cache(maxsize=32)
def _needs_of(case: OxygenCase) -> Callable[[int], OxygenNeed]:
    """Give what tells the need of a case planned at another level."""
    return lru_cache(maxsize=64)(lambda level: oxygen_needed(replace(case, planned_level=level)))


def how_long(supply: OxygenSupply, case: OxygenCase) -> tuple[Endurance, ...]:
    """Give how long the supply lasts in each case.

    Parameters
    ----------
    supply : OxygenSupply
        What is on board.
    case : OxygenCase
        The flight.

    Returns
    -------
    tuple of Endurance
        Everyone after a loss of pressure, at the greatest flow of the descent; the hold, with
        the descents paid for; the crew in contaminated air. Where a pilot wears a mask before, that
        is paid for too, and how long it may be worn comes last.

    Raises
    ------
    OutOfRangeError, InputError
        When a flow is not known.
    """
    found = (_everyone(supply, case), _hold(supply, case), _contaminated(supply, case))
    return (*found, _worn(supply, case)) if case.mask_worn else found


def _worn_lpm(supply: OxygenSupply, case: OxygenCase) -> float:
    """Give what the mask worn by one pilot draws a minute from the supply."""
    if not case.mask_worn or Group.CREW not in supply.serves:
        return 0.0
    return worn_flow(case, _flow(case, Group.CREW, case.crew_hold_mode))


def _left_by_mask(supply: OxygenSupply, case: OxygenCase) -> float:
    """Give the litres that are left when the mask has been worn for all minutes at the level."""
    return max(supply.usable_litres - case.cruise_minutes * _worn_lpm(supply, case), 0.0)


def _worn(supply: OxygenSupply, case: OxygenCase) -> Endurance:
    """Give the minutes for which one pilot may wear a mask, every case kept covered."""
    cases = without_worn(oxygen_needed(case).cases)
    kept = max(cases, key=supply.litres_of)
    left = max(supply.usable_litres - supply.litres_of(kept), 0.0)
    return Endurance(
        case=kept.name,
        minutes=lasting_minutes(left, _worn_lpm(supply, case)),
        what=f"mask worn by one pilot at {show_level(case.planned_level)}, what comes after kept",
    )


def _people(supply: OxygenSupply, case: OxygenCase, group: Group) -> int:
    """Count those of a group who draw on the supply."""
    if group not in supply.serves:
        return 0
    return case.crew if group is Group.CREW else case.passengers


def _flow(case: OxygenCase, group: Group, mode: Mode) -> FlowCurve:
    """Give a flow of a case."""
    return flow_curve(case.flow_table, group, mode, case.planned_ft)


def _everyone(supply: OxygenSupply, case: OxygenCase) -> Endurance:
    """Give the minutes for everyone at the greatest flow of the emergency descent."""
    low, high = case.hold_bottom_ft, max(case.planned_ft, case.hold_bottom_ft)
    total = 0.0
    for group, mode in ((Group.CREW, case.crew_mode), (Group.PASSENGERS, case.passenger_mode)):
        people = _people(supply, case, group)
        if people:
            total += people * _flow(case, group, mode).greatest_lpm(low, high)
    return Endurance(
        case=CaseName.LEGAL,
        minutes=lasting_minutes(_left_by_mask(supply, case), total),
        what="everyone on oxygen, at the greatest flow of the emergency descent",
    )


def _hold(supply: OxygenSupply, case: OxygenCase) -> Endurance:
    """Give the minutes of hold that are left once the descents are paid for.

    The rule's free minutes are not used: the answer is never too long.
    """
    what = f"hold at {case.hold_ft:,} ft, the descents paid for"
    if case.hold_bottom_ft <= CREW_LEAVES_OXYGEN_FT.value:
        return Endurance(case=CaseName.DESCENT, minutes=math.inf, what="no hold needs oxygen")
    without = oxygen_needed(replace(case, hold_minutes=0.0)).cases
    paid = next(item for item in without if item.name is CaseName.DESCENT)
    if supply.shortfall_litres(paid):
        return Endurance(case=CaseName.DESCENT, minutes=0.0, what=what)
    crew_people = _people(supply, case, Group.CREW)
    crew = crew_people * _flow(case, Group.CREW, case.crew_hold_mode).lpm(case.hold_ft)
    passengers = _passengers_in_hold(supply, case)
    own = paid.passenger_litres if Group.PASSENGERS in supply.serves else 0.0
    used = own + (paid.crew_litres if Group.CREW in supply.serves else 0.0)
    minutes = min(
        lasting_minutes(supply.usable_litres - used, crew + passengers),
        lasting_minutes(supply.passenger_litres - own, passengers),
    )
    return Endurance(case=CaseName.DESCENT, minutes=minutes, what=what)


def _passengers_in_hold(supply: OxygenSupply, case: OxygenCase) -> float:
    """Give the passengers' flow in the hold."""
    people = _people(supply, case, Group.PASSENGERS)
    bands = case.oxygen_rule.bands_of(Group.PASSENGERS)
    band = next((item for item in bands if item.covers(case.hold_ft)), None)
    if not people or band is None:
        return 0.0
    flow = _flow(case, Group.PASSENGERS, case.passenger_mode).lpm(case.hold_ft)
    return band.people(people) * flow


def _contaminated(supply: OxygenSupply, case: OxygenCase) -> Endurance:
    """Give the minutes for the crew in contaminated air."""
    people = _people(supply, case, Group.CREW)
    total = 0.0
    if people and case.contaminated_minutes:
        curve = _flow(case, Group.CREW, case.contaminated_mode)
        total = people * curve.lpm(CONTAMINATED_AIR_FT.value)
    return Endurance(
        case=CaseName.CONTAMINATED,
        minutes=lasting_minutes(_left_by_mask(supply, case), total),
        what="crew on oxygen in contaminated air",
    )


def gauge_for_need_psig(
    cylinder: Cylinder,
    need: OxygenNeed,
    *,
    temperature_c: float,
    in_use_temperature_c: float | None = None,
    crew_reserve_litres: float = 0.0,
    serves: tuple[Group, ...] = (Group.CREW, Group.PASSENGERS),
) -> float:
    """Give the gauge reading at which every case of a need is covered.

    Parameters
    ----------
    cylinder : Cylinder
        The cylinders.
    need : OxygenNeed
        What the flight needs.
    temperature_c : float
        Temperature of the cylinder when read, degrees Celsius.
    in_use_temperature_c : float or None
        Temperature of the cylinder in use; None: that of the reading.
    crew_reserve_litres : float
        What the system's own means keep back for the crew.
    serves : tuple of Group
        Who draws on it.

    Returns
    -------
    float
        Psi.

    Raises
    ------
    InputError
        When the full cylinder does not hold that much; OutOfRangeError when a figure is out
        of range.
    """
    litres = 0.0
    for case in need.cases:
        crew = case.crew_litres if Group.CREW in serves else 0.0
        passengers = case.passenger_litres if Group.PASSENGERS in serves else 0.0
        kept = crew_reserve_litres if passengers else 0.0
        litres = max(litres, crew + passengers, passengers + kept)
    return gauge_needed_psig(
        cylinder, litres, temperature_c=temperature_c, in_use_temperature_c=in_use_temperature_c
    )
