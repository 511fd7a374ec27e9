"""The last day of each thing that expires, on both sides of it.

Expected days come from the calendar. Intervals: 14 CFR 91.411 and 91.413, 24 calendar months to the
end of the month (the FAA's reading of the first, from memory); repair categories B and C, 3 and 10
days without the day of discovery (MMEL Policy Letter 25, read second-hand); Annex 6 Part I 7.2.7,
two years or 1,000 hours, whichever is longer, the first within six months (published, as quoted);
SPA.RVSM.115, 72 hours (published). Clocks: New Zealand's go back on the first Sunday of April,
the United Kingdom's forward on the last of March, those of the United States forward on the second
of March. Kiritimati keeps UTC+14, Adak UTC-10 in winter.
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from rvsmlog.answers.due import DueItem, due_items, undated_faults, upcoming, within
from rvsmlog.dates import local_day
from rvsmlog.facts import Facts, Question
from rvsmlog.findings import Outcome
from rvsmlog.rules import RULES
from rvsmlog.rules.term import Span, covered_until, last_minute, on_day
from tests.rules.conftest import Make, on

DAY = timedelta(days=1)
RULE = {rule.name: rule for rule in RULES}


def items(facts: Facts, rule: str) -> list[DueItem]:
    """Give the due items of one rule."""
    return [item for item in due_items(facts) if item.rule == rule]


def only(facts: Facts, rule: str) -> DueItem:
    """Give the one due item of a rule."""
    (item,) = items(facts, rule)
    return item


def fails(facts: Facts, rule: str, day: date) -> bool:
    """Say whether a rule limits the level on a day."""
    found = RULE[rule].findings(on_day(facts, day))
    return any(each.outcome in (Outcome.NOT_MET, Outcome.NOT_ON_RECORD) for each in found)


def at(facts: Facts, instant: datetime, zone: str) -> Facts:
    """Give facts as of another instant, in a zone."""
    question = replace(facts.question, at=instant)
    return replace(facts, question=question, time_zone=zone, today=local_day(instant, zone))


@pytest.mark.parametrize(
    ("done_on", "last_day"),
    [
        ("2025-03-10", "2027-03-31"),
        ("2025-03-31", "2027-03-31"),
        ("2025-04-01", "2027-04-30"),
        # To the end of February, and to that of a leap year's.
        ("2026-02-10", "2028-02-29"),
        ("2026-02-28", "2028-02-29"),
        ("2027-02-28", "2029-02-28"),
    ],
)
def test_static_and_transponder_tests_end_with_the_month(
    make: Make, done_on: str, last_day: str
) -> None:
    """24 calendar months run to the end of the month; the last day counts, the next does not."""
    tests = [
        replace(each, record=replace(each.record, done_on=on(done_on))) for each in make.tests()
    ]
    equipment = tuple(
        replace(
            each,
            equipment=replace(
                each.equipment, record=replace(each.equipment.record, fitted_on=on("2020-01-01"))
            ),
        )
        for each in make.equipment()
    )
    facts = make.facts(tests=tuple(tests), equipment=equipment)
    for rule, level in (
        ("static-test-overdue", 0),
        ("altitude-reporting-test-overdue", 0),
        ("transponder-test-overdue", 90),
    ):
        item = only(facts, rule)
        assert item.due_on == on(last_day)
        assert (item.highest_level_after, item.lowers) == (level, True)
        assert not fails(facts, rule, on(last_day))
        assert fails(facts, rule, on(last_day) + DAY)


def test_days_left_are_negative_once_past(make: Make) -> None:
    """An overdue test stands first, with the days since, and says what it costs today."""
    test = make.test(50, done_on=on("2025-01-20"))
    facts = make.facts(tests=(test, *make.tests()[1:]), equipment=())
    item = due_items(facts)[0]
    assert (item.rule, item.due_on, item.days_left) == (
        "static-test-overdue",
        on("2027-01-31"),
        -42,
    )
    assert item.highest_level_after == 0
    assert item.then.endswith("counted until 2027-01-31 (24 calendar months)")


def test_of_two_transponders_the_later_test_limits(make: Make) -> None:
    """While one of two is tested in time, the end of the other's test costs no level."""
    units = tuple(each for each in make.equipment() if each.equipment.first != 22)
    transponders = (
        make.unit(200, "transponder", position="1"),
        make.unit(201, "transponder", position="2"),
    )
    tests = (
        make.test(52, test="transponder", position="1", done_on=on("2026-06-10")),
        make.test(54, test="transponder", position="2", done_on=on("2026-08-10")),
    )
    facts = make.facts(equipment=(*units, *transponders), tests=(*make.tests()[:2], *tests))
    first, second = items(facts, "transponder-test-overdue")
    assert (first.due_on, first.highest_level_after, first.lowers) == (
        on("2028-06-30"),
        None,
        False,
    )
    assert (second.due_on, second.highest_level_after) == (on("2028-08-31"), 90)
    assert [item.key for item in (first, second)] == [
        "transponder-test-overdue.1",
        "transponder-test-overdue.2",
    ]


