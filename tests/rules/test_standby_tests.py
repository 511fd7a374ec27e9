"""Tests of the standby altimeter: 14 CFR 91.411(a)(1) and (d), published.

The text, read in prints of 2019 and 2024, says "each altimeter instrument" and "all altimeters"; it
makes no difference between a primary and a standby. That an altimeter which is out of use under an
approved list is not asked for is our reading, with no source.
"""

from datetime import date
from typing import Any

import pytest

from rvsmlog.answers.due import due_items
from rvsmlog.facts import Facts
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.rules.tests_due import static_test_overdue, tested_too_low
from rvsmlog.standards.authorities import AUTHORITIES
from tests.rules.conftest import Make, on

STANDBY = "standby-altimeter"


def pair(make: Make, *more: Any, **parts: Any) -> Facts:
    """Give facts with altimeters 1 and 2 tested on 10 June 2026, and more tests."""
    tested = (make.test(200, position="1"), make.test(201, position="2"))
    return make.facts(tests=(*make.tests()[1:], *tested, *more), **parts)


def of_standby(make: Make, facts: Facts) -> tuple[str, str, int | None, tuple[int, ...]]:
    """Give what is found of the standby alone, after the two primaries."""
    one, two, standby = make.rows(static_test_overdue, facts)
    assert (one[0], two[0]) == ("met", "met")
    return standby


@pytest.mark.parametrize("code", sorted(AUTHORITIES))
def test_one_that_was_never_tested_bars_the_flight(make: Make, code: str) -> None:
    """As a primary does; abroad the rule stands in for the maintenance programme."""
    facts = pair(make, airframe=make.airframe(authority=code))
    says = "standby altimeter: no altimeter and static test on record"
    assert of_standby(make, facts) == ("not on record", says, NO_FLIGHT, (1,))


@pytest.mark.parametrize(
    ("done", "today", "outcome"),
    [
        ("2025-03-10", "2027-03-31", "met"),
        ("2025-02-28", "2027-03-14", "not met"),
        ("2024-02-29", "2026-02-28", "met"),
        ("2024-02-29", "2026-03-01", "not met"),
        ("2026-02-01", "2028-02-29", "met"),
        ("2026-02-01", "2028-03-01", "not met"),
    ],
)
def test_its_test_counts_to_the_end_of_the_month(
    make: Make, done: str, today: str, outcome: str
) -> None:
    """24 calendar months, in leap years too; one day later nothing remains of the flight."""
    unit = make.unit(200, STANDBY, fitted_on=on("2020-01-01"))
    tests = (make.test(201, done_on=on(done), position="standby"),)
    facts = make.facts(tests=tests, today=on(today), equipment=(unit,))
    row = make.rows(static_test_overdue, facts)[-1]
    assert (row[0], row[2]) == (outcome, None if outcome == "met" else NO_FLIGHT)


def test_a_failed_test_bars_it_and_a_unit_fitted_later_needs_one(make: Make) -> None:
    """What holds for the primaries holds for the standby."""
    failed = make.test(202, position="standby", passed=False)
    says = "standby altimeter: test of 2026-06-10: failed"
    assert of_standby(make, pair(make, failed)) == ("not met", says, NO_FLIGHT, (202,))
    others = make.equipment_without(STANDBY)
    unit = make.unit(203, STANDBY, fitted_on=on("2027-02-01"), serial_number="N9")
    facts = pair(make, make.test(202, position="standby"), equipment=(*others, unit))
    says = (
        "standby altimeter: standby-altimeter N9 fitted 2027-02-01, after the test of 2026-06-10: "
        "no test of it"
    )
    assert of_standby(make, facts) == ("not on record", says, NO_FLIGHT, (202, 203))


