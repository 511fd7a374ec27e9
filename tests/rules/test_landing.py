"""A flight over midnight: what must hold as long as it lasts is held against the day of its end.

"No person may operate an airplane ... unless within the preceding 24 calendar months" it was tested
(14 CFR 91.411(a)(1); 91.413(a) of the transponder), published: tests of 10 June 2026 count until
30 June 2028, and not for the minutes of a flight that lie in July. Minutes are reckoned by hand.
"""

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.rules.approvals import rvsm_approval_missing
from rvsmlog.rules.base import Rule
from rvsmlog.rules.crew import pilot_knowledge_missing
from rvsmlog.rules.crosschecks import crosschecks_too_old
from rvsmlog.rules.dated import DATED, TO_THE_END
from rvsmlog.rules.deferral_list import deferral_without_mel
from rvsmlog.rules.deferrals import deferral_overdue
from rvsmlog.rules.drift import altimeters_drifting
from rvsmlog.rules.landing import found_to_the_end
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.rules.monitoring_due import height_monitoring_overdue
from rvsmlog.rules.oxygen_record import oxygen_reading_too_old
from rvsmlog.rules.reporting_due import altitude_reporting_test_overdue
from rvsmlog.rules.tests_due import static_test_overdue
from rvsmlog.rules.transponder import transponder_test_overdue
from rvsmlog.verdict import Answer, judge

if TYPE_CHECKING:
    from tests.rules.conftest import Make


def flown(make: "Make", day: str, minutes: int | None, **parts: Any) -> Facts:
    """Give facts of a flight that takes off two hours before a day ends in UTC."""
    flight = replace(make.flight_data(), cruise_minutes=minutes)
    asked = {"at": make.at(day, "22:00"), "flight": flight} | parts.pop("asked", {})
    return make.facts(today=make.on(day), question=make.question(**asked), **parts)


def lowest(rule: Rule, facts: Facts) -> int | None:
    """Give the lowest level that a rule leaves, None where it limits nothing."""
    found = (each.highest_level for each in found_to_the_end((rule,), facts))
    return min((level for level in found if level is not None), default=None)


def parts_of(make: "Make", rule: Rule, day: str) -> dict[str, Any]:
    """Give what makes a day the last one of what a rule asks for."""
    last = make.on(day)
    papers = (make.approval(40, expires_on=last), make.approval(41, approval="mel", regions=None))
    if rule is rvsm_approval_missing:
        return {"approvals": papers}
    if rule is deferral_without_mel:
        listed = make.approval(41, approval="mel", regions=None, expires_on=last)
        case = make.case(make.defect(200), deferral=make.deferral(201, 200))
        return {"approvals": (make.approval(40), listed), "defects": (case,)}
    if rule is pilot_knowledge_missing:
        return {"knowledge": (make.knowledge(4, valid_until=last),)}
    return {}


@pytest.mark.parametrize(
    ("rule", "day"),
    [
        (static_test_overdue, "2028-06-30"),
        (altitude_reporting_test_overdue, "2028-06-30"),
        (transponder_test_overdue, "2028-06-30"),
        # Two years from a result of 1 September 2026; the hours have passed: 1450 and 1000.
        (height_monitoring_overdue, "2028-09-01"),
        (rvsm_approval_missing, "2027-03-14"),
        (deferral_without_mel, "2027-03-14"),
        (pilot_knowledge_missing, "2027-03-14"),
    ],
    ids=lambda given: given.name if isinstance(given, Rule) else "",
)
def test_it_holds_to_the_end_of_the_flight(make: "Make", rule: Rule, day: str) -> None:
    """119 minutes at the level end on the last day, 120 with the midnight after it."""
    parts = parts_of(make, rule, day)
    ends = {"2028-06-30": "2028-07-01", "2028-09-01": "2028-09-02"}.get(day, "2027-03-15")
    if rule is height_monitoring_overdue:
        parts["flights"] = (make.flight(71, airframe_hours=2451.0),)
    for minutes in (None, 119):
        assert lowest(rule, flown(make, day, minutes, **parts)) is None
        within = found_to_the_end((rule,), flown(make, day, minutes, **parts))
        assert any(each.says.endswith(f"; land before {ends}T00:00Z") for each in within)
    beyond = flown(make, day, 120, **parts)
    limit = lowest(rule, beyond)
    assert limit is not None
    assert limit < 290
    limiting = [each for each in found_to_the_end((rule,), beyond) if each.highest_level == limit]
    assert all(each.says.endswith(f"the minutes at the level go on to {ends}") for each in limiting)
    assert all(each.remedy.startswith(f"Plan the flight to end on {day}.") for each in limiting)


def test_the_answer_rests_on_it(make: "Make") -> None:
    """GO, and NO-GO a minute later; the operator's day counts: Auckland's ends at 12:00 UTC."""
    rules = (level_above_certificated, static_test_overdue)
    for zone, start in (("UTC", "22:00"), ("Pacific/Auckland", "10:00")):
        given = {"time_zone": zone, "asked": {"at": make.at("2028-06-30", start)}}
        assert judge(flown(make, "2028-06-30", 119, **given), rules).answer is Answer.GO
        later = judge(flown(make, "2028-06-30", 120, **given), rules)
        assert (later.answer, later.highest_level) == (Answer.NO_GO, None)
        assert later.limiting[0].highest_level == NO_FLIGHT


def test_by_when_to_land_is_said_on_the_last_day_alone(make: "Make") -> None:
    """Not on the day before, and not where no level is asked about: that is no flight yet."""
    for day, asked in (("2028-06-29", {}), ("2028-06-30", {"level": None})):
        facts = flown(make, day, None, asked=asked)
        for rule in (static_test_overdue, transponder_test_overdue):
            assert found_to_the_end((rule,), facts) == rule.findings(facts)


def test_what_is_done_before_a_flight_is_judged_by_its_start(make: "Make") -> None:
    """A cross-check of 12 March is 60 days old on 11 May, by hand, and made before take-off."""
    facts = flown(make, "2027-05-11", 600)
    assert found_to_the_end((crosschecks_too_old,), facts) == crosschecks_too_old.findings(facts)


def test_a_day_that_is_looked_ahead_to_has_no_landing(make: "Make") -> None:
    """What is due by the end of the day counts as due; no flight's minutes are added."""
    facts = flown(make, "2028-06-30", 600, asked={"whole_day": True})
    assert lowest(static_test_overdue, facts) is None


def test_of_each_rule_with_a_day_it_is_decided_whether_it_holds_to_the_end() -> None:
    """Left out: the deferral, in words of its own; what is done, or forecast, for the start."""
    left_out = (deferral_overdue, crosschecks_too_old, oxygen_reading_too_old, altimeters_drifting)
    names = [{rule.name for rule in rules} for rules in (DATED, TO_THE_END, left_out)]
    undecided = names[0] - names[1] - names[2]
    assert not undecided, "add each to TO_THE_END (rules/dated.py), or to left_out here"
    assert names[0] - names[1] == names[2]
    assert names[1] <= names[0]
