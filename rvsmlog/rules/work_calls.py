"""Which functional checks an entry about work calls for, and what may be flown until then."""

from collections.abc import Iterable, Iterator

from rvsmlog.facts import Facts
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.papers import TEST_TITLES
from rvsmlog.rules.margins import BELOW_RVSM
from rvsmlog.rules.places import fitted_at
from rvsmlog.rules.proof import (
    ALTIMETER_STATIC,
    CORRESPONDENCE,
    LEAK_CHECK,
    STATIC_PROOF,
    SYSTEMS,
    moment,
    names,
    proof_of,
)
from rvsmlog.rules.transponder import LEVEL_WITHOUT_TRANSPONDER
from rvsmlog.rules.work_events import (
    Event,
    altimetry_events,
    openings,
    pending_of,
    reporting_events,
)
from rvsmlog.rules.work_untested import ALTIMETRY_SYSTEM, TRANSPONDER, unsaid_events
from rvsmlog.standards.equipment import Function


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """A check that must be on record before the altimetry counts again.

    Parameters
    ----------
    test : str
        Kind of the test, as ``rvsmlog test add`` takes it.
    positions : tuple of str
        Positions that it must cover; empty where any will do.
    because : str
        What was done.
    highest_level : int
        Highest level until then; ``NO_FLIGHT`` for none.
    source : str
        Key of the published source.
    instead : str
        What settles it as well, ``""`` for nothing.
    """

    test: str
    positions: tuple[str, ...]
    because: str
    highest_level: int
    source: str
    instead: str = ""

    @property
    def title(self) -> str:
        """What the trade calls the test, with its positions."""
        plural = "s" if len(self.positions) > 1 else ""
        where = " and ".join(self.positions)
        return f"{TEST_TITLES[self.test]}{f', position{plural} {where}' if where else ''}"


def calls_of(facts: Facts, entry: Ref) -> tuple[Call, ...]:
    """Give the checks that one entry calls for and that are not on record yet.

    Parameters
    ----------
    facts : Facts
        With the entry.
    entry : Ref
        Of work, a rectification, a unit fitted or removed, or a swap; other entries call for none.
    """
    calls = (
        *_of_events(facts, entry, openings(facts), LEAK_CHECK),
        *_of_events(facts, entry, altimetry_events(facts), ALTIMETER_STATIC),
        *_of_events(facts, entry, reporting_events(facts), CORRESPONDENCE),
        *_unsaid(facts, entry, ALTIMETRY_SYSTEM, ALTIMETER_STATIC),
        *_unsaid(facts, entry, TRANSPONDER, CORRESPONDENCE),
        *_of_units(facts, entry),
        *_of_transponder(facts, entry),
    )
    return tuple(dict.fromkeys(calls))


#: Until a test is on record: the level that remains, and where that is asked for.
_UNTIL = {
    LEAK_CHECK: (NO_FLIGHT, "91-411-a2"),
    ALTIMETER_STATIC: (BELOW_RVSM, "rvsm-maintenance-guidance"),
    CORRESPONDENCE: (NO_FLIGHT, "91-411-a3"),
}


def _of_events(facts: Facts, entry: Ref, events: Iterable[Event], test: str) -> Iterator[Call]:
    """Give the calls of what an entry did, as far as no good test followed."""
    level, source = _UNTIL[test]
    kinds = STATIC_PROOF if test == LEAK_CHECK else (test,)
    mine = tuple(event for event in events if event.ref == entry)
    for event in pending_of(facts, mine, kinds):
        yield Call(
            test=test,
            positions=event.positions,
            because=event.what,
            highest_level=level,
            source=source,
        )


def _unsaid(facts: Facts, entry: Ref, system: str, test: str) -> Iterator[Call]:
    """Give the call of a rectification that does not say what it touched."""
    mine = tuple(event for event in unsaid_events(facts, system) if event.ref == entry)
    for event in pending_of(facts, mine, (test,)):
        yield Call(
            test=test,
            positions=event.positions,
            because="it is not said what was touched",
            highest_level=BELOW_RVSM,
            source="rvsm-maintenance-guidance",
            instead="say what was touched (--touched), or have the controller accept it",
        )


def _of_units(facts: Facts, entry: Ref) -> Iterator[Call]:
    """Give the call of an altimeter or air data computer that was fitted without a test."""
    for case in (*facts.fitted(Function.ALTIMETER), *facts.fitted(Function.AIR_DATA_COMPUTER)):
        unit, position = case.equipment, case.position
        if unit.ref != entry or position not in SYSTEMS:
            continue
        proof = proof_of(facts, position)
        if not proof.tests or unit in proof.untested:
            yield Call(
                test=ALTIMETER_STATIC,
                positions=(position,),
                because=f"{unit.record.function.replace('-', ' ')} fitted",
                highest_level=NO_FLIGHT,
                source="91-411-a1",
                instead="record the unit's own bench test, with its serial number",
            )


def _of_transponder(facts: Facts, entry: Ref) -> Iterator[Call]:
    """Give the call of a transponder that was fitted without a test of it."""
    for case in facts.fitted(Function.TRANSPONDER):
        unit = case.equipment
        tests = (test for test in facts.tests if test.record.test == TRANSPONDER)
        tested = any(
            moment(test) > fitted_at(case) or names(test.record, unit.record) for test in tests
        )
        if unit.ref == entry and not tested:
            yield Call(
                test=TRANSPONDER,
                positions=(),
                because="transponder fitted",
                highest_level=LEVEL_WITHOUT_TRANSPONDER,
                source="91-413",
                instead="record the unit's own test, with its serial number",
            )
