"""Tests on record: which of them prove something about an altimetry system, and since when.

Tests and work are known by their calendar day. Of two of the same day, the one recorded later is
taken to have been done later.
"""

from collections.abc import Iterable
from functools import lru_cache

from rvsmlog.facts import DefectCase, EquipmentCase, Facts, Logged
from rvsmlog.frozen import dataclass
from rvsmlog.once import once
from rvsmlog.records.airframe import Airframe, Equipment
from rvsmlog.records.papers import Test
from rvsmlog.rules.judged_readings import judged_behind
from rvsmlog.rules.open_defects import open_defects, position_of
from rvsmlog.rules.places import Moment, arrived_at, fitted_at, place_at
from rvsmlog.science.bench_judgement import beyond, static_leak_tolerance_ft
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.rvsm import CORRESPONDENCE_TOLERANCE_FT

#: The two altimetry systems.
SYSTEMS = ("1", "2")
STANDBY = "standby"
#: What proves the altimeters, the static system, and the altitude reported.
ALTIMETER_STATIC = "altimeter-static"
LEAK_CHECK = "leak-check"
CORRESPONDENCE = "correspondence"
#: What proves that the static system is tight.
STATIC_PROOF = (LEAK_CHECK, ALTIMETER_STATIC)
_INDICATING = (Function.ALTIMETER, Function.AIR_DATA_COMPUTER)


def moment(test: Logged[Test]) -> Moment:
    """Say when a test was done."""
    return (test.record.done_on, test.first)


def newest(tests: Iterable[Logged[Test]]) -> Logged[Test] | None:
    """Give the newest of some tests, None of none."""
    return max(tests, key=moment, default=None)


@once
def covering(facts: Facts, kinds: tuple[str, ...], position: str) -> tuple[Logged[Test], ...]:
    """Give the tests of some kinds that cover a position, passed or not.

    An altimeter and static test that names the serial number of a unit is a test of that unit: it
    goes with the unit to the position where that is fitted, and covers another one only where no
    serial number is on record there and the test itself names that position.
    """
    return tuple(
        test
        for test in facts.tests
        if test.record.test in kinds and _covers(facts, test.record, position)
    )


def _covers(facts: Facts, test: Test, position: str) -> bool:
    """Whether a test covers a position."""
    if of_unit(test):
        units = [case.equipment.record for case in indicating(facts, position)]
        if any(names(test, unit) for unit in units):
            return True
        if any(unit.serial_number is not None for unit in units):
            return False
        return test.position == position  # One unit cannot have been tested at all of them.
    return test.position in ("all", position)


def leak_limit_ft(airframe: Airframe) -> float:
    """Give the greatest loss of altitude in one minute of the leak check, feet."""
    return static_leak_tolerance_ft(airframe.max_differential_psi)


@once
def failure(facts: Facts, test: Logged[Test]) -> str:
    """Say why a test proves nothing: failed, or beyond a limit by its own numbers; else ``""``."""
    record = test.record
    if not record.passed:
        return "failed"
    limit_ft = leak_limit_ft(facts.particulars)
    if record.leak_ft is not None and record.leak_ft > limit_ft:
        return f"leak of {record.leak_ft} ft in a minute, limit {limit_ft:.0f} ft"
    error, most = record.correspondence_ft, CORRESPONDENCE_TOLERANCE_FT.value
    if error is not None and abs(error) > most:
        return f"correspondence {error:+d} ft, limit {most} ft"
    worst = next(iter(beyond(judged_behind(facts, test))), None)
    return "" if worst is None else f"passed on record, yet {worst}"


def good(facts: Facts, tests: Iterable[Logged[Test]]) -> tuple[Logged[Test], ...]:
    """Give those of some tests that were passed, by their own numbers too."""
    return tuple(test for test in tests if not failure(facts, test))


def proved_since(
    facts: Facts,
    kinds: tuple[str, ...],
    positions: tuple[str, ...],
    since: Moment,
    *,
    installed: bool = False,
) -> bool:
    """Say whether each position has a good test, of one of the kinds, later than a moment.

    Parameters
    ----------
    facts : Facts
        With all tests.
    kinds : tuple of str
        Tests that will do.
    positions : tuple of str
        Positions that must be covered.
    since : Moment
        When it was that a test became wanted.
    installed : bool
        Whether a bench test of a unit, which says nothing about the static system, does not do.
    """
    for position in positions:
        last = _newest_good(facts, kinds, position, installed)
        if last is None or moment(last) <= since:
            return False
    return True


