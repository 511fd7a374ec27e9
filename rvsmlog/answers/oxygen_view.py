"""Oxygen and cabin of one flight in full: what is on board, what is needed, how long it lasts."""

from rvsmlog.errors import InputError
from rvsmlog.facts import Facts
from rvsmlog.frozen import dataclass
from rvsmlog.rules.cabin_differential import Differential, differential_of
from rvsmlog.rules.flight_data import below_hold
from rvsmlog.rules.oxygen import gauge_needed_psi, highest_known_below, highest_with_oxygen
from rvsmlog.rules.oxygen_flight import Drawn, OxygenFlight, oxygen_flight
from rvsmlog.rules.oxygen_masks import consciousness_of
from rvsmlog.rules.oxygen_systems import hold_of, level_of
from rvsmlog.science.cabin import CabinMargin, cabin_altitude_ft, cabin_margins
from rvsmlog.science.consciousness import DonningMargin
from rvsmlog.science.oxygen import Endurance, Group, OxygenNeed, how_long, oxygen_needed
from rvsmlog.units import level_to_feet, show_level


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemView:
    """One system that is drawn on.

    Parameters
    ----------
    drawn : Drawn
        The system with what is on board.
    gauge_needed_psi : int or None
        Gauge reading that covers every case; None where it cannot be told, or a full cylinder
        does not hold that much.
    lasts : tuple of Endurance
        How long what is on board lasts; empty where that cannot be told.
    """

    drawn: Drawn
    gauge_needed_psi: int | None
    lasts: tuple[Endurance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CabinView:
    """The cabin at the planned level.

    Parameters
    ----------
    differential : Differential
        What it holds.
    cabin_ft : float
        Cabin altitude.
    margins : tuple of CabinMargin
        To the altitudes that matter.
    """

    differential: Differential
    cabin_ft: float
    margins: tuple[CabinMargin, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenView:
    """Oxygen and cabin of one flight.

    Parameters
    ----------
    level : int
        Planned level, or the certificated one.
    flight : OxygenFlight
        The flight as counted.
    need : OxygenNeed or None
        What it needs; None where that cannot be told.
    problem : str
        Why it cannot be told; ``""`` when it can.
    highest_level : int or None
        Highest level that the oxygen allows, 0 for none; None without a reading.
    systems : tuple of SystemView
        The systems drawn on.
    cabin : CabinView or None
        None where the differential is not known.
    consciousness : DonningMargin or None
        After a rapid decompression at the level; None where the time to don is not on record.
    """

    level: int
    flight: OxygenFlight
    need: OxygenNeed | None
    problem: str
    highest_level: int | None
    systems: tuple[SystemView, ...]
    cabin: CabinView | None
    consciousness: DonningMargin | None


def oxygen_view(facts: Facts) -> OxygenView:
    """Give oxygen and cabin of one flight.

    Parameters
    ----------
    facts : Facts
        The planned flight.

    Raises
    ------
    InputError
        When the planned level lies below the hold, or a figure makes no sense.
    """
    level = level_of(facts)
    if below_hold(facts):
        raise InputError(
            f"{show_level(level)} lies below the hold at {show_level(hold_of(facts))}",
            "plan a higher level",
        )
    flight = oxygen_flight(facts)
    need, problem = _need(flight, level)
    highest = highest_with_oxygen(facts, flight) if flight.supplies else None
    if highest is not None and need is None:
        highest = highest_known_below(facts, flight, highest)
    return OxygenView(
        level=level,
        flight=flight,
        need=need,
        problem=problem,
        highest_level=highest,
        systems=tuple(_system(flight, drawn, need, level) for drawn in flight.drawn),
        cabin=_cabin(facts, level),
        consciousness=_consciousness(flight, level),
    )


def _need(flight: OxygenFlight, level: int) -> tuple[OxygenNeed | None, str]:
    """Give what is needed at a level with contaminated air, or why it cannot be told."""
    try:
        return oxygen_needed(flight.with_contaminated_air(level)), ""
    except InputError as error:
        return None, error.message


def _system(flight: OxygenFlight, drawn: Drawn, need: OxygenNeed | None, level: int) -> SystemView:
    """Give what one system has, what its gauge should read, and how long it lasts."""
    lasts: tuple[Endurance, ...] = ()
    if drawn.supply is not None and need is not None:
        try:
            lasts = how_long(drawn.supply, flight.with_contaminated_air(level))
        except InputError:
            lasts = ()
    psi = None if need is None else gauge_needed_psi(drawn, need)
    return SystemView(drawn=drawn, gauge_needed_psi=psi, lasts=lasts)


def _cabin(facts: Facts, level: int) -> CabinView | None:
    """Give the cabin at a level."""
    differential = differential_of(facts)
    if differential is None:
        return None
    planned_ft = level_to_feet(level)
    try:
        return CabinView(
            differential=differential,
            cabin_ft=cabin_altitude_ft(planned_ft, differential.psi),
            margins=cabin_margins(planned_ft, differential.psi),
        )
    except InputError:
        return None


def _consciousness(flight: OxygenFlight, level: int) -> DonningMargin | None:
    """Give the useful consciousness at a level, and what donning the mask leaves of it."""
    crew = next((each for each in flight.drawn if Group.CREW in each.groups), None)
    seconds = None if crew is None else crew.system.installation.donning_s
    if seconds is None:
        return None
    try:
        return consciousness_of(level, seconds)
    except InputError:
        return None
