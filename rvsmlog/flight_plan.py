"""What the flight plan should say about RVSM: item 10a, item 18, and what goes with them."""

from rvsmlog.facts import Facts
from rvsmlog.frozen import dataclass, replace
from rvsmlog.rules.basis import in_use
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.cruising_levels import BELOW, RVSM, cruising_levels, parse_split
from rvsmlog.standards.rvsm import RVSM_LOWEST_LEVEL
from rvsmlog.units import show_level

_SOURCES = ("aim-app-4", "aim-4-6-4", "doc-4444-app-2", "appendix-g-4a")
_LEVEL_SOURCES = ("annex-2-app-3", "91-179")
_ITEM_18 = "Text in item 18 alone never changes the RVSM status: the letter W in item 10a does."


@dataclass(frozen=True, slots=True, kw_only=True)
class FlightPlan:
    """What to file.

    Parameters
    ----------
    item_10a_w : bool
        Whether the letter W goes into item 10a.
    item_18 : tuple of str
        Indicators for item 18.
    says : tuple of str
        What to do, and why, one sentence each.
    sources : tuple of str
        Keys of the published sources.
    """

    item_10a_w: bool
    item_18: tuple[str, ...]
    says: tuple[str, ...]
    sources: tuple[str, ...] = _SOURCES


def flight_plan(facts: Facts, highest: int | None, oxygen_aside: int | None = None) -> FlightPlan:
    """Say what the flight plan should say.

    A level that may be used and is no cruising level, or none of the track, is said to be so. The
    letter W states that aircraft and operator are approved for RVSM and able to fly it now; it
    is filed on both grounds or not at all.

    Parameters
    ----------
    facts : Facts
        The planned flight.
    highest : int or None
        Highest flight level of the verdict; None when the flight may not go.
    oxygen_aside : int, optional
        The same with all that oxygen limits left aside; as ``highest`` when left out.

    Returns
    -------
    FlightPlan
        Item 10a, item 18, and sentences for a reader.
    """
    plan = _of_rvsm(facts, highest, oxygen_aside)
    level = facts.question.level
    if level is None or highest is None or level > highest:
        return plan
    said = _of_level(facts, level)
    if said is None:
        return plan
    return replace(plan, says=(said, *plan.says), sources=(*plan.sources, *_LEVEL_SOURCES))


def _of_level(facts: Facts, level: int) -> str | None:
    """Say that a level that may be used is none to be filed; None where it is one."""
    flight, shown = facts.question.flight, show_level(level)
    default = authority(facts.particulars.authority).track_split
    split = parse_split(flight.split or default)
    if flight.track is None:
        levels = sorted({*BELOW.odd, *BELOW.even, *RVSM.odd, *RVSM.even})
        what, odd = "no cruising level", ""
    else:
        levels = list(cruising_levels(flight.track, split, rvsm=True))
        what = f"no cruising level of track {flight.track:03.0f}"
        odd = f", odd levels for tracks {split.value}"
    if level in levels:
        return None
    near = [f"{show_level(each)} below" for each in levels if each < level][-1:]
    near += [f"{show_level(each)} above" for each in levels if each > level][:1]
    return (
        f"{shown} is {what} ({', '.join(near)}{odd}): file it only where air traffic control "
        "asks for it. `rvsmlog levels` shows which may be filed."
    )


def _of_rvsm(facts: Facts, highest: int | None, oxygen_aside: int | None) -> FlightPlan:
    """Say what the flight plan should say about RVSM."""
    able = highest is not None and highest >= RVSM_LOWEST_LEVEL.value
    approved = in_use(facts) is not None
    if able and approved:
        return _with_w(facts)
    by_oxygen = oxygen_aside is not None and oxygen_aside >= RVSM_LOWEST_LEVEL.value
    if highest is not None and by_oxygen and approved:
        return _held_by_oxygen(facts, highest)
    return _without_w(highest, approved=approved)


def _with_w(facts: Facts) -> FlightPlan:
    """File W with the registration, which height monitoring needs afterwards."""
    marks = facts.particulars.registration.replace("-", "")
    return FlightPlan(
        item_10a_w=True,
        item_18=(f"REG/{marks}",),
        says=(
            "File W in item 10a: approved for RVSM and able to fly it now.",
            f"File REG/{marks} in item 18, so that height monitoring finds the aeroplane.",
            "If the ability is lost after filing, ask ATC to remove the W.",
            _ITEM_18,
        ),
    )


def _held_by_oxygen(facts: Facts, highest: int) -> FlightPlan:
    """Leave W in place: it states approval and ability, which the oxygen on board is no part of."""
    plan = _with_w(facts)
    return FlightPlan(
        item_10a_w=True,
        item_18=plan.item_18,
        says=(
            f"Plan at {show_level(highest)} or below: oxygen sets the level, RVSM is not lost.",
            "W in item 10a stands: approved for RVSM and able to fly it, whatever level is filed.",
            *plan.says[1:],
        ),
    )


def _without_w(highest: int | None, *, approved: bool) -> FlightPlan:
    """Leave W out, and say what to do about a plan that has it already."""
    if highest is None:
        return FlightPlan(
            item_10a_w=False,
            item_18=(),
            says=("File nothing: the flight may not go. Cancel a plan that is filed already.",),
        )
    reason = "not able to fly RVSM now" if approved else "no RVSM approval counts for this flight"
    lowest = show_level(RVSM_LOWEST_LEVEL.value)
    return FlightPlan(
        item_10a_w=False,
        item_18=(),
        says=(
            f"Leave W out of item 10a: {reason}. Plan below {lowest}.",
            "If a plan with W is filed already, ask ATC to remove the W.",
            "STS/NONRVSM in item 18 belongs only to a request to fly non-RVSM in RVSM airspace.",
            _ITEM_18,
        ),
    )