@pytest.mark.parametrize(
    ("deferred", "rectified", "asked"),
    [(True, False, False), (False, False, True), (True, True, True)],
)
def test_one_out_of_use_under_a_deferral_is_not_asked_for(
    make: Make, deferred: bool, rectified: bool, asked: bool
) -> None:
    """An open defect alone takes nothing out of use; what is rectified is in use again."""
    case = make.case(
        make.defect(210, function=STANDBY),
        deferral=make.deferral(211, 210) if deferred else None,
        rectification=make.rectification(212, 210) if rectified else None,
    )
    facts = pair(make, defects=(case,))
    if asked:
        assert of_standby(make, facts)[::2] == ("not on record", NO_FLIGHT)
        assert make.rows(tested_too_low, facts)[0][::2] == ("not on record", NO_FLIGHT)
        return
    says = "standby altimeter: defect #210 deferred under item 34-99-1, its test is not asked for"
    assert of_standby(make, facts) == ("not applicable", says, None, ())
    assert make.rows(tested_too_low, facts)[0][0] == "met"


@pytest.mark.parametrize(
    ("positions", "asked"),
    [((None,), True), (("left",), True), (("left", "left"), True), (("left", "right"), False)],
)
def test_of_two_each_must_be_out_of_use(
    make: Make, positions: tuple[str | None, ...], asked: bool
) -> None:
    """A deferral that does not say which of them, or is of one of them, takes not both away."""
    others = make.equipment_without(STANDBY)
    units = (make.unit(220, STANDBY, position="left"), make.unit(221, STANDBY, position="right"))
    cases = tuple(
        make.case(
            make.defect(210 + 2 * row, function=STANDBY, position=where),
            deferral=make.deferral(211 + 2 * row, 210 + 2 * row),
        )
        for row, where in enumerate(positions)
    )
    facts = pair(make, equipment=(*others, *units), defects=cases)
    found = {row[0] for row in make.rows(static_test_overdue, facts)[2:]}
    assert found == ({"not on record"} if asked else {"not applicable"})


def test_one_that_is_not_on_record_is_not_asked_for(make: Make) -> None:
    """No rule that was read asks for a standby altimeter."""
    others = make.equipment_without(STANDBY)
    facts = pair(make, equipment=others)
    assert [row[0] for row in make.rows(static_test_overdue, facts)] == ["met", "met"]
    assert make.rows(tested_too_low, facts)[0][0] == "met"


@pytest.mark.parametrize(
    ("tested_ft", "expected"),
    [
        (31000, ("met", None, (202,))),
        (30999, ("not met", 309, (202,))),
        (None, ("not on record", NO_FLIGHT, (1,))),
    ],
)
def test_it_caps_the_level_by_the_altitude_to_which_it_was_tested(
    make: Make, tested_ft: int | None, expected: tuple[str, int | None, tuple[int, ...]]
) -> None:
    """91.411(d): all altimeters; one whose altitude nobody knows proves no altitude."""
    more = (
        ()
        if tested_ft is None
        else (make.test(202, position="standby", tested_altitude_ft=tested_ft),)
    )
    (row,) = make.rows(tested_too_low, pair(make, *more))
    assert (row[0], row[2], row[3]) == expected
    if tested_ft is None:
        ending = "its altitude on record for standby altimeter"
        assert row[1].endswith(ending)


@pytest.mark.parametrize(
    ("done", "last_day"), [("2024-02-29", "2026-02-28"), ("2026-02-01", "2028-02-29")]
)
def test_the_due_list_names_its_last_day(make: Make, done: str, last_day: str) -> None:
    """After it no flight is left."""
    tests = (make.test(202, done_on=on(done), position="standby"),)
    units = tuple(
        make.unit(220 + row, function, position=where, fitted_on=date(2020, 1, 1))
        for row, (function, where) in enumerate([(STANDBY, None)])
    )
    facts = make.facts(tests=tests, equipment=units, today=on("2026-02-01"))
    (item,) = (each for each in due_items(facts) if each.rule == static_test_overdue.name)
    assert (item.key, item.due_on) == ("static-test-overdue.standby", on(last_day))
    assert item.what == "altimeter and static test, standby altimeter"
