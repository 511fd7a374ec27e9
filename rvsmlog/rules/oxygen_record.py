"""Whether the oxygen is on record: the system, a reading, what was looked at, open defects."""

from collections.abc import Iterator
from datetime import date

from rvsmlog.dates import ago, days_left, interval_due, local_day, show_instant
from rvsmlog.facts import DefectCase, Facts, Logged
from rvsmlog.findings import Margin
from rvsmlog.once import once
from rvsmlog.records.base import Ref
from rvsmlog.records.oxygen import CREW_ITEMS, PASSENGER_ITEMS, OxygenReading
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_met, not_on_record, rule
from rvsmlog.rules.gone_units import taken_out
from rvsmlog.rules.margins import by_margin
from rvsmlog.rules.open_defects import evidence_of, level_of_item, name_of, open_defects, state_of
from rvsmlog.rules.oxygen_flight import people_of
from rvsmlog.rules.oxygen_systems import (
    System,
    ceiling_of,
    free_level,
    remaining_level,
    system_for,
)
from rvsmlog.rules.term import Term
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.oxygen import SUPPLY_KEYS
from rvsmlog.standards.oxygen_figures import Group
from rvsmlog.standards.oxygen_planning import OXYGEN_READING_MAX_AGE_DAYS
from rvsmlog.units import show_level

_READ = (
    "Read the gauge with the cylinder's temperature, and record it with `rvsmlog oxygen reading`"
)
_OXYGEN = (Function.OXYGEN_CYLINDER, Function.OXYGEN_REGULATOR, Function.OXYGEN_MASK)


@once
def in_need(facts: Facts) -> tuple[Group, ...]:
    """Give those on board, or perhaps on board, who may need oxygen at some level."""
    passengers = facts.question.flight.passengers
    aboard = (Group.CREW,) if passengers == 0 else tuple(Group)
    return tuple(group for group in aboard if ceiling_of(facts) > free_level(facts, group))


def no_need(facts: Facts) -> Result:
    """Say that the aeroplane goes no higher than where nobody needs oxygen."""
    return not_applicable(f"up to {show_level(ceiling_of(facts))} no oxygen is asked")


@rule(*SUPPLY_KEYS)
def oxygen_not_on_record(facts: Facts) -> Iterator[Result]:
    """No oxygen system, or no reading of its gauge, on record.

    Checks: Above the pressure altitudes up to which the authority's rule asks nothing even of an
    unpressurised aeroplane: whether an oxygen system is on record for the crew and, unless the
    flight carries none, for passengers, and whether its gauge was read since it was fitted. The
    level that remains is that altitude: by United States general rules FL125 for the crew and
    FL150 where only the passengers' oxygen is missing.

    Why: Oxygen that nobody has read is not known to be there.

    Remedy: Record the system with `rvsmlog oxygen fit` and its gauge with `rvsmlog oxygen reading`.
    Where nobody but the crew is on board, say so with --people.

    Known problems: Portable cylinders and chemical generators are recorded as systems with their
    litres; generators have no gauge, so enter their full pressure as the reading.
    """
    groups = in_need(facts)
    if not groups:
        yield no_need(facts)
        return
    missing = {group: _missing(facts, group) for group in groups}
    yield from (result for result in missing.values() if result is not None)
    if not any(missing.values()):
        refs = [ref for group in groups for ref in _refs(system_for(facts, group))]
        yield met(
            f"oxygen on record for {' and '.join(groups)}", evidence=tuple(dict.fromkeys(refs))
        )


def _refs(system: System | None) -> tuple[Ref, ...]:
    return () if system is None else system.refs


