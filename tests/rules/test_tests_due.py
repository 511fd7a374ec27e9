"""Altimeter and static tests: 14 CFR 91.411(a)(1), 24 calendar months.

A calendar month runs to its end: a test of 10 March 2024 counts to 31 March 2026 (the FAA's
reading, from memory).
"""

from dataclasses import replace
from typing import Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.proof import leak_limit_ft, proof_of
from rvsmlog.rules.tests_due import static_test_overdue
from tests.rules.conftest import Make, on
from tests.rules.two_years import TWO_YEARS


def having(make: Make, *tests: Any, **parts: Any) -> Facts:
    """Give facts with other tests and without a standby altimeter."""
    parts.setdefault("equipment", make.equipment_without("standby-altimeter"))
    return make.facts(tests=tests, **parts)


def with_unit(make: Make, entry: int, function: str, position: str, **fields: Any) -> Any:
    """Give the healthy units with one of them exchanged for a new one."""
    units = tuple(
        case
        for case in make.equipment_without("standby-altimeter")
        if (case.equipment.record.function, case.equipment.record.position) != (function, position)
    )
    return (*units, make.unit(entry, function, position=position, **fields))


def test_one_test_of_all_positions_is_one_finding(make: Make) -> None:
    """The healthy airframe's one test covers both systems and the standby."""
    says = "altimeters 1, 2 and standby: tested 2026-06-10, counts until 2028-06-30: 474 days left"
    assert make.rows(static_test_overdue, make.facts()) == [("met", says, None, (50,))]
    assert make.numbers(static_test_overdue, make.facts()) == [
        ({"done_on": "2026-06-10", "due_on": "2028-06-30"}, {"calendar_months": 24})
    ]


@pytest.mark.parametrize(
    ("done", "today", "outcome"),
    TWO_YEARS,
)
def test_a_test_counts_to_the_end_of_the_month(
    make: Make, done: str, today: str, outcome: str
) -> None:
    """Its last day is the last of the 24th calendar month, in leap years too."""
    units = tuple(
        make.unit(10 + number, "altimeter", position=str(number), fitted_on=on("2020-01-01"))
        for number in (1, 2)
    )
    facts = having(make, make.test(200, done_on=on(done)), today=on(today), equipment=units)
    (row,) = make.rows(static_test_overdue, facts)
    assert (row[0], row[2]) == (outcome, None if outcome == "met" else 0)


def test_overdue_says_so(make: Make) -> None:
    """An overdue test leaves no flight, and says until when it counted."""
    facts = having(make, make.test(200, done_on=on("2026-06-10")), today=on("2028-07-01"))
    (finding,) = static_test_overdue.findings(facts)
    assert finding.says == (
        "altimeters 1 and 2: tested 2026-06-10, counted until 2028-06-30 (24 calendar months)"
    )
    assert (finding.outcome, finding.highest_level) == ("not met", 0)
    assert str(finding.margin) == "-1 days"
    assert "record the test" in finding.remedy


@pytest.mark.parametrize(("months", "due"), [(12, "2027-06-30"), (24, "2028-06-30")])
def test_the_programmes_own_interval_may_be_shorter(make: Make, months: int, due: str) -> None:
    """The airframe's own interval tightens the limit."""
    facts = make.facts(airframe=make.airframe(static_test_months=months))
    assert make.numbers(static_test_overdue, facts)[0][0]["due_on"] == due


def test_the_programmes_own_interval_never_loosens(make: Make) -> None:
    """An interval beyond 24 months, as an old edition may have stored it, changes nothing."""
    airframe = make.airframe(static_test_months=24)
    object.__setattr__(airframe.record, "static_test_months", 36)
    facts = make.facts(airframe=airframe)
    assert make.numbers(static_test_overdue, facts)[0][0]["due_on"] == "2028-06-30"


