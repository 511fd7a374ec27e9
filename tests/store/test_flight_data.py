"""Data of a flight: filled from a route profile, kept with the check, and repeated exactly."""

from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import InputError
from rvsmlog.facts import NOTHING_SAID, FlightData
from rvsmlog.records.checks import GoNoGo
from rvsmlog.rules.oxygen_flight import people_of
from rvsmlog.store.reading.flight_data import from_text, to_text
from rvsmlog.store.writing.checks import Asked, Checked, check, check_and_record

if TYPE_CHECKING:
    from tests.store.conftest import Log

REG = "QX-ABC"
RIDGE = {
    "name": "RIDGE",
    "region": "NAM",
    "track": 265,
    "crew": 1,
    "passengers": 4,
    "hold_level": 140,
    "hold_minutes": 60,
}


@pytest.fixture
def ready(log: "Log") -> "Log":
    """Give a log with a route besides its operator and airframe."""
    log.add("route-profile", **RIDGE)
    return log


def asked(log: "Log", flight: FlightData, **more: str) -> Checked:
    """Make and record a check."""
    question = Asked(registration=REG, level=310, flight=flight, **more)  # type: ignore[arg-type]  # texts only
    return check_and_record(log.store, question, by="A. Example", clock=log.clock)


def test_a_route_fills_what_is_not_said(ready: "Log") -> None:
    """What is said goes before the route; the region too comes from it."""
    said = FlightData(route="RIDGE", hold_minutes=20, recognition_s=30)
    question = asked(ready, said).facts.question
    assert question.flight == FlightData(
        route="RIDGE",
        track=265.0,
        crew=1,
        passengers=4,
        hold_level=140,
        hold_minutes=20,
        recognition_s=30,
    )
    assert question.region == "NAM"
    assert asked(ready, said, region="EUR").facts.question.region == "EUR"


def test_the_newest_profile_of_a_name_holds(ready: "Log") -> None:
    """A later entry changes a route; a correction keeps its place."""
    ready.add("route-profile", name="COAST", crew=2)
    ready.add("route-profile", **(RIDGE | {"hold_minutes": 30}))
    made = asked(ready, FlightData(route="RIDGE"))
    assert made.facts.question.flight.hold_minutes == 30


def test_an_unknown_route_is_refused_with_those_that_are_known(ready: "Log") -> None:
    """And without any, with the command that enters one."""
    with pytest.raises(InputError, match="no route 'COAST'") as caught:
        asked(ready, FlightData(route="COAST"))
    assert caught.value.hint == "routes are RIDGE"
    ready.strike(2, "operator")
    with pytest.raises(InputError) as caught:
        asked(ready, FlightData(route="RIDGE"))
    assert "rvsmlog route set" in caught.value.hint


@pytest.mark.parametrize(
    ("flight", "lacks"),
    [(FlightData(hold_level=140), "its time"), (FlightData(hold_minutes=5), "its level")],
)
def test_a_hold_that_is_not_whole_is_refused(ready: "Log", flight: FlightData, lacks: str) -> None:
    """Nothing is recorded then."""
    before = ready.count()
    with pytest.raises(InputError, match=lacks):
        asked(ready, flight)
    assert ready.count() == before


def test_a_check_repeats_with_the_data_it_had(ready: "Log") -> None:
    """The route has changed since; the check by its entry has not."""
    first = asked(ready, FlightData(route="RIDGE", differential_psi=5.5))
    assert first.entry is not None
    ready.clock.move(hours=1)
    ready.add("route-profile", **(RIDGE | {"hold_minutes": 5, "passengers": 0}))
    again = check(
        ready.store,
        Asked(registration=REG, as_of=str(first.entry.entry)),
        ready.clock(),
    )
    assert again.repeats == first.entry
    assert again.facts.question == first.facts.question
    assert again.verdict == first.verdict


