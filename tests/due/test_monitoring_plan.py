"""The plan of height monitoring, and mean and spread of its results.

Annex 6 Part I 7.2.7: two aeroplanes of each type group of the operator, every two years or 1,000
hours, whichever is longer (published, as quoted); what belongs to no group by itself (tables of
minimum monitoring, from memory). Limits: 14 CFR Part 91 appendix G section 2 (published). The
spread of eight errors is worked out by hand from its definition; numpy is the second witness.
"""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.answers.monitoring_plan import Group, monitoring_plan
from rvsmlog.facts import Facts, NotJudged
from rvsmlog.reports.monitoring_plan import plan_lines, plan_rows
from rvsmlog.reports.text import WIDTH
from rvsmlog.science.ase_spread import spread
from tests.rules.conftest import Make, on

ERRORS_FT = (-35, -20, -28, -41, -33, -25, -30, -38)


def airframe(make: Make, registration: str, measured_on: str | None, **fields: Any) -> Facts:
    """Give an airframe of the fleet, monitored on a day without hours, or never."""
    ase_ft = fields.pop("ase_ft", 40)
    result = (
        ()
        if measured_on is None
        else (make.monitoring(60, measured_on=on(measured_on), airframe_hours=None, ase_ft=ase_ft),)
    )
    return make.facts(
        airframe=make.airframe(registration=registration, **fields),
        approvals=(make.approval(40, registration=registration),),
        monitoring=result,
    )


def only(*fleet: Facts) -> Group:
    """Give the one group of a fleet."""
    (group,) = monitoring_plan(fleet).groups
    return group


def test_mean_and_spread_of_eight_errors() -> None:
    """Mean -31.25 ft, sample deviation 6.9230 ft, absolute mean and three deviations 52.019 ft."""
    found = spread(ERRORS_FT)
    assert found is not None
    assert found.sd_ft is not None
    assert found.bound_ft is not None
    # The squares of what is over and under the mean add up to 335.5, divided by seven.
    assert (found.count, found.mean_ft) == (8, -31.25)
    assert found.sd_ft == pytest.approx((335.5 / 7) ** 0.5)
    assert round(found.sd_ft, 4) == 6.9230
    assert round(found.bound_ft, 3) == 52.019


@settings(max_examples=50)
@given(st.lists(st.integers(-400, 400), min_size=2, max_size=40))
def test_spread_agrees_with_a_reference_library(errors_ft: list[int]) -> None:
    """The deviation is that of a sample, as numpy has it."""
    found = spread(errors_ft)
    assert found is not None
    assert found.mean_ft == pytest.approx(np.mean(errors_ft), abs=1e-9)
    assert found.sd_ft == pytest.approx(np.std(errors_ft, ddof=1), abs=1e-9)


def test_one_error_has_no_spread() -> None:
    """A deviation needs two; none at all is none."""
    found = spread((60,))
    assert found is not None
    assert (found.mean_ft, found.sd_ft, found.bound_ft) == (60.0, None, None)
    assert spread(()) is None


def test_a_group_needs_two_of_its_airframes(make: Make) -> None:
    """Of three the two that last longest decide; one of those that end by then must be measured."""
    group = only(
        airframe(make, "QX-AAA", "2025-06-10"),
        airframe(make, "QX-BBB", "2026-01-31"),
        airframe(make, "QX-CCC", "2026-08-20"),
    )
    assert (group.name, group.basis, group.required, group.in_time) == ("VK71", "group", 2, 3)
    assert [each.airframe for each in group.airframes] == ["QX-AAA", "QX-BBB", "QX-CCC"]
    assert (group.short_after, group.forecast) == (on("2028-01-31"), False)
    assert group.measure == ("QX-AAA", "QX-BBB")


@pytest.mark.parametrize(
    ("measured", "required", "in_time", "short_after", "measure"),
    [
        # One airframe is its own sample; two are both asked.
        (("2026-01-31",), 1, 1, "2028-01-31", ("QX-AAA",)),
        (("2026-01-31", "2026-08-20"), 2, 2, "2028-01-31", ("QX-AAA",)),
        # Two years ended on 13 March 2027, yesterday; they end on the 14th, today.
        (("2025-03-13", "2026-08-20"), 2, 1, "2027-03-13", ("QX-AAA",)),
        (("2025-03-14", "2026-08-20"), 2, 2, "2027-03-14", ("QX-AAA",)),
    ],
)
def test_small_groups(
    make: Make,
    measured: tuple[str, ...],
    required: int,
    in_time: int,
    short_after: str,
    measure: tuple[str, ...],
) -> None:
    """Where there are fewer than two, all are asked."""
    fleet = [
        airframe(make, f"QX-{letter * 3}", day)
        for letter, day in zip("ABC", measured, strict=False)
    ]
    group = only(*fleet)
    assert (group.required, group.in_time) == (required, in_time)
    assert (group.short_after, group.measure) == (on(short_after), measure)