@pytest.mark.parametrize(
    ("zone", "found_at", "category", "last_day"),
    [
        # Over the end of a month, and of February in a leap year and in another.
        ("UTC", datetime(2027, 1, 26, 12, tzinfo=UTC), "B", "2027-01-29"),
        ("UTC", datetime(2027, 1, 26, 12, tzinfo=UTC), "C", "2027-02-05"),
        ("Europe/London", datetime(2028, 2, 27, 12, tzinfo=UTC), "B", "2028-03-01"),
        ("Europe/London", datetime(2027, 2, 27, 12, tzinfo=UTC), "B", "2027-03-02"),
        # Over a change of clock: London's on 28 March, Auckland's on 4 April, Adak's on 14 March.
        ("Europe/London", datetime(2027, 3, 26, 23, 30, tzinfo=UTC), "B", "2027-03-29"),
        ("Pacific/Auckland", datetime(2027, 4, 2, 10, 30, tzinfo=UTC), "B", "2027-04-05"),
        ("America/Adak", datetime(2027, 3, 13, 12, tzinfo=UTC), "B", "2027-03-16"),
        # Across the date line it was found on another day: 12 March at 01:00, 11 March at 19:00.
        ("Pacific/Kiritimati", datetime(2027, 3, 11, 11, tzinfo=UTC), "C", "2027-03-22"),
        ("America/Adak", datetime(2027, 3, 12, 5, tzinfo=UTC), "C", "2027-03-21"),
        ("Pacific/Auckland", datetime(2027, 3, 11, 11, tzinfo=UTC), "C", "2027-03-22"),
    ],
)
def test_deferrals_end_at_midnight_where_the_operator_is(
    make: Make, zone: str, found_at: datetime, category: str, last_day: str
) -> None:
    """The deferral counts to the last minute of its last day there, and not a minute longer."""
    defect = make.defect(210, found_at=found_at, function="standby-altimeter")
    deferral = make.deferral(
        211, 210, category=category, deferred_on=local_day(found_at, zone), highest_level=280
    )
    case = make.case(defect, deferral=deferral)
    midnight = datetime.combine(on(last_day) + DAY, datetime.min.time(), ZoneInfo(zone)).astimezone(
        UTC
    )
    before, after = midnight - timedelta(seconds=1), midnight
    facts = at(make.facts(defects=(case,)), before, zone)
    item = only(facts, "deferral-overdue")
    assert (item.key, item.due_on, item.days_left) == (
        "deferral-overdue.211",
        on(last_day),
        0,
    )
    assert RULE["deferral-overdue"].findings(facts)[0].outcome is Outcome.MET
    late = at(facts, after, zone)
    assert only(late, "deferral-overdue").days_left == -1
    assert RULE["deferral-overdue"].findings(late)[0].outcome is Outcome.NOT_MET


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "America/Adak", "Pacific/Auckland"])
@pytest.mark.parametrize("day", ["2027-03-14", "2027-04-03", "2027-04-04", "2028-02-29"])
def test_a_day_is_looked_at_in_its_last_minute(zone: str, day: str) -> None:
    """A look ahead to a day lies on that day where the operator is, a minute before the next."""
    instant = last_minute(on(day), zone)
    assert local_day(instant, zone) == on(day)
    assert local_day(instant + timedelta(minutes=1), zone) == on(day) + DAY
    assert instant.astimezone(ZoneInfo(zone)).strftime("%H:%M") == "23:59"


