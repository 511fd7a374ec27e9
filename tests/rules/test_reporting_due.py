"""The periodic test of altitude reporting: 14 CFR 91.411(a)(1), published, read in a print of 2024.

"Within the preceding 24 calendar months, each static pressure system, each altimeter instrument,
and each automatic pressure altitude reporting system has been tested and inspected and found to
comply with appendices E and F of part 43." Appendix E(c), published: 125 ft between the automatic
reporting output and the altitude displayed. A calendar month runs to its end (the FAA's reading,
from memory).
"""

from typing import Any

import pytest

from rvsmlog.answers.due import due_items
from rvsmlog.facts import Facts
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.reports.due_screen import short
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.rules.reporting_due import altitude_reporting_test_overdue
from rvsmlog.rules.work_untested import altimetry_work_untested
from rvsmlog.standards.authorities import AUTHORITIES
from rvsmlog.verdict import Answer, judge
from tests.rules.conftest import Make, on
from tests.rules.two_years import TWO_YEARS

BOTH = "altitude reporting, systems 1 and 2"


def reported(make: Make, *tests: dict[str, Any], **parts: Any) -> Facts:
    """Give facts with correspondence tests, entries 200 and up, and the other healthy tests."""
    found = tuple(
        make.test(200 + row, **({"test": "correspondence"} | fields))
        for row, fields in enumerate(tests)
    )
    return make.facts(tests=(*make.tests()[:3], *found), **parts)


def test_in_time_it_is_met(make: Make) -> None:
    """The healthy airframe's test of June 2026 counts to the end of June 2028."""
    says = f"{BOTH}: tested 2026-06-10, counts until 2028-06-30: 474 days left"
    rule = altitude_reporting_test_overdue
    assert make.rows(rule, make.facts()) == [("met", says, None, (53,))]
    assert make.numbers(rule, make.facts()) == [
        ({"done_on": "2026-06-10", "due_on": "2028-06-30"}, {"calendar_months": 24})
    ]


@pytest.mark.parametrize(
    ("done", "today", "outcome"),
    [*TWO_YEARS, ("2018-05-07", "2027-03-14", "not met")],
)
@pytest.mark.parametrize("code", sorted(AUTHORITIES))
def test_it_counts_to_the_end_of_the_month(
    make: Make, code: str, done: str, today: str, outcome: str
) -> None:
    """One day after the last of the 24th calendar month no flight is left, in leap years too."""
    facts = reported(
        make, {"done_on": on(done)}, today=on(today), airframe=make.airframe(authority=code)
    )
    (row,) = make.rows(altitude_reporting_test_overdue, facts)
    assert (row[0], row[2]) == (outcome, None if outcome == "met" else NO_FLIGHT)


def test_a_test_of_2018_is_no_go(make: Make) -> None:
    """The whole answer rests on it: with everything else in order nothing remains."""
    facts = reported(make, {"done_on": on("2018-05-07")})
    verdict = judge(facts, (level_above_certificated, altitude_reporting_test_overdue))
    assert (verdict.answer, verdict.highest_level) == (Answer.NO_GO, None)
    (limiting,) = verdict.limiting
    assert limiting.says == (
        f"{BOTH}: tested 2018-05-07, counted until 2020-05-31 (24 calendar months)"
    )
    assert "record the correspondence test" in limiting.remedy


def test_none_on_record(make: Make) -> None:
    """Other tests do not stand in: appendix F does not compare with the altimeter."""
    rows = [("not on record", f"{BOTH}: no correspondence test on record", NO_FLIGHT, (1,))]
    assert make.rows(altitude_reporting_test_overdue, reported(make)) == rows
    again = {"test": "transponder", "done_on": on("2027-03-01")}
    assert make.rows(altitude_reporting_test_overdue, reported(make, again)) == rows


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"correspondence_ft": 125}, ""),
        ({"correspondence_ft": -125}, ""),
        ({"correspondence_ft": 126}, "correspondence +126 ft, limit 125 ft"),
        ({"correspondence_ft": -126}, "correspondence -126 ft, limit 125 ft"),
        ({"passed": False}, "failed"),
    ],
)
def test_a_test_beyond_125_ft_is_no_pass(make: Make, fields: dict[str, Any], says: str) -> None:
    """Recorded as passed with more, it is not; it is said once, not by the rule on work too."""
    facts = reported(make, {"done_on": on("2027-01-02")} | fields, equipment=())
    (row,) = make.rows(altitude_reporting_test_overdue, facts)
    expected = ("not met", f"{BOTH}: test of 2027-01-02: {says}", NO_FLIGHT, (200,))
    assert (row == expected) if says else (row[0] == "met")
    assert [row[0] for row in make.rows(altimetry_work_untested, facts)] == ["not applicable"]


def test_a_newer_failure_cancels_a_pass_and_a_newer_pass_mends_it(make: Make) -> None:
    """Of two tests of one day the one recorded later counts."""
    good, bad = {"done_on": on("2027-01-02")}, {"done_on": on("2027-02-02"), "passed": False}
    rule = altitude_reporting_test_overdue
    assert make.outcomes(rule, reported(make, good, bad))[0][:3] == ("not met", NO_FLIGHT, (201,))
    later = {"done_on": on("2027-02-02")}
    assert make.outcomes(rule, reported(make, good, bad, later))[0][:3] == ("met", None, (202,))


@pytest.mark.parametrize(
    ("tests", "found"),
    [
        ((("1", True),), [("met", "system 1"), ("not on record", "system 2")]),
        ((("1", True), ("2", True)), [("met", "system 1"), ("met", "system 2")]),
        ((("all", True), ("2", False)), [("met", "system 1"), ("not met", "system 2")]),
        ((("all", True), ("standby", False)), [("not met", "systems 1 and 2")]),
        ((("all", True), ("standby", True)), [("met", "systems 1 and 2")]),
        ((("standby", True),), [("not on record", "systems 1 and 2")]),
    ],
)
def test_each_system_has_its_own_test(
    make: Make, tests: tuple[tuple[str, bool], ...], found: list[tuple[str, str]]
) -> None:
    """Each reporting system: a test of one says nothing of the other; a failure is never lost."""
    facts = reported(make, *({"position": where, "passed": good} for where, good in tests))
    rows = make.rows(altitude_reporting_test_overdue, facts)
    assert [(row[0], row[1].partition(":")[0].partition(", ")[2]) for row in rows] == found


def test_the_airframes_own_interval_is_not_one_of_altitude_reporting(make: Make) -> None:
    """It is that of altimeter and static tests."""
    facts = make.facts(airframe=make.airframe(static_test_months=1))
    assert make.numbers(altitude_reporting_test_overdue, facts)[0][0]["due_on"] == "2028-06-30"


@pytest.mark.parametrize(
    ("done", "last_day"), [("2025-03-31", "2027-03-31"), ("2026-02-01", "2028-02-29")]
)
def test_the_due_list_has_its_last_day(make: Make, done: str, last_day: str) -> None:
    """With what is left after it: nothing; a failed test has no day."""
    facts = reported(make, {"done_on": on(done)}, equipment=())
    rule = altitude_reporting_test_overdue.name
    (item,) = (each for each in due_items(facts) if each.rule == rule)
    assert (item.due_on, item.highest_level_after, item.lowers) == (on(last_day), 0, True)
    assert (item.what, short(item)) == (f"correspondence test, {BOTH}", "reporting test")
    failed = reported(make, {"done_on": on(done), "passed": False})
    assert [each for each in due_items(failed) if each.rule == rule] == []
