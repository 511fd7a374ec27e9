"""The history of one unit by its serial number, from airframe to airframe."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime

from rvsmlog.facts import EquipmentCase, Facts, Logged
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Record, Ref
from rvsmlog.records.papers import Test
from rvsmlog.rules.judged_readings import Judgement, judgement
from rvsmlog.rules.places import moved_at
from rvsmlog.rules.proof import failure, plain, same_serial
from rvsmlog.science.bench_judgement import Item
from rvsmlog.science.unit_trend import UnitTrend, unit_trend
from rvsmlog.standards.rvsm import RVSM_HIGHEST_LEVEL, RVSM_LOWEST_LEVEL
from rvsmlog.units import level_to_feet

FITTED, REMOVED, SWAPPED, TESTED = "fitted", "removed", "swapped", "tested"


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitEvent:
    """Something on record about a unit.

    Parameters
    ----------
    day : date
        When.
    registration : str
        The airframe.
    what : str
        ``fitted``, ``removed``, ``swapped`` or ``tested``.
    position : str or None
        Where it came to be; for a removal, where it was; for a test, the position stated.
    says : str
        More, in running text.
    ref : Ref
        The entry.
    recorded_at : datetime
        When the entry was made.
    judged : Judgement or None
        The readings of a test.
    """

    day: date
    registration: str
    what: str
    position: str | None
    says: str
    ref: Ref
    recorded_at: datetime
    judged: Judgement | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a unit is fitted now."""

    registration: str
    function: str
    position: str | None
    since: date


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitHistory:
    """All that is on record about a serial number.

    Parameters
    ----------
    serial_number : str
        As first recorded, else as asked for.
    functions, part_numbers : tuple of str
        What the entries say; several part numbers may be several units.
    places : tuple of Place
        Where it is fitted now; more than one contradict each other.
    events : tuple of UnitEvent
        From the earliest to the latest.
    trends : tuple of (int, UnitTrend)
        Scale error by altitude of the point, feet, at RVSM levels.
    """

    serial_number: str
    functions: tuple[str, ...]
    part_numbers: tuple[str, ...]
    places: tuple[Place, ...]
    events: tuple[UnitEvent, ...]
    trends: tuple[tuple[int, UnitTrend], ...]


def unit_history(fleet: Sequence[Facts], serial: str, part: str | None = None) -> UnitHistory:
    """Follow a unit through the logbooks of all airframes.

    Parameters
    ----------
    fleet : sequence of Facts
        One for each airframe.
    serial : str
        Serial number; letters count alike, and so do blanks around it.
    part : str, optional
        Part number; entries that name another one are left out.

    Returns
    -------
    UnitHistory
        Without events when nothing is on record. Tests count that name the serial number.
    """
    units = [(facts, case) for facts in fleet for case in _units(facts, serial, part)]
    tests = [(facts, test) for facts in fleet for test in _tests(facts, serial, part)]
    events = [event for facts, case in units for event in _of_unit(facts, case)]
    events += [_tested(facts, test) for facts, test in tests]
    ordered = tuple(
        sorted(events, key=lambda event: (event.day, event.recorded_at, event.ref.entry))
    )
    parts = [case.equipment.record.part_number for _, case in units]
    parts += [_part_of(facts, test) for facts, test in tests]
    written = [case.equipment.record.serial_number for _, case in units]
    written += [test.record.unit_serial for _, test in tests]
    return UnitHistory(
        serial_number=next((each.strip() for each in written if each), serial.strip()),
        functions=tuple(dict.fromkeys(case.equipment.record.function for _, case in units)),
        part_numbers=tuple(dict.fromkeys(each for each in parts if each is not None)),
        places=tuple(_place(facts, case) for facts, case in units if case.is_fitted),
        events=ordered,
        trends=tuple(_trends(ordered)),
    )


def known_serials(fleet: Sequence[Facts]) -> tuple[str, ...]:
    """Give every serial number on record, of units fitted and of units tested."""
    found = [case.equipment.record.serial_number for facts in fleet for case in facts.equipment]
    found += [test.record.unit_serial for facts in fleet for test in facts.tests]
    return tuple(sorted({each.strip() for each in found if each is not None}))


