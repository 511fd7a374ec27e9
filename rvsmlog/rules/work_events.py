"""What was done to static system, altimetry and altitude reporting, and whether a test followed."""

from collections.abc import Iterator
from datetime import date

from rvsmlog.dates import local_day
from rvsmlog.facts import DefectCase, EquipmentCase, Facts, Logged
from rvsmlog.frozen import dataclass, replace
from rvsmlog.once import once
from rvsmlog.records.airframe import Equipment, Removal
from rvsmlog.records.base import Ref
from rvsmlog.records.defects import Defect, Rectification
from rvsmlog.rules.places import Moment, Swapped, swapped
from rvsmlog.rules.proof import STANDBY, SYSTEMS, good, moment, proved_since
from rvsmlog.standards.equipment import Function

OPENED = "static-system-opened"
REPORTING = "altitude-reporting"
PORTS = "static-port-area"
ALTIMETRY = ("altimeter", "air-data-computer", PORTS)
#: Functions of an altimetry system.
SYSTEM = (Function.ALTIMETER, Function.AIR_DATA_COMPUTER, Function.STATIC_SOURCE)
#: Functions that are joined to the static system.
PNEUMATIC = (*SYSTEM, Function.STANDBY_ALTIMETER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something done on a day, after which a test is wanted.

    Parameters
    ----------
    ref : Ref
        Its entry.
    at : Moment
        Its day and the number under which it was first recorded.
    what : str
        What was done, in running text.
    positions : tuple of str
        Positions that must be tested; empty where any will do.
    installed : bool
        Whether the aeroplane must be tested: a bench test of a unit does not do.
    """

    ref: Ref
    at: Moment
    what: str
    positions: tuple[str, ...] = SYSTEMS
    installed: bool = False

    @property
    def day(self) -> date:
        """The day on which it was done."""
        return self.at[0]


@once
def openings(facts: Facts) -> tuple[Event, ...]:
    """Give everything that opened the static system."""
    return tuple(_openings(facts))


def _openings(facts: Facts) -> Iterator[Event]:
    for event in worked(facts, (OPENED,)):
        yield replace(event, installed=True)
    for case in facts.equipment:
        if case.equipment.record.function in PNEUMATIC:
            yield _fitted(case)
            if case.removal is not None:
                yield _removed(case, case.removal)
    for item in swapped(facts, PNEUMATIC):
        yield _swapped(facts, item, installed=True)


@once
def altimetry_events(facts: Facts) -> tuple[Event, ...]:
    """Give everything after which the indication of an altimetry system must be tested.

    Altimeters and air data computers that were fitted are not among it: a test of each is wanted
    by itself.
    """
    return tuple(_altimetry_events(facts))


def _altimetry_events(facts: Facts) -> Iterator[Event]:
    yield from worked(facts, ALTIMETRY)
    for case in facts.equipment:
        if case.equipment.record.function == Function.STATIC_SOURCE:
            yield _fitted(case)
    for item in swapped(facts, SYSTEM):
        yield _swapped(facts, item, installed=item.function == Function.STATIC_SOURCE)


@once
def reporting_events(facts: Facts) -> tuple[Event, ...]:
    """Give everything by which reported and indicated altitude may have come to differ.

    The air data computer is where the transponder's altitude comes from.
    """
    return tuple(_reporting_events(facts))


def _reporting_events(facts: Facts) -> Iterator[Event]:
    yield from worked(facts, (REPORTING, Function.AIR_DATA_COMPUTER))
    for case in facts.fitted(Function.TRANSPONDER):
        yield replace(_fitted(case), what="transponder fitted", positions=(), installed=False)
    for item in swapped(facts, (Function.TRANSPONDER,)):
        yield replace(_swapped(facts, item), positions=())
    for case in facts.fitted(Function.AIR_DATA_COMPUTER):
        yield _fitted(case)
    for item in swapped(facts, (Function.AIR_DATA_COMPUTER,)):
        yield _swapped(facts, item)


def _fitted(case: EquipmentCase) -> Event:
    """Give the fitting of a unit that is joined to the static system."""
    unit = case.equipment
    return Event(
        ref=unit.ref,
        at=(unit.record.fitted_on, unit.first),
        what=f"{_name(unit.record)} fitted",
        positions=_positions_of_unit(unit.record, unit.record.position),
        installed=True,
    )


def _removed(case: EquipmentCase, removal: Logged[Removal]) -> Event:
    """Give the removal of such a unit."""
    return Event(
        ref=removal.ref,
        at=(removal.record.removed_on, removal.first),
        what=f"{_name(case.equipment.record, case.position)} removed",
        positions=_positions_of_unit(case.equipment.record, case.position),
        installed=True,
    )


def _swapped(facts: Facts, item: Swapped, *, installed: bool = False) -> Event:
    """Give the swap of two units."""
    where = tuple(dict.fromkeys(place for each in item.positions for place in positions_of(each)))
    return Event(
        ref=item.swap.ref,
        at=(local_day(item.swap.record.swapped_at, facts.time_zone), item.swap.first),
        what=" ".join((f"{item.function}s", " and ".join(item.positions), "swapped")),
        positions=where or SYSTEMS,
        installed=installed,
    )


def _name(unit: Equipment, position: str | None = None) -> str:
    name = unit.function.replace("-", " ")
    return f"{name} {position or unit.position or ''}".strip()


def _positions_of_unit(unit: Equipment, position: str | None) -> tuple[str, ...]:
    """Give the positions to be tested for a unit."""
    return positions_of(STANDBY if unit.function == Function.STANDBY_ALTIMETER else position)


def worked(facts: Facts, words: tuple[str, ...]) -> Iterator[Event]:
    """Give work and rectifications that touched one of some parts."""
    for logged in facts.work:
        touched = [word for word in words if word in logged.record.work]
        if touched:
            yield Event(
                ref=logged.ref,
                at=(logged.record.done_on, logged.first),
                what=_phrase(touched),
                positions=positions_of(logged.record.position),
                installed=PORTS in touched,
            )
    for case in facts.defects:
        done = case.rectification
        touched = [word for word in words if done and word in (done.record.touched or ())]
        if done is not None and touched:
            event = rectified(facts, case, done, _phrase(touched))
            yield replace(event, installed=PORTS in touched)


def rectified(facts: Facts, case: DefectCase, done: Logged[Rectification], what: str) -> Event:
    """Give the event of a rectification, at the position of its defect."""
    defect = case.defect.record
    position = defect.position if isinstance(defect, Defect) else None
    return Event(
        ref=done.ref,
        at=(local_day(done.record.done_at, facts.time_zone), done.first),
        what=what,
        positions=positions_of(position),
    )


def _phrase(touched: list[str]) -> str:
    """Say what was touched, in running text."""
    if OPENED in touched:
        return "static system opened"
    return "work on " + ", ".join(word.replace("-", " ") for word in touched)


def positions_of(position: str | None) -> tuple[str, ...]:
    """Give the positions to be tested: the one named, else both altimetry systems."""
    return (position,) if position in (*SYSTEMS, STANDBY) else SYSTEMS


def pending_of(
    facts: Facts, events: tuple[Event, ...], kinds: tuple[str, ...]
) -> tuple[Event, ...]:
    """Give the events that no good test followed, from the earliest to the latest."""
    return tuple(sorted((event for event in events if not _proved(facts, event, kinds)), key=at_of))


def _proved(facts: Facts, event: Event, kinds: tuple[str, ...]) -> bool:
    """Whether a good test followed an event, at each of its positions."""
    if event.positions:
        return proved_since(facts, kinds, event.positions, event.at, installed=event.installed)
    tests = good(facts, (test for test in facts.tests if test.record.test in kinds))
    return any(moment(test) > event.at for test in tests)


def since(pending: tuple[Event, ...]) -> str:
    """Name the newest event, and how many more there are."""
    more = f" and {len(pending) - 1} more" if len(pending) > 1 else ""
    return f"{pending[-1].what} {pending[-1].day}{more}"


def at_of(event: Event) -> Moment:
    """Give the moment of an event, to sort by."""
    return event.at


def refs(events: tuple[Event, ...]) -> tuple[Ref, ...]:
    """Give the entries of events."""
    return tuple(event.ref for event in events)
