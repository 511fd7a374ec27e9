"""Trend of the difference between the primary altimeters, for showing.

Slopes are for the eye, not for alarms: a detector (:mod:`rvsmlog.science.drift`) sees a change in
half the flights or less, at the same rate of false alarms.
"""

import math
from collections.abc import Sequence

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.science.student import t_quantile

#: Probability with which an interval of a trend holds the true slope.
COVERAGE = 0.90
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


def _check(x: Sequence[float], y: Sequence[float]) -> None:
    if len(x) != len(y):
        raise InputError(f"{len(x)} days but {len(y)} differences", "give as many of each")
    if len(x) < _FEWEST:
        raise InputError(f"{len(x)} readings are too few for a trend", f"give {_FEWEST} or more")
    if min(x) == max(x):
        raise InputError("all readings are of one instant", "a trend needs readings of days")
