"""Checks still to make: AMC to SPA.RVSM.105, NAT Doc 001 3.5.1, AC 91-85B (from memory)."""

from typing import Any

import pytest

from rvsmlog.checklist import ToDo, to_do
from rvsmlog.science.oxygen import Cylinder, GaugeReading, oxygen_on_board
from rvsmlog.standards.sources import SOURCES
from tests.rules.conftest import Make

BELOW = ["before-take-off", "before-take-off", "before-take-off", "after-flight"]
WHOLE = [
    "before-take-off",
    "before-take-off",
    "before-take-off",
    "before-take-off",
    "before-take-off",
    "before-entry",
    "before-entry",
    "in-level",
    "in-level",
    "each-hour",
    "leaving",
    "after-flight",
    "after-flight",
]


def limits(items: tuple[ToDo, ...], when: str) -> dict[str, Any]:
    """Join the limits of all checks of one phase."""
    return {
        name: value for item in items if item.when == when for name, value in item.limits.items()
    }


@pytest.mark.parametrize(
    ("planned", "highest", "whens"),
    [
        (310, 310, WHOLE),
        (290, 290, WHOLE),
        (None, 310, WHOLE),
        (310, 290, WHOLE),
        (289, 310, BELOW),
        (280, 280, BELOW),
        (310, 280, BELOW),
        (None, 280, BELOW),
        (310, None, []),
        (None, None, []),
    ],
)
def test_rvsm_checks_stand_only_where_rvsm_is_planned_and_allowed(
    make: Make, planned: int | None, highest: int | None, whens: list[str]
) -> None:
    """Without RVSM two checks and those of oxygen remain; without a flight none."""
    items = to_do(make.facts(question=make.question(level=planned)), highest)
    assert [item.when for item in items] == whens


def test_the_published_limits_stand_beside_the_checks(make: Make) -> None:
    """75 ft on the ground, 200 ft in flight, 150 ft at capture, an hour, and what is reported."""
    items = to_do(make.facts(oxygen=()), 310)
    assert limits(items, "before-take-off") == {"altimeter_to_elevation_ft": 75}
    assert limits(items, "before-entry") == {"primary_to_primary_ft": 200}
    assert limits(items, "in-level") == {
        "overshoot_ft": 150,
        "primary_to_primary_ft": 200,
        "altitude_alert_ft": 200,
    }
    assert limits(items, "each-hour") == {"interval_min": 60, "primary_to_primary_ft": 200}
    assert limits(items, "after-flight") == {
        "total_vertical_error_ft": 300,
        "altimetry_system_error_ft": 245,
        "assigned_altitude_deviation_ft": 300,
    }


def test_the_airframes_own_limits_tighten_and_never_loosen(make: Make) -> None:
    """The tighter of the manual's and the published limit stands beside the check."""
    own = make.facts(
        airframe=make.airframe(
            primary_tolerance=((290, 120), (350, 150)),
            ground_tolerance_ft=50,
            type_certificate="to-1997-04-09",
        )
    )
    items = to_do(own, 310)
    assert limits(items, "before-take-off")["altimeter_to_elevation_ft"] == 50
    assert limits(items, "before-entry") == {"primary_to_primary_ft": 120}
    assert limits(items, "in-level")["altitude_alert_ft"] == 300
    loose = make.airframe()
    object.__setattr__(loose.record, "primary_tolerance", ((290, 400),))
    object.__setattr__(loose.record, "ground_tolerance_ft", 200)
    items = to_do(make.facts(airframe=loose), 310)
    assert limits(items, "before-take-off")["altimeter_to_elevation_ft"] == 75
    assert limits(items, "each-hour")["primary_to_primary_ft"] == 200


def test_the_tolerance_is_that_of_the_level_that_may_be_flown(make: Make) -> None:
    """Planned above what may be flown, the tolerance is that of the usable level."""
    airframe = make.airframe(primary_tolerance=((290, 120), (300, 150), (310, 180)))
    facts = make.facts(airframe=airframe, question=make.question(level=310))
    assert limits(to_do(facts, 310), "each-hour")["primary_to_primary_ft"] == 180
    assert limits(to_do(facts, 300), "each-hour")["primary_to_primary_ft"] == 150


def test_every_check_cites_known_sources(make: Make) -> None:
    """Each check has a source, and each key is known."""
    for item in (*to_do(make.facts(), 310), *to_do(make.facts(), 280)):
        assert item.sources
        assert set(item.sources) <= set(SOURCES)


def test_the_gauge_to_be_read_covers_the_flight_and_a_psi_less_does_not(make: Make) -> None:
    """170 litres by hand: ten minutes above FL250 at 8 l/min for one crew and 3 for each of three.

    The flight after a loss of pressure asks less: 7.5 min for the crew, 5.8 for the passengers.
    """
    (item,) = (each for each in to_do(make.facts(), 310) if "gauge_psi" in each.limits)
    psi = int(str(item.limits["gauge_psi"]))
    assert item.limits["cylinder_c"] == 15.0
    assert "record it with `rvsmlog oxygen reading`" in item.do
    for gauge, enough in ((psi, True), (psi - 1, False)):
        supply = oxygen_on_board(
            Cylinder(service_psig=1850, unusable_psig=200, water_litres=11.5),
            GaugeReading(psig=gauge, temperature_c=15),
            in_use_temperature_c=10,
        )
        assert (supply.usable_litres >= 170.0) is enough


@pytest.mark.parametrize(("level", "asked"), [(125, False), (126, True)])
def test_oxygen_is_looked_at_where_it_may_be_needed(make: Make, level: int, asked: bool) -> None:
    """Up to 12,500 ft the United States' rule asks nothing (91.211)."""
    items = to_do(make.facts(question=make.question(level=level)), 310)
    assert any("oxygen" in item.do for item in items) is asked


def test_without_a_reading_the_gauge_is_read_all_the_same(make: Make) -> None:
    """Without a reading, or where no cylinder would do, no pressure is named."""
    for parts in (
        {"oxygen_readings": ()},
        {"question": make.question(flight=make.flight_data(hold_level=140, hold_minutes=1440))},
    ):
        items = to_do(make.facts(**parts), 310)
        (item,) = (each for each in items if "read the gauge" in each.do)
        assert item.limits == {}


@pytest.mark.parametrize(("level", "worn"), [(350, False), (351, True)])
def test_the_mask_is_worn_above_fl350(make: Make, level: int, worn: bool) -> None:
    """A single pilot has no exception (91.211(b)(1)(ii) is for two)."""
    airframe = make.airframe(highest_level=410)
    facts = make.facts(airframe=airframe, question=make.question(level=level))
    wears = [item.do for item in to_do(facts, 410) if "Wear" in item.do]
    assert wears == (["Wear the oxygen mask above FL350."] if worn else [])