def test_a_second_pilot_is_kept_and_asked_again(ready: "Log") -> None:
    """The check's entry names the second pilot, and its repetition asks for the same training."""
    ready.add("pilot")
    ready.add("knowledge")
    ready.add("pilot", code="ABE")
    said = FlightData(crew=2, second_pilot="ABE")
    first = asked(ready, said, pilot="MKO")
    assert first.entry is not None
    assert ready.standing("gonogo")[0].record.question == '{"crew":2,"second_pilot":"ABE"}'
    ready.add("knowledge", pilot="ABE")
    question = Asked(registration=REG, as_of=str(first.entry.entry))
    again = check(ready.store, question, ready.clock())
    assert again.facts.question.flight == said
    assert again.verdict == first.verdict
    now = asked(ready, said, pilot="MKO").verdict
    judged = [
        [(str(each.outcome), each.says) for each in made.findings if "knowledge" in each.rule]
        for made in (first.verdict, now)
    ]
    assert [each[0] for each in judged[0]] == ["met", "not on record"]
    assert judged[0][1][1] == "no RVSM training of pilot ABE on record"
    assert [each[0] for each in judged[1]] == ["met", "met"]


def test_a_second_pilot_named_in_a_repetition_is_counted(ready: "Log") -> None:
    """What is kept said one crew: it is answered, and its people are two."""
    first = asked(ready, FlightData(crew=1, passengers=2))
    assert first.entry is not None
    named = FlightData(second_pilot="ABE")
    question = Asked(registration=REG, as_of=str(first.entry.entry), flight=named)
    again = check(ready.store, question, ready.clock())
    assert again.facts.question.flight.crew == 1
    assert people_of(again.facts) == (2, 2)


def test_a_repeated_check_may_be_asked_something_else(ready: "Log") -> None:
    """What is said now goes before what was said then; a route fills anew, as known then."""
    first = asked(ready, FlightData(route="RIDGE"))
    assert first.entry is not None
    ready.add("route-profile", **(RIDGE | {"hold_minutes": 5}))

    def again(flight: FlightData) -> FlightData:
        question = Asked(registration=REG, as_of=str(first.entry.entry), flight=flight)  # type: ignore[union-attr]  # it was recorded
        return check(ready.store, question, ready.clock()).facts.question.flight

    assert again(FlightData(crew=2)).crew == 2
    assert again(FlightData(crew=2)).hold_minutes == 60
    assert again(FlightData(route="RIDGE", crew=2)).hold_minutes == 60


def test_the_entry_keeps_what_was_said_and_nothing_else(ready: "Log") -> None:
    """As JSON with sorted names; nothing where nothing was said."""
    asked(ready, NOTHING_SAID)
    asked(ready, FlightData(crew=1, passengers=0, differential_psi=5.5))
    kept = [logged.record for logged in ready.standing("gonogo")]
    assert all(isinstance(each, GoNoGo) for each in kept)
    assert [each.question for each in kept] == [
        None,
        '{"crew":1,"differential_psi":5.5,"passengers":0}',
    ]


def test_text_and_data_are_each_others_inverse() -> None:
    """Names that a later edition may add are left alone."""
    flight = FlightData(route="X", track=179.5, split="000-179", hold_level=140, hold_minutes=0)
    assert from_text(to_text(flight)) == flight
    assert from_text(to_text(NOTHING_SAID)) == NOTHING_SAID
    assert from_text('{"crew":1,"later":2}') == FlightData(crew=1)


def test_oxygen_is_read_as_known_then(ready: "Log") -> None:
    """Systems by the day they hold from, readings by their instant, newest last."""
    ready.add("oxygen-installation")
    ready.add("oxygen-reading", checked_at="2027-03-13T10:00Z", gauge_psi=1500)
    ready.add("oxygen-reading", checked_at="2027-03-14T01:00Z", gauge_psi=1400)
    early = Asked(registration=REG, at=ready.clock().replace(day=13, hour=11))
    gauges = [
        [logged.record.gauge_psi for logged in made.facts.oxygen_readings]
        for made in (
            check(ready.store, early, ready.clock()),
            check(ready.store, Asked(registration=REG), ready.clock()),
        )
    ]
    assert gauges == [[1500.0], [1500.0, 1400.0]]
    assert len(check(ready.store, early, ready.clock()).facts.oxygen) == 1
