"""Units that contradict each other: two at one place, or one at several places at once."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations

from rvsmlog.facts import EquipmentCase, Facts
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Equipment
from rvsmlog.records.base import Ref
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_on_record, rule
from rvsmlog.rules.margins import BELOW_RVSM
from rvsmlog.rules.open_defects import ALTIMETRY
from rvsmlog.rules.proof import SYSTEMS, plain, same_serial
from rvsmlog.standards.equipment import (
    EQUIPMENT,
    MINIMUM_SET,
    SEVERAL_AT_A_POSITION,
    Function,
)

_ITEM = next(item for item in MINIMUM_SET if item.name == "altitude-systems")
_INDICATING = (Function.ALTIMETER, Function.AIR_DATA_COMPUTER)
#: What makes two units contradict each other.
PLACE, UNIT = "place", "unit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Two units on record as fitted that cannot both be where they are said to be.

    Parameters
    ----------
    what : str
        ``place``: two units at one position. ``unit``: one unit in two places.
    one, other : EquipmentCase
        In the order of their entries.
    """

    what: str
    one: EquipmentCase
    other: EquipmentCase

    @property
    def cases(self) -> tuple[EquipmentCase, EquipmentCase]:
        """Both of them."""
        return (self.one, self.other)


def clashes(cases: Sequence[EquipmentCase]) -> Iterator[Clash]:
    """Find the units of one airframe that contradict each other.

    Parameters
    ----------
    cases : sequence of EquipmentCase
        Units where swaps put them; those removed count no more.
    """
    for one, other in _alike([case for case in cases if case.is_fitted]):
        if _is_twice(one, other):
            yield Clash(what=UNIT, one=one, other=other)
        elif _share_a_place(one, other):
            yield Clash(what=PLACE, one=one, other=other)


def _alike(cases: Sequence[EquipmentCase]) -> Iterator[tuple[EquipmentCase, EquipmentCase]]:
    """Give the pairs of one serial number, or of one function and place, by their entries.

    No others can contradict each other, and of most aeroplanes there are none.
    """
    groups: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for index, case in enumerate(cases):
        unit = case.equipment.record
        if unit.serial_number is not None:
            groups[("serial", plain(unit.serial_number))].append(index)
        groups[(unit.function, _place(case))].append(index)
    pairs = {pair for group in groups.values() for pair in combinations(group, 2)}
    for one, other in sorted(pairs):
        yield cases[one], cases[other]


def one_unit(one: Equipment, other: Equipment) -> bool:
    """Whether two entries are about one unit, by serial and part numbers.

    Makers number each part by itself. A unit that does several things is entered once for each of
    them, so without a part number the function tells two parts apart.
    """
    if not same_serial(one.serial_number, other.serial_number):
        return False
    if one.part_number is None or other.part_number is None:
        return one.function == other.function
    return plain(one.part_number) == plain(other.part_number)


def unit_name(case: EquipmentCase) -> str:
    """Name a unit, for example ``altimeter 1 1012-01``."""
    unit = case.equipment.record
    title = EQUIPMENT[Function(unit.function)].title
    return " ".join(filter(None, (title, case.position, unit.serial_number)))


def _is_twice(one: EquipmentCase, other: EquipmentCase) -> bool:
    """Whether one unit is on record as fitted twice; two functions at one place are no clash."""
    a, b = one.equipment.record, other.equipment.record
    if not one_unit(a, b):
        return False
    if a.function == b.function:
        return True
    in_systems = a.function in ALTIMETRY and b.function in ALTIMETRY
    return in_systems and _apart(one, other)


def _share_a_place(one: EquipmentCase, other: EquipmentCase) -> bool:
    """Whether two units stand at one position that has room for one of them."""
    function = one.equipment.record.function
    same = function == other.equipment.record.function and function not in SEVERAL_AT_A_POSITION
    return same and bool(_place(one)) and _place(one) == _place(other)


def _apart(one: EquipmentCase, other: EquipmentCase) -> bool:
    """Whether two units stand at two positions, both on record."""
    return bool(_place(one)) and bool(_place(other)) and _place(one) != _place(other)


def _place(case: EquipmentCase) -> str:
    return plain(case.position or "")


@rule("appendix-g-2c-1", "spa-rvsm-110", "annex-6-2-2-5-2")
def altimetry_unit_unclear(facts: Facts) -> Iterator[Result]:
    """Not on record which unit stands in an altimetry system.

    Checks: Whether two altimeters or two air data computers are on record as fitted at one
    position, and whether one unit, by its serial number and part number, is at two positions of the
    altimetry systems; either limits. Advice where other equipment contradicts itself so, where an
    altimeter or an air data computer of a system is on record as the standby altimeter too, where
    several static sources stand at one position, and where an altimeter or an air data computer
    without position stands beside two systems that are complete. A unit of one function in both
    systems is left to the rule altimetry-system-missing.

    Why: Tests and drift go with the unit that indicates. Where a removal was not recorded, it is
    not known whose tests count.

    Remedy: Record the removal of the unit that is gone, or correct the position or serial number
    that is wrong. Strike out what was entered twice.

    Known problems: Units without a serial number are told apart by their entries alone. A unit that
    is on record in another aeroplane too is refused when it is entered, and shown by `rvsmlog
    equipment history`; a check reads one aeroplane's logbook and does not see it. A third altimeter
    has no position of its own: the advice on it stays.
    """
    found = tuple(clashes(facts.equipment))
    sources = (_ITEM.source_for(facts.particulars.authority).key,)
    limiting = tuple(clash for clash in found if _limits(clash))
    doubtful = [clash for clash in found if clash not in limiting and not _is_shared(clash)]
    results = (
        *(_unclear(clash, sources) for clash in limiting),
        *(_doubtful(clash, sources) for clash in (*doubtful, *_standbys(facts))),
        *_several(facts, sources),
        *_placeless(facts, sources),
    )
    units = _refs([unit for each in ALTIMETRY for unit in facts.fitted(each)])
    if any(_is_shared(clash) for clash in found):
        yield not_applicable("one unit on record in both systems: altimetry-system-missing says it")
    elif not any(ref in units for result in results for ref in result.evidence):
        yield met(
            "each altimetry unit on record at one place",
            evidence=units or (facts.airframe.ref,),
            sources=sources,
        )
    yield from results