def test_no_test_on_record(make: Make) -> None:
    """Without any test nothing remains; other tests do not stand in."""
    says = "altimeters 1 and 2: no altimeter and static test on record"
    rows = [("not on record", says, 0, (1,))]
    assert make.rows(static_test_overdue, having(make)) == rows
    others = having(make, make.test(200, test="leak-check"), make.test(201, test="transponder"))
    assert make.rows(static_test_overdue, others) == rows


def test_one_position_alone_leaves_the_other_open(make: Make) -> None:
    """A test of system 1 says nothing about system 2."""
    facts = having(make, make.test(200, position="1"))
    assert make.rows(static_test_overdue, facts) == [
        (
            "met",
            "altimeter 1: tested 2026-06-10, counts until 2028-06-30: 474 days left",
            None,
            (200,),
        ),
        ("not on record", "altimeter 2: no altimeter and static test on record", 0, (1,)),
    ]


def test_a_newer_failed_test_cancels_a_pass(make: Make) -> None:
    """A failure of one position bars it until a newer pass."""
    passed = make.test(200)
    failed = make.test(201, done_on=on("2027-03-01"), passed=False, position="2")
    facts = having(make, passed, failed)
    assert [row[:3] for row in make.rows(static_test_overdue, facts)] == [
        ("met", "altimeter 1: tested 2026-06-10, counts until 2028-06-30: 474 days left", None),
        ("not met", "altimeter 2: test of 2027-03-01: failed", 0),
    ]
    again = make.test(202, done_on=on("2027-03-01"), position="2")
    facts = having(make, passed, failed, again)
    assert [row[0] for row in make.rows(static_test_overdue, facts)] == ["met", "met"]


def test_of_two_tests_of_one_day_the_one_recorded_later_counts(make: Make) -> None:
    """A correction keeps the place of the entry that it corrects."""
    passed, failed = make.test(201), make.test(202, passed=False)
    assert make.rows(static_test_overdue, having(make, passed, failed))[0][0] == "not met"
    corrected = make.log(failed.record, 203, first=200)
    assert make.rows(static_test_overdue, having(make, corrected, passed))[0][0] == "met"


def test_a_unit_fitted_after_the_test_needs_one_of_its_own(make: Make) -> None:
    """The old unit's test does not cover the altimeter that took its place."""
    units = with_unit(make, 200, "altimeter", "2", fitted_on=on("2027-02-01"), serial_number="N77")
    facts = having(make, make.test(50), equipment=units)
    says = (
        "altimeter 2: altimeter N77 fitted 2027-02-01, after the test of 2026-06-10: no test of it"
    )
    assert make.rows(static_test_overdue, facts)[1] == ("not on record", says, 0, (50, 200))


@pytest.mark.parametrize(
    ("fields", "outcomes"),
    [
        ({"unit_serial": "n77 "}, ["met", "met"]),
        ({"unit_serial": "N78"}, ["met", "not on record"]),
        ({"unit_serial": "N77", "passed": False}, ["met", "not on record"]),
        ({"unit_serial": "N77", "done_on": on("2024-12-31")}, ["met", "not met"]),
    ],
)
def test_its_bench_test_is_known_by_the_serial_number(
    make: Make, fields: dict[str, Any], outcomes: list[str]
) -> None:
    """A bench test in date that names the unit counts, though it was before the fitting."""
    units = with_unit(make, 200, "altimeter", "2", fitted_on=on("2027-02-01"), serial_number="N77")
    bench = make.test(201, **({"position": "2", "done_on": on("2026-01-20")} | fields))
    facts = having(make, bench, make.test(50), equipment=units)
    assert [row[0] for row in make.rows(static_test_overdue, facts)] == outcomes


def test_the_earlier_of_two_tests_sets_the_last_day(make: Make) -> None:
    """Aeroplane tested in June 2026, new unit on the bench in January 2026: to January 2028."""
    units = with_unit(make, 200, "altimeter", "2", fitted_on=on("2027-02-01"), serial_number="N77")
    bench = make.test(201, position="2", done_on=on("2026-01-20"), unit_serial="N77")
    facts = having(make, bench, make.test(50), equipment=units)
    second = make.numbers(static_test_overdue, facts)[1][0]
    assert second == {"done_on": "2026-01-20", "due_on": "2028-01-31"}
    _, says, _, evidence = make.rows(static_test_overdue, facts)[1]
    assert evidence == (50, 201)
    assert "tested 2026-06-10, a unit there only 2026-01-20, counts until 2028-01-31" in says


