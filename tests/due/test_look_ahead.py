"""Looking ahead on a real store: the check of a day agrees with the due list.

The store is the demo, all of which is invented; the clock stands at 24 November 2026, 08:00 UTC.
"""

from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from rvsmlog.answers.due import DueItem, due_items
from rvsmlog.errors import InputError
from rvsmlog.facts import Facts
from rvsmlog.findings import NO_FLIGHT, Outcome
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.importing.demo import build_demo
from rvsmlog.store.writing.checks import Asked, Checked, check, check_and_record
from rvsmlog.store.writing.fleet import fleet_facts

NOW = datetime(2026, 11, 24, 8, tzinfo=UTC)
TODAY = date(2026, 11, 24)
DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Give the demo store."""
    path: Path = tmp_path_factory.mktemp("look-ahead") / "demo.sqlite3"
    build_demo(str(path), lambda: NOW)
    with open_store(str(path)) as opened:
        yield opened


@pytest.fixture(scope="module")
def fleet(store: Store) -> Mapping[str, Facts]:
    """Give the facts of each airframe by registration."""
    return {facts.particulars.registration: facts for facts in fleet_facts(store, NOW)}


def looked_ahead(store: Store, registration: str, day: date) -> Checked:
    """Check a day ahead, for a pilot whose training lasts."""
    return check(store, Asked(registration=registration, on=day, pilot="IVO"), NOW)


def level(made: Checked) -> int:
    """Give the highest level of a check, 0 for no flight."""
    return NO_FLIGHT if made.verdict.highest_level is None else made.verdict.highest_level


def ahead(facts: Facts) -> list[DueItem]:
    """Give what falls due within the next weeks."""
    return [
        item
        for item in due_items(facts)
        if item.airframe is not None and item.days_left is not None and 0 <= item.days_left < 80
    ]


def test_the_check_turns_where_the_due_list_says(store: Store, fleet: Mapping[str, Facts]) -> None:
    """What lowers the level does so on the day after its last, and what does not, does not."""
    seen = []
    for registration, facts in fleet.items():
        for item in ahead(facts):
            assert item.due_on is not None
            before, after = (
                level(looked_ahead(store, registration, day))
                for day in (item.due_on, item.due_on + DAY)
            )
            assert item.highest_level_after is not None
            assert after == min(before, item.highest_level_after)
            assert item.lowers == (after < before)
            seen.append(item.lowers)
    assert True in seen
    assert False in seen


def test_a_drift_is_due_when_its_forecast_reaches_the_tolerance(
    store: Store, fleet: Mapping[str, Facts]
) -> None:
    """On the last day the forecast is within the tolerance, on the day after it is beyond."""
    (item,) = (each for each in ahead(fleet["QX-BRE"]) if each.rule == "altimeters-drifting")
    assert item.due_on is not None

    def beyond(day: date) -> bool:
        findings = looked_ahead(store, "QX-BRE", day).verdict.findings
        return any(
            each.rule == "altimeters-drifting"
            and each.outcome is Outcome.NOT_MET
            and "forecast_ft" in each.values
            for each in findings
        )

    assert [beyond(item.due_on), beyond(item.due_on + DAY)] == [False, True]
    assert item.highest_level_after == 280
    assert not [each for each in due_items(fleet["QX-ALD"]) if each.rule == "altimeters-drifting"]


def test_a_day_ahead_is_the_operators_and_ends_it(store: Store) -> None:
    """The demo's operator keeps UTC: a day is looked at in its last minute, today as it is now."""
    later = looked_ahead(store, "QX-ALD", date(2026, 12, 1))
    assert later.verdict.at == datetime(2026, 12, 1, 23, 59, tzinfo=UTC)
    assert (later.ahead_to, later.entry) == (date(2026, 12, 1), None)
    assert looked_ahead(store, "QX-ALD", TODAY).verdict.at == NOW


def test_a_look_ahead_is_not_recorded(store: Store) -> None:
    """No flight rests on it, so that it makes no entry."""
    asked = Asked(registration="QX-ALD", on=date(2026, 12, 1), pilot="IVO")
    made = check_and_record(store, asked, by="IVO", clock=lambda: NOW)
    assert made.entry is None


@pytest.mark.parametrize(
    ("asked", "fault"),
    [
        (Asked(registration="QX-ALD", on=date(2026, 11, 23)), "2026-11-23 is past"),
        (Asked(registration="QX-ALD", on=TODAY, at=NOW), "both asked for"),
        (Asked(registration="QX-ALD", on=TODAY, as_of="12"), "both asked for"),
    ],
)
def test_a_day_past_or_with_an_instant_is_refused(store: Store, asked: Asked, fault: str) -> None:
    """A look ahead is at a day to come, and at nothing else."""
    with pytest.raises(InputError, match=fault):
        check(store, asked, NOW)