def _missing(facts: Facts, group: Group) -> Result | None:
    """Say what is missing for a group; None when nothing is."""
    system = system_for(facts, group)
    if system is not None and system.reading is not None:
        return None
    free = free_level(facts, group)
    if system is None:
        says, remedy = f"no oxygen system for the {group} on record", "`rvsmlog oxygen fit`"
        remedy = f"Record the system with {remedy}, then its gauge."
        if group is Group.PASSENGERS:
            remedy += " Where nobody but the crew is on board, say so with --people."
    else:
        says = f"no reading of the oxygen gauge for the {group} on record"
        remedy = f"{_READ}."
    return not_on_record(
        says,
        highest_level=remaining_level(facts, free),
        remedy=remedy,
        limits={"level_without_oxygen": free},
        evidence=_refs(system) or (facts.airframe.ref,),
    )


def _systems_in_need(facts: Facts) -> tuple[System, ...]:
    """Give the systems on which those who may need oxygen draw, each once."""
    found = {}
    for group in in_need(facts):
        system = system_for(facts, group)
        if system is not None:
            found[system.installation.name] = system
    return tuple(found.values())


@rule("practice")
def oxygen_reading_too_old(facts: Facts) -> Iterator[Result]:
    """Oxygen gauge not read lately.

    Checks: The age in days of the newest reading of each oxygen system that the flight draws on:
    seven days at most, the last day counts. A reading from before the last flight on record is
    advice: it must be taken again before take-off.

    Why: Cylinders leak, and are used. What was on the gauge last week is a reason to plan on, and
    no more.

    Remedy: Read the gauge with the cylinder's temperature and record it.

    Known problems: Seven days are common practice without a source; handbooks ask for a look
    before every flight, which stands in the list of things to do.
    """
    read = [system for system in _systems_in_need(facts) if system.reading is not None]
    for system in read:
        yield from _age(facts, system)
    if not read:
        yield not_applicable("no oxygen reading that the flight rests on")


def _age(facts: Facts, system: System) -> Iterator[Result]:
    """Judge the age of one system's reading, and whether a flight came after it."""
    assert system.reading is not None  # noqa: S101  # the caller chose those that have one
    reading, longest = system.reading, OXYGEN_READING_MAX_AGE_DAYS.value
    day = local_day(reading.record.checked_at, facts.time_zone)
    age, last_day = (facts.today - day).days, _last_day(facts, reading)
    groups = [group for group in in_need(facts) if system_for(facts, group) == system]
    free = min(free_level(facts, group) for group in groups)
    yield by_margin(
        f"oxygen ({system.installation.name}) read on {day}, {ago(age)}, limit {longest} days",
        Margin(value=days_left(last_day, facts.today), unit="days"),
        highest_level=remaining_level(facts, free),
        remedy=f"{_READ}.",
        values={"age_days": age, "checked_at": show_instant(reading.record.checked_at)},
        limits={"max_age_days": longest},
        evidence=(reading.ref,),
    )
    later = [each for each in facts.flights if each.record.on_at > reading.record.checked_at]
    if later:
        yield advice(
            f"oxygen ({system.installation.name}) was read before the flight that landed "
            f"{show_instant(later[-1].record.on_at)}",
            remedy=f"{_READ} before take-off.",
            evidence=(reading.ref, later[-1].ref),
        )


def _last_day(facts: Facts, reading: Logged[OxygenReading]) -> date:
    """Give the last day on which a reading is recent enough."""
    read_on = local_day(reading.record.checked_at, facts.time_zone)
    return interval_due(read_on, OXYGEN_READING_MAX_AGE_DAYS.value)