def test_each_airframe_outside_a_group_stands_by_itself(make: Make) -> None:
    """Types are planned apart, non-group airframes one by one, and those without approval not."""
    bare = make.facts(airframe=make.airframe(registration="QX-DDD"), approvals=())
    plan = monitoring_plan(
        (
            airframe(make, "QX-AAA", "2026-01-31"),
            airframe(make, "QX-BBB", "2026-01-31", type_designator="VK80"),
            airframe(make, "QX-CCC", "2025-12-31", rvsm_basis="non-group"),
            airframe(make, "QX-EEE", None, rvsm_basis="non-group"),
            bare,
        )
    )
    assert [(group.name, group.basis, group.required) for group in plan.groups] == [
        ("VK71 QX-EEE", "non-group", 1),
        ("VK71 QX-CCC", "non-group", 1),
        ("VK71", "group", 1),
        ("VK80", "group", 1),
    ]
    assert plan.left_out == ("QX-DDD",)


def test_the_first_six_months_count_and_then_do_not(make: Make) -> None:
    """Approved on 1 May 2026 and never measured, an airframe was due by 1 November."""
    never = airframe(make, "QX-AAA", None)
    group = only(never)
    assert (group.in_time, group.short_after) == (0, on("2026-11-01"))
    assert (group.airframes[0].result, group.within) == (None, None)
    recent = make.facts(monitoring=(), approvals=(make.approval(40, issued_on=on("2026-12-31")),))
    group = only(recent)
    assert (group.in_time, group.short_after) == (1, on("2027-06-30"))


def test_hours_make_the_day_a_forecast(make: Make) -> None:
    """850 hours at three hours in 8.951 days end on 21 February 2034."""
    group = only(make.facts())
    each = group.airframes[0]
    assert (each.hours_since, each.due_on, each.due_hours) == (150.0, None, 2450.0)
    assert (group.short_after, group.forecast) == (on("2034-02-21"), True)
    assert (each.forecast_on, each.in_time) == (on("2034-02-21"), True)
    alone = only(make.facts(flights=(make.flight(71),)))
    assert (alone.short_after, alone.in_time) == (None, 1)


@pytest.mark.parametrize(
    ("errors_ft", "certificate", "within"),
    [
        # After 9 April 1997: mean 80 ft and 200 ft with three deviations.
        ((80, 80), "after-1997-04-09", True),
        ((81, 81), "after-1997-04-09", False),
        # Mean 20 ft, deviation 60 ft: 200 ft; with one foot more at either end it is 202.8 ft.
        ((20, 20 - 60, 20 + 60), "after-1997-04-09", True),
        ((20, 20 - 61, 20 + 61), "after-1997-04-09", False),
        # The earlier limits are 120 ft and 245 ft.
        ((81, 81), "to-1997-04-09", True),
        ((120, 120), "to-1997-04-09", True),
        ((121, 121), "to-1997-04-09", False),
        ((40,), "after-1997-04-09", None),
    ],
)
def test_a_group_is_held_against_mean_and_spread(
    make: Make, errors_ft: tuple[int, ...], certificate: str, within: bool | None
) -> None:
    """Both must hold, by the newest result of each; one result is too few to tell."""
    fleet = [
        airframe(make, f"QX-{number:03d}", "2026-08-20", ase_ft=error, type_certificate=certificate)
        for number, error in enumerate(errors_ft)
    ]
    assert only(*fleet).within is within


@pytest.mark.parametrize(("error", "within"), [(200, True), (-200, True), (201, False)])
def test_what_belongs_to_no_group_is_held_by_itself(make: Make, error: int, within: bool) -> None:
    """160 ft in the basic and 200 ft in the full envelope; the full one is taken."""
    facts = airframe(make, "QX-AAA", "2026-08-20", rvsm_basis="non-group", ase_ft=error)
    assert only(facts).within is within


def test_every_result_has_a_spread_of_its_own(make: Make) -> None:
    """The newest of each airframe, and all on record, are two different samples."""
    results = tuple(
        make.monitoring(60 + number, measured_on=on(f"2026-0{number + 1}-10"), ase_ft=error)
        for number, error in enumerate(ERRORS_FT)
    )
    group = only(make.facts(monitoring=results))
    assert group.newest is not None
    assert group.every is not None
    assert (group.newest.count, group.newest.mean_ft) == (1, -38.0)
    assert (group.every.count, group.every.mean_ft) == (8, -31.25)


