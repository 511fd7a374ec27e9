"""From readings to one difference for each flight, level band and Mach band."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.science.drift_readings import (
    Band,
    Reading,
    band_of,
    flights,
    points,
)

START = datetime(2027, 3, 1, 6, 0, tzinfo=UTC)


def reading(
    hours: float,
    first_ft: float,
    second_ft: float,
    *,
    flight: str | int | None = None,
    level: int = 310,
    mach: float | None = 0.47,
    standby_ft: float | None = None,
    transponder_ft: float | None = None,
) -> Reading:
    """Make a reading so many hours after the start."""
    return Reading(
        taken_at=START + timedelta(hours=hours),
        level=level,
        primary_1_ft=first_ft,
        primary_2_ft=second_ft,
        flight=flight,
        mach=mach,
        standby_ft=standby_ft,
        transponder_ft=transponder_ft,
    )


def test_median_of_a_flight_is_altimeter_1_less_altimeter_2() -> None:
    """A flight's point is the median of its differences, positive when altimeter 1 shows more."""
    (point,) = points(
        reading(hour, 31_000, second)
        for hour, second in ((0.0, 30_980), (1.0, 30_960), (2.0, 31_060))
    )
    assert (point.difference_ft, point.readings, point.flight_index) == (20, 3, 0)
    assert point.at == START


def test_witness_is_counted_from_the_mean_of_both_primaries() -> None:
    """A witness enters as its median distance from the mean of the primaries read with it."""
    (point,) = points(
        [
            reading(0.0, 31_000, 30_960, standby_ft=31_100),
            reading(1.0, 31_020, 30_980, standby_ft=None),
            reading(2.0, 31_000, 31_000, standby_ft=31_160),
        ]
    )
    assert point.standby_ft == pytest.approx(140.0)
    assert point.transponder_ft is None


@pytest.mark.parametrize(
    ("level", "mach", "band"),
    [
        (290, 0.47, Band(lowest_level=290, middle_mach=0.5)),
        (329, 0.44, Band(lowest_level=290, middle_mach=0.4)),
        (289, None, Band(lowest_level=250, middle_mach=-1.0)),
        (410, 0.80, Band(lowest_level=410, middle_mach=0.8)),
    ],
)
def test_band_begins_with_rvsm_airspace(level: int, mach: float | None, band: Band) -> None:
    """Level bands are 4,000 ft wide from FL290 on, Mach bands 0.1 about whole tenths."""
    assert band_of(level, mach) == band


def test_levels_and_speeds_apart_give_points_apart() -> None:
    """One flight gives one point in each band it was read in, and bands are series of their own."""
    made = points(
        [
            reading(0.0, 28_000, 27_990, level=280),
            reading(1.0, 31_000, 30_950),
            reading(2.0, 31_000, 30_930),
            reading(30.0, 31_000, 30_940),
        ]
    )
    assert {p.band.lowest_level for p in made} == {290, 250}
    series = [p for p in made if p.band == band_of(310, 0.47)]
    assert [p.difference_ft for p in series] == [60, 60]
    assert [p.flight_index for p in series] == [0, 1]


def test_readings_hours_apart_are_of_different_flights() -> None:
    """Without a flight on record, a gap of more than three hours begins another."""
    hours = (0.0, 2.5, 5.0, 8.5, 9.0)
    assert [len(one) for one in flights(reading(h, 31_000, 31_000) for h in hours)] == [3, 2]


def test_flight_named_again_another_day_is_another_flight() -> None:
    """A flight number used again more than a day later does not join the first."""
    hours = ((0.0, "QX1"), (1.0, "QX1"), (2.0, "QX2"), (50.0, "QX1"))
    found = flights(reading(h, 31_000, 31_000, flight=name) for h, name in hours)
    assert [len(one) for one in found] == [2, 1, 1]


def test_work_between_two_readings_parts_the_flights() -> None:
    """A restart between two readings parts them, however close they are."""
    both = [reading(0.0, 31_000, 30_900), reading(2.0, 31_000, 31_000)]
    restart = START + timedelta(hours=1)
    assert len(points(both)) == 1
    assert [point.difference_ft for point in points(both, [restart])] == [100, 0]


def test_naive_instant_is_refused() -> None:
    """A reading without a time zone is an error, not a guess."""
    with pytest.raises(InputError, match="time zone"):
        Reading(
            taken_at=START.replace(tzinfo=None), level=310, primary_1_ft=31_000, primary_2_ft=31_000
        )


DAYS = st.lists(
    st.tuples(st.integers(0, 4), st.integers(-20, 20), st.sampled_from([280, 310, 350])),
    min_size=1,
    max_size=15,
)


def as_readings(days: Sequence[tuple[int, int, int]]) -> list[Reading]:
    """Give readings of whole days, minutes apart."""
    return [
        reading(24.0 * day + 0.01 * index, 31_000 + 10 * off, 31_000, flight=day, level=level)
        for index, (day, off, level) in enumerate(days)
    ]


@given(days=DAYS, data=st.data())
@settings(max_examples=40)
def test_order_of_readings_does_not_matter(
    days: list[tuple[int, int, int]], data: st.DataObject
) -> None:
    """The same readings in any order give the same points."""
    made = as_readings(days)
    assert points(data.draw(st.permutations(made))) == points(made)


@given(days=DAYS)
@settings(max_examples=40)
def test_values_may_change_places_within_a_flight(days: list[tuple[int, int, int]]) -> None:
    """Exchanging what was read between the times of one flight and band changes nothing."""
    swapped = [(day, off, level) for day, off, level in sorted(days, key=lambda each: -each[1])]
    before = [(p.flight_index, p.band, p.difference_ft) for p in points(as_readings(days))]
    after = [(p.flight_index, p.band, p.difference_ft) for p in points(as_readings(swapped))]
    assert before == after
