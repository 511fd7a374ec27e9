"""What was said of the flight, and what had to be assumed."""

from collections.abc import Iterator

from rvsmlog.facts import Facts
from rvsmlog.findings import LEVELS, NO_FLIGHT, Finding, Margin, Outcome
from rvsmlog.rules.base import Result, advice, met, not_applicable, rule
from rvsmlog.rules.margins import by_margin
from rvsmlog.rules.oxygen_flight import oxygen_flight
from rvsmlog.rules.oxygen_systems import hold_of, level_of, needs_oxygen
from rvsmlog.units import show_level


def below_hold(facts: Facts) -> bool:
    """Tell whether the planned level lies below the one that the flight may not leave."""
    return level_of(facts) < hold_of(facts)


def nothing_above_hold(facts: Facts, highest: int) -> Finding | None:
    """Say that what the findings leave lies below the hold; None when it does not."""
    hold = hold_of(facts)
    if highest >= hold:
        return None
    return Finding(
        rule=level_below_hold.name,
        outcome=Outcome.NOT_MET,
        says=f"{show_level(highest)} at most remains, the hold is at {show_level(hold)}",
        highest_level=NO_FLIGHT,
        values={"level": highest},
        limits={"hold_level": hold},
        evidence=(facts.airframe.ref,),
        sources=level_below_hold.sources,
        remedy=f"Put right what limits the level below {show_level(hold)}, or take another route.",
    )


@rule("practice")
def level_below_hold(facts: Facts) -> Iterator[Result]:
    """Level below the one that terrain, sea or fuel forbid to leave.

    Checks: Where a hold is given, the planned level (or, where none is planned, the certificated
    one) against it; and whether the other findings leave any level at or above it.

    Why: A level that the flight may not descend to cannot be the one it flies at.

    Remedy: Plan the level of the hold or higher, or another route.

    Known problems: The level of the hold is taken as said; terrain and fuel are not known here.
    """
    hold, level = hold_of(facts), level_of(facts)
    if not hold:
        given = facts.question.flight.hold_level
        yield not_applicable(
            "no hold is given" if given is None else f"hold at {show_level(given)} for 0 min: none"
        )
        return
    yield by_margin(
        f"{show_level(level)}, the hold at {show_level(hold)}",
        Margin(value=level - hold, unit=LEVELS),
        highest_level=NO_FLIGHT,
        remedy=f"Plan {show_level(hold)} or higher, or another route.",
        values={"level": level},
        limits={"hold_level": hold},
        evidence=(facts.airframe.ref,),
    )


@rule("practice", "amc1-cat-ide-a-235-e", "cat-ide-a-235-profiles")
def flight_data_missing(facts: Facts) -> Iterator[Result]:
    """Flight data not given, so that assumptions stand in.

    Checks: Which of the data that oxygen is counted by nobody has said: people, hold, recognition,
    rates of descent, contaminated air, the temperature of the cylinder in flight. What was taken
    instead is written out. Advice, which never limits the level.

    Why: An answer is worth what went into it. People are assumed to fill every seat with a mask;
    that nothing forbids a descent at once is an assumption on the other side, and the pilot's to
    correct.

    Remedy: Give --people, --hold-level with --hold-minutes and the others, or --route with the name
    of a route profile that holds them.

    Known problems: The emergency descent that stands in takes ten minutes from the certificated
    ceiling to 10,000 ft, as the European profiles do; 17 seconds before it are of the same rules.
    """
    if not needs_oxygen(facts) or below_hold(facts):
        yield not_applicable("no oxygen is counted")
        return
    assumed = oxygen_flight(facts).assumed
    for each in assumed:
        yield advice(f"assumed: {each.says}", remedy=each.remedy, evidence=(facts.airframe.ref,))
    if not assumed:
        yield met("nothing was assumed of the flight", evidence=(facts.airframe.ref,))