def _standbys(facts: Facts) -> Iterator[Clash]:
    """Find the indicating units of a system that are on record as the standby altimeter too."""
    for standby in facts.fitted(Function.STANDBY_ALTIMETER):
        for function in _INDICATING:
            for case in facts.fitted(function):
                same = one_unit(case.equipment.record, standby.equipment.record)
                if same and _place(case) in SYSTEMS:
                    yield Clash(what=UNIT, one=case, other=standby)


def _limits(clash: Clash) -> bool:
    """Whether it is not known which unit stands in a system."""
    if clash.what == PLACE:
        function = clash.one.equipment.record.function
        return function in _INDICATING and _place(clash.one) in SYSTEMS
    in_systems = all(case.equipment.record.function in ALTIMETRY for case in clash.cases)
    return in_systems and _apart(*clash.cases) and not _is_shared(clash)


def _is_shared(clash: Clash) -> bool:
    """Whether another rule says it: one unit of one function in both systems."""
    one, other = clash.cases
    function = one.equipment.record.function
    return (
        clash.what == UNIT
        and function in ALTIMETRY
        and function == other.equipment.record.function
        and {_place(one), _place(other)} == set(SYSTEMS)
    )


def _unclear(clash: Clash, sources: tuple[str, ...]) -> Result:
    """Say of which units it is not known which of them is there, or where the one is."""
    one, other = clash.cases
    if clash.what == PLACE:
        title = EQUIPMENT[Function(one.equipment.record.function)].title
        says = (
            f"{title} {one.position}: {_told(one)} and {_told(other)} both on record there; not "
            "known which of them it is"
        )
    else:
        says = (
            f"{unit_name(one)} (#{one.equipment.first}) is on record as {unit_name(other)} "
            f"(#{other.equipment.first}) too; not known where it is"
        )
    return not_on_record(
        says,
        highest_level=BELOW_RVSM,
        remedy=_remedy(clash),
        values={"position": one.position, "units": 2},
        limits={"units": 1},
        evidence=_refs(clash.cases),
        sources=sources,
    )


def _doubtful(clash: Clash, sources: tuple[str, ...]) -> Result:
    """Say that equipment contradicts itself in a way that leaves the altimetry clear."""
    one, other = clash.cases
    if clash.what == PLACE:
        title = EQUIPMENT[Function(one.equipment.record.function)].title
        says = f"{title} {one.position}: {_told(one)} and {_told(other)} both on record there"
    else:
        says = f"{unit_name(one)} on record twice: #{one.equipment.first} and "
        says += f"#{other.equipment.first}"
    return advice(says, remedy=_remedy(clash), evidence=_refs(clash.cases), sources=sources)


def _several(facts: Facts, sources: tuple[str, ...]) -> Iterator[Result]:
    """Name static sources that stand at one position: ports of one system, or one that is gone."""
    for position in SYSTEMS:
        there = [case for case in facts.fitted(Function.STATIC_SOURCE) if _place(case) == position]
        if len(there) > 1:
            yield advice(
                f"static source {position}: {len(there)} on record there",
                remedy="Where they are not ports of one system, record the removal of the one "
                "that is gone with `rvsmlog equipment remove`.",
                values={"units": len(there)},
                evidence=_refs(there),
                sources=sources,
            )


def _placeless(facts: Facts, sources: tuple[str, ...]) -> Iterator[Result]:
    """Name indicating units without position where both systems have theirs."""
    for function in _INDICATING:
        fitted = facts.fitted(function)
        if not set(SYSTEMS) <= {_place(case) for case in fitted}:
            continue  # Then a system is missing, which limits by itself.
        for case in fitted:
            if not _place(case):
                yield advice(
                    f"{unit_name(case)} (#{case.equipment.first}) has no position on record, and "
                    "both systems have theirs",
                    remedy="Where it took the place of another, record that one's removal and "
                    "correct its position; a third one stays as it is.",
                    evidence=_refs([case]),
                    sources=sources,
                )


def _told(case: EquipmentCase) -> str:
    """Tell a unit from another of its function: serial number, then entry."""
    serial = case.equipment.record.serial_number
    number = f"#{case.equipment.first}"
    return number if serial is None else f"{serial} ({number})"


def _remedy(clash: Clash) -> str:
    if clash.what == UNIT:
        numbers = " or ".join(f"#{case.equipment.ref.entry}" for case in clash.cases)
        return (
            f"Correct the serial number or position of entry {numbers}; strike out what was "
            "entered twice."
        )
    numbers = " or ".join(f"#{case.equipment.first}" for case in clash.cases)
    return (
        f"Record the removal of the one that is gone, entry {numbers}, with `rvsmlog equipment "
        "remove`; or correct the position that is wrong."
    )


def _refs(cases: Sequence[EquipmentCase]) -> tuple[Ref, ...]:
    return tuple(case.equipment.ref for case in cases)
