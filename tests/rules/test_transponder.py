"""The transponder test: 91.413, 24 calendar months; 91.215 above 10,000 ft."""

from typing import Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.transponder import transponder_test_overdue
from tests.rules.conftest import Make, on


def of(make: Make, *tests: Any, **parts: Any) -> Facts:
    """Give facts with other tests."""
    return make.facts(tests=tests, **parts)


def pair(make: Make, **second: Any) -> tuple[Any, ...]:
    """Give two transponders."""
    return (
        make.unit(200, "transponder", position="1"),
        make.unit(201, "transponder", position="2", **second),
    )


def test_in_time_is_met(make: Make) -> None:
    """The healthy airframe's transponder was tested in June 2026."""
    says = "transponder: tested 2026-06-10, counts until 2028-06-30: 474 days left"
    assert make.rows(transponder_test_overdue, make.facts()) == [("met", says, None, (52,))]
    assert make.numbers(transponder_test_overdue, make.facts()) == [
        ({"done_on": "2026-06-10", "due_on": "2028-06-30"}, {"calendar_months": 24})
    ]


@pytest.mark.parametrize(("today", "outcome"), [("2028-06-30", "met"), ("2028-07-01", "not met")])
def test_it_counts_to_the_end_of_the_month(make: Make, today: str, outcome: str) -> None:
    """Overdue, the transponder may not be used: below 10,000 ft remains."""
    facts = make.facts(today=on(today))
    (row,) = make.rows(transponder_test_overdue, facts)
    assert (row[0], row[2]) == (outcome, None if outcome == "met" else 90)
    if outcome == "not met":
        says = "transponder: tested 2026-06-10, counted until 2028-06-30 (24 calendar months)"
        assert row[1] == says


def test_no_test_on_record(make: Make) -> None:
    """Without a test the transponder may not be used; without one on record the same."""
    says = "transponder: no test on record"
    rows = [("not on record", says, 90, (22,))]
    assert make.rows(transponder_test_overdue, of(make)) == rows
    rows = [("not on record", says, 90, (1,))]
    assert make.rows(transponder_test_overdue, of(make, equipment=())) == rows


def test_without_a_unit_on_record_any_test_is_looked_at(make: Make) -> None:
    """That a transponder is missing from the record is another rule's finding."""
    facts = make.facts(equipment=())
    assert make.rows(transponder_test_overdue, facts)[0][0] == "met"


def test_a_failed_test_cancels_a_pass(make: Make) -> None:
    """A newer failure bars the transponder."""
    tests = (
        make.test(52, test="transponder"),
        make.test(200, test="transponder", done_on=on("2027-01-05"), passed=False),
    )
    says = "transponder: test of 2027-01-05: failed"
    rows = [("not met", says, 90, (200,))]
    assert make.rows(transponder_test_overdue, of(make, *tests)) == rows


@pytest.mark.parametrize(
    ("serial", "outcome"), [(None, "not on record"), ("S200", "met"), ("X", "none")]
)
def test_a_unit_fitted_after_the_test(make: Make, serial: str | None, outcome: str) -> None:
    """A unit fitted since needs a test that names it."""
    facts = of(
        make,
        make.test(52, test="transponder", unit_serial=serial),
        equipment=(make.unit(200, "transponder", fitted_on=on("2027-01-05")),),
    )
    (row,) = make.rows(transponder_test_overdue, facts)
    if outcome == "none":
        assert row == ("not on record", "transponder: no test on record", 90, (200,))
    elif outcome == "not on record":
        says = "transponder: fitted 2027-01-05, after the test of 2026-06-10"
        assert row == ("not on record", says, 90, (52, 200))
    else:
        assert row[0] == "met"


def test_one_of_two_in_order_is_enough(make: Make) -> None:
    """With one transponder in order the other is advice."""
    facts = of(make, make.test(52, test="transponder", position="1"), equipment=pair(make))
    assert make.rows(transponder_test_overdue, facts) == [
        (
            "met",
            "transponder 1: tested 2026-06-10, counts until 2028-06-30: 474 days left",
            None,
            (52,),
        ),
        ("advice", "transponder 2: no test on record", None, (201,)),
    ]
    advice = transponder_test_overdue.findings(facts)[1]
    assert advice.remedy.startswith("Do not use this transponder")


@pytest.mark.parametrize("position", ["1", None])
def test_a_tested_unit_with_a_defect_is_not_counted(make: Make, position: str | None) -> None:
    """When the tested transponder is out of order, the untested one does not stand in."""
    defect = make.case(make.defect(202, function="transponder", position="1"))
    facts = of(
        make,
        make.test(52, test="transponder", position="1"),
        equipment=pair(make),
        defects=(defect, make.case(make.defect(203)), make.case(make.altimetry_fault(204))),
    )
    rows = [("not on record", "transponder 2: no test on record", 90, (201,))]
    assert make.rows(transponder_test_overdue, facts) == rows


def test_any_of_several_defects_counts(make: Make) -> None:
    """A transponder with one of the open defects is out of order."""
    defects = (
        make.case(make.defect(202, function="transponder", position="1")),
        make.case(make.defect(203, function="transponder", position="3")),
    )
    units = (*pair(make), make.unit(204, "transponder", position="3"))
    facts = of(
        make,
        make.test(52, test="transponder", position="1"),
        equipment=units,
        defects=defects,
    )
    rows = [("not on record", "transponder 2: no test on record", 90, (201,))]
    assert make.rows(transponder_test_overdue, facts) == rows


def test_with_each_out_of_order_all_are_looked_at(make: Make) -> None:
    """That none works is another rule's finding; the tests are judged all the same."""
    defect = make.case(make.defect(202, function="transponder"))
    facts = of(
        make,
        make.test(52, test="transponder", position="1"),
        equipment=pair(make),
        defects=(defect,),
    )
    rows = make.rows(transponder_test_overdue, facts)
    assert [row[0] for row in rows] == ["met", "advice"]
    mended = make.case(defect.defect, rectification=make.rectification(205, 202))
    facts = of(make, make.test(52, test="transponder"), equipment=pair(make), defects=(mended,))
    assert [row[0] for row in make.rows(transponder_test_overdue, facts)] == ["met", "met"]
