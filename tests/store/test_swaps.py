"""Swaps as the store takes them, and as the facts give the units afterwards."""

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.answers.drift_analysis import analysed
from rvsmlog.facts import Question
from rvsmlog.records.base import FieldError
from rvsmlog.science.drift_log import settled
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.facts_reader import read_facts
from rvsmlog.store.writing.unit_places import UnitPlaces

if TYPE_CHECKING:
    from rvsmlog.facts import Facts
    from tests.store.conftest import Log

NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)


def facts(log: "Log", at: datetime = NOW) -> "Facts":
    """Read the airframe's facts."""
    with log.store.reading() as connection:
        return read_facts(connection, find_airframe(connection, "QX-ABC"), Question(at=at))


def fit(log: "Log", position: str | None, function: str = "altimeter", **fields: str) -> int:
    """Fit a unit and give its entry."""
    given = {"function": function} | ({} if position is None else {"position": position})
    return log.add("equipment", **(given | fields))


@pytest.mark.parametrize("backend", ["sqlite"])
def test_units_stand_where_swaps_put_them(log: "Log") -> None:
    """As of each instant, corrected entries included; the swap names a unit by any number."""
    one, other = fit(log, "1"), fit(log, "2")
    again = log.correct(one, "equipment", function="altimeter", position="1", serial_number="A1")
    swap = log.add("swap", unit=again, other=other, swapped_at="2027-03-01T09:00Z")
    places = {case.equipment.first: case.position for case in facts(log).equipment}
    assert places == {one: "2", other: "1"}
    before = facts(log, datetime(2027, 3, 1, 8, 59, tzinfo=UTC))
    assert {case.equipment.first: case.position for case in before.equipment} == {
        one: "1",
        other: "2",
    }
    log.strike(swap)
    assert [case.position for case in facts(log).equipment] == ["1", "2"]


@pytest.mark.parametrize("backend", ["sqlite"])
def test_units_of_different_functions_are_not_swapped(log: "Log") -> None:
    """An altimeter does not take the place of an air data computer."""
    one, other = fit(log, "1"), fit(log, "2", "air-data-computer")
    with pytest.raises(FieldError, match="other: is air-data-computer, the first unit altimeter"):
        log.add("swap", unit=one, other=other)


@pytest.mark.parametrize(("first", "second"), [("1", "1"), (None, None)])
@pytest.mark.parametrize("backend", ["sqlite"])
def test_units_in_one_place_are_not_swapped(
    log: "Log", first: str | None, second: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing would be known to change. An older edition fitted two units at one position."""
    nothing: Any = lambda *_: None  # noqa: E731  # one line says it all
    monkeypatch.setattr(UnitPlaces, "check", nothing)
    one, other = fit(log, first), fit(log, second)
    with pytest.raises(FieldError, match="other: is in the same place"):
        log.add("swap", unit=one, other=other)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_units_not_fitted_then_are_not_swapped(log: "Log") -> None:
    """Neither one that came later nor one that had gone."""
    one, late = fit(log, "1"), fit(log, "2", fitted_on="2027-03-01")
    with pytest.raises(FieldError, match=r"other: .* was fitted later, on 2027-03-01"):
        log.add("swap", unit=one, other=late, swapped_at="2027-02-20T09:00Z")
    log.add("removal", equipment=one, removed_on="2027-03-05")
    with pytest.raises(FieldError, match=r"unit: .* was removed before, on 2027-03-05"):
        log.add("swap", unit=one, other=late, swapped_at="2027-03-07T09:00Z")
    log.add("swap", unit=one, other=late, swapped_at="2027-03-05T09:00Z")


@pytest.mark.parametrize("backend", ["sqlite"])
def test_a_correction_of_a_swap_is_judged_without_it(log: "Log") -> None:
    """The swap that is corrected does not stand in its own way."""
    one, other, third = fit(log, "1"), fit(log, "2"), fit(log, None)
    swap = log.add("swap", unit=one, other=other, swapped_at="2027-03-01T09:00Z")
    log.correct(swap, "swap", unit=third, other=other, swapped_at="2027-03-01T09:00Z")
    places = {case.equipment.first: case.position for case in facts(log).equipment}
    assert places == {one: "1", other: None, third: "2"}


@pytest.mark.parametrize("backend", ["sqlite"])
def test_readings_and_closures_reach_the_facts(log: "Log") -> None:
    """Readings are found by their test, closures of deviations and monitoring by their entry."""
    test = log.add("test")
    readings = log.add("test-readings", test=test)
    result = log.add("monitoring", ase_ft="260")
    closure = log.add("closure", deviation=result)
    found = facts(log)
    known = found.readings_of(test)
    assert known is not None
    assert known.ref.entry == readings
    closed = found.closure_of(result)
    assert closed is not None
    assert closed.ref.entry == closure
    assert found.readings_of(closure) is None
    assert found.closure_of(test) is None


@pytest.mark.parametrize("backend", ["sqlite"])
def test_a_swap_starts_the_drift_anew(log: "Log") -> None:
    """Readings from before the swap are of the units at their earlier places."""
    one, other = fit(log, "1", fitted_on="2026-01-01"), fit(log, "2", fitted_on="2026-01-01")
    for day in (1, 2, 3, 4):
        log.add("crosscheck", taken_at=f"2027-03-0{day}T09:00Z", mach="0.5")
    before = facts(log).drift
    assert before is not None
    assert settled(before).flights == 4
    swap = log.add("swap", unit=one, other=other, swapped_at="2027-03-02T12:00Z")
    found = facts(log)
    assert found.drift is not None
    assert found.drift.since == datetime(2027, 3, 2, 12, tzinfo=UTC)
    assert settled(found.drift).flights == 2
    assert [event.ref.entry for event in analysed(found).events][-1] == swap