def oxygen_reading_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day of the newest reading of each oxygen system that is drawn on."""
    for system in _systems_in_need(facts):
        if system.reading is not None:
            yield Term(
                rule=oxygen_reading_too_old.name,
                subject=system.installation.name,
                what=f"reading of the oxygen gauge ({system.installation.name})",
                last_day=_last_day(facts, system.reading),
                evidence=(system.reading.ref,),
                remedy=f"{_READ}.",
                routine=True,
            )


@rule("practice")
def oxygen_seats_not_checked(facts: Facts) -> Iterator[Result]:
    """Oxygen of a seat not looked at.

    Checks: What the newest oxygen readings say was found good: at the pilot's seat and, with two
    crew, at the second one valve, pressure, flow, mask and microphone; at the passengers' seats
    valve, flow and mask. What is not there is advice.

    Why: A mask that does not fit, does not flow or has no microphone is found on the ground or in
    the seconds in which it is needed.

    Remedy: Check each seat in use before take-off, and record it with the reading.

    Known problems: What is to be checked is common practice; the flight manual's list goes first.
    """
    if not _systems_in_need(facts):
        yield not_applicable("no oxygen system that the flight rests on")
        return
    gaps = tuple(_gaps(facts))
    refs = tuple(ref for system in _systems_in_need(facts) for ref in system.refs)
    if gaps:
        yield advice(
            "not on record as checked: " + "; ".join(gaps),
            remedy="Check each seat in use before take-off and record it with "
            "`rvsmlog oxygen reading`.",
            evidence=refs,
        )
    else:
        yield met("oxygen checked at each seat in use", evidence=refs)


def _gaps(facts: Facts) -> Iterator[str]:
    """Name each seat with the items that were not found good."""
    crew, passengers = people_of(facts)
    wanted: list[tuple[Group, str, str, tuple[str, ...]]] = [
        (Group.CREW, "pilot_seat", "pilot's seat", CREW_ITEMS)
    ]
    if crew > 1:
        wanted.append((Group.CREW, "copilot_seat", "second crew seat", CREW_ITEMS))
    if passengers:
        wanted.append((Group.PASSENGERS, "passenger_seats", "passenger seats", PASSENGER_ITEMS))
    for group, field, title, items in wanted:
        system = system_for(facts, group)
        reading = None if system is None else system.reading
        good = _found_good(reading.record, field) if reading is not None else ()
        missing = [item for item in items if item not in good]
        if missing and group in in_need(facts):
            yield f"{title} ({', '.join(missing)})"


def _found_good(reading: OxygenReading, field: str) -> tuple[str, ...]:
    good: tuple[str, ...] | None = getattr(reading, field)
    return good or ()


@rule("practice", *SUPPLY_KEYS)
def oxygen_equipment_inoperative(facts: Facts) -> Iterator[Result]:
    """Open defect on oxygen equipment, or a unit taken out and not replaced.

    Checks: Whether a defect of an oxygen cylinder, regulator or mask is open. Where it is deferred
    and the list's item sets a highest level, that level decides; otherwise the flight stays where
    nobody needs oxygen. So it does where a unit was removed, and neither one in its place nor a
    defect about it with its deferral or release is on record.

    Why: Equipment with a defect of unknown extent is no oxygen on board.

    Remedy: Have it rectified and record the rectification; or defer it under the minimum equipment
    list and record the highest level that the item sets.

    Known problems: A deferred mask at a seat that stays empty counts as if it were needed, unless
    the deferral records the level that the item allows.
    """
    if not in_need(facts):
        yield no_need(facts)
        return
    level = remaining_level(facts, free_level(facts))
    found = [_lost(facts, case) for case in open_defects(facts, _OXYGEN)]
    found += taken_out(facts, _OXYGEN, level)
    yield from found
    if not found:
        yield met("no open defect on oxygen equipment", evidence=(facts.airframe.ref,))


def _lost(facts: Facts, case: DefectCase) -> Result:
    """Say what remains: what the list's item sets, else a level without oxygen."""
    return level_of_item(case) or not_met(
        f"{name_of(case)}: {state_of(case)}",
        highest_level=remaining_level(facts, free_level(facts)),
        remedy="Have it rectified and record the rectification; or defer it under the minimum "
        "equipment list, with the highest level that the item sets.",
        limits={"level_without_oxygen": free_level(facts)},
        evidence=evidence_of(case),
    )
