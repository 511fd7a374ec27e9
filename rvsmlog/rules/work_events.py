"""What was done to static system, altimetry and altitude reporting, and whether a test followed."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from rvsmlog.dates import local_day
from rvsmlog.facts import DefectCase, Facts, Logged
from rvsmlog.records.base import Ref
from rvsmlog.records.defects import Defect, Rectification
from rvsmlog.rules.proof import STANDBY, SYSTEMS, Moment, good, moment, proved_since
from rvsmlog.standards.equipment import Function

OPENED = "static-system-opened"
REPORTING = "altitude-reporting"
ALTIMETRY = ("altimeter", "air-data-computer", "static-port-area")
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
    """

    ref: Ref
    at: Moment
    what: str
    positions: tuple[str, ...] = SYSTEMS

    @property
    def day(self) -> date:
        """The day on which it was done."""
        return self.at[0]


def openings(facts: Facts) -> Iterator[Event]:
    """Give everything that opened the static system."""
    yield from worked(facts, (OPENED,))
    for case in facts.equipment:
        unit = case.equipment.record
        if unit.function not in PNEUMATIC:
            continue
        where = STANDBY if unit.function == Function.STANDBY_ALTIMETER else unit.position
        name = f"{unit.function} {unit.position or ''}".strip()
        yield Event(
            ref=case.equipment.ref,
            at=(unit.fitted_on, case.equipment.first),
            what=f"{name} fitted",
            positions=positions_of(where),
        )
        if case.removal is not None:
            yield Event(
                ref=case.removal.ref,
                at=(case.removal.record.removed_on, case.removal.first),
                what=f"{name} removed",
                positions=positions_of(where),
            )


def reporting_events(facts: Facts) -> Iterator[Event]:
    """Give everything by which reported and indicated altitude may have come to differ."""
    yield from worked(facts, (REPORTING,))
    for case in facts.fitted(Function.TRANSPONDER):
        unit = case.equipment
        yield Event(
            ref=unit.ref,
            at=(unit.record.fitted_on, unit.first),
            what="transponder fitted",
            positions=(),
        )


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
            )
    for case in facts.defects:
        done = case.rectification
        touched = [word for word in words if done and word in (done.record.touched or ())]
        if done is not None and touched:
            yield rectified(facts, case, done, _phrase(touched))


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
        return proved_since(facts, kinds, event.positions, event.at)
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
