"""The two independent altimetry systems: on record, and working."""

from collections.abc import Iterator

from rvsmlog.facts import EquipmentCase, Facts
from rvsmlog.rules.base import Result, met, not_met, not_on_record, rule
from rvsmlog.rules.margins import BELOW_RVSM
from rvsmlog.rules.open_defects import ALTIMETRY, evidence_of, name_of, open_defects, state_of
from rvsmlog.standards.equipment import EQUIPMENT, MINIMUM_SET
from rvsmlog.standards.rvsm import ALTITUDE_SYSTEMS_REQUIRED

_ITEM = next(item for item in MINIMUM_SET if item.name == "altitude-systems")
_POSITIONS = tuple(str(number + 1) for number in range(ALTITUDE_SYSTEMS_REQUIRED.value))


@rule("appendix-g-2c-1", "spa-rvsm-110", "annex-6-2-2-5-2")
def altimetry_system_missing(facts: Facts) -> Iterator[Result]:
    """Fewer than two independent altimetry systems on record.

    Checks: Whether an altimeter, an air data computer and a static source are on record as fitted
    at position 1 and at position 2. A unit with the same serial number at both positions makes the
    two systems one.

    Why: Two altimetry systems that share nothing are the foundation of RVSM: each shows when the
    other is wrong.

    Remedy: Record the units fitted, each with its position 1 or 2 and its serial number. Correct
    entries that name another position.

    Known problems: Independence is judged by serial numbers alone; units without one on record
    pass, and so do two systems joined by a shared line. A unit that holds both altimeter and air
    data computer is recorded once for each function. A third system is not counted.
    """
    sources = (_ITEM.source_for(facts.particulars.authority).key,)
    gaps = tuple(_gaps(facts, sources))
    shared = tuple(_shared(facts, sources))
    if gaps or shared:
        yield from (*gaps, *shared)
        return
    yield met(
        "two altimetry systems on record: altimeter, air data computer and static source each",
        values={"systems": len(_POSITIONS)},
        limits={"systems_required": ALTITUDE_SYSTEMS_REQUIRED.value},
        evidence=tuple(
            unit.equipment.ref
            for position in _POSITIONS
            for function in ALTIMETRY
            for unit in _at(facts, function, position)
        ),
        sources=sources,
    )


def _at(facts: Facts, function: str, position: str) -> tuple[EquipmentCase, ...]:
    """Give the units of one function that are fitted at a position."""
    return tuple(
        unit for unit in facts.fitted(function) if (unit.position or "").strip() == position
    )


def _gaps(facts: Facts, sources: tuple[str, ...]) -> Iterator[Result]:
    """Say what each system lacks, and whether it is on record at another position."""
    for position in _POSITIONS:
        missing = [function for function in ALTIMETRY if not _at(facts, function, position)]
        if not missing:
            continue
        elsewhere = [
            unit
            for function in missing
            for unit in facts.fitted(function)
            if (unit.position or "").strip() not in _POSITIONS
        ]
        names = ", ".join(EQUIPMENT[function].title for function in missing)
        where = "; fitted at another position" if elsewhere else ""
        yield not_on_record(
            f"altimetry system {position}: no {names} on record{where}",
            highest_level=BELOW_RVSM,
            remedy=f"Record the units fitted at position {position} with `rvsmlog equipment fit`; "
            "correct entries that name another position.",
            values={"position": position, "missing": names},
            evidence=tuple(unit.equipment.ref for unit in elsewhere) or (facts.airframe.ref,),
            sources=sources,
        )


def _shared(facts: Facts, sources: tuple[str, ...]) -> Iterator[Result]:
    """Say which unit stands on record in both systems."""
    first, second = _POSITIONS
    for function in ALTIMETRY:
        for one in _at(facts, function, first):
            for other in _at(facts, function, second):
                if _same_unit(one, other):
                    serial = one.equipment.record.serial_number
                    yield not_met(
                        f"{EQUIPMENT[function].title} {serial} on record in both systems: "
                        "not independent",
                        highest_level=BELOW_RVSM,
                        remedy="Correct the serial number of the entry that is wrong; where it is "
                        "one unit indeed, the aeroplane has one altimetry system only.",
                        values={"serial_number": serial},
                        evidence=(one.equipment.ref, other.equipment.ref),
                        sources=sources,
                    )


def _same_unit(one: EquipmentCase, other: EquipmentCase) -> bool:
    """Say whether two entries may be about one unit: makers number each part by itself."""
    a, b = one.equipment.record, other.equipment.record
    if a.serial_number is None or b.serial_number is None:
        return False
    same_part = a.part_number is None or b.part_number is None or a.part_number == b.part_number
    return same_part and a.serial_number.strip().casefold() == b.serial_number.strip().casefold()


@rule("appendix-g-2c-1", "spa-rvsm-110", "annex-6-2-2-5-2")
def altimetry_system_inoperative(facts: Facts) -> Iterator[Result]:
    """Open defect on one of the two altimetry systems.

    Checks: Whether a defect of an altimeter, an air data computer or a static source, or an
    altimetry fault report, is open. A deferral does not help: an item may be deferred for flight,
    yet not for a flight that needs it.

    Why: With one system in doubt nothing is left to compare the other with.

    Remedy: Have the defect rectified, and record the rectification with what the work touched. Then
    compare the altimeters.

    Known problems: A third altimetry system, where one is fitted, is not counted.
    """
    sources = (_ITEM.source_for(facts.particulars.authority).key,)
    cases = open_defects(facts, ALTIMETRY)
    for case in cases:
        still = "" if case.deferral is None else ": RVSM is lost while it is open"
        yield not_met(
            f"{name_of(case)}: {state_of(case)}{still}",
            highest_level=BELOW_RVSM,
            remedy="Have it rectified; record the rectification with what the work touched, then "
            "compare the altimeters and record the cross-check.",
            evidence=evidence_of(case),
            sources=sources,
        )
    if not cases:
        fitted = (unit for function in ALTIMETRY for unit in facts.fitted(function))
        yield met(
            "no open defect on the altimetry systems",
            evidence=tuple(unit.equipment.ref for unit in fitted) or (facts.airframe.ref,),
            sources=sources,
        )
