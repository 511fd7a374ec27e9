"""When height monitoring falls due: by the calendar, by hours, and when the approval changes."""

import pytest

from rvsmlog.answers.due import due_items, within
from rvsmlog.answers.fleet_due import FleetDue
from rvsmlog.reports.due_screen import airframe_due_lines, fleet_due_lines
from tests.due.test_due_dates import DAY, fails, only
from tests.rules.conftest import Make, on


@pytest.mark.parametrize(
    ("issued_on", "last_day"),
    [("2026-09-30", "2027-03-30"), ("2026-08-31", "2027-02-28"), ("2026-10-31", "2027-04-30")],
)
def test_first_monitoring_is_due_within_six_months(
    make: Make, issued_on: str, last_day: str
) -> None:
    """From the issue of the approval, to the same day or the end of a shorter month."""
    facts = make.facts(monitoring=(), approvals=(make.approval(40, issued_on=on(issued_on)),))
    item = only(facts, "height-monitoring-overdue")
    assert (item.what, item.due_on) == ("first height monitoring", on(last_day))
    assert item.highest_level_after == 280
    for day, wrong in ((on(last_day), False), (on(last_day) + DAY, True)):
        assert fails(facts, "height-monitoring-overdue", day) is wrong


@pytest.mark.parametrize(
    ("measured_on", "last_day"),
    [("2025-04-30", "2027-04-30"), ("2024-02-29", "2026-02-28"), ("2026-02-28", "2028-02-28")],
)
def test_monitoring_without_hours_ends_after_two_years(
    make: Make, measured_on: str, last_day: str
) -> None:
    """Where no hours are on record the two years alone decide."""
    result = make.monitoring(60, measured_on=on(measured_on), airframe_hours=None)
    approval = make.approval(40, issued_on=on("2023-01-01"))
    facts = make.facts(monitoring=(result,), approvals=(approval,))
    item = only(facts, "height-monitoring-overdue")
    assert (item.due_on, item.due_hours) == (on(last_day), None)
    for day, wrong in ((on(last_day), False), (on(last_day) + DAY, True)):
        assert fails(facts, "height-monitoring-overdue", day) is wrong


@pytest.mark.parametrize(
    ("hours", "forecast"),
    [
        # Ten days from the first landing; 1,000 hours end at 2,450, 850 more than now.
        # An hour a day: 850 days from 14 March 2027, by the calendar.
        (1590.0, "2029-07-11"),
        # Two hours a day would end in May 2028, but the two years last to 1 September 2028.
        (1580.0, "2028-09-01"),
        # Two days and a half of flying a day: the same.
        (1000.0, "2028-09-01"),
    ],
)
def test_monitoring_by_hours_is_forecast_from_the_recent_flying(
    make: Make, hours: float, forecast: str
) -> None:
    """Two years or 1,000 hours, whichever is longer, at the rate of the newest flights."""
    flights = (
        make.flight(
            70,
            "2027-03-04",
            on_at=make.at("2027-03-04", "02:30"),
            rvsm_from=None,
            rvsm_to=None,
            airframe_hours=hours,
        ),
        make.flight(71),
    )
    item = only(make.facts(flights=flights), "height-monitoring-overdue")
    assert (item.due_on, item.due_hours, item.forecast_on) == (None, 2450.0, on(forecast))
    assert item.days_left == (on(forecast) - on("2027-03-14")).days
    assert (item.highest_level_after, item.lowers) == (280, False)
    assert f"at {(1600.0 - hours) / 10:.2f} h a day, as since 2027-03-04" in item.assumption


def test_hours_beyond_the_limit_leave_the_two_years(make: Make) -> None:
    """With 1,000 hours flown the day decides, with a tenth of an hour less the hours do."""
    for then, due_on in ((600.0, None), (599.9, on("2028-09-01"))):
        facts = make.facts(monitoring=(make.monitoring(60, airframe_hours=then),))
        assert only(facts, "height-monitoring-overdue").due_on == due_on


def test_hours_without_a_rate_have_no_day(make: Make) -> None:
    """One flight on record makes no rate: the hours are shown, and no day is made up."""
    facts = make.facts(flights=(make.flight(71),))
    item = only(facts, "height-monitoring-overdue")
    assert (item.due_hours, item.forecast_on, item.days_left) == (2450.0, None, None)
    assert item.assumption == ""
    assert item in within(due_items(facts), on("2027-03-14"))


def test_what_has_no_day_is_not_said_to_fall_due_by_one(make: Make) -> None:
    """The head of the list counts it apart, and says nothing of a forecast."""
    facts = make.facts(flights=(make.flight(71),))
    item = only(facts, "height-monitoring-overdue")
    due = FleetDue(airframes=("QX-ABC",), chosen=(item,), every=(), undated={}, seals=frozenset())
    day = on("2027-03-14")
    for lines in (airframe_due_lines(due, day, day), fleet_due_lines(due, day, day)):
        head, *shown = (line.text for line in lines)
        assert head.endswith("  nothing falls due by 2027-03-14, 1 on no known day")
        assert not any("forecast" in line for line in shown)
    assert due_items(facts)[-1] == item


def test_monitoring_falls_due_anew_when_ads_b_takes_over(make: Make) -> None:
    """By hours under the specific approval, after 24 months under the ADS-B based authority."""
    papers = (
        make.approval(40, expires_on=on("2027-04-30")),
        make.approval(42, approval="rvsm-ads-b", regions=("US",)),
    )
    result = make.monitoring(60, measured_on=on("2025-06-15"))
    facts = make.facts(approvals=papers, operator=make.operator(region="US"), monitoring=(result,))
    item = only(facts, "height-monitoring-overdue")
    assert (item.due_on, item.highest_level_after) == (on("2027-06-15"), 280)