def test_an_approval_ends_with_its_last_renewal(make: Make) -> None:
    """Renewals without a gap count as one; a gap of one day ends it."""
    first = make.approval(40, expires_on=on("2027-04-30"))
    joined = make.approval(42, issued_on=on("2027-05-01"), expires_on=on("2028-04-30"))
    parted = make.approval(42, issued_on=on("2027-05-02"), expires_on=on("2028-04-30"))
    for renewal, days in ((joined, ["2028-04-30"]), (parted, ["2027-04-30", "2028-04-30"])):
        found = items(make.facts(approvals=(first, renewal)), "rvsm-approval-missing")
        assert [item.due_on for item in found] == [on(day) for day in days]
        assert [item.highest_level_after for item in found] == [280] * len(days)


def test_a_withdrawal_that_lies_ahead_ends_an_approval(make: Make) -> None:
    """The last day is the one before the withdrawal."""
    approval = make.approval(40, withdrawal=make.withdrawal(42, 40, "2027-03-20"))
    item = only(make.facts(approvals=(approval,)), "rvsm-approval-missing")
    assert item.due_on == on("2027-03-19")


def test_an_approval_that_gives_way_to_ads_b_costs_what_that_one_lacks(make: Make) -> None:
    """Nothing where the ADS-B based authority serves; FL280 where no ADS-B Out is fitted."""
    papers = (
        make.approval(40, expires_on=on("2027-04-30")),
        make.approval(42, approval="rvsm-ads-b", regions=("US",)),
    )
    operator = make.operator(region="US")
    without = make.equipment_without("ads-b-out")
    serves = make.facts(approvals=papers, operator=operator)
    lacks = make.facts(approvals=papers, operator=operator, equipment=without)
    assert only(serves, "rvsm-approval-missing").highest_level_after is None
    item = only(lacks, "rvsm-approval-missing")
    assert (item.due_on, item.highest_level_after) == (on("2027-04-30"), 280)
    assert item.then == "ADS-B based authority #42: no ADS-B Out on record as fitted"


def test_an_approval_of_another_aeroplane_or_region_ends_nothing(make: Make) -> None:
    """What does not count for the flight is not due."""
    ends: dict[str, Any] = {"expires_on": on("2027-04-30")}
    others = (
        make.approval(42, registration="QX-XYZ", **ends),
        make.approval(43, holder="Other Air", **ends),
        make.approval(44, regions=("EUR",), **ends),
    )
    facts = make.facts(approvals=(make.approval(40), *others))
    assert items(facts, "rvsm-approval-missing") == []


def test_the_list_of_equipment_limits_only_with_a_deferral(make: Make) -> None:
    """The end of its approval is due either way, and costs the flight while a deferral is open."""
    papers = (
        make.approval(40),
        make.approval(41, approval="mel", regions=None, expires_on=on("2027-03-31")),
    )
    case = make.case(
        make.defect(210, function="standby-altimeter"),
        deferral=make.deferral(211, 210, category="D"),
    )
    for defects, level in (((), None), ((case,), 0)):
        item = only(make.facts(approvals=papers, defects=defects), "deferral-without-mel")
        assert (item.due_on, item.highest_level_after) == (on("2027-03-31"), level)


