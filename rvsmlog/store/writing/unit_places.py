"""One unit at a place, and a unit at one place: checked of what is entered here.

Entries made in another store are not held against this, nor is what stands already: only a
contradiction that the new entry makes is refused, so that whatever else is wrong with an entry can
still be corrected.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import TypeVar

from sqlalchemy import Connection, select

from rvsmlog.errors import InputError
from rvsmlog.facts import EquipmentCase, Logged, with_swaps
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe, Equipment, Removal, Swap
from rvsmlog.records.base import FieldError, Record, Ref
from rvsmlog.rules.proof import STANDBY, SYSTEMS, plain
from rvsmlog.rules.unit_places import PLACE, Clash, clashes, one_unit, unit_name
from rvsmlog.standards.equipment import EQUIPMENT, Function
from rvsmlog.store.reading.books import Book, as_book
from rvsmlog.store.reading.reader import newest_number, read, view
from rvsmlog.store.tables import detail, logbook

R = TypeVar("R", bound=Record)

#: Kinds of entries that say where units are.
PLACING = frozenset(each.kind.name for each in (Equipment, Removal, Swap))
#: The positions that a function has; other functions have those that the manual names.
_POSITIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        Function.ALTIMETER: SYSTEMS,
        Function.AIR_DATA_COMPUTER: SYSTEMS,
        Function.STATIC_SOURCE: (*SYSTEMS, STANDBY),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Units:
    """What is on record of the units of one airframe."""

    fitted: tuple[Logged[Equipment], ...]
    removals: tuple[Logged[Removal], ...]
    swaps: tuple[Logged[Swap], ...]

    def cases(self) -> dict[int, EquipmentCase]:
        """Give each unit where it is, by the number first made."""
        gone = {each.record.equipment: each for each in self.removals}
        cases = tuple(
            EquipmentCase(equipment=each, removal=gone.get(each.first)) for each in self.fitted
        )
        ordered = sorted(self.swaps, key=lambda each: (each.record.swapped_at, each.first))
        return {case.equipment.first: case for case in with_swaps(cases, tuple(ordered))}

    def changed(self, first: int, new: Logged[Record] | None) -> "_Units":
        """Give them with an entry as it will be; without it where it is struck out."""
        return _Units(
            fitted=_changed(self.fitted, first, new, Equipment),
            removals=_changed(self.removals, first, new, Removal),
            swaps=_changed(self.swaps, first, new, Swap),
        )


class UnitPlaces:
    """Holds where units are to be against where others stand, within one transaction."""

    def __init__(self, connection: Connection, now: datetime) -> None:
        self.connection = connection
        self.now = now
        #: The logbooks in which a serial number may stand; more of them do no harm.
        self._books: dict[str, set[int]] | None = None

    def check(self, book: Book, record: Record | None, first: int | None) -> None:
        """Check an entry about units before it is made.

        Parameters
        ----------
        book : Book
            Where.
        record : Record or None
            Of a kind in :data:`PLACING`, with the entries that it names by the number first made;
            None where an entry is struck out.
        first : int or None
            The number first made of the entry that is corrected or struck out.

        Raises
        ------
        InputError
            When two units would stand at one place, one unit in two, or a unit at a position that
            there is not.
        """
        seen = view(self.connection, book)
        on_record = _Units(
            fitted=read(self.connection, seen, Equipment.kind),
            removals=read(self.connection, seen, Removal.kind),
            swaps=read(self.connection, seen, Swap.kind),
        )
        number = newest_number(self.connection, book) + 1
        first = number if first is None else first
        new = None if record is None else self._logged(book, number, first, record)
        before, after = on_record.cases(), on_record.changed(first, new).cases()
        moved = {each for each, case in after.items() if _differs(before.get(each), case)}
        if isinstance(record, Equipment):
            _check_position(before.get(first), record)
        known = {_key(clash) for clash in clashes(tuple(before.values()))}
        for clash in clashes(tuple(after.values())):
            if _key(clash) not in known:
                raise self._refusal(book, clash, moved, first if new else None)
        for each in sorted(moved):
            self._check_elsewhere(book, after[each], by_hand=each == first)

    def _logged(self, book: Book, number: int, first: int, record: Record) -> Logged[Record]:
        """Give a record as it will be logged."""
        ref = Ref(logbook=book.name, entry=number)
        return Logged(ref=ref, first=first, recorded_at=self.now, recorded_by="", record=record)

    def _refusal(
        self, book: Book, clash: Clash, moved: set[int], entered: int | None
    ) -> InputError:
        """Say which unit stands in the way, and what takes it out of it."""
        one, other = clash.cases
        if one.equipment.first in moved and other.equipment.first != entered:
            one, other = other, one
        # From here on the first one stands there, and the other is to come.
        hint = f"record its removal first: {self._remove(book, one)}" + _once(one, other, clash)
        stands = f"{unit_name(one)}, {one.equipment.ref}"
        if other.equipment.first != entered:
            place = other.position or "no position"
            says = f"#{other.equipment.first} would stand at {place} again, beside {stands}"
            return InputError(says, hint)
        if clash.what == PLACE:
            return FieldError("position", f"is taken by {stands}", hint)
        return FieldError("serial_number", f"is fitted already: {stands}", hint)

    def _check_elsewhere(self, book: Book, case: EquipmentCase, *, by_hand: bool) -> None:
        """Refuse a unit that is fitted to another airframe."""
        unit = case.equipment.record
        if unit.serial_number is None:
            return
        for other in self._others(book, unit.serial_number):
            seen = view(self.connection, other)
            gone = {each.record.equipment for each in read(self.connection, seen, Removal.kind)}
            for fitted in read(self.connection, seen, Equipment.kind):
                if fitted.first not in gone and one_unit(unit, fitted.record):
                    raise self._is_elsewhere(other, fitted, case, by_hand=by_hand)

    def _is_elsewhere(
        self, book: Book, fitted: Logged[Equipment], case: EquipmentCase, *, by_hand: bool
    ) -> InputError:
        """Say to which airframe a unit is fitted."""
        there = EquipmentCase(equipment=fitted)
        says = f"is fitted to {self._registration(book)}: {unit_name(there)}, {fitted.ref}"
        hint = f"record its removal there first: {self._remove(book, there)}"
        if None in (fitted.record.part_number, case.equipment.record.part_number):
            hint += "; where it is another part, give both their part numbers"
        if not by_hand:
            return InputError(f"#{case.equipment.first} {says}", hint)
        return FieldError("serial_number", says, hint)

    def _others(self, book: Book, serial: str) -> Iterator[Book]:
        """Give the other logbooks in which a serial number may stand."""
        if self._books is None:
            table = detail[Equipment.kind.name]
            rows = self.connection.execute(
                select(table.c.logbook_id, table.c.serial_number).where(
                    table.c.serial_number.is_not(None)
                )
            )
            self._books = defaultdict(set)
            for where, known in rows:
                self._books[plain(str(known))].add(where)
        for where in sorted(self._books[plain(serial)] - {book.id}):
            row = self.connection.execute(select(logbook).where(logbook.c.id == where)).one()
            yield as_book(row)
        self._books[plain(serial)].add(book.id)

    def _remove(self, book: Book, case: EquipmentCase) -> str:
        """Give the command that records a unit's removal."""
        where = f"{self._registration(book)} {case.equipment.first}"
        return f"`rvsmlog equipment remove {where} --removed-on DATE`"

    def _registration(self, book: Book) -> str:
        """Give the registration that an airframe bears."""
        found = read(self.connection, view(self.connection, book), Airframe.kind)
        newest = max(found, key=lambda logged: logged.first, default=None)
        return book.name if newest is None else str(newest.record.registration)


