"""A swap must be of two units that are fitted, do the same, and are in different places."""

from datetime import timedelta

from sqlalchemy import Connection

from rvsmlog.facts import EquipmentCase, with_swaps
from rvsmlog.records.airframe import Equipment, Removal, Swap
from rvsmlog.records.base import FieldError
from rvsmlog.store.reading.books import Book
from rvsmlog.store.reading.reader import read, view

# A calendar day anywhere on earth begins and ends within this of the same day in UTC.
_A_DAY = timedelta(days=1)


def check_swap(connection: Connection, book: Book, swap: Swap, first: int | None) -> None:
    """Check a swap against what is fitted.

    Parameters
    ----------
    connection, book
        Where.
    swap : Swap
        With each unit by the number under which it was first made.
    first : int or None
        The number first made of the swap that it corrects.

    Raises
    ------
    FieldError
        When a unit was not fitted then, the two do not do the same, or nothing is known to change.
    """
    units = {case.equipment.first: case for case in _cases(connection, book, swap, first)}
    unit, other = units[swap.unit], units[swap.other]
    for name, case in (("unit", unit), ("other", other)):
        _check_fitted(name, case, swap)
    function, second = unit.equipment.record.function, other.equipment.record.function
    if function != second:
        raise FieldError(
            "other", f"is {second}, the first unit {function}", "swap units of one function"
        )
    if unit.position == other.position:
        where = unit.position or "not on record"
        raise FieldError(
            "other",
            f"is in the same place, {where}",
            "correct the entries that fitted the units to their positions first",
        )


def _cases(
    connection: Connection, book: Book, swap: Swap, first: int | None
) -> tuple[EquipmentCase, ...]:
    """Give the units as they were placed when the swap was made."""
    seen = view(connection, book)
    earlier = [
        logged
        for logged in read(connection, seen, Swap.kind)
        if logged.record.swapped_at <= swap.swapped_at and logged.first != first
    ]
    removals = {each.record.equipment: each for each in read(connection, seen, Removal.kind)}
    cases = tuple(
        EquipmentCase(equipment=logged, removal=removals.get(logged.first))
        for logged in read(connection, seen, Equipment.kind)
    )
    in_order = sorted(earlier, key=lambda logged: (logged.record.swapped_at, logged.first))
    return with_swaps(cases, tuple(in_order))


def _check_fitted(name: str, case: EquipmentCase, swap: Swap) -> None:
    """Refuse a unit that was not yet, or no longer, on the airframe."""
    fitted, removal = case.equipment.record.fitted_on, case.removal
    if fitted > (swap.swapped_at + _A_DAY).date():
        raise FieldError(name, f"#{case.equipment.first} was fitted later, on {fitted}")
    if removal is not None and removal.record.removed_on < (swap.swapped_at - _A_DAY).date():
        day = removal.record.removed_on
        raise FieldError(name, f"#{case.equipment.first} was removed before, on {day}")
