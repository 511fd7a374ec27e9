"""The due list and the verdict never contradict each other.

The expected days come from asking the verdict about one day after another, with nothing else on
record: the calendar alone turns the answer.
"""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

import rvsmlog.rules
from rvsmlog.answers.due import due_items
from rvsmlog.facts import ApprovalCase, DefectCase, EquipmentCase, Facts, Logged, Question
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.records.papers import Monitoring
from rvsmlog.records.papers import Test as PeriodicTest
from rvsmlog.rules import RULES
from rvsmlog.rules.base import Rule
from rvsmlog.rules.dated import DATED
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.rules.term import on_day
from rvsmlog.verdict import judge
from tests.rules.conftest import Make

#: How many days ahead each case is asked about.
AHEAD = 40
ZONES = ("UTC", "Pacific/Auckland", "Pacific/Kiritimati", "America/Adak", "Europe/London")
DAY = timedelta(days=1)
MAKE = Make()
UNDATED = tuple(rule for rule in RULES if rule not in DATED)


def level_on(facts: Facts, day: date, rules: tuple[Rule, ...] = RULES) -> int:
    """Ask the verdict for the highest level on a day, 0 for no flight."""
    highest = judge(on_day(facts, day), (level_above_certificated, *rules)).highest_level
    return NO_FLIGHT if highest is None else highest


def first_fall(facts: Facts) -> date | None:
    """Give the first day on which the verdict is lower than on the day before.

    Rules that do not look at the calendar are asked once; another test shows that they do not.
    """
    always = level_on(facts, facts.today, UNDATED)
    before = min(always, level_on(facts, facts.today, DATED))
    for ahead in range(1, AHEAD + 1):
        day = facts.today + ahead * DAY
        level = min(always, level_on(facts, day, DATED))
        if level < before:
            return day
        before = level
    return None


def first_due(facts: Facts) -> date | None:
    """Give the day after the first limiting date of the due list."""
    days = [
        item.due_on + DAY
        for item in due_items(facts)
        if item.lowers and item.due_on is not None and item.due_on >= facts.today
    ]
    first = min(days, default=None)
    return first if first is None or first <= facts.today + AHEAD * DAY else None


def noon(day: date, zone: str) -> datetime:
    """Give noon of a day in a zone."""
    return datetime.combine(day, time(12), ZoneInfo(zone))


