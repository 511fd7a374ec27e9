"""Whether the oxygen on board covers the flight, and the highest level that it does cover."""

import math
from collections.abc import Iterator
from contextlib import suppress
from functools import partial

from rvsmlog.errors import InputError
from rvsmlog.facts import Facts
from rvsmlog.findings import NO_FLIGHT, Margin, Outcome, Value
from rvsmlog.frozen import replace
from rvsmlog.rules.base import Result, met, not_applicable, not_on_record, rule
from rvsmlog.rules.flight_data import below_hold
from rvsmlog.rules.margins import by_margin
from rvsmlog.rules.oxygen_flight import Drawn, OxygenFlight, oxygen_flight, people_of
from rvsmlog.rules.oxygen_margin import (
    RECORD_FLOW,
    Tightest,
    flow_remedy,
    tightest_of,
    worn_unknown,
)
from rvsmlog.rules.oxygen_record import in_need, no_need
from rvsmlog.rules.oxygen_systems import (
    ceiling_of,
    free_level,
    level_of,
    needs_oxygen,
    remaining_level,
    system_for,
)
from rvsmlog.science.oxygen import (
    FlowBasis,
    Group,
    OxygenNeed,
    highest_level_where,
    oxygen_needed,
    without_worn,
)
from rvsmlog.standards.oxygen import SUPPLY_KEYS
from rvsmlog.standards.oxygen_planning import STRICTEST_WORN_FT
from rvsmlog.standards.source import Source
from rvsmlog.units import show_level


@rule(*SUPPLY_KEYS, "25-1443", "gerg-2008-oxygen", "mask-to-10000")
def oxygen_too_little(facts: Facts) -> Iterator[Result]:
    """Oxygen on board too little for the planned level.

    Checks: The litres that the newest reading is worth, against what the flight needs: what the
    authority's rule asks to be carried, and the flight after a loss of pressure at the planned
    level: recognition, emergency descent, the hold that terrain, sea or fuel forbid to leave, and
    the descent from it, for the people on board. Each must be covered by itself. Where a pilot must
    wear a mask at the level (see worn-mask-missing), what one mask draws there for all minutes at
    the level (--cruise-minutes) is added to each. The level that remains is the highest at which
    they are covered, worked out by counting anew at lower levels.

    Why: What is on the gauge decides how long one stays conscious above 10,000 ft when the cabin
    fails. No level is safe or unsafe by itself: the people, the hold and the gauge make it so.

    Remedy: Fill the cylinder and record the reading; take fewer people; plan a lower level, or a
    route with a shorter or lower hold. Where a mask is worn, say how long, and record the flow of
    its handbook. A flow of 0 says that a worn mask draws nothing at that cabin altitude, and is
    never a supply: who may have to hold or descend there on oxygen enters the flow that the mask
    delivers then, and the mask that is worn is counted with it.

    Known problems: What nobody said of the flight is assumed, and listed by flight-data-missing.
    Flows are those of the handbook on record. Where a continuous flow is only the least that
    certification asks, the answer is not on record at levels that rest on it: equipment may take
    more. A flow on record is no supply either, and the need not known, where it is less than any
    mask must deliver: what keeps the passengers' tracheal pressure of 25.1443(c) at 15 litres a
    minute, as where litres were entered for millilitres. That this is less than the section asks of
    most masks is our own choice: handbooks count with other minute volumes, and a figure that the
    former 23.1443 allows instead was not read. Demand masks without a table are counted as
    undiluted oxygen. A mask that is worn is counted at the level alone, not in climb and descent,
    and in the normal position of its regulator; below the first row of its table, or the first
    above a flow of 0, that row's flow counts, more as the air is denser.
    Where the rule that applies says nothing of it or was not read (Europe, Australia), it is
    counted as in the United States: oxygen may be found short for a mask that nobody wears.
    """
    if not in_need(facts):
        yield no_need(facts)
        return
    if below_hold(facts):
        yield not_applicable("planned below the hold: see level-below-hold")
        return
    flight = oxygen_flight(facts)
    if not flight.supplies:
        yield not_applicable("no oxygen on record that could be counted: see oxygen-not-on-record")
        return
    yield _judged(facts, flight)


def highest_with_oxygen(facts: Facts, flight: OxygenFlight) -> int:
    """Give the highest level up to the certificated one that the oxygen allows, or no flight.

    Levels at which a flow is not known, or is only the least that certification asks, are not
    allowed. Nobody needs oxygen up to the level at which the rule asks nothing.
    """
    try:
        found = highest_level_where(flight.case, partial(_covered, flight))
    except InputError:
        found = None
    free = remaining_level(facts, free_level(facts))
    return free if found is None else max(found, free)


