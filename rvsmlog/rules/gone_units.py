"""Units taken out, with neither a unit in their place nor a release that answers for it."""

from collections.abc import Collection, Iterator

from rvsmlog.dates import local_day
from rvsmlog.facts import EquipmentCase, Facts, Logged
from rvsmlog.records.airframe import Removal
from rvsmlog.rules.base import Result, not_on_record
from rvsmlog.rules.open_defects import function_of, position_of
from rvsmlog.rules.places import arrived_at
from rvsmlog.standards.equipment import EQUIPMENT, Function

_REMEDY = (
    "Record the unit fitted in its place with `rvsmlog equipment fit`; or, where it stays out, "
    "record that with `rvsmlog defect report`, then the deferral or the release."
)


def taken_out(facts: Facts, functions: Collection[Function], level: int) -> Iterator[Result]:
    """Give a finding for each unit that was removed and that nothing answers for.

    A unit of the same function at the same position answers, one for one, where it came on the day
    of the removal or later; at a named position also one that came after the unit removed. So does
    a defect of that function, at that position or at none: an open one is judged by itself, a
    rectification from the day of the removal on says that the aeroplane may fly as it is.

    Parameters
    ----------
    facts : Facts
        The planned flight.
    functions : collection of Function
        What the units do.
    level : int
        Highest flight level that remains without one.
    """
    for function in functions:
        for case, removal in _gone(facts, function):
            title = " ".join(filter(None, (EQUIPMENT[function].title, case.position)))
            yield not_on_record(
                f"{title} removed on {removal.record.removed_on}, none on record in its place",
                highest_level=level,
                remedy=_REMEDY,
                evidence=(case.equipment.ref, removal.ref),
            )


def _gone(facts: Facts, function: Function) -> Iterator[tuple[EquipmentCase, Logged[Removal]]]:
    """Pair each unit removed with one that came, and give those that are left."""
    came = sorted(facts.fitted(function), key=lambda unit: arrived_at(facts, unit))
    gone = [
        (case, case.removal)
        for case in facts.equipment
        if case.removal is not None and case.equipment.record.function == function
    ]
    for case, removal in sorted(gone, key=lambda pair: pair[1].record.removed_on):
        successor = next((unit for unit in came if _succeeds(facts, unit, case, removal)), None)
        if successor is not None:
            came.remove(successor)
        elif not _answered(facts, function, case, removal):
            yield case, removal


def _succeeds(
    facts: Facts, unit: EquipmentCase, case: EquipmentCase, removal: Logged[Removal]
) -> bool:
    place, day = _plain(case.position), arrived_at(facts, unit)[0]
    if _plain(unit.position) != place:
        return False
    return day >= removal.record.removed_on or (bool(place) and day > arrived_at(facts, case)[0])


def _answered(
    facts: Facts, function: Function, case: EquipmentCase, removal: Logged[Removal]
) -> bool:
    """Say whether a defect of the function answers: open, or rectified since the removal."""
    for each in facts.defects:
        place = _plain(position_of(each))
        if function_of(each) != function or place not in ("", _plain(case.position)):
            continue
        done = each.rectification
        if each.is_open or done is None:
            return True
        if local_day(done.record.done_at, facts.time_zone) >= removal.record.removed_on:
            return True
    return False


def _plain(position: str | None) -> str:
    return (position or "").strip().casefold()