def months_before(day: date, months: int) -> date:
    """Go back whole calendar months, by the calendar; from the 29th on to the 28th."""
    count = day.year * 12 + day.month - 1 - months
    return date(count // 12, count % 12 + 1, min(day.day, 28))


#: Approvals that may be on record: kind, how often, earliest and latest first and last day.
PAPERS = (
    ("rvsm", 5, (-400, -1), (-2, AHEAD)),
    ("rvsm", 3, (-30, 30), (30, 2 * AHEAD)),
    ("rvsm-ads-b", 4, (-400, 10), (10, 2 * AHEAD)),
    ("mel", 5, (-400, -1), (-1, AHEAD)),
    ("mel", 3, (-30, 30), (30, 2 * AHEAD)),
)


@st.composite
def approvals(draw: st.DrawFn, today: date) -> tuple[ApprovalCase, ...]:
    """Draw approvals that begin, end and are withdrawn about now: about RVSM, and of a list."""
    cases = []
    for number, (kind, often, firsts, lasts) in enumerate(PAPERS):
        if draw(st.integers(1, 6)) > often:
            continue
        last, gone = draw(st.none() | st.integers(*lasts)), draw(st.integers(-3, 5 * AHEAD))
        withdrawal = MAKE.withdrawal(260 + number, 240 + number, str(today + gone * DAY))
        case = MAKE.approval(
            240 + number,
            withdrawal=withdrawal if gone <= AHEAD else None,
            approval=kind,
            issued_on=today + draw(st.integers(*firsts)) * DAY,
            expires_on=None if last is None else today + last * DAY,
            regions=None if kind == "mel" else (draw(st.sampled_from(["US", "ALL"])),),
        )
        cases.append(case)
    return tuple(sorted(cases, key=lambda case: case.approval.record.issued_on))


@st.composite
def defects(draw: st.DrawFn, today: date, zone: str) -> tuple[DefectCase, ...]:
    """Draw deferred defects of each category, some extended, some that cap the level."""
    cases = []
    for number in range(draw(st.integers(0, 2))):
        entry = 210 + 3 * number
        category = draw(st.sampled_from("ABCD"))
        found = today - draw(st.integers(0, 12)) * DAY
        deferral: dict[str, Any] = {"category": category, "deferred_on": found}
        if category == "A":
            deferral["due_on"] = found + draw(st.integers(0, AHEAD)) * DAY
        if category == "D":
            deferral["discovered_on"] = found - draw(st.integers(60, 120)) * DAY
        days = draw(st.none() | st.integers(1, 12))
        extension = None if days is None else MAKE.extension(entry + 2, entry + 1, days)
        cases.append(
            MAKE.case(
                MAKE.defect(entry, function="cabin-pressure-control", found_at=noon(found, zone)),
                deferral=MAKE.deferral(
                    entry + 1,
                    entry,
                    max_differential_psi=6.2,
                    highest_level=draw(st.sampled_from([None, 300, 250])),
                    **deferral,
                ),
                extensions=() if extension is None else (dated(extension, granted_on=found),),
            )
        )
    return tuple(cases)


@st.composite
def monitored(draw: st.DrawFn, today: date) -> tuple[Logged[Monitoring], ...]:
    """Draw a height monitoring result of about two years ago, or none."""
    if not draw(st.integers(0, 5)):
        return ()
    measured_on = months_before(today, 24) + draw(st.integers(-5, 2 * AHEAD)) * DAY
    hours = draw(st.sampled_from([None, 599.9, 600.0, 1450.0]))
    return (MAKE.monitoring(230, measured_on=measured_on, airframe_hours=hours),)


@st.composite
def periodic_tests(draw: st.DrawFn, today: date, months: int) -> tuple[Logged[PeriodicTest], ...]:
    """Draw tests of about so many months ago, and those that never end."""
    found = [dated(MAKE.tests()[1], done_on=date(2021, 1, 1))]
    for number, (test, position) in enumerate(
        [
            ("altimeter-static", "all"),
            ("altimeter-static", draw(st.sampled_from(["all", "1", "2"]))),
            ("transponder", draw(st.sampled_from(["all", "1", "2"]))),
            ("transponder", draw(st.sampled_from(["all", "1", "2"]))),
            ("correspondence", "all"),
            ("correspondence", draw(st.sampled_from(["all", "1", "2"]))),
        ]
    ):
        done_on = months_before(today, months) + draw(st.integers(-20, 60)) * DAY
        found.append(MAKE.test(220 + number, test=test, done_on=done_on, position=position))
    return tuple(sorted(found, key=lambda logged: (logged.record.done_on, logged.first)))


def dated(logged: Logged[Any], **fields: Any) -> Logged[Any]:
    """Give a record with other days."""
    return replace(logged, record=replace(logged.record, **fields))


def fitted_long_ago(transponders: int) -> tuple[EquipmentCase, ...]:
    """Give the healthy airframe's units, fitted before any test, with so many transponders."""
    others = MAKE.equipment_without("transponder")
    more = [
        MAKE.unit(200 + number, "transponder", position=str(number + 1))
        for number in range(transponders)
    ]
    return tuple(
        replace(each, equipment=dated(each.equipment, fitted_on=date(2020, 1, 1)))
        for each in (*others, *more)
    )


@st.composite
def situations(draw: st.DrawFn, *, papers_only: bool = False) -> Facts:
    """Draw an airframe of which several things end within the next weeks."""
    zone = draw(st.sampled_from(ZONES))
    today = draw(st.dates(date(2026, 1, 1), date(2029, 12, 31)))
    now, trained = noon(today, zone), draw(st.none() | st.integers(-2, AHEAD))
    flown = (now - draw(st.integers(0, 20 if papers_only else 95)) * DAY).astimezone(UTC)
    # A reading of a day ahead leaves room for other things to end before it is too old.
    read_at = now + draw(st.integers(AHEAD if papers_only else -9, AHEAD)) * DAY
    return MAKE.facts(
        question=Question(at=now, flight=MAKE.flight_data()),
        time_zone=zone,
        today=today,
        airframe=MAKE.airframe(
            authority=draw(st.sampled_from(["us-91", "us-91", "us-135", "eu-cat"])),
            type_certificate=draw(st.sampled_from(["to-1997-04-09", "after-1997-04-09"])),
        ),
        operator=MAKE.operator(
            time_zone=zone,
            region=draw(st.sampled_from(["US", "US", "US", "NAM", None])),
            crosscheck_max_age_days=draw(st.sampled_from([None, 60, 30])),
        ),
        knowledge=(
            MAKE.knowledge(
                4,
                # Where training recurs and has no last day, it counts to the end of a month.
                completed_on=months_before(today, draw(st.sampled_from([10, 23, 24, 25]))),
                valid_until=None if trained is None else today + trained * DAY,
            ),
        ),
        equipment=fitted_long_ago(draw(st.sampled_from([1, 2]))),
        approvals=draw(approvals(today)),
        defects=() if papers_only else draw(defects(today, zone)),
        tests=draw(periodic_tests(today, 3 if papers_only else 24)),
        monitoring=draw(monitored(today)),
        flights=(MAKE.flight(70, "2026-01-01", rvsm_from=None, rvsm_to=None),),
        crosschecks=tuple(
            MAKE.crosscheck(90 + number, str(flown.date()), flown.strftime("%H:%M"))
            for number in range(2)
        ),
        oxygen=(MAKE.oxygen_fitted(fitted_on=date(2020, 1, 1)),),
        oxygen_readings=(MAKE.oxygen_reading(checked_at=read_at),),
    )


def check_first_date(facts: Facts) -> None:
    """Compare the due list with the verdict of each day."""
    turned = first_fall(facts)
    event("turns" if turned else "does not turn")
    for item in due_items(facts):
        if item.lowers and item.due_on and item.due_on + DAY == turned:
            event(item.rule)
    assert first_due(facts) == turned


@settings(max_examples=35, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(situations())
def test_first_limiting_date_is_the_day_on_which_the_verdict_turns(facts: Facts) -> None:
    """Day by day, the verdict first falls on the day after the first limiting date of the list."""
    check_first_date(facts)


@settings(max_examples=35, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(situations(papers_only=True))
def test_approvals_and_monitoring_turn_the_verdict_on_their_dates(facts: Facts) -> None:
    """The same where approvals overlap, leave gaps, are withdrawn, and ask for monitoring anew."""
    check_first_date(facts)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(situations(), st.integers(1, AHEAD))
def test_other_rules_do_not_look_at_the_calendar(facts: Facts, ahead: int) -> None:
    """No rule outside the list of dated ones changes its level from one day to another."""
    later = on_day(facts, facts.today + ahead * DAY)
    for rule in UNDATED:
        now, then = rule.findings(facts), rule.findings(later)
        assert [each.highest_level for each in now] == [each.highest_level for each in then]


#: Helpers of dated rules, and the rule that only says whether a report is late.
KNOWN = {"basis", "confirmations", "term", "drift_due", "deviations", "landing"}


def test_every_rule_that_looks_at_the_calendar_is_known_to_the_due_list() -> None:
    """A module that reads the day or the instant has a dated rule, or is a helper of one."""
    dated = {rule.check.__module__.rpartition(".")[2] for rule in DATED}
    folder = Path(rvsmlog.rules.__file__).parent
    looking = {
        path.stem
        for path in folder.glob("*.py")
        if re.search(r"\bfacts\.(today|now)\b", path.read_text("utf-8"))
    }
    assert looking - dated - KNOWN == set(), "give it a term, and add it to rules/dated.py"
