"""The pilot's mask: how soon it is on, when it is worn, and the consciousness that leaves."""

from collections.abc import Iterator

from rvsmlog.errors import OutOfRangeError
from rvsmlog.facts import Facts
from rvsmlog.findings import Margin
from rvsmlog.records.base import Ref
from rvsmlog.records.oxygen import OxygenInstallation
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_met, not_on_record, rule
from rvsmlog.rules.oxygen_systems import (
    ceiling_of,
    level_of,
    needs_oxygen,
    remaining_level,
    rule_of,
    system_for,
)
from rvsmlog.science.consciousness import DonningMargin, donning_margin
from rvsmlog.standards.oxygen import QUICK_DONNING_KEYS, WORN_KEYS
from rvsmlog.standards.oxygen_figures import (
    QUICK_DONNING_SECONDS,
    SLOW_REACTION_SECONDS,
    Group,
)
from rvsmlog.standards.oxygen_planning import STRICTEST_QUICK_DONNING_FT, STRICTEST_WORN_FT
from rvsmlog.units import feet_to_level, level_to_feet, show_level

_FIT = "Record the oxygen system with `rvsmlog oxygen fit`"


def unmasked_level(facts: Facts) -> int:
    """Give the highest level at which no pilot must wear a mask, quick-donning ones at hand.

    Where the rule that applies was not read, the strictest that was read stands in.
    """
    masks, pilots = rule_of(facts).masks, facts.question.flight.crew or 1
    if masks.worn is None:
        return feet_to_level(STRICTEST_WORN_FT.value)
    quick = _quick(_crew(facts)[0]) is True
    exempt_ft = masks.two_pilots_exempt_to_ft
    if exempt_ft and not masks.must_be_worn(exempt_ft, pilots=pilots, quick_donning=quick):
        return feet_to_level(exempt_ft)
    return feet_to_level(masks.worn.value)


def worn_above(facts: Facts) -> int:
    """Give the level above which a pilot must wear a mask, with the masks that are on record."""
    lowest = rule_of(facts).masks.worn_without_quick_donning
    if lowest is not None and _quick(_crew(facts)[0]) is not True:
        return feet_to_level(lowest.value)
    return unmasked_level(facts)


def mask_to_be_worn(facts: Facts) -> bool:
    """Tell whether the pilot must wear a mask at the planned level."""
    return level_of(facts) > worn_above(facts)


def _crew(facts: Facts) -> tuple[OxygenInstallation | None, tuple[Ref, ...]]:
    """Give the crew's system and the entry in which it stands."""
    system = system_for(facts, Group.CREW)
    if system is None:
        return None, (facts.airframe.ref,)
    return system.installation, (system.fitted.ref,)


def _quick(fitted: OxygenInstallation | None) -> bool | None:
    """Tell whether the pilots' masks are quick to don; None where that is not on record."""
    if fitted is None or fitted.quick_donning is None:
        return None
    slow = fitted.donning_s is not None and fitted.donning_s > QUICK_DONNING_SECONDS.value
    return fitted.quick_donning and not slow


@rule(*QUICK_DONNING_KEYS, "25-1447", "91-211")
def quick_donning_mask_missing(facts: Facts) -> Iterator[Result]:
    """No quick-donning mask for the pilot above FL250.

    Checks: Where the aeroplane is certificated above FL250, whether the pilots' masks are on record
    as quick-donning: on with one hand within 5 seconds. Under Part 135 a mask that is worn serves
    instead.

    Why: At FL300 there may be half a minute to act, at FL350 a quarter.

    Remedy: Plan FL250 or lower, or have quick-donning masks fitted and record the oxygen system
    again.

    Known problems: Under Part 91, and where the rule that applies was not read (Australia, New
    Zealand, European non-commercial operations), the figure is that of certification rules. The
    former 23.1447(d)(2) is met too by a mask that presents itself before the cabin is above
    15,000 ft, up to 41,000 ft. That cannot be recorded: an aeroplane certificated so is wrongly
    kept to FL250 here. Ask those who maintain it for its certification basis.
    """
    masks = rule_of(facts).masks
    worn_instead = masks.worn_without_quick_donning
    figure = worn_instead or masks.quick_donning or STRICTEST_QUICK_DONNING_FT
    highest = feet_to_level(figure.value)
    if ceiling_of(facts) <= highest:
        yield not_applicable(f"asked above {show_level(highest)} only")
        return
    worn_serves = worn_instead is not None
    yield _donning(facts, highest, (figure.source.key,), worn_serves=worn_serves)


def _donning(facts: Facts, highest: int, sources: tuple[str, ...], *, worn_serves: bool) -> Result:
    """Judge the pilots' masks above the level from which they must be quick to don."""
    fitted, refs = _crew(facts)
    quick, limit = _quick(fitted), QUICK_DONNING_SECONDS.value
    seconds = None if fitted is None else fitted.donning_s
    values, limits = {"donning_s": seconds}, {"donning_s": limit, "highest_level": highest}
    if quick is None:
        return not_on_record(
            f"quick-donning masks, asked above {show_level(highest)}, are not on record",
            highest_level=remaining_level(facts, highest),
            remedy=f"{_FIT}, with --quick-donning and --donning-s.",
            limits=limits,
            evidence=refs,
            sources=sources,
        )
    wear = f"no quick-donning mask: wear the mask above {show_level(highest)}"
    if quick or (worn_serves and fitted is not None and fitted.mask_can_be_worn):
        timed = seconds if quick else None
        return met(
            "quick-donning mask on record" if quick else wear,
            values=values,
            limits=limits,
            margin=None if timed is None else Margin(value=limit - timed, unit="s"),
            evidence=refs,
            sources=sources,
        )
    slow = "" if seconds is None else f", {seconds} s to don"
    return not_met(
        f"pilots' masks are not quick-donning{slow}; asked above {show_level(highest)}",
        highest_level=remaining_level(facts, highest),
        remedy=f"Plan {show_level(highest)} or lower, or have quick-donning masks fitted and "
        "record the system again.",
        values=values,
        limits=limits,
        evidence=refs,
        sources=sources,
    )


