"""Tests on record: which of them prove something about an altimetry system, and since when.

Tests and work are known by their calendar day. Of two of the same day, the one recorded later is
taken to have been done later.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from rvsmlog.facts import Facts, Logged
from rvsmlog.records.airframe import Airframe, Equipment
from rvsmlog.records.papers import Test
from rvsmlog.science.atmosphere import SEA_LEVEL_PRESSURE_HPA, altitude_ft
from rvsmlog.standards.altimeter_tests import static_leak_limit_ft
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.rvsm import CORRESPONDENCE_TOLERANCE_FT
from rvsmlog.units import psi_to_hpa

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

#: When something was done: its day, then the number under which it was recorded.
Moment = tuple[date, int]


def moment(test: Logged[Test]) -> Moment:
    """Say when a test was done."""
    return (test.record.done_on, test.first)


def newest(tests: Iterable[Logged[Test]]) -> Logged[Test] | None:
    """Give the newest of some tests, None of none."""
    return max(tests, key=moment, default=None)


def covering(facts: Facts, kinds: tuple[str, ...], position: str) -> tuple[Logged[Test], ...]:
    """Give the tests of some kinds that cover a position, passed or not.

    An altimeter and static test that names the serial number of a unit is a test of that unit: it
    covers a position only where the unit is fitted, or where no serial number is on record.
    """
    return tuple(
        test
        for test in facts.tests
        if test.record.test in kinds
        and test.record.position in ("all", position)
        and (test.record.test != ALTIMETER_STATIC or _names_fitted(facts, test.record, position))
    )


def leak_limit_ft(airframe: Airframe) -> float:
    """Give the greatest loss of altitude in one minute of the leak check, feet.

    Where the greatest cabin differential is not on record the least limit of any aeroplane holds.
    """
    psi = airframe.max_differential_psi
    if psi is None:
        return static_leak_limit_ft(pressurised=False)
    equivalent = altitude_ft(SEA_LEVEL_PRESSURE_HPA - psi_to_hpa(psi))
    return static_leak_limit_ft(pressurised=True, equivalent_altitude_ft=equivalent)


def failure(test: Logged[Test], airframe: Airframe) -> str:
    """Say why a test proves nothing: failed, or beyond a limit by its own numbers; else ``""``."""
    record = test.record
    if not record.passed:
        return "failed"
    if record.leak_ft is not None and record.leak_ft > leak_limit_ft(airframe):
        return f"leak of {record.leak_ft} ft in a minute, limit {leak_limit_ft(airframe):.0f} ft"
    error, most = record.correspondence_ft, CORRESPONDENCE_TOLERANCE_FT.value
    if error is not None and abs(error) > most:
        return f"correspondence {error:+d} ft, limit {most} ft"
    return ""


def good(facts: Facts, tests: Iterable[Logged[Test]]) -> tuple[Logged[Test], ...]:
    """Give those of some tests that were passed, by their own numbers too."""
    return tuple(test for test in tests if not failure(test, facts.particulars))


def proved_since(
    facts: Facts, kinds: tuple[str, ...], positions: tuple[str, ...], since: Moment
) -> bool:
    """Say whether each position has a good test, of one of the kinds, later than a moment.

    A bench test of a unit says nothing about the static system.
    """
    return all(
        any(
            moment(test) > since
            for test in good(facts, covering(facts, kinds, position))
            if kinds != STATIC_PROOF or not _of_unit(test.record)
        )
        for position in positions
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What the indication at one position rests on.

    Parameters
    ----------
    tests : tuple
        The newest altimeter and static test of the position, then the bench tests of units that
        were fitted after it; empty when the position was never tested.
    untested : tuple
        Altimeters and air data computers fitted after it without a good test of their own.
    """

    tests: tuple[Logged[Test], ...]
    untested: tuple[Logged[Equipment], ...] = ()


def proof_of(facts: Facts, position: str) -> Proof:
    """Find what the indication at a position rests on."""
    last = newest(covering(facts, (ALTIMETER_STATIC,), position))
    if last is None:
        return Proof(tests=())
    benches, untested = [], []
    for unit in _fitted_at(facts, position):
        if (unit.record.fitted_on, unit.first) < moment(last) or names(last.record, unit.record):
            continue
        bench = newest(
            test
            for test in facts.tests
            if test.record.test == ALTIMETER_STATIC and names(test.record, unit.record)
        )
        if bench is None or failure(bench, facts.particulars):
            untested.append(unit)
        else:
            benches.append(bench)
    return Proof(tests=(last, *benches), untested=tuple(untested))


def _fitted_at(facts: Facts, position: str) -> tuple[Logged[Equipment], ...]:
    """Give the indicating units fitted at a position; a unit without position may be there."""
    if position == STANDBY:
        return tuple(case.equipment for case in facts.fitted(Function.STANDBY_ALTIMETER))
    return tuple(
        case.equipment
        for function in _INDICATING
        for case in facts.fitted(function)
        if case.equipment.record.position in (position, None)
    )


def _of_unit(test: Test) -> bool:
    """Whether it is the test of one altimeter or air data computer, not of the aeroplane."""
    return test.test == ALTIMETER_STATIC and test.unit_serial is not None


def names(test: Test, unit: Equipment) -> bool:
    """Whether a test names the serial number of a unit."""
    if test.unit_serial is None or unit.serial_number is None:
        return False
    return test.unit_serial.strip().casefold() == unit.serial_number.strip().casefold()


def _names_fitted(facts: Facts, test: Test, position: str) -> bool:
    """Whether a test may be about what is fitted at a position, as far as serial numbers tell."""
    known = [
        unit.record for unit in _fitted_at(facts, position) if unit.record.serial_number is not None
    ]
    return test.unit_serial is None or not known or any(names(test, unit) for unit in known)
