"""Stretches of level flight found in simulated recordings whose stretches are known.

That a stretch counts within 100 ft, 200 ft/min and 5 minutes is common practice, no source.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import OutOfRangeError
from rvsmlog.science.level_segments import (
    MOST_SAMPLES,
    Criterion,
    Sample,
    Segment,
    held_level,
    level_segments,
)

USUAL = Criterion()


def profile(*parts: tuple[float, float]) -> Iterator[float]:
    """Give altitudes each second: parts of so many seconds at so many feet a minute, from 1,000."""
    altitude = 1000.0
    for seconds, rate in parts:
        for _ in range(int(seconds)):
            yield altitude
            altitude += rate / 60.0


#: Up to FL290 in 28 minutes, 20 minutes level, up to FL310, 10 minutes level, down.
FLIGHT = tuple(profile((1680, 1000), (1200, 0), (120, 1000), (600, 0), (1500, -1200)))


def recorded(
    altitudes: Sequence[float], difference_ft: float = 30.0, sigma_ft: float = 0.0, seed: int = 1
) -> list[Sample]:
    """Give samples each second whose altimeters differ by so much."""
    rng = Random(seed)
    return [
        Sample(
            at_s=float(second),
            primary_1_ft=altitude + difference_ft + rng.gauss(0.0, sigma_ft),
            primary_2_ft=altitude + rng.gauss(0.0, sigma_ft),
        )
        for second, altitude in enumerate(altitudes)
    ]


def found(samples: Sequence[Sample], criterion: Criterion = USUAL) -> list[Segment]:
    """Find the stretches."""
    return list(level_segments(samples, criterion))


def differences(segments: Sequence[Segment]) -> list[float]:
    """Give what each stretch says of the altimeters, rounded."""
    return [round(each.middle.primary_1_ft - each.middle.primary_2_ft, 6) for each in segments]


def test_each_stretch_of_a_flight_is_found_once() -> None:
    """The ends lie within half a minute of those that were flown; climb and descent give none."""
    first, second = found(recorded(FLIGHT))
    assert (first.level, second.level) == (290, 310)
    assert (first.first_s, first.last_s) == pytest.approx((1680, 2880), abs=30)
    assert (second.first_s, second.last_s) == pytest.approx((3000, 3600), abs=30)
    assert differences([first, second]) == [30.0, 30.0]


@pytest.mark.parametrize("difference", [0.0, 250.0, -450.0])
def test_altimeters_far_apart_are_found_all_the_same(difference: float) -> None:
    """The finder must not pass over the very flights that matter."""
    segments = found(recorded(FLIGHT, difference))
    assert [each.level for each in segments] == [290, 310]
    assert differences(segments) == [difference, difference]


@pytest.mark.parametrize(("minutes", "stretches"), [(4.9, 0), (5.2, 1)])
def test_a_short_stretch_is_passed_over(minutes: float, stretches: int) -> None:
    """Five minutes are wanted, both sides of them."""
    flight = profile((1800, 1000), (minutes * 60, 0), (1500, -1200))
    assert len(found(recorded(tuple(flight)), replace(USUAL, steady_ft=20.0))) == stretches


@pytest.mark.parametrize("rate", [-250, -60, 60, 250, 1500])
def test_a_steady_climb_is_never_level(rate: float) -> None:
    """However slow: it leaves the running mean, or the rate is too high."""
    start = tuple(30000.0 + rate / 60.0 * second for second in range(1800))
    assert found(recorded(start)) == []


def test_a_long_stretch_is_cut() -> None:
    """Two and a half hours give three comparisons, an hour each at the most."""
    segments = found(recorded((30000.0,) * 9000))
    assert [each.last_s - each.first_s <= 3600 for each in segments] == [True] * 3
    assert sum(each.samples for each in segments) == 9000


def test_memory_is_bounded_at_any_rate_of_recording() -> None:
    """A thousand samples a second are cut by number."""
    samples = (
        Sample(at_s=number / 1000.0, primary_1_ft=30000.0, primary_2_ft=30000.0)
        for number in range(2 * MOST_SAMPLES + 10)
    )
    sizes = [each.samples for each in level_segments(samples, replace(USUAL, least_s=10.0))]
    assert sizes == [MOST_SAMPLES, MOST_SAMPLES]


def test_a_digit_slip_neither_ends_a_stretch_nor_counts() -> None:
    """One sample 1,000 ft off is passed over."""
    samples = recorded((30000.0,) * 600)
    samples[300] = replace(samples[300], primary_2_ft=31000.0)
    (segment,) = found(samples)
    assert (segment.samples, differences([segment])) == (599, [30.0])


def test_a_change_of_level_ends_a_stretch() -> None:
    """A step of 300 ft that stays is another stretch, near no whole thousand."""
    segments = found(recorded((30000.0,) * 600 + (30400.0,) * 600))
    assert [each.level for each in segments] == [300, None]


@pytest.mark.parametrize(("hole", "stretches"), [(60, 1), (62, 2)])
def test_a_hole_in_the_recording_ends_a_stretch(hole: int, stretches: int) -> None:
    """A minute is bridged, more is not."""
    samples = recorded((30000.0,) * 600)
    later = [replace(each, at_s=each.at_s + 600 + hole - 1) for each in samples]
    assert len(found(samples + later)) == stretches


@pytest.mark.parametrize(("lowest", "levels"), [(180, [290, 310]), (310, [310]), (320, [])])
def test_lower_levels_are_passed_over(lowest: int, levels: list[int]) -> None:
    """Below the lowest level a sub-scale may be set to QNH."""
    segments = found(recorded(FLIGHT, 0.0), replace(USUAL, lowest_level=lowest))
    assert [each.level for each in segments] == levels


def test_the_comparison_is_of_medians_of_differences() -> None:
    """By hand: differences of standby 100, 110, 300 have the median 110; position of the middle."""
    samples = [
        Sample(
            at_s=200.0 * number,
            primary_1_ft=30000.0 + 10 * number,
            primary_2_ft=29980.0 + 10 * number,
            standby_ft=None if number == 3 else 30000.0 + 10 * number + (100, 110, 300)[number],
            mach=(0.45, 0.46, 0.49, 0.50)[number],
            latitude_deg=50.0 + number,
            longitude_deg=8.0,
        )
        for number in range(4)
    ]
    segments = [
        each
        for shift in range(2)
        for each in level_segments(
            [replace(s, at_s=s.at_s / 4 + shift) for s in samples], replace(USUAL, least_s=100.0)
        )
    ]
    middle = segments[0].middle
    assert (middle.primary_1_ft, middle.primary_2_ft) == (30015.0, 29995.0)
    assert middle.standby_ft == 30015.0 + 110.0
    assert middle.mach == pytest.approx(0.475)
    assert (middle.at_s, middle.latitude_deg, middle.transponder_ft) == (50.0, 51.0, None)


@given(shift=st.integers(-(10**9), 10**9), seed=st.integers(0, 10**6))
@settings(max_examples=8, deadline=None)
def test_a_shift_in_time_changes_nothing_else(shift: int, seed: int) -> None:
    """The same flight at another time gives the same stretches at that time."""
    samples = recorded(FLIGHT[1500:3700], 30.0, 10.0, seed)
    moved = found([replace(each, at_s=each.at_s + shift) for each in samples])
    here = found(samples)
    assert [(each.first_s - shift, each.last_s - shift) for each in moved] == [
        (each.first_s, each.last_s) for each in here
    ]
    assert differences(moved) == differences(here)


@given(seed=st.integers(0, 10**6), sigma=st.floats(0.0, 20.0))
@settings(max_examples=12, deadline=None)
def test_noise_neither_makes_nor_hides_a_stretch(seed: int, sigma: float) -> None:
    """With noise of 20 ft both are found, and the difference within five standard errors.

    The standard error of a median of n values is 1.2533 sigma / sqrt(n) (normal, large n).
    """
    segments = found(recorded(FLIGHT, 30.0, sigma, seed))
    assert [each.level for each in segments] == [290, 310]
    for each in segments:
        wide = 5 * 1.2533 * sigma * 2**0.5 / each.samples**0.5
        assert differences([each])[0] == pytest.approx(30.0, abs=wide + 1e-6)


@pytest.mark.parametrize(
    ("shown", "level"),
    [
        ((31000, 31000), 310),
        ((31200, 30700), 310),
        ((31201, 30700), None),
        ((30560, 31010), 310),
        ((29990, 30480), 300),
    ],
)
def test_the_level_held_is_that_of_the_altimeter_near_one(
    shown: tuple[float, float], level: int | None
) -> None:
    """Either may be the one that is wrong; 200 ft off is near, one foot more is not."""
    assert held_level(*shown) == level
    assert held_level(*reversed(shown)) == level


@pytest.mark.parametrize("wrong", [{"steady_ft": 0.0}, {"rate_ft_min": -1.0}, {"least_s": 3601.0}])
def test_a_criterion_that_no_flight_meets_is_refused(wrong: dict[str, Any]) -> None:
    """Out of range is an error."""
    with pytest.raises(OutOfRangeError):
        replace(USUAL, **wrong)


def test_nothing_recorded_gives_nothing() -> None:
    """No sample, no stretch; one sample, none either."""
    assert found([]) == []
    assert found(recorded((30000.0,))) == []