@pytest.mark.parametrize(("own", "last_day"), [(None, "2027-06-10"), (60, "2027-05-11")])
def test_a_cross_check_counts_for_90_days_or_the_operators_own(
    make: Make, own: int | None, last_day: str
) -> None:
    """Counted from 12 March by the calendar: common practice, or the operator's shorter figure."""
    facts = make.facts(operator=make.operator(crosscheck_max_age_days=own))
    item = only(facts, "crosschecks-too-old")
    assert (item.due_on, item.routine) == (on(last_day), True)
    for day, wrong in ((on(last_day), False), (on(last_day) + DAY, True)):
        assert fails(facts, "crosschecks-too-old", day) is wrong


def test_an_oxygen_reading_counts_for_seven_days(make: Make) -> None:
    """Read on 14 March it serves up to the 21st, and the crew needs none up to FL125."""
    item = only(make.facts(), "oxygen-reading-too-old")
    assert (item.due_on, item.highest_level_after, item.routine) == (on("2027-03-21"), 125, True)


def test_training_is_due_for_the_pilot_named_or_for_each(make: Make) -> None:
    """What is the pilot's belongs to no airframe and is due once for each pilot."""
    pilots = (make.pilot(2), make.pilot(5, code="TQU", name="T. Quen"))
    knowledge = (
        make.knowledge(4, valid_until=on("2027-03-31")),
        make.knowledge(6, pilot="tqu", valid_until=on("2027-04-30")),
    )
    facts = make.facts(pilots=pilots, knowledge=knowledge)
    found = items(facts, "pilot-knowledge-missing")
    assert [(item.key, item.airframe, item.due_on) for item in found] == [
        ("pilot-knowledge-missing.MKO", None, on("2027-03-31")),
        ("pilot-knowledge-missing.TQU", None, on("2027-04-30")),
    ]
    assert [item.highest_level_after for item in found] == [280, 280]
    named = replace(facts, question=replace(facts.question, pilot="TQU"))
    assert [item.key for item in items(named, "pilot-knowledge-missing")] == [found[1].key]


@pytest.mark.parametrize(("authority", "last_day"), [("eu-cat", "2028-05-31"), ("us-91", None)])
def test_training_that_recurs_is_due_without_a_last_day_too(
    make: Make, authority: str, last_day: str | None
) -> None:
    """24 calendar months, common practice, where the rules make it recur; else it has no end."""
    training = make.knowledge(4, completed_on=on("2026-05-03"), valid_until=None)
    facts = make.facts(airframe=make.airframe(authority=authority), knowledge=(training,))
    found = items(facts, "pilot-knowledge-missing")
    assert [item.due_on for item in found] == [on(day) for day in (last_day,) if day]
    for item in found:
        assert item.due_on is not None
        assert item.highest_level_after == 280
        assert not fails(facts, item.rule, item.due_on)
        assert fails(facts, item.rule, item.due_on + DAY)


def test_of_several_pilots_none_is_judged_unless_named(make: Make) -> None:
    """The levels are the airframe's then: that no pilot is named lowers nothing."""
    pilots = (make.pilot(2), make.pilot(5, code="TQU", name="T. Quen"))
    approval = make.approval(40, expires_on=on("2027-03-18"))
    facts = make.facts(pilots=pilots, approvals=(approval,))
    assert only(facts, "rvsm-approval-missing").lowers
    assert undated_faults(facts, due_items(facts)) == ()


@pytest.mark.parametrize(
    ("zone", "day"), [("Pacific/Auckland", "2027-03-15"), ("America/Adak", "2027-03-14")]
)
def test_a_deviation_is_to_be_reported_within_72_hours(make: Make, zone: str, day: str) -> None:
    """From 12 March 02:00 UTC to the 15th 02:00, which is another day on either side of the line.

    The duty changes no level: the deviation itself does.
    """
    facts = make.facts(
        airframe=make.airframe(authority="eu-cat"),
        deviations=(make.deviation(210),),
        time_zone=zone,
        today=local_day(make.NOW, zone),
    )
    item = only(facts, "deviation-open")
    assert (item.due_on, item.highest_level_after) == (on(day), None)
    assert item.what == "report of deviation #210, by 2027-03-15T02:00Z"
    reported = make.deviation(210, reported_at=make.at("2027-03-13"))
    assert items(replace(facts, deviations=(reported,)), "deviation-open") == []