def _changed(
    entries: tuple[Logged[R], ...], first: int, new: Logged[Record] | None, cls: type[R]
) -> tuple[Logged[R], ...]:
    """Give the entries of a kind with one as it will be."""
    rest = tuple(each for each in entries if each.first != first)
    if new is None or not isinstance(new.record, cls):
        return rest
    entered = Logged(
        ref=new.ref,
        first=new.first,
        recorded_at=new.recorded_at,
        recorded_by=new.recorded_by,
        record=new.record,
    )
    return (*rest, entered)


def _differs(before: EquipmentCase | None, after: EquipmentCase) -> bool:
    """Whether a unit comes to be somewhere, or to be another one."""
    if not after.is_fitted:
        return False
    if before is None or not before.is_fitted or before.position != after.position:
        return True
    was, is_now = before.equipment.record, after.equipment.record
    return any(
        getattr(was, name) != getattr(is_now, name)
        for name in ("function", "part_number", "serial_number")
    )


def _key(clash: Clash) -> tuple[str, frozenset[int]]:
    """Tell one clash from another."""
    return clash.what, frozenset(case.equipment.first for case in clash.cases)


def _once(stands: EquipmentCase, comes: EquipmentCase, clash: Clash) -> str:
    """Say how a unit is entered that has gone since; nothing for one that came later."""
    if comes.equipment.record.fitted_on >= stands.equipment.record.fitted_on:
        return ""
    field = "position" if clash.what == PLACE else "serial number"
    return f"; of a unit that is gone again leave the {field} out until its removal is recorded"


def _check_position(before: EquipmentCase | None, record: Equipment) -> None:
    """Refuse a position that a function has not; one that stands already may stay."""
    allowed = _POSITIONS.get(record.function)
    if allowed is None or record.position is None or plain(record.position) in allowed:
        return
    if before is not None:
        was = before.equipment.record
        if (was.function, was.position) == (record.function, record.position):
            return
    title = EQUIPMENT[Function(record.function)].title
    raise FieldError(
        "position",
        f"{record.position} is none of the {title}'s: it has {', '.join(allowed)}",
        "write one of these; leave it out for a unit that belongs to neither system",
    )
