"""Periodic tests of altimeters and static system, and how high they were tested."""

from collections.abc import Iterator
from datetime import date

from rvsmlog.dates import calendar_months_due
from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import LEVELS, NO_FLIGHT, Margin, Outcome
from rvsmlog.frozen import replace
from rvsmlog.once import once
from rvsmlog.records.papers import Test
from rvsmlog.rules.base import Result, met, not_applicable, not_met, not_on_record, rule
from rvsmlog.rules.judged_readings import proved_to_ft
from rvsmlog.rules.open_defects import name_of, state_of
from rvsmlog.rules.periodic import by_day, failed
from rvsmlog.rules.proof import (
    CORRESPONDENCE,
    STANDBY,
    SYSTEMS,
    Proof,
    asked_positions,
    covering,
    failure,
    good,
    newest,
    proof_of,
    standby_out_of_use,
)
from rvsmlog.rules.term import Term
from rvsmlog.standards.authorities import authority
from rvsmlog.units import feet_to_level, show_level

_REMEDY = (
    "Have the altimeter and static system tested, and record the test with `rvsmlog test add`: its "
    "day, position, highest altitude tested and who tested; until then no flight under IFR."
)
_UNIT_REMEDY = (
    "Record the unit's bench test with `rvsmlog test add` and its serial number, or have the "
    "system tested and record that; until then no flight under IFR."
)


def static_test_months(facts: Facts) -> int:
    """Give the calendar months for which an altimeter and static test counts."""
    published = authority(facts.particulars.authority).static_test_months.value
    return min(published, facts.particulars.static_test_months or published)


def static_test_due(facts: Facts, proof: Proof) -> date:
    """Give the last day on which all tests of a proof count."""
    months = static_test_months(facts)
    return min(calendar_months_due(test.record.done_on, months) for test in proof.dated)


