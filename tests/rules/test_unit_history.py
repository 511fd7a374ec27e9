"""A unit followed by its serial number across two airframes."""

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.answers.unit_history import known_serials, unit_history
from rvsmlog.facts import Facts, with_swaps
from tests.rules.conftest import on

if TYPE_CHECKING:
    from tests.rules.conftest import Make


def alone(make: "Make", registration: str, **parts: Any) -> Facts:
    """Give facts with nothing but some units and tests."""
    given: dict[str, Any] = {"equipment": (), "tests": (), "readings": ()}
    airframe = make.airframe(registration=registration)
    return replace(make.facts(airframe=airframe), **(given | parts))


@pytest.fixture
def fleet(make: "Make") -> tuple[Facts, Facts]:
    """Give two airframes: the unit was fitted to one, swapped, removed, and is on the other."""
    first = make.unit(
        10,
        "altimeter",
        position="1",
        serial_number="A77",
        part_number="P-1",
        fitted_on=on("2022-03-01"),
        removed=make.removal(14, 10, "2024-06-01"),
    )
    second = make.unit(11, "altimeter", position="2", serial_number="A78")
    swap = make.swap(13, 10, 11, "2023-05-01")
    one = alone(
        make,
        "QX-ABC",
        equipment=with_swaps((first, second), (swap,)),
        swaps=(swap,),
        tests=(make.test(12, unit_serial="A77", position="1", done_on=on("2022-02-10")),),
        readings=(make.readings(15, 12, scale_error=((0, 0), (30_000, 20), (35_000, 25))),),
    )
    tests = (
        make.test(20, unit_serial=" a77 ", done_on=on("2024-07-10")),
        make.test(24, unit_serial="A77", position="2", done_on=on("2026-07-20")),
    )
    readings = (
        make.readings(21, 20, scale_error=((30_000, 55), (25_000, 50))),
        make.readings(25, 24, scale_error=((30_000, 110),)),
    )
    unit = make.unit(22, "altimeter", position="2", serial_number="a77", fitted_on=on("2024-08-01"))
    other = alone(make, "QX-DEF", equipment=(unit,), tests=tests, readings=readings)
    return one, other


def test_a_unit_is_followed_from_airframe_to_airframe(fleet: tuple[Facts, Facts]) -> None:
    """Fitted, swapped, removed, tested and fitted elsewhere, in the order of the days."""
    found = unit_history(fleet, "a77 ")
    assert [
        (str(each.day), each.registration, each.what, each.position, each.ref.entry)
        for each in found.events
    ] == [
        ("2022-02-10", "QX-ABC", "tested", "1", 12),
        ("2022-03-01", "QX-ABC", "fitted", "1", 10),
        ("2023-05-01", "QX-ABC", "swapped", "2", 13),
        ("2024-06-01", "QX-ABC", "removed", "2", 14),
        ("2024-07-10", "QX-DEF", "tested", "all", 20),
        ("2024-08-01", "QX-DEF", "fitted", "2", 22),
        ("2026-07-20", "QX-DEF", "tested", "2", 24),
    ]
    assert found.events[2].says == "from 1: which one is wrong"
    assert found.events[0].says == (
        "altimeter-static: passed; +20 ft at 30,000 ft, +25 ft at 35,000 ft"
    )
    assert [(place.registration, place.position) for place in found.places] == [("QX-DEF", "2")]
    assert (found.serial_number, found.part_numbers) == ("A77", ("P-1",))


def test_the_trend_goes_on_across_airframes(fleet: tuple[Facts, Facts]) -> None:
    """At each point in RVSM airspace, as the reference library has the slope."""
    from scipy.stats import linregress

    found = unit_history(fleet, "A77")
    trends = dict(found.trends)
    assert sorted(trends) == [30_000, 35_000]
    days = [date(2022, 2, 10), date(2024, 7, 10), date(2026, 7, 20)]
    years = [(day - days[0]).days / 365.25 for day in days]
    wanted = linregress(years, [20, 55, 110])
    at_30 = trends[30_000]
    assert at_30.slope_ft_per_year == pytest.approx(wanted.slope)
    assert at_30.slope_error_ft_per_year == pytest.approx(wanted.stderr)
    assert (at_30.count, at_30.first_ft, at_30.last_ft) == (3, 20, 110)
    assert trends[35_000].slope_ft_per_year is None


def test_a_test_that_its_readings_contradict_is_told(make: "Make") -> None:
    """Recorded as passed, 181 ft at 30,000 ft: beyond Table I (180 ft, published)."""
    facts = alone(
        make,
        "QX-ABC",
        tests=(make.test(20, unit_serial="A77"),),
        readings=(make.readings(21, 20, scale_error=((30_000, 181),)),),
    )
    (event,) = unit_history((facts,), "A77").events
    assert event.says == (
        "altimeter-static: passed on record, yet scale error +181 ft at 30,000 ft, limit 180 ft; "
        "+181 ft at 30,000 ft"
    )


def test_parts_with_one_serial_number_are_told_apart(make: "Make") -> None:
    """Makers number each part by itself; entries without a part number may be of either."""
    units = tuple(
        make.unit(number, "altimeter", serial_number="A77", part_number=part, position="1")
        for number, part in ((10, "P-1"), (11, "p-2 "), (12, None))
    )
    facts = alone(make, "QX-ABC", equipment=units)
    assert unit_history((facts,), "A77").part_numbers == ("P-1", "p-2 ")
    chosen = unit_history((facts,), "A77", "P-2")
    assert [each.ref.entry for each in chosen.events] == [11, 12]
    readings = (make.readings(21, 20, scale_error=((0, 0),), part_number="P-1"),)
    tested = alone(make, "QX-ABC", tests=(make.test(20, unit_serial="A77"),), readings=readings)
    assert unit_history((tested,), "A77", "P-2").events == ()
    assert unit_history((tested,), "A77", "P-1").part_numbers == ("P-1",)


def test_an_unknown_unit_has_no_history(fleet: tuple[Facts, Facts]) -> None:
    """The numbers there are can be named instead."""
    assert unit_history(fleet, "B1").events == ()
    assert known_serials(fleet) == ("A77", "A78", "a77")