@rule(*WORN_KEYS)
def worn_mask_missing(facts: Facts) -> Iterator[Result]:
    """No mask that the pilot can wear where one must be worn.

    Checks: Where the aeroplane is certificated above the level from which a pilot must wear a mask
    (FL350; with two pilots who have quick-donning masks, FL410), whether the mask on record can be
    worn sealed and supplies oxygen at all times, or by itself when the cabin climbs. One pilot is
    taken unless --people says two. What it draws is counted by oxygen-too-little.

    Why: At FL350 useful consciousness may end 15 seconds after a rapid decompression, before anyone
    has noticed it.

    Remedy: Plan FL350 or lower; or have such a mask fitted, record the oxygen system again, and
    wear it.

    Known problems: Where the rule that applies was not read (Australia, European operations), the
    United States' figure stands in, without its exception for two pilots. People at the controls
    are those that --people counts as crew.
    """
    ceiling, above = ceiling_of(facts), unmasked_level(facts)
    if ceiling <= above:
        yield not_applicable(f"asked above {show_level(above)} only")
        return
    yield _worn(facts, above)


def _worn(facts: Facts, above: int) -> Result:
    """Judge whether the mask on record can be worn."""
    fitted, refs = _crew(facts)
    can = None if fitted is None else fitted.mask_can_be_worn
    read = rule_of(facts).masks.worn
    sources = ((read or STRICTEST_WORN_FT).source.key,)
    unread = "" if read is not None else " (rule not read; the strictest stands in)"
    limits, highest = {"highest_level": above}, remaining_level(facts, above)
    if can:
        return met(
            f"wear the mask above {show_level(above)}{unread}: that on record can be worn",
            limits=limits,
            evidence=refs,
            sources=sources,
        )
    if can is None:
        return not_on_record(
            f"whether a mask can be worn above {show_level(above)}{unread} is not on record",
            highest_level=highest,
            remedy=f"{_FIT}, with --mask-can-be-worn.",
            limits=limits,
            evidence=refs,
            sources=sources,
        )
    return not_met(
        f"the mask on record cannot be worn in flight; asked above {show_level(above)}{unread}",
        highest_level=highest,
        remedy=f"Plan {show_level(above)} or lower.",
        limits=limits,
        evidence=refs,
        sources=sources,
    )


def consciousness_of(level: int, donning_s: int) -> DonningMargin:
    """Give the useful consciousness at a level after a rapid decompression, and what is left.

    Raises
    ------
    OutOfRangeError
        When the table does not reach so high.
    """
    return donning_margin(
        float(level_to_feet(level)),
        donning_s=float(donning_s),
        recognition_s=float(SLOW_REACTION_SECONDS.value),
        rapid=True,
    )


@rule("ac-61-107", "slow-reaction")
def useful_consciousness_short(facts: Facts) -> Iterator[Result]:
    """No useful consciousness left by the time the mask is on.

    Checks: The shortest time of useful consciousness at the next higher row of the table, after a
    rapid decompression at the planned level, less 15 seconds to notice it and the time on record
    to don the mask. Advice, which never limits the level.

    Why: The table says how long a healthy person at rest can act. Of ten unpractised pilots eight
    took up to 15 seconds before they began.

    Remedy: Practise; keep the mask in reach, set to 100 %; wear it; or plan a lower level.

    Known problems: People differ, and smoking, tiredness, illness and effort shorten the time. The
    table is one for advice, read in a reprint; between its rows the shorter time is taken.
    """
    level = level_of(facts)
    if not needs_oxygen(facts) or mask_to_be_worn(facts):
        worn = needs_oxygen(facts)
        yield not_applicable("the mask is worn" if worn else "no oxygen is asked at this level")
        return
    fitted, refs = _crew(facts)
    if fitted is None or fitted.donning_s is None:
        yield advice(
            "the time to don the pilot's mask is not on record",
            remedy=f"{_FIT}, with --donning-s.",
            evidence=refs,
        )
        return
    try:
        yield _left(facts, consciousness_of(level, fitted.donning_s), refs)
    except OutOfRangeError as error:
        yield advice(error.message, remedy=error.hint, evidence=refs)


def _left(facts: Facts, margin: DonningMargin, refs: tuple[Ref, ...]) -> Result:
    """Say what is left of the useful consciousness."""
    says = (
        f"at {show_level(level_of(facts))} {margin.useful_s:.0f} s after a rapid decompression; "
        f"{margin.recognition_s:.0f} s to notice and {margin.donning_s:.0f} s to don leave "
        f"{margin.left_s:.0f} s"
    )
    values = {"useful_s": margin.useful_s, "left_s": margin.left_s}
    left = Margin(value=margin.left_s, unit="s")
    if margin.left_s >= 0:
        return met(says, values=values, margin=left, evidence=refs)
    return advice(
        says,
        remedy="Keep the mask in reach and set to 100 %, or wear it; or plan a lower level.",
        values=values,
        margin=left,
        evidence=refs,
    )
