"""The planned flight as the oxygen sciences count it, with all that was assumed of it."""

from collections.abc import Iterator

from rvsmlog.facts import Facts
from rvsmlog.findings import Value
from rvsmlog.frozen import dataclass, replace
from rvsmlog.once import once
from rvsmlog.records.base import Ref
from rvsmlog.rules.cabin_differential import differential_of
from rvsmlog.rules.oxygen_masks import mask_to_be_worn, worn_above
from rvsmlog.rules.oxygen_systems import (
    System,
    ceiling_of,
    hold_of,
    level_of,
    rule_of,
    system_for,
)
from rvsmlog.science.atmosphere import HIGHEST_FT, temperature_k
from rvsmlog.science.cabin import cabin_altitude_ft
from rvsmlog.science.oxygen import (
    FlowTable,
    Group,
    Mode,
    OxygenCase,
    OxygenNeed,
    OxygenSupply,
    gauge_for_need_psig,
    oxygen_on_board,
)
from rvsmlog.standards.oxygen_figures import RECOGNITION_SECONDS
from rvsmlog.standards.oxygen_planning import (
    EMERGENCY_DESCENT_MINUTES,
    EMERGENCY_DESCENT_TO_FT,
    FINAL_DESCENT_FPM,
)
from rvsmlog.units import level_to_feet

_WHOLE_DAY_MINUTES = 1440.0
_SLOWEST_FPM = 100
_SECONDS = 60.0
_ZERO_C_K = 273.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One system with what its newest reading is worth, and who draws on it.

    Parameters
    ----------
    system : System
        The system.
    groups : tuple of Group
        Who draws on it on this flight.
    in_use_c : float
        Temperature of the cylinder in flight, degrees Celsius.
    supply : OxygenSupply or None
        What is on board; None without a reading.
    """

    system: System
    groups: tuple[Group, ...]
    in_use_c: float
    supply: OxygenSupply | None

    def gauge_needed_psi(self, need: OxygenNeed, cylinder_c: float) -> float:
        """Give the gauge reading that covers a need at a temperature of the cylinder.

        Raises
        ------
        InputError
            When the full cylinder does not hold that much.
        """
        installation = self.system.installation
        psig = gauge_for_need_psig(
            self.system.cylinder,
            need,
            temperature_c=cylinder_c,
            in_use_temperature_c=self.in_use_c,
            crew_reserve_litres=installation.crew_reserve_litres or 0.0,
            serves=self.groups,
        )
        return psig + (installation.gauge_tolerance_psi or 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """What was taken of a flight for want of better, and how to say better."""

    says: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenFlight:
    """A flight whose oxygen can be counted.

    Parameters
    ----------
    case : OxygenCase
        The flight at the certificated level; contaminated air is not in it.
    contaminated_minutes : float
        Minutes in contaminated air that are asked; 0 when none are.
    drawn : tuple of Drawn
        The systems on record that are drawn on.
    unserved : tuple of Group
        Those on board for whom no system is on record; passengers among them are not counted.
    assumed : tuple of Assumption
        What nobody said and was assumed.
    """

    case: OxygenCase
    contaminated_minutes: float
    drawn: tuple[Drawn, ...]
    unserved: tuple[Group, ...]
    assumed: tuple[Assumption, ...]

    @property
    def supplies(self) -> tuple[OxygenSupply, ...]:
        """What is on board, system by system; those without a reading left out."""
        return tuple(each.supply for each in self.drawn if each.supply is not None)

    @property
    def refs(self) -> tuple[Ref, ...]:
        """The entries on which it rests."""
        return tuple(ref for each in self.drawn for ref in each.system.refs)

    @property
    def people(self) -> str:
        """Crew and passengers as typed."""
        return f"{self.case.crew}+{self.case.passengers}"

    def at(self, level: int) -> OxygenCase:
        """Give the case at another level."""
        return replace(self.case, planned_level=level)

    @property
    def worn_flow_known(self) -> bool:
        """Whether the handbook's flow of the mask that a pilot wears is on record."""
        case = self.case
        table, mode = case.flow_table, case.crew_hold_mode
        return table is not None and table.curve(Group.CREW, mode) is not None

    def values(self, level: int) -> dict[str, Value]:
        """Give the flight's numbers at a level for a finding."""
        return {
            "level": level,
            "crew": self.case.crew,
            "passengers": self.case.passengers,
            "hold_ft": self.case.hold_ft,
            "hold_minutes": self.case.hold_minutes,
        }

    def with_contaminated_air(self, level: int) -> OxygenCase:
        """Give the case at a level with the contaminated air that is asked."""
        return replace(self.at(level), contaminated_minutes=self.contaminated_minutes)


