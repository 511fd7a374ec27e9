"""Straight line through a unit's scale error over its successive tests."""

import math
from collections.abc import Sequence
from datetime import date

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass

#: Days of a mean calendar year.
DAYS_PER_YEAR = 365.25
# A line through fewer readings leaves nothing to tell its own error from.
_FEWEST_FOR_ERROR = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitTrend:
    """Change of a scale error with time, by ordinary least squares.

    Parameters
    ----------
    count : int
        Readings.
    first_on, last_on : date
        Days of the earliest and the latest.
    first_ft, last_ft : float
        What they were, feet.
    slope_ft_per_year : float or None
        Feet in a mean calendar year; None from readings of one day only.
    slope_error_ft_per_year : float or None
        Standard error of the slope; None from fewer than three readings.
    """

    count: int
    first_on: date
    last_on: date
    first_ft: float
    last_ft: float
    slope_ft_per_year: float | None
    slope_error_ft_per_year: float | None


def unit_trend(days: Sequence[date], errors_ft: Sequence[float]) -> UnitTrend:
    """Fit a straight line through readings.

    Parameters
    ----------
    days : sequence of date
        Days of the readings, from the earliest to the latest.
    errors_ft : sequence of float
        Scale errors, feet, one for each day.

    Raises
    ------
    InputError
        When there is no reading, or days and errors are not equally many or not in order.
    """
    if not days or len(days) != len(errors_ft) or list(days) != sorted(days):
        raise InputError("a trend needs readings in the order of their days")
    years = [(day - days[0]).days / DAYS_PER_YEAR for day in days]
    slope, error = _line(years, errors_ft)
    return UnitTrend(
        count=len(days),
        first_on=days[0],
        last_on=days[-1],
        first_ft=errors_ft[0],
        last_ft=errors_ft[-1],
        slope_ft_per_year=slope,
        slope_error_ft_per_year=error,
    )


def _line(years: Sequence[float], errors_ft: Sequence[float]) -> tuple[float | None, float | None]:
    """Give the slope and its standard error, as far as the readings have one."""
    count = len(years)
    mean_year, mean_error = math.fsum(years) / count, math.fsum(errors_ft) / count
    spread = math.fsum((year - mean_year) ** 2 for year in years)
    if not spread:
        return None, None
    pairs = tuple(zip(years, errors_ft, strict=True))
    slope = math.fsum((year - mean_year) * (error - mean_error) for year, error in pairs) / spread
    if count < _FEWEST_FOR_ERROR:
        return slope, None
    residual = math.fsum(
        (error - mean_error - slope * (year - mean_year)) ** 2 for year, error in pairs
    )
    return slope, math.sqrt(residual / (count - 2) / spread)
