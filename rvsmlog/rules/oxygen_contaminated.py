"""Whether the oxygen on board covers the crew in contaminated air."""

from collections.abc import Iterator
from dataclasses import replace

from rvsmlog.errors import InputError
from rvsmlog.facts import Facts
from rvsmlog.findings import NO_FLIGHT, Outcome
from rvsmlog.rules.base import Result, not_applicable, not_met, not_on_record, rule
from rvsmlog.rules.oxygen_flight import OxygenFlight, oxygen_flight
from rvsmlog.rules.oxygen_margin import Tightest, flow_remedy, tightest_of, worn_unknown
from rvsmlog.rules.oxygen_systems import ceiling_of, level_of, remaining_level, system_for
from rvsmlog.science.oxygen import CaseNeed, Group, Mode, contaminated_need, highest_between
from rvsmlog.standards.oxygen_figures import CONTAMINATED_AIR_FT, CREW_LEAVES_OXYGEN_FT
from rvsmlog.units import feet_to_level

#: Where the crew need no oxygen after a loss of pressure: nothing but contaminated air counts.
_MASKS_OFF_LEVEL = feet_to_level(CREW_LEAVES_OXYGEN_FT.value)


@rule("25-1439", "practice", "gerg-2008-oxygen")
def contaminated_air_oxygen_short(facts: Facts) -> Iterator[Result]:
    """Oxygen too little for the crew in contaminated air.

    Checks: Where minutes in contaminated air are asked: the crew's oxygen at 100 %, or in the
    emergency position where that is asked, at a cabin altitude of 8,000 ft, against what is on
    board. Whether the regulators have such a position.

    Why: Smoke leaves no choice of level: the crew breathe undiluted oxygen until the aeroplane
    stands. Over sea that may take longer than any loss of pressure.

    Remedy: Fill the cylinder, choose a route nearer to aerodromes, or, where it is not to be
    planned for, leave the question out.

    Known problems: How long to count is the operator's choice; no rule read sets it for flight
    planning. Since the level changes nothing, a shortage leaves no flight as asked; unless a mask
    that must be worn at the level makes it, which is counted before: then lower levels remain.
    """
    minutes = facts.question.flight.contaminated_minutes
    if not minutes:
        yield not_applicable("no minutes in contaminated air are asked")
        return
    system = system_for(facts, Group.CREW)
    if system is None or system.reading is None:
        yield not_on_record(
            f"{minutes} minutes in contaminated air are asked; no oxygen for the crew on record",
            highest_level=NO_FLIGHT,
            remedy="Record the system with `rvsmlog oxygen fit` and its gauge with "
            "`rvsmlog oxygen reading`.",
            evidence=(facts.airframe.ref,),
        )
        return
    yield _contaminated(facts, minutes)


def _contaminated(facts: Facts, minutes: int) -> Result:
    """Hold the crew's oxygen in contaminated air against what is on board."""
    flight = _at_no_level(facts)
    if not _protects(flight):
        wanted = facts.question.flight.contaminated_mode or "100 %"
        return not_met(
            f"the crew's regulators have no {wanted} position against contaminated air",
            highest_level=NO_FLIGHT,
            remedy="Leave the question out, or have such regulators fitted and recorded.",
            evidence=flight.refs,
        )
    try:
        air = contaminated_need(flight.with_contaminated_air(_MASKS_OFF_LEVEL))
    except InputError as error:
        return not_on_record(
            f"the flow in contaminated air is not known: {error.message}",
            highest_level=NO_FLIGHT,
            remedy="Record the handbook's flow down to "
            f"{CONTAMINATED_AIR_FT.value:,} ft with `rvsmlog oxygen fit`.",
            evidence=flight.refs,
        )
    if tightest_of(flight, (air,)).margin_litres < 0:
        return _counted(facts, minutes, tightest_of(flight, (air,)), NO_FLIGHT)
    return _at_level(facts, flight, minutes)


def _need_at(flight: OxygenFlight, level: int) -> CaseNeed:
    """Give the need in contaminated air, after the mask that is worn at a level, if any."""
    counted = level if flight.at(level).mask_worn else _MASKS_OFF_LEVEL
    return contaminated_need(flight.with_contaminated_air(counted))


def _at_level(facts: Facts, flight: OxygenFlight, minutes: int) -> Result:
    """Judge what contaminated air alone leaves: a mask that was worn before may have spent it."""

    def covered(level: int) -> bool:
        try:
            need = _need_at(flight, level)
        except InputError:
            return False
        return tightest_of(flight, (need,)).margin_litres >= 0

    found = highest_between(_MASKS_OFF_LEVEL, ceiling_of(facts), covered)
    highest = remaining_level(facts, found)
    try:
        cases = (_need_at(flight, level_of(facts)),)
        unknown = worn_unknown(facts, flight, cases)
    except InputError as error:
        unknown = f"the flow of the mask worn is not known: {error.message}", flow_remedy(error)
    if unknown:
        return not_on_record(
            f"contaminated air: {unknown[0]}",
            highest_level=highest,
            remedy=unknown[1],
            evidence=flight.refs,
        )
    return _counted(facts, minutes, tightest_of(flight, cases), highest)


def _counted(facts: Facts, minutes: int, tightest: Tightest, highest: int) -> Result:
    """Say whether a need that is known is covered."""
    failed = tightest.margin_litres < 0
    needed, usable = tightest.needed_litres, tightest.usable_litres
    return Result(
        outcome=Outcome.NOT_MET if failed else Outcome.MET,
        says=f"{minutes} min in contaminated air: {tightest.shown.on_board} l on board, "
        f"{tightest.says}",
        highest_level=highest if highest < ceiling_of(facts) else None,
        values={"needed_litres": round(needed, 1), "usable_litres": round(usable, 1)},
        limits={"contaminated_minutes": minutes},
        margin=tightest.margin,
        evidence=tightest.drawn.system.refs,
        remedy="Have the cylinder filled and record the reading; or choose a route nearer to "
        "aerodromes; or plan the level that remains, if any."
        if failed
        else "",
    )


def _protects(flight: OxygenFlight) -> bool:
    """Tell whether the crew's regulators have the position that is asked in contaminated air."""
    mode = flight.case.contaminated_mode
    if mode is not Mode.EMERGENCY:
        return mode is Mode.UNDILUTED
    return all("emergency" in (each.system.installation.crew_modes or ()) for each in flight.drawn)


def _at_no_level(facts: Facts) -> OxygenFlight:
    """Give the flight with its crew alone and no hold: contaminated air knows no level."""
    flight = replace(facts.question.flight, passengers=0, hold_level=None, hold_minutes=None)
    return oxygen_flight(replace(facts, question=replace(facts.question, flight=flight)))