@once
def people_of(facts: Facts) -> tuple[int, int]:
    """Count crew and passengers: as said, else every mask on record in use.

    Two fly where a second pilot is named: an old check may have been asked otherwise.
    """
    flight = facts.question.flight
    crew, passengers = system_for(facts, Group.CREW), system_for(facts, Group.PASSENGERS)
    masks = (crew.installation.crew_masks or 1) if crew else 1
    seats = (passengers.installation.passenger_masks or 0) if passengers else 0
    named = 1 if flight.second_pilot is None else 2
    return (
        max(masks if flight.crew is None else flight.crew, named),
        seats if flight.passengers is None else flight.passengers,
    )


@once
def oxygen_flight(facts: Facts) -> OxygenFlight:
    """Give the flight as its oxygen is counted.

    Raises
    ------
    InputError
        When the planned level lies below the hold, or a figure makes no sense.
    """
    crew, passengers = people_of(facts)
    drawn = _drawn(facts)
    served = {group for each in drawn for group in each.groups}
    return OxygenFlight(
        case=_case(facts, crew, passengers if Group.PASSENGERS in served else 0, drawn),
        contaminated_minutes=float(facts.question.flight.contaminated_minutes or 0),
        drawn=drawn,
        unserved=tuple(group for group in _aboard(facts) if group not in served),
        assumed=tuple(Assumption(says=s, remedy=r) for s, r in _assumed(facts, drawn)),
    )


def _aboard(facts: Facts) -> tuple[Group, ...]:
    """Give the groups of which somebody is on board."""
    return tuple(Group) if people_of(facts)[1] else (Group.CREW,)


def _drawn(facts: Facts) -> tuple[Drawn, ...]:
    """Give each system that somebody on board draws on."""
    by_name: dict[str, tuple[System, list[Group]]] = {}
    for group in _aboard(facts):
        system = system_for(facts, group)
        if system is not None:
            by_name.setdefault(system.installation.name, (system, []))[1].append(group)
    found = []
    for system, groups in by_name.values():
        in_use_c, serves = _in_use_c(facts, system), tuple(groups)
        supply = _supply(system, serves, in_use_c)
        found.append(Drawn(system=system, groups=serves, in_use_c=in_use_c, supply=supply))
    return tuple(found)


def _supply(system: System, serves: tuple[Group, ...], in_use_c: float) -> OxygenSupply | None:
    """Give what the newest reading is worth."""
    gauge = system.gauge
    if gauge is None:
        return None
    return oxygen_on_board(
        system.cylinder,
        gauge,
        in_use_temperature_c=in_use_c,
        crew_reserve_litres=system.installation.crew_reserve_litres or 0.0,
        serves=serves,
    )


def _in_use_c(facts: Facts, system: System) -> float:
    """Give the cylinder's temperature in flight: as recorded, else that outside at the ceiling."""
    read = None if system.reading is None else system.reading.record.in_use_c
    known = system.installation.in_use_c if read is None else read
    ceiling_ft = min(level_to_feet(facts.particulars.highest_level), HIGHEST_FT)
    return temperature_k(ceiling_ft) - _ZERO_C_K if known is None else known


def _descent_fpm(facts: Facts) -> float:
    """Give the rate of the emergency descent: as said, else that of the published descent."""
    said = facts.question.flight.descent_fpm
    if said is not None:
        return said
    fall_ft = level_to_feet(facts.particulars.highest_level) - EMERGENCY_DESCENT_TO_FT
    return max(fall_ft / EMERGENCY_DESCENT_MINUTES.value, _SLOWEST_FPM)