def test_a_bench_test_newer_than_the_aeroplanes_own_test_counts_for_its_unit(make: Make) -> None:
    """A newest test that names the unit fitted is the test of the position."""
    units = with_unit(make, 200, "altimeter", "2", fitted_on=on("2027-02-01"), serial_number="N77")
    bench = make.test(201, position="2", done_on=on("2027-01-20"), unit_serial="N77")
    facts = having(make, make.test(50), bench, equipment=units)
    assert [row[::3] for row in make.rows(static_test_overdue, facts)] == [
        ("met", (50,)),
        ("met", (201, 50)),
    ]


# 91.411(a)(1), read in the 2024 print: within the preceding 24 calendar months each static pressure
# system, each altimeter instrument and each automatic pressure altitude reporting system.
@pytest.mark.parametrize(
    ("system", "expected"),
    [
        ({"done_on": on("2025-03-10")}, ("met", None, (201, 50))),
        ({"done_on": on("2025-02-28")}, ("not met", 0, (201, 50))),
        ({"done_on": on("2026-12-02"), "passed": False}, ("not met", 0, (201, 50))),
        (None, ("not on record", 0, (201,))),
    ],
)
def test_bench_tests_do_not_renew_the_static_system(
    make: Make, system: dict[str, Any] | None, expected: tuple[str, int | None, tuple[int, ...]]
) -> None:
    """However new the units' bench tests are, the static system needs its own within 24 months."""
    unit = make.unit(10, "altimeter", position="1", fitted_on=on("2020-01-01"))
    bench = make.test(201, done_on=on("2027-01-20"), position="1", unit_serial="S010")
    tests = (bench,) if system is None else (make.test(50, **system), bench)
    facts = having(make, *tests, equipment=(unit,))
    facts = replace(facts, today=on("2027-03-31"))
    assert make.outcomes(static_test_overdue, facts)[0][:3] == expected


def test_a_leak_check_proves_the_static_system_beside_bench_tests(make: Make) -> None:
    """A unit tested on the bench and a leak check of the aeroplane make one whole test."""
    unit = make.unit(10, "altimeter", position="1", fitted_on=on("2020-01-01"))
    bench = make.test(201, done_on=on("2027-01-20"), position="1", unit_serial="S010")
    leak = make.test(202, test="leak-check", done_on=on("2025-03-10"))
    facts = having(make, bench, leak, equipment=(unit,))
    assert make.outcomes(static_test_overdue, facts)[0][:3] == ("met", None, (201, 202))
    says = "altimeter 1: tested 2027-01-20, the static system only 2025-03-10, "
    assert make.rows(static_test_overdue, facts)[0][1].startswith(says)
    late = replace(facts, today=on("2027-04-01"))
    assert make.outcomes(static_test_overdue, late)[0][:3] == ("not met", 0, (201, 202))


def test_a_bench_test_does_not_tell_of_the_other_unit_beside_it(make: Make) -> None:
    """The altimeter tested on the bench says nothing of the air data computer of its system."""
    units = (
        make.unit(10, "altimeter", position="1", fitted_on=on("2020-01-01")),
        make.unit(12, "air-data-computer", position="1", fitted_on=on("2020-01-01")),
    )
    bench = make.test(201, done_on=on("2027-01-20"), position="1", unit_serial="S010")
    leak = make.test(202, test="leak-check", done_on=on("2027-01-20"))
    alone = having(make, bench, leak, equipment=units)
    row = make.rows(static_test_overdue, alone)[0]
    assert (row[0], row[2]) == ("not on record", 0)
    assert "S012 not tested" in row[1]
    both = having(
        make,
        bench,
        leak,
        make.test(203, done_on=on("2027-01-20"), position="1", unit_serial="S012"),
        equipment=units,
    )
    assert make.rows(static_test_overdue, both)[0][0] == "met"