def test_next_due_passes_over_what_any_flight_renews(make: Make) -> None:
    """The oxygen reading ends first, but the training is what has to be arranged."""
    facts = make.facts(knowledge=(make.knowledge(4, valid_until=on("2027-05-31")),))
    ordered = due_items(facts)
    assert ordered[0].rule == "oxygen-reading-too-old"
    (item,) = upcoming(facts, 1)
    assert item.rule == "pilot-knowledge-missing"
    # What comes next is the same whether or not all the rest is worked out.
    assert upcoming(facts, 99) == tuple(each for each in ordered if not each.routine)
    assert upcoming(facts, 99, pilots=False) == tuple(
        each for each in ordered if not each.routine and each.airframe is not None
    )


def test_the_healthy_airframe_has_each_thing_once(make: Make) -> None:
    """The whole list, by day; what only more flying ends stands at its forecast."""
    found = [(item.key, item.due_on or item.forecast_on) for item in due_items(make.facts())]
    expected = [
        ("oxygen-reading-too-old.main", on("2027-03-21")),
        ("crosschecks-too-old", on("2027-06-10")),
        ("pilot-knowledge-missing.MKO", on("2028-01-31")),
        ("altitude-reporting-test-overdue.1", on("2028-06-30")),
        ("static-test-overdue.1", on("2028-06-30")),
        ("transponder-test-overdue", on("2028-06-30")),
        # 850 hours at 3 hours in the 8.951 days since 5 March 03:40 UTC: 2,536 days.
        ("height-monitoring-overdue", on("2034-02-21")),
    ]
    assert found == expected, "a new term wants its line here, its day counted by hand"


def test_what_limits_today_without_a_day_is_named(make: Make) -> None:
    """A missing transponder test has no last day: it is not lost for that."""
    facts = make.facts(tests=(make.tests()[0], make.tests()[1], make.tests()[3]))
    found = due_items(facts)
    assert items(facts, "transponder-test-overdue") == []
    assert undated_faults(facts, found) == ("transponder-test-overdue",)
    overdue = make.facts(knowledge=(make.knowledge(4, valid_until=on("2027-03-13")),))
    assert undated_faults(overdue, due_items(overdue)) == ()


def test_within_leaves_out_what_lies_behind_the_horizon(make: Make) -> None:
    """The last day of the time asked for belongs to it."""
    facts = make.facts()
    one, other = only(facts, "oxygen-reading-too-old"), only(facts, "crosschecks-too-old")
    assert within((one, other), on("2027-06-10")) == (one, other)
    assert within((one, other), on("2027-06-09")) == (one,)


def test_spans_join_without_a_gap() -> None:
    """Days that touch are one span, days apart are two, and what has not begun is none."""
    one = Span(first=on("2027-01-01"), last=on("2027-01-31"))
    touching = Span(first=on("2027-02-01"), last=None)
    apart = Span(first=on("2027-02-02"), last=on("2027-03-31"))
    today = on("2027-01-15")
    assert covered_until((touching, one), today) == Span(first=one.first, last=None)
    assert covered_until((apart, one), today) == one
    assert covered_until((apart, one), on("2027-02-10")) == apart
    assert covered_until((apart, one), on("2027-02-01")) == one
    assert covered_until((apart,), today) is None
    assert one.covers(on("2027-01-31"))
    assert not one.covers(on("2027-02-01"))


def test_a_question_about_another_day_keeps_all_but_its_day(make: Make) -> None:
    """Only the day and the instant of the question change."""
    facts = make.facts(question=Question(at=make.NOW, level=310, pilot="MKO"))
    later = on_day(facts, on("2027-05-01"))
    assert (later.today, later.now) == (on("2027-05-01"), make.at("2027-05-01", "23:59"))
    assert replace(later, today=facts.today, question=facts.question) == facts
    assert on_day(facts, facts.today) is facts
