"""Trend of the difference between the primary altimeters, for showing.

Slopes are for the eye, not for alarms: a detector (:mod:`rvsmlog.science.drift`) sees a change in
half the flights or less, at the same rate of false alarms. Two trends are given. Least squares
uses the readings best when they are sound; the Theil-Sen slope, a median, is moved little by a few
bad ones but is blind where most readings agree to the step in which they are recorded.
"""

import math
from collections.abc import Sequence
from itertools import groupby
from statistics import NormalDist, median

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.science.student import t_quantile

#: Probability with which an interval of a trend holds the true slope.
COVERAGE = 0.90
#: The Theil-Sen slope of n readings is a median of n squared over two slopes.
MOST_READINGS = 1000
_FEWEST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastSquares:
    """A straight line by least squares.

    Parameters
    ----------
    intercept, slope : float
        The line ``y = intercept + slope x``.
    intercept_sd, slope_sd : float
        Their standard deviations.
    slope_low, slope_high : float
        Interval of the slope, by Student's t.
    residual_sd : float
        Scatter about the line.
    r_squared : float
        Share of the variation that the line takes up; 0 when there is none.
    count : int
        Points.
    """

    intercept: float
    slope: float
    intercept_sd: float
    slope_sd: float
    slope_low: float
    slope_high: float
    residual_sd: float
    r_squared: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MedianSlope:
    """A straight line by Theil and Sen.

    Parameters
    ----------
    intercept, slope : float
        Median of the pairwise slopes, and the line through the median x and the median y.
    slope_low, slope_high : float
        Interval of the slope (Sen, Journal of the American Statistical Association 63, 1968,
        from memory).
    count : int
        Points.
    """

    intercept: float
    slope: float
    slope_low: float
    slope_high: float
    count: int


def least_squares(x: Sequence[float], y: Sequence[float]) -> LeastSquares:
    """Fit a straight line by least squares.

    Parameters
    ----------
    x, y : sequence of float, shape (n,)
        Days and feet, say; three points or more.

    Returns
    -------
    LeastSquares
        In the units given.

    Raises
    ------
    InputError
        When there are too few points, or all have one x.
    """
    _check(x, y)
    n = len(x)
    x_mean, y_mean = math.fsum(x) / n, math.fsum(y) / n
    sxx = math.fsum((each - x_mean) ** 2 for each in x)
    syy = math.fsum((each - y_mean) ** 2 for each in y)
    sxy = math.fsum((a - x_mean) * (b - y_mean) for a, b in zip(x, y, strict=True))
    slope = sxy / sxx
    intercept = y_mean - slope * x_mean
    left = math.fsum((b - intercept - slope * a) ** 2 for a, b in zip(x, y, strict=True))
    residual_sd = math.sqrt(left / (n - 2))
    slope_sd = residual_sd / math.sqrt(sxx)
    half = t_quantile((1.0 + COVERAGE) / 2.0, n - 2) * slope_sd
    return LeastSquares(
        intercept=intercept,
        slope=slope,
        intercept_sd=residual_sd * math.sqrt(1.0 / n + x_mean**2 / sxx),
        slope_sd=slope_sd,
        slope_low=slope - half,
        slope_high=slope + half,
        residual_sd=residual_sd,
        r_squared=1.0 - left / syy if syy > 0.0 else 0.0,
        count=n,
    )


def median_slope(x: Sequence[float], y: Sequence[float]) -> MedianSlope:
    """Fit a straight line by the median of the pairwise slopes.

    Parameters
    ----------
    x, y : sequence of float, shape (n,)
        Days and feet, say; three points or more, :data:`MOST_READINGS` at most.

    Returns
    -------
    MedianSlope
        In the units given.

    Raises
    ------
    InputError
        When there are too few or too many points, or all have one x.
    """
    _check(x, y)
    if len(x) > MOST_READINGS:
        raise InputError(
            f"{len(x)} readings are too many for a median slope",
            f"take the newest {MOST_READINGS}",
        )
    slopes = sorted(
        (y[j] - y[i]) / (x[j] - x[i]) for i in range(len(x)) for j in range(i) if x[j] != x[i]
    )
    slope = median(slopes)
    reach = NormalDist().inv_cdf((1.0 + COVERAGE) / 2.0) * _sigma_of_signs(x, y)
    low = max(round((len(slopes) - reach) / 2.0) - 1, 0)
    high = min(round((len(slopes) + reach) / 2.0), len(slopes) - 1)
    return MedianSlope(
        intercept=median(y) - slope * median(x),
        slope=slope,
        slope_low=slopes[low],
        slope_high=slopes[high],
        count=len(x),
    )


def _sigma_of_signs(x: Sequence[float], y: Sequence[float]) -> float:
    """Give the standard deviation of Kendall's sum of signs, allowing for ties."""
    n = len(x)
    variance = n * (n - 1) * (2 * n + 5)
    for axis in (x, y):
        ties = [len(list(same)) for _, same in groupby(sorted(axis))]
        variance -= sum(k * (k - 1) * (2 * k + 5) for k in ties)
    return math.sqrt(max(variance, 0) / 18.0)


def _check(x: Sequence[float], y: Sequence[float]) -> None:
    if len(x) != len(y):
        raise InputError(f"{len(x)} days but {len(y)} differences", "give as many of each")
    if len(x) < _FEWEST:
        raise InputError(f"{len(x)} readings are too few for a trend", f"give {_FEWEST} or more")
    if min(x) == max(x):
        raise InputError("all readings are of one instant", "a trend needs readings of days")