def test_the_plan_on_a_screen(make: Make) -> None:
    """It says how many must be measured by when, and what the check holds each to."""
    plan = monitoring_plan(
        (
            airframe(make, "QX-AAA", "2025-03-13", ase_ft=-35),
            airframe(make, "QX-BBB", "2026-01-31", ase_ft=-20),
            make.facts(
                airframe=make.airframe(registration="QX-CCC", rvsm_basis="non-group"),
                approvals=(make.approval(40, registration="QX-CCC"),),
            ),
        )
    )
    lines = [line.text for line in plan_lines(plan, make.on("2027-03-14"))]
    page = " ".join(" ".join(lines).split())
    assert lines[:2] == ["Fleet  height monitoring: 2 of 3 in time", "  for 2027-03-14"]
    for said in (
        "VK71 (group): 1 of 2 in time, 2 required measure 1 of QX-AAA now",
        "newest of each (2): mean -27.5 ft, s 10.6 ft, |mean|+3s 59.3 ft",
        "limits: mean 80 ft, |mean|+3s 200 ft: within",
        "VK71 QX-CCC (non-group): 1 of 1 in time, 1 required measure QX-CCC by ~2034-02-21",
        "at 0.34 h a day, as since 2027-03-05 (the newest 2 flights)",
        "limit of each: 200 ft: within",
        "The check holds each aeroplane to its own date",
        "An aid, not a release",
    ):
        assert said in page
    assert max(len(line) for line in lines) <= WIDTH
    rows = plan_rows(plan)
    assert [(row["airframe"], row["group"], row["in_time"]) for row in rows] == [
        ("QX-AAA", "VK71", False),
        ("QX-BBB", "VK71", True),
        ("QX-CCC", "VK71 QX-CCC", True),
    ]
    assert rows[0]["group_newest"] == {
        "results": 2,
        "mean_ft": -27.5,
        "sd_ft": 10.61,
        "mean_plus_3_sd_ft": 59.32,
    }


BARRED = NotJudged(airframe="QX-BAD", logbook="VK71-9", message="is damaged", hint="restore it")


@pytest.mark.parametrize(
    ("measured", "required", "in_time", "short_after", "measure", "asked"),
    [
        # Two that are known to be in time are enough, whatever the third one says.
        (("2026-01-31", "2026-08-20"), 2, 2, "2028-01-31", ("QX-AAA",), "by 2028-01-31"),
        (("2025-03-13", "2026-08-20"), 2, 1, "2027-03-13", ("QX-AAA",), "measure 1 of QX-AAA now"),
        # One alone would be all that is asked: with another one of its group it is not.
        (("2026-01-31",), 2, 1, None, (), "whether 2 are in time cannot be told"),
        (("2025-03-13",), 2, 0, None, ("QX-AAA",), "measure QX-AAA now; whether 2 are"),
    ],
)
def test_one_that_is_not_judged_may_belong_to_any_group(
    make: Make,
    measured: tuple[str, ...],
    required: int,
    in_time: int,
    short_after: str | None,
    measure: tuple[str, ...],
    asked: str,
) -> None:
    """It is asked for as if it did, and counts for nothing."""
    fleet = [
        airframe(make, f"QX-{letter * 3}", day) for letter, day in zip("AB", measured, strict=False)
    ]
    plan = monitoring_plan((BARRED, *fleet))
    (group,) = plan.groups
    assert (group.required, group.in_time, group.lacking) == (required, in_time, ("QX-BAD",))
    assert group.short_after == (None if short_after is None else on(short_after))
    assert group.measure == measure
    page = " ".join(" ".join(line.text for line in plan_lines(plan, on("2027-03-14"))).split())
    assert asked in page
    assert "QX-BAD is not judged: is damaged do: restore it" in page
    first, *rows = plan_rows(plan)
    assert (first["airframe"], first["in_time"], first["not_judged"]) == (
        "QX-BAD",
        None,
        "is damaged",
    )
    assert [set(row) for row in rows] == [set(first)] * len(fleet)


@pytest.mark.parametrize(("error_ft", "within"), [(80, None), (81, False)])
def test_a_group_that_lacks_one_is_never_within(
    make: Make, error_ft: int, within: bool | None
) -> None:
    """Its result may be beyond the mean of 80 ft; what is beyond it already stays so."""
    fleet = [airframe(make, name, "2026-08-20", ase_ft=error_ft) for name in ("QX-AAA", "QX-BBB")]
    (group,) = monitoring_plan((*fleet, BARRED)).groups
    assert group.within is within


def test_what_stands_by_itself_lacks_none(make: Make) -> None:
    """Each airframe outside a group is asked and held by itself."""
    facts = airframe(make, "QX-AAA", "2026-08-20", rvsm_basis="non-group", ase_ft=200)
    (group,) = monitoring_plan((BARRED, facts)).groups
    assert (group.required, group.in_time, group.within, group.lacking) == (1, 1, True, ())
