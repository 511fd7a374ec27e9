"""Where units were and since when: fitting and swaps by calendar day, and by instant."""

from collections.abc import Collection
from datetime import date, datetime

from rvsmlog.dates import local_day
from rvsmlog.facts import EquipmentCase, Facts, Logged, Move
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Swap

#: When something was done: its day, then the number under which it was recorded.
Moment = tuple[date, int]


def moved_at(facts: Facts, move: Move) -> Moment:
    """Say when a unit changed its place."""
    return (local_day(move.swap.record.swapped_at, facts.time_zone), move.swap.first)


def fitted_at(case: EquipmentCase) -> Moment:
    """Say when a unit was fitted."""
    return (case.equipment.record.fitted_on, case.equipment.first)


def arrived_at(facts: Facts, case: EquipmentCase) -> Moment:
    """Say since when a unit is where it is."""
    return moved_at(facts, case.moves[-1]) if case.moves else fitted_at(case)


def place_at(facts: Facts, case: EquipmentCase, when: Moment) -> str | None:
    """Give the position that a unit had at a moment, None where none is on record.

    Of a swap and something else of the same day, the one recorded later is taken to have come
    later. The moment must not lie before the fitting.
    """
    place = case.equipment.record.position
    for move in case.moves:
        if moved_at(facts, move) < when:
            place = move.position
    return place


def places_since(case: EquipmentCase, instant: datetime) -> tuple[str | None, ...]:
    """Give the positions that a unit has had since an instant, the first one at that instant."""
    places = [case.equipment.record.position]
    for move in case.moves:
        if move.swap.record.swapped_at <= instant:
            places.clear()
        places.append(move.position)
    return tuple(places)


@dataclass(frozen=True, slots=True, kw_only=True)
class Swapped:
    """A swap with what it was of.

    Parameters
    ----------
    swap : Logged
        The entry.
    function : str
        What the two units do.
    positions : tuple of str
        The positions between which they changed places, in order; those on record.
    """

    swap: Logged[Swap]
    function: str
    positions: tuple[str, ...]


def swapped(facts: Facts, functions: Collection[str]) -> tuple[Swapped, ...]:
    """Give the swaps of units of some functions, from the earliest to the latest."""
    found = []
    for swap in facts.swaps:
        moved = [
            (case.equipment.record.function, move.position)
            for case in facts.equipment
            for move in case.moves
            if move.swap.ref == swap.ref
        ]
        if moved and moved[0][0] in functions:
            positions = sorted(place for _, place in moved if place is not None)
            found.append(Swapped(swap=swap, function=moved[0][0], positions=tuple(positions)))
    return tuple(found)