def _covered(flight: OxygenFlight, need: OxygenNeed) -> bool:
    """Tell whether a need is covered by every supply and rests on flows that are known."""
    enough = all(supply.covers(need) for supply in flight.supplies)
    return enough and not need.may_be_too_low


def highest_known_below(facts: Facts, flight: OxygenFlight, highest: int) -> int:
    """Give the highest level that the oxygen allows where the need at the level is not known.

    A level above it may be known again, as where a mask is worn from there on: what remains is then
    the highest below, level by level.

    Parameters
    ----------
    highest : int
        That of :func:`highest_with_oxygen`.
    """
    level, free = level_of(facts), remaining_level(facts, free_level(facts))
    if highest < level:
        return highest
    for lower in range(level - 1, free, -1):
        with suppress(InputError):
            if _covered(flight, oxygen_needed(flight.at(lower))):
                return lower
    return free


def _judged(facts: Facts, flight: OxygenFlight) -> Result:
    """Hold the need at the planned level against what is on board."""
    highest = highest_with_oxygen(facts, flight)
    cap = highest if highest < ceiling_of(facts) else None
    if not needs_oxygen(facts):
        return Result(
            outcome=Outcome.MET,
            says=f"{show_level(level_of(facts))} asks no oxygen; enough for {_shown(highest)}",
            highest_level=cap,
            evidence=flight.refs,
        )
    try:
        need = oxygen_needed(flight.at(level_of(facts)))
    except InputError as error:
        says = f"the need is not known: {error.message}"
        return _unknown(facts, flight, highest, says, flow_remedy(error))
    tightest = tightest_of(flight, need.cases)
    if tightest.margin_litres >= 0 and need.may_be_too_low:
        flows = [curve for curve in need.flows if curve.basis is FlowBasis.MINIMUM]
        who = " and ".join(dict.fromkeys(curve.group for curve in flows))
        return _unknown(facts, flight, highest, f"the oxygen flow of the {who} is not on record")
    if unknown := worn_unknown(facts, flight, need.cases):
        return _unknown(facts, flight, highest, *unknown)
    if tightest.margin_litres < 0 and facts.question.flight.cruise_minutes is None:
        # Too little without any minutes: what a whole day would draw has no place in the answer.
        need = replace(need, cases=without_worn(need.cases))
    return _counted(flight, need, tightest_of(flight, need.cases), cap)


def _shown(highest: int) -> str:
    """Write the highest level that the oxygen allows."""
    return "no level" if highest == NO_FLIGHT else show_level(highest)


def _counted(flight: OxygenFlight, need: OxygenNeed, tightest: Tightest, cap: int | None) -> Result:
    """Say whether a need that is known is covered."""
    values, failed = _values(flight, need, tightest), tightest.margin_litres < 0
    enough = "" if cap is None else f"; enough for {_shown(cap)}"
    psi = values["gauge_needed_psi"]
    to = "" if psi is None else f" ({psi} psi or more)"
    fewer = ", or fewer minutes at the level" if tightest.worn_litres else ""
    return Result(
        outcome=Outcome.NOT_MET if failed else Outcome.MET,
        says=_says(flight, need, tightest) + enough,
        highest_level=cap,
        values=values,
        margin=tightest.margin,
        evidence=flight.refs,
        sources=tuple(dict.fromkeys(each.key for each in (*need.sources, *_beside(tightest)))),
        remedy=(
            f"Plan the level that remains; or have the cylinder filled and record the reading{to}; "
            f"or fewer people, or a shorter or lower hold{fewer}."
            if failed
            else ""
        ),
    )


def _beside(tightest: Tightest) -> tuple[Source, ...]:
    """Give the sources of the gas, and of the mask that is worn where the rule was not read."""
    supply = tightest.drawn.supply
    gas = () if supply is None else supply.sources
    return gas if tightest.case.worn is None else (*gas, STRICTEST_WORN_FT.source)


def _unknown(
    facts: Facts, flight: OxygenFlight, highest: int, says: str, remedy: str = RECORD_FLOW
) -> Result:
    """Say that the need cannot be told from what is on record."""
    highest = highest_known_below(facts, flight, highest)
    return not_on_record(
        f"{says}; counted up to {_shown(highest)}",
        highest_level=highest,
        remedy=remedy,
        values=flight.values(level_of(facts)),
        evidence=flight.refs,
    )