@once
def _newest_good(
    facts: Facts, kinds: tuple[str, ...], position: str, installed: bool
) -> Logged[Test] | None:
    """Give the newest good test of one of some kinds; with ``installed``, no unit's bench test."""
    return newest(
        test
        for test in good(facts, covering(facts, kinds, position))
        if not (installed and of_unit(test.record))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What the indication at one position rests on.

    Parameters
    ----------
    tests : tuple
        The newest altimeter and static test of the position, then the tests of units that came
        there after it; empty when the position was never tested.
    untested : tuple
        Altimeters and air data computers that came there after it, or that it does not cover,
        without a good test of their own.
    static : Logged of Test or None
        The newest test of the static system itself, where the newest test of the position is the
        bench test of a unit, which says nothing about it; None elsewhere and where there is none.
    """

    tests: tuple[Logged[Test], ...]
    untested: tuple[Logged[Equipment], ...] = ()
    static: Logged[Test] | None = None

    @property
    def lacks_static(self) -> bool:
        """Whether only units were tested, and the static system never."""
        return bool(self.tests) and of_unit(self.tests[0].record) and self.static is None

    @property
    def dated(self) -> tuple[Logged[Test], ...]:
        """All tests whose days count, that of the static system with them."""
        if self.static is None or self.static in self.tests:
            return self.tests
        return (*self.tests, self.static)


@once
def proof_of(facts: Facts, position: str) -> Proof:
    """Find what the indication at a position rests on."""
    last = newest(covering(facts, (ALTIMETER_STATIC,), position))
    if last is None:
        return Proof(tests=())
    tests, untested = [last], []
    for case in indicating(facts, position):
        unit = case.equipment
        if names(last.record, unit.record) or _covered_with(facts, last, case):
            continue
        own = newest(test for test in facts.tests if _tested(facts, test, case))
        if own is None or failure(facts, own):
            untested.append(unit)
        elif own not in tests:
            tests.append(own)
    static = _static_proof(facts, position) if of_unit(last.record) else None
    return Proof(tests=tuple(tests), untested=tuple(untested), static=static)


def _covered_with(facts: Facts, last: Logged[Test], case: EquipmentCase) -> bool:
    """Whether a test of the position was one of a unit that it does not name.

    A bench test tells of the unit that it names; of others only where nothing tells them apart.
    """
    if of_unit(last.record) and case.equipment.record.serial_number is not None:
        return False
    return arrived_at(facts, case) < moment(last)


def _static_proof(facts: Facts, position: str) -> Logged[Test] | None:
    """Give the newest test of the static system at a position; the bench test of a unit is none."""
    return newest(
        test for test in covering(facts, STATIC_PROOF, position) if not of_unit(test.record)
    )


def _tested(facts: Facts, test: Logged[Test], case: EquipmentCase) -> bool:
    """Whether a test was one of a unit: it names it, or the unit was where it was made.

    A test that names no unit tells of one that came later, by a swap, only what it found at the
    unit's earlier place.
    """
    if test.record.test != ALTIMETER_STATIC:
        return False
    if of_unit(test.record):
        return names(test.record, case.equipment.record)
    there = place_at(facts, case, moment(test))
    return moment(test) > fitted_at(case) and test.record.position in ("all", there)


def indicating(facts: Facts, position: str) -> tuple[EquipmentCase, ...]:
    """Give the indicating units fitted at a position; a unit without position may be there."""
    if position == STANDBY:
        return facts.fitted(Function.STANDBY_ALTIMETER)
    return tuple(
        case
        for function in _INDICATING
        for case in facts.fitted(function)
        if case.position in (position, None)
    )


def asked_positions(facts: Facts) -> tuple[str, ...]:
    """Give the positions whose altimeters must be tested: a standby that is fitted with them.

    A standby altimeter that is out of use is not asked for.
    """
    fitted = facts.fitted(Function.STANDBY_ALTIMETER)
    return SYSTEMS if not fitted or standby_out_of_use(facts) else (*SYSTEMS, STANDBY)


def standby_out_of_use(facts: Facts) -> tuple[DefectCase, ...]:
    """Give the deferred defects by which each standby altimeter that is fitted is out of use.

    Returns
    -------
    tuple of DefectCase
        Empty while one of them may still be in use. Of several, a defect must name the position.
    """
    fitted = facts.fitted(Function.STANDBY_ALTIMETER)
    deferred = [
        case
        for case in open_defects(facts, (Function.STANDBY_ALTIMETER,))
        if case.deferral is not None
    ]
    found: list[DefectCase] = []
    for unit in fitted:
        own = [
            case
            for case in deferred
            if len(fitted) == 1
            or (unit.position is not None and position_of(case) == unit.position)
        ]
        if not own:
            return ()
        found += own
    return tuple(found)


def of_unit(test: Test) -> bool:
    """Whether it is the test of one altimeter or air data computer, not of the aeroplane."""
    return test.test == ALTIMETER_STATIC and test.unit_serial is not None


def names(test: Test, unit: Equipment) -> bool:
    """Whether a test names the serial number of a unit."""
    return same_serial(test.unit_serial, unit.serial_number)


def same_serial(one: str | None, other: str | None) -> bool:
    """Whether two serial numbers are the same; one that is not on record is no number's equal."""
    return one is not None and other is not None and plain(one) == plain(other)


@lru_cache(maxsize=4096)
def plain(serial: str) -> str:
    """Give a serial number as it is compared: its letters alike, without blanks around it."""
    return serial.strip().casefold()