def _units(facts: Facts, serial: str, part: str | None) -> Iterator[EquipmentCase]:
    """Give the times that a unit was fitted to an airframe."""
    for case in facts.equipment:
        record = case.equipment.record
        if same_serial(record.serial_number, serial) and _same_part(record.part_number, part):
            yield case


def _tests(facts: Facts, serial: str, part: str | None) -> Iterator[Logged[Test]]:
    """Give the tests of a unit."""
    for test in facts.tests:
        if same_serial(test.record.unit_serial, serial) and _same_part(_part_of(facts, test), part):
            yield test


def _part_of(facts: Facts, test: Logged[Test]) -> str | None:
    """Give the part number that the readings of a test state."""
    readings = facts.readings_of(test.first)
    return None if readings is None else readings.record.part_number


def _same_part(known: str | None, part: str | None) -> bool:
    """Whether an entry may be about a part; without a number on either side it may."""
    return known is None or part is None or plain(known) == plain(part)


def _place(facts: Facts, case: EquipmentCase) -> Place:
    """Say where a unit is."""
    record = case.equipment.record
    since = moved_at(facts, case.moves[-1])[0] if case.moves else record.fitted_on
    return Place(
        registration=facts.particulars.registration,
        function=record.function,
        position=case.position,
        since=since,
    )


def _event(
    facts: Facts, logged: Logged[Record], day: date, what: str, position: str | None, says: str
) -> UnitEvent:
    """Give an event of an entry."""
    return UnitEvent(
        day=day,
        registration=facts.particulars.registration,
        what=what,
        position=position,
        says=says,
        ref=logged.ref,
        recorded_at=logged.recorded_at,
    )


def _of_unit(facts: Facts, case: EquipmentCase) -> Iterator[UnitEvent]:
    """Give fitting, swaps and removal."""
    fitted, removal = case.equipment, case.removal
    unit = fitted.record
    yield _event(facts, fitted, unit.fitted_on, FITTED, unit.position, unit.reference or "")
    before = unit.position
    for move in case.moves:
        day = moved_at(facts, move)[0]
        says = f"from {before or 'no position'}: {move.swap.record.cause}"
        yield _event(facts, move.swap, day, SWAPPED, move.position, says)
        before = move.position
    if removal is not None:
        says = removal.record.cause or ""
        yield _event(facts, removal, removal.record.removed_on, REMOVED, case.position, says)


def _tested(facts: Facts, test: Logged[Test]) -> UnitEvent:
    """Give a test with how it stands."""
    fault = failure(facts, test)
    judged = judgement(facts, test)
    errors = ", ".join(f"{error:+d} ft at {point:,} ft" for point, error in _rvsm_errors(judged))
    says = f"{test.record.test}: {fault or 'passed'}{f'; {errors}' if errors else ''}"
    return UnitEvent(
        day=test.record.done_on,
        registration=facts.particulars.registration,
        what=TESTED,
        position=test.record.position,
        says=says,
        ref=test.ref,
        recorded_at=test.recorded_at,
        judged=judged if judged.readings is not None else None,
    )


def _rvsm_errors(judged: Judgement) -> Iterator[tuple[int, int]]:
    """Give the scale error at each point in RVSM airspace."""
    lowest, highest = (
        level_to_feet(level.value) for level in (RVSM_LOWEST_LEVEL, RVSM_HIGHEST_LEVEL)
    )
    for each in judged.points:
        if each.item is Item.SCALE and each.point is not None and lowest <= each.point <= highest:
            yield int(each.point), each.reading_ft


def _trends(events: Sequence[UnitEvent]) -> Iterator[tuple[int, UnitTrend]]:
    """Give the trend at each point, from the lowest to the highest."""
    by_point: dict[int, list[tuple[date, float]]] = {}
    for event in events:
        if event.judged is not None:
            for point, error in _rvsm_errors(event.judged):
                by_point.setdefault(point, []).append((event.day, float(error)))
    for point, readings in sorted(by_point.items()):
        yield point, unit_trend([day for day, _ in readings], [error for _, error in readings])
