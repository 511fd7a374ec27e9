"""Straight line through scale errors, against a reference library and by hand."""

import math
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.science.unit_trend import unit_trend

START = date(2020, 3, 1)
READINGS = st.lists(
    st.tuples(st.integers(0, 4000), st.integers(-300, 300)),
    min_size=3,
    max_size=12,
    unique_by=lambda pair: pair[0],
)


@given(READINGS)
@settings(max_examples=60)
def test_slope_and_its_error_are_the_librarys(pairs: list[tuple[int, int]]) -> None:
    """Least squares with the standard error of the slope, as scipy has them."""
    from scipy.stats import linregress

    pairs = sorted(pairs)
    found = unit_trend(
        [START + timedelta(days=day) for day, _ in pairs], [error for _, error in pairs]
    )
    wanted = linregress([day / 365.25 for day, _ in pairs], [error for _, error in pairs])
    assert found.slope_ft_per_year is not None
    assert found.slope_error_ft_per_year is not None
    assert found.slope_ft_per_year == pytest.approx(wanted.slope, rel=1e-6, abs=1e-6)
    # Close to a perfect line the library's error is rounding; ours is as small.
    assert math.isclose(found.slope_error_ft_per_year, wanted.stderr, rel_tol=1e-5, abs_tol=1e-4)


def test_two_readings_have_a_slope_without_an_error() -> None:
    """By hand: 24 ft in 731 days, which are 2.0014 mean years, are 11.99 ft a year."""
    found = unit_trend([date(2024, 1, 1), date(2026, 1, 1)], [-10, 14])
    assert found.slope_ft_per_year == pytest.approx(24 / (731 / 365.25))
    assert found.slope_error_ft_per_year is None
    assert (found.count, found.first_ft, found.last_ft) == (2, -10, 14)


@pytest.mark.parametrize("count", [1, 3])
def test_readings_of_one_day_have_no_slope(count: int) -> None:
    """Nothing to draw a line through."""
    found = unit_trend([START] * count, [5.0] * count)
    assert (found.slope_ft_per_year, found.slope_error_ft_per_year) == (None, None)


@pytest.mark.parametrize(
    ("days", "errors"),
    [([], []), ([START], [1, 2]), ([START, START - timedelta(days=1)], [1, 2])],
)
def test_readings_out_of_order_are_refused(days: list[date], errors: list[float]) -> None:
    """The first and the last are taken from the order."""
    with pytest.raises(InputError):
        unit_trend(days, errors)