def static_test_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day of the tests of both altimetry systems, and of a standby in use."""
    for proof, positions in _proofs(facts):
        if proof.tests and not proof.untested and not _fault_of(facts, proof):
            yield Term(
                rule=static_test_overdue.name,
                subject=positions[0],
                what=f"altimeter and static test, {_name(_listed(positions))}",
                last_day=static_test_due(facts, proof),
                evidence=tuple(test.ref for test in proof.dated),
                remedy=_REMEDY,
            )


@rule("91-411-a1", "91-411-c", "43-appendix-e-b")
def static_test_overdue(facts: Facts) -> Iterator[Result]:
    """Altimeter and static test missing, failed or overdue.

    Checks: For altimetry systems 1 and 2 and a standby altimeter that is fitted, the newest
    altimeter and static test that covers the position: passed, and done within the calendar months
    of the airframe's rules or the shorter interval of its own maintenance programme, to the end of
    the month. A failed test cancels every earlier pass; so does one recorded as passed whose
    readings are beyond appendix E. An altimeter or air data computer fitted after the test needs a
    test of its own, known by its serial number; one that was swapped in brings the test of its
    earlier place. A test that names a serial number counts for that unit only; where it is the
    newest, the static system needs a leak check or an altimeter and static test of its own, passed
    and in the same time. A standby altimeter with a deferred defect is out of use and not asked
    for. Held to the day on which the flight ends, as far as --cruise-minutes tells.

    Why: 91.411 bars flight under IFR in controlled airspace without a test of each altimeter
    instrument and static system within the preceding 24 calendar months, so nothing remains of the
    flight. It makes no difference between a primary altimeter and a standby.

    Remedy: Have the test made and record it; for a unit that was exchanged, record its bench test
    with the unit's serial number.

    Known problems: Passing appendix E is no proof of fitness for RVSM: its tolerance at FL310 is
    close to the whole limit of altimetry system error. Outside the United States the interval is
    the maintenance programme's, and 24 months stand in; that each altimeter is meant stands in with
    them. A unit that counts by its date of manufacture (91.411(c)) must be recorded as tested on
    that day. Whether a deferral of the standby altimeter is still in time is looked at elsewhere. A
    deferred defect of any kind drops the standby's test, one of its light as well, since what has
    failed is not understood: that may be wrong. Where it still shows an altitude that is used, see
    to its test yourself.
    """
    for proof, positions in _proofs(facts):
        yield _judge(facts, proof, _listed(positions))
    for case in standby_out_of_use(facts):
        yield not_applicable(f"{name_of(case)}: {state_of(case)}, its test is not asked for")


@once
def _proofs(facts: Facts) -> tuple[tuple[Proof, list[str]], ...]:
    """Give what the altimeters rest on, with the positions that rest on the same."""
    proofs: list[tuple[Proof, list[str]]] = []
    for position in asked_positions(facts):
        proof = proof_of(facts, position)
        positions = next((known for other, known in proofs if other == proof), None)
        if positions is None:
            proofs.append((proof, [position]))
        else:
            positions.append(position)
    return tuple(proofs)


@rule("91-411-d", "91-217")
def tested_too_low(facts: Facts) -> Iterator[Result]:
    """Altimeters tested to less than the planned level.

    Checks: The highest altitude to which each altimeter was tested, the least of them all: systems
    1 and 2, a standby that is fitted and in use, units fitted since with a bench test of their own,
    and the altitude reporting, of which the newest correspondence test of each of the two systems
    counts where it states an altitude or has readings, and one of the standby does not. Where the
    readings of a test (of the scale, or of the altitude reported) end below the altitude that it
    states, their highest point counts. The level below or at it is the highest usable one, and is
    given whenever it is lower than the certificated level.

    Why: 91.411(d) bars flight under IFR above the altitude to which all altimeters and the
    automatic altitude reporting were tested.

    Remedy: Plan no higher, or have the test repeated to a higher altitude and record it.

    Known problems: The rule is of the United States; elsewhere it is applied as a careful reading
    of the same test. A correspondence test with neither altitude nor readings on record is taken to
    have gone as high as the altimeters: 91.217(a)(2) wants the altitude reported calibrated up to
    the aeroplane's maximum operating altitude, and appendix E(c) names no altitude. A standby with
    a deferred defect of any kind is taken to be out of use, which may be wrong: one whose light
    alone fails is still looked at, and its test is not counted.
    """
    missing = [where for where in asked_positions(facts) if not _with_altitude(facts, where)]
    if missing:
        yield not_on_record(
            f"no passed altimeter test with its altitude on record for {_name(_listed(missing))}",
            highest_level=NO_FLIGHT,
            remedy=_REMEDY,
            evidence=(facts.airframe.ref,),
        )
        return
    yield _cap(facts, min(_altitude_tests(facts), key=lambda test: _altitude_ft(facts, test)))


def _listed(positions: list[str]) -> str:
    *first, last = positions
    return f"{', '.join(first)} and {last}" if first else last


def _name(where: str) -> str:
    if where == STANDBY:
        return "standby altimeter"
    return f"altimeters {where}" if " and " in where else f"altimeter {where}"


def _judge(facts: Facts, proof: Proof, where: str) -> Result:
    """Judge what the indication at some positions rests on."""
    name = _name(where)
    if not proof.tests:
        return not_on_record(
            f"{name}: no altimeter and static test on record",
            highest_level=NO_FLIGHT,
            remedy=_REMEDY,
            evidence=(facts.airframe.ref,),
        )
    last = proof.tests[0]
    fault = failure(facts, last)
    if fault:
        return failed(name, last, fault, highest_level=NO_FLIGHT, remedy=_REMEDY)
    if proof.untested:
        return _exchanged(name, last, proof)
    if _fault_of(facts, proof):
        return _static_untested(facts, proof, name)
    return _in_time(facts, proof, name)


def _fault_of(facts: Facts, proof: Proof) -> str:
    """Say what is wrong with the newest test, or with that of the static system beside it."""
    if proof.lacks_static:
        return "no test of the static system"
    tests = proof.tests[:1] if proof.static is None else (proof.tests[0], proof.static)
    return next((fault for test in tests if (fault := failure(facts, test))), "")


def _static_untested(facts: Facts, proof: Proof, name: str) -> Result:
    """Say that units were tested by themselves, yet no good test of the static system is there."""
    says = f"{name}: bench test of {proof.tests[0].record.done_on}; static system: "
    evidence = tuple(test.ref for test in proof.dated)
    if proof.static is None:
        return not_on_record(
            says + "no test on record",
            highest_level=NO_FLIGHT,
            remedy=_REMEDY,
            evidence=evidence,
        )
    return not_met(
        f"{says}test of {proof.static.record.done_on}: {failure(facts, proof.static)}",
        highest_level=NO_FLIGHT,
        remedy=_REMEDY,
        values={"done_on": str(proof.static.record.done_on)},
        evidence=evidence,
    )


def _exchanged(name: str, last: Logged[Test], proof: Proof) -> Result:
    """Say that a unit was fitted after the newest test, without one of its own."""
    unit = proof.untested[0].record
    serial = f" {unit.serial_number}" if unit.serial_number else ""
    why = f"fitted {unit.fitted_on}, after the test of {last.record.done_on}: no test of it"
    if unit.fitted_on < last.record.done_on:
        why = f"not tested; the bench test of {last.record.done_on} was of another unit"
    return not_on_record(
        f"{name}: {unit.function}{serial} {why}",
        highest_level=NO_FLIGHT,
        remedy=_UNIT_REMEDY,
        values={"done_on": str(last.record.done_on), "fitted_on": str(unit.fitted_on)},
        evidence=(last.ref, *(untested.ref for untested in proof.untested)),
    )


def _in_time(facts: Facts, proof: Proof, name: str) -> Result:
    """Judge the days of the tests: the oldest of them sets the last day."""
    oldest = min(proof.dated, key=lambda test: test.record.done_on)
    return by_day(
        f"{name}: {_days_tested(proof, oldest)}",
        today=facts.today,
        done=oldest.record.done_on,
        due=static_test_due(facts, proof),
        months=static_test_months(facts),
        highest_level=NO_FLIGHT,
        remedy=_REMEDY,
        evidence=tuple(test.ref for test in proof.dated),
    )


def _days_tested(proof: Proof, oldest: Logged[Test]) -> str:
    """Say when it was tested, and where an older test sets the last day what that one was of."""
    newest_on, oldest_on = proof.tests[0].record.done_on, oldest.record.done_on
    if oldest_on == newest_on:
        return f"tested {newest_on}"
    what = "a unit there" if oldest in proof.tests else "the static system"
    return f"tested {newest_on}, {what} only {oldest_on}"


def _altitude_ft(facts: Facts, test: Logged[Test]) -> int:
    return proved_to_ft(facts, test) or 0


def _with_altitude(facts: Facts, position: str) -> tuple[Logged[Test], ...]:
    """Give the good tests behind a position that say how high."""
    tests = good(facts, proof_of(facts, position).tests)
    return tuple(test for test in tests if test.record.tested_altitude_ft is not None)


def _altitude_tests(facts: Facts) -> tuple[Logged[Test], ...]:
    """Give the tests that say how high the altimeters and the altitude reporting were tested."""
    found = [test for where in asked_positions(facts) for test in _with_altitude(facts, where)]
    # The reporting of each system by itself: a test of one says nothing about the other.
    reporting = [
        newest(good(facts, covering(facts, (CORRESPONDENCE,), where))) for where in SYSTEMS
    ]
    stated = (
        test for test in reporting if test is not None and proved_to_ft(facts, test) is not None
    )
    return (*found, *stated)


def _cap(facts: Facts, lowest: Logged[Test]) -> Result:
    """Hold the planned level, else the certificated one, against the tested altitude."""
    feet = _altitude_ft(facts, lowest)
    cap, ceiling = feet_to_level(feet), facts.particulars.highest_level
    planned = facts.question.level
    wanted = ceiling if planned is None else planned
    base = met(
        f"altimeters tested to {feet:,} ft: {show_level(cap)} or lower",
        values={"tested_altitude_ft": feet, "planned_level": planned},
        limits={"highest_level": cap},
        margin=Margin(value=cap - wanted, unit=LEVELS),
        evidence=(lowest.ref,),
    )
    if cap < ceiling:
        base = replace(base, highest_level=cap)
    if cap >= wanted:
        return base
    return replace(
        base,
        outcome=Outcome.NOT_MET,
        highest_level=cap,
        says=f"altimeters tested to {feet:,} ft only, {show_level(wanted)} wanted",
        remedy=(
            f"Plan {show_level(cap)} or lower, or have altimeters and altitude reporting tested to "
            "a higher altitude and record it."
        ),
    )