def _case(facts: Facts, crew: int, passengers: int, drawn: tuple[Drawn, ...]) -> OxygenCase:
    """Give the flight as the sciences take it."""
    flight, differential = facts.question.flight, differential_of(facts)
    of_crew = next((each.system for each in drawn if Group.CREW in each.groups), None)
    first = of_crew.crew_mode(first=True) if of_crew else Mode.UNDILUTED
    cruise, seen = flight.cruise_minutes, flight.recognition_s
    return OxygenCase(
        planned_level=ceiling_of(facts),
        crew=crew,
        passengers=passengers,
        rule=rule_of(facts).key,
        ceiling_ft=level_to_feet(facts.particulars.highest_level),
        differential_psi=0.0 if differential is None else differential.psi,
        cruise_minutes=_WHOLE_DAY_MINUTES if cruise is None else cruise,
        recognition_minutes=(RECOGNITION_SECONDS.value if seen is None else seen) / _SECONDS,
        descent_fpm=_descent_fpm(facts),
        hold_ft=level_to_feet(hold_of(facts)),
        hold_minutes=flight.hold_minutes or 0.0,
        final_descent_fpm=flight.final_descent_fpm or FINAL_DESCENT_FPM.value,
        contaminated_minutes=0.0,
        crew_mode=first,
        crew_hold_mode=of_crew.crew_mode(first=False) if of_crew else Mode.UNDILUTED,
        contaminated_mode=Mode.EMERGENCY if flight.contaminated_mode == "emergency" else first,
        flow_table=_table(drawn),
        worn_above=worn_above(facts),
    )


def _table(drawn: tuple[Drawn, ...]) -> FlowTable | None:
    """Join the handbook's flows of all that is drawn on; None when there are none."""
    curves = tuple(
        curve for each in drawn for group in each.groups for curve in each.system.curves(group)
    )
    if not curves:
        return None
    named = dict.fromkeys(curve.reference for curve in curves)
    return FlowTable(reference=", ".join(named), curves=curves)


def _assumed(facts: Facts, drawn: tuple[Drawn, ...]) -> Iterator[tuple[str, str]]:
    """Say what nobody said of the flight and what was taken instead, each with its remedy."""
    flight = facts.question.flight
    if flight.crew is None or flight.passengers is None:
        crew, passengers = people_of(facts)
        unknown = flight.passengers is None and system_for(facts, Group.PASSENGERS) is None
        shown = "passengers not known" if unknown else f"{passengers} passengers"
        yield f"every mask in use: {crew} crew, {shown}", "Give --people."
    if flight.hold_level is None and flight.hold_minutes is None:
        hold = "Give --hold-level and --hold-minutes."
        yield "nothing forbids a descent to 10,000 ft at once", hold
    if flight.recognition_s is None:
        seconds = f"descent begins {RECOGNITION_SECONDS.value} s after the loss of pressure"
        yield seconds, "Give --recognition-s."
    if flight.descent_fpm is None:
        yield f"emergency descent at {_descent_fpm(facts):,.0f} ft/min", "Give --descent-fpm."
    held = level_to_feet(hold_of(facts)) > EMERGENCY_DESCENT_TO_FT
    if held and flight.final_descent_fpm is None:
        rate = f"descent from the hold at {FINAL_DESCENT_FPM.value} ft/min"
        yield rate, "Give --final-descent-fpm."
    if flight.contaminated_minutes is None:
        yield "contaminated air not counted", "Give --contaminated-minutes, 0 for none."
    yield from _assumed_of_cabin(facts)
    yield from (_assumed_of_cylinder(each) for each in drawn if not _in_use_known(each.system))


def _in_use_known(system: System) -> bool:
    """Tell whether the cylinder's temperature in flight is on record."""
    read = None if system.reading is None else system.reading.record.in_use_c
    return read is not None or system.installation.in_use_c is not None


def _assumed_of_cylinder(drawn: Drawn) -> tuple[str, str]:
    """Say what was taken of a cylinder in flight."""
    name = drawn.system.installation.name
    return (
        f"oxygen cylinder ({name}) as cold as the air at the ceiling, {drawn.in_use_c:.0f} C",
        "Record the oxygen system or the reading with --in-use-c.",
    )


def _assumed_of_cabin(facts: Facts) -> Iterator[tuple[str, str]]:
    """Say what was taken of the cabin in normal flight."""
    differential = differential_of(facts)
    if differential is None:
        yield "cabin unpressurised", "Record the cabin differential, or give --differential."
    if facts.question.flight.cruise_minutes is not None:
        return
    planned_ft = min(level_to_feet(level_of(facts)), HIGHEST_FT)
    cabin_ft = cabin_altitude_ft(planned_ft, differential.psi if differential else 0.0)
    high = cabin_ft > min(rule_of(facts).lowest_ft(group) for group in Group)
    if high or mask_to_be_worn(facts):
        yield "a whole day at the planned level", "Give --cruise-minutes."