def test_one_unit_of_no_position_is_not_tested_at_both(make: Make) -> None:
    """Without serial numbers on record, a unit's test counts at the position that it names only."""
    units = tuple(
        make.unit(10 + number, "altimeter", position=str(number), serial_number=None)
        for number in (1, 2)
    )
    leak = make.test(201, test="leak-check")
    facts = having(make, make.test(200, unit_serial="ZZ9"), leak, equipment=units)
    assert [row[0] for row in make.rows(static_test_overdue, facts)] == ["not on record"]


def test_a_test_that_names_a_unit_covers_only_where_it_is_fitted(make: Make) -> None:
    """Recorded for all positions, the test of one unit covers that unit's position only."""
    units = tuple(make.unit(9 + row, "altimeter", position=str(row)) for row in (1, 2))
    leak = make.test(201, test="leak-check")
    facts = having(make, make.test(200, unit_serial="S010"), leak, equipment=units)
    assert [row[0] for row in make.rows(static_test_overdue, facts)] == ["met", "not on record"]


def test_where_no_serial_number_is_on_record_the_position_decides(make: Make) -> None:
    """A unit without a serial number cannot be told from the one tested."""
    units = tuple(
        make.unit(10 + number, "altimeter", position=str(number), serial_number=None)
        for number in (1, 2)
    )
    bench = make.test(200, unit_serial="S010", position="1")
    leak = make.test(201, test="leak-check")
    facts = having(make, bench, leak, equipment=units)
    assert [row[0] for row in make.rows(static_test_overdue, facts)] == ["met", "not on record"]


def test_a_unit_without_serial_number_fitted_later_cannot_be_proved(make: Make) -> None:
    """A unit of unknown serial number fitted after the test needs a new test of the position."""
    units = with_unit(
        make, 200, "air-data-computer", "1", fitted_on=on("2027-02-01"), serial_number=None
    )
    facts = having(make, make.test(50), equipment=units)
    says = "altimeter 1: air-data-computer fitted 2027-02-01, after the test of 2026-06-10"
    row = make.rows(static_test_overdue, facts)[0]
    assert (row[0], row[1].partition(":")[0]) == ("not on record", "altimeter 1")
    assert row[1].startswith(says)
    since = having(make, make.test(50), make.test(201, done_on=on("2027-02-01")))
    assert [row[0] for row in make.rows(static_test_overdue, since)] == ["met"]


def test_a_unit_without_a_position_may_be_anywhere(make: Make) -> None:
    """A unit fitted later without a position leaves neither system proved."""
    unit = make.unit(200, "altimeter", fitted_on=on("2027-02-01"))
    facts = having(
        make, make.test(50), equipment=(*make.equipment_without("standby-altimeter"), unit)
    )
    assert [row[0] for row in make.rows(static_test_overdue, facts)] == ["not on record"]
    assert proof_of(facts, "1").untested[0].first == 200


@pytest.mark.parametrize(
    ("psi", "limit_ft"),
    # Greater of 100 ft and 2 % of the equivalent altitude (25.1325, legacy 23.1325). Equivalent
    # altitudes derived from the standard atmosphere: 5.0 psi 11,064 ft, 5.75 psi 13,107 ft,
    # 6.5 psi 15,293 ft. Without the differential the least limit holds.
    [(5.0, 221), (5.75, 262), (6.5, 306), (1.0, 100), (None, 100)],
)
def test_the_leak_limit_grows_with_the_cabin_differential(
    make: Make, psi: float | None, limit_ft: int
) -> None:
    """Two per cent of the altitude equivalent of the differential, at least 100 ft."""
    airframe = make.airframe(max_differential_psi=psi).record
    assert leak_limit_ft(airframe) == pytest.approx(limit_ft, abs=0.5)