def gauge_needed_psi(drawn: Drawn, need: OxygenNeed) -> int | None:
    """Give the gauge reading that covers a need, whole psi; None where a full cylinder does not.

    It is one at the temperature that the cylinder had at its newest reading.
    """
    if drawn.system.reading is None:
        return None
    try:
        needed = drawn.gauge_needed_psi(need, drawn.system.reading.record.cylinder_c)
    except InputError:
        return None
    return math.ceil(needed)


def gauges_needed(facts: Facts) -> Iterator[tuple[str, int | None, float | None]]:
    """Give each system drawn on with the gauge reading that the flight needs, and when cold so.

    Yields
    ------
    tuple
        Name, whole psi and temperature of the cylinder; None where they cannot be told, as
        without a reading, where a flow is not on record, or when a full cylinder does not hold
        that much.
    """
    if below_hold(facts):
        return
    flight = oxygen_flight(facts)
    need: OxygenNeed | None = None
    read = any(drawn.supply is not None for drawn in flight.drawn)
    with suppress(InputError):
        need = oxygen_needed(flight.with_contaminated_air(level_of(facts)))
        if need.may_be_too_low or (read and worn_unknown(facts, flight, need.cases)):
            need = None
    for drawn in flight.drawn:
        reading = drawn.system.reading
        psi = None if need is None else gauge_needed_psi(drawn, need)
        at_c = None if reading is None else reading.record.cylinder_c
        yield drawn.system.installation.name, psi, at_c


def _says(flight: OxygenFlight, need: OxygenNeed, tightest: Tightest) -> str:
    """Say in one line what is there and what is needed."""
    reading = tightest.drawn.system.reading
    gauge = 0.0 if reading is None else reading.record.gauge_psi
    return (
        f"{show_level(need.planned_level)} with {flight.people}: {tightest.shown.on_board} l "
        f"on board ({gauge:.0f} psi), {tightest.says} ({tightest.case.name})"
    )


def _values(flight: OxygenFlight, need: OxygenNeed, tightest: Tightest) -> dict[str, Value]:
    """Give the numbers of a finding."""
    reading = tightest.drawn.system.reading
    by_case: dict[str, Value] = {
        f"{case.name.name.lower()}_litres": round(case.litres, 1) for case in need.cases
    }
    worn = tightest.case.worn
    if worn is not None:
        by_case |= {"worn_minutes": worn.minutes, "worn_litres": round(worn.crew_litres, 1)}
    return {
        **flight.values(need.planned_level),
        **by_case,
        "case": tightest.case.name.value,
        "needed_litres": round(tightest.needed_litres, 1),
        "usable_litres": round(tightest.usable_litres, 1),
        "gauge_psi": None if reading is None else reading.record.gauge_psi,
        "gauge_needed_psi": gauge_needed_psi(tightest.drawn, need),
    }


@rule(*SUPPLY_KEYS)
def oxygen_masks_too_few(facts: Facts) -> Iterator[Result]:
    """More people on board than oxygen masks.

    Checks: Crew and passengers as said against the seats with a mask on record. The level that
    remains is one at which those without a mask need no oxygen.

    Why: Litres help nobody who has no mask.

    Remedy: Take fewer people, or plan the level that remains; where a seat with a mask is not on
    record, record the oxygen system again.

    Known problems: Spare masks, of which commercial rules ask a tenth, are not counted.
    """
    groups = in_need(facts)
    if not groups:
        yield no_need(facts)
        return
    judged = [result for group in groups if (result := _seats(facts, group)) is not None]
    short = [result for result in judged if result.outcome is Outcome.NOT_MET]
    yield from short
    if not judged:
        yield not_applicable("no oxygen system that the flight rests on")
    elif not short:
        yield met(
            "; ".join(result.says for result in judged),
            margin=min(
                (result.margin for result in judged if result.margin is not None),
                key=lambda margin: margin.value,
            ),
            evidence=tuple(dict.fromkeys(ref for result in judged for ref in result.evidence)),
        )


def _seats(facts: Facts, group: Group) -> Result | None:
    """Hold people against masks; None where no system is on record, or nobody draws on it."""
    system, crew = system_for(facts, group), group is Group.CREW
    people = people_of(facts)[0 if crew else 1]
    if system is None or not people:
        return None
    fitted = system.installation
    masks = (fitted.crew_masks if crew else fitted.passenger_masks) or 0
    return by_margin(
        f"{people} {group}, {masks} seats with a mask",
        Margin(value=masks - people, unit="masks"),
        highest_level=remaining_level(facts, free_level(facts, group)),
        remedy="Take fewer people or plan the level that remains; where a seat with a mask is not "
        "on record, record the oxygen system again.",
        values={"people": people},
        limits={"masks": masks},
        evidence=(system.fitted.ref,),
    )
