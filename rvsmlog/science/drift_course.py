"""Course of the difference between the primary altimeters: a line, a slow wander, and scatter.

For each of a few ratios of wander to scatter the line follows by generalised least squares; a
Kalman filter of one state whitens the readings, whatever their dates. The ratios are weighed by
their restricted likelihood. Nothing is assumed of level and slope beforehand.

Notes
-----
Regression whitened by a Kalman filter: A. C. Harvey, *Forecasting, Structural Time Series Models
and the Kalman Filter* (1989), from memory. With no wander it is ordinary least squares.
"""

import math
from collections.abc import Sequence
from datetime import datetime
from statistics import median

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass, replace
from rvsmlog.science.drift_evidence import smallest_sigma_ft
from rvsmlog.science.drift_readings import Point
from rvsmlog.science.drift_slips import pulled_in

#: Fewest values from which a course is fitted.
FEWEST = 10
#: Wander in a year, as standard deviation in units of the scatter of one reading. Each is as likely
#: as the others beforehand (a choice; common practice, no source); the readings weigh them.
WANDERS = (0.0, 0.25, 0.5, 1.0)
_DAYS_A_YEAR = 365.25
_SECONDS_A_DAY = 86400.0
#: Readings on either side with which one is compared to tell a digit slip.
_NEIGHBOURS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """The course for one ratio of wander to scatter; level and slope at the last reading.

    Parameters
    ----------
    weight : float
        Posterior probability of the ratio.
    wander : float
        Variance of the wander in a day, in units of ``sigma_ft`` squared.
    sigma_ft : float
        Scatter of one reading about the course, feet.
    level_ft, slope_ft_per_day : float
        Estimates.
    level_var, slope_var, covariance : float
        Their variances and covariance in units of ``sigma_ft`` squared.
    """

    weight: float
    wander: float
    sigma_ft: float
    level_ft: float
    slope_ft_per_day: float
    level_var: float
    slope_var: float
    covariance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Where the difference stands and how it moves.

    Parameters
    ----------
    last_at : datetime
        Last reading, from which days and flights are counted.
    count : int
        Readings used.
    branches : tuple of Branch
        One for each ratio of wander to scatter.
    flight_days : float
        Mean days from flight to flight.
    flight_days_sd : float
        Standard deviation of the days from flight to flight.
    """

    last_at: datetime
    count: int
    branches: tuple[Branch, ...]
    flight_days: float
    flight_days_sd: float

    @property
    def level_ft(self) -> float:
        """Where the difference stands at the last reading, feet."""
        return sum(branch.weight * branch.level_ft for branch in self.branches)

    @property
    def slope_ft_per_day(self) -> float:
        """How it moves, feet a day."""
        return sum(branch.weight * branch.slope_ft_per_day for branch in self.branches)


def fit_course(series: Sequence[Point], *, resolution_ft: float) -> Course:
    """Fit the course of the difference to one band's points.

    Parameters
    ----------
    series : sequence of Point
        Points since the last restart, or since the onset of a change that raised an alarm.
    resolution_ft : float
        Step in which the differences are recorded, feet.

    Returns
    -------
    Course
        The course as known at the last point.

    Raises
    ------
    InputError
        When there are fewer than :data:`FEWEST` points, or all are of one instant.
    """
    ordered = sorted(series, key=lambda point: point.at)
    if len(ordered) < FEWEST:
        raise InputError(
            f"{len(ordered)} readings are too few for a forecast",
            f"a forecast needs {FEWEST} or more since the last change",
        )
    days = [(point.at - ordered[0].at).total_seconds() / _SECONDS_A_DAY for point in ordered]
    if days[-1] <= 0.0:
        raise InputError("all readings are of one instant", "a forecast needs readings of days")
    floor = smallest_sigma_ft(resolution_ft)
    values = _without_slips([point.difference_ft for point in ordered], floor)
    fits = [_branch(days, values, wander, floor) for wander in WANDERS]
    top = max(log for log, _ in fits)
    total = sum(math.exp(log - top) for log, _ in fits)
    gap, gap_sd = _flight_gaps(ordered, days)
    return Course(
        last_at=ordered[-1].at,
        count=len(ordered),
        branches=tuple(replace(branch, weight=math.exp(log - top) / total) for log, branch in fits),
        flight_days=gap,
        flight_days_sd=gap_sd,
    )


def _without_slips(values: Sequence[float], floor: float) -> tuple[float, ...]:
    """Pull readings that lie far off the running median back towards it."""
    middles = [
        median(values[max(0, i - _NEIGHBOURS) : i + _NEIGHBOURS + 1]) for i in range(len(values))
    ]
    return pulled_in(values, middles, floor)


def _flight_gaps(ordered: Sequence[Point], days: Sequence[float]) -> tuple[float, float]:
    flown = max(ordered[-1].flight_index - ordered[0].flight_index, 1)
    mean = days[-1] / flown
    squares = sum(
        (later - earlier - mean * (after.flight_index - before.flight_index)) ** 2
        for earlier, later, before, after in zip(days, days[1:], ordered, ordered[1:], strict=False)
    )
    return mean, math.sqrt(squares / flown)


def _branch(
    days: Sequence[float], values: Sequence[float], wander: float, floor_ft: float
) -> tuple[float, Branch]:
    """Fit the line for one ratio of wander to scatter; give its log likelihood beside it."""
    ratio = wander * wander / _DAYS_A_YEAR
    syy = sy1 = syt = s11 = s1t = stt = log_f = 0.0
    my = m1 = mt = variance = before = 0.0
    for day, value in zip(days, values, strict=True):
        variance += ratio * (day - before)
        before = day
        f = variance + 1.0
        gain = variance / f
        vy, v1, vt = value - my, 1.0 - m1, day - mt
        my, m1, mt = my + gain * vy, m1 + gain * v1, mt + gain * vt
        variance = gain
        log_f += math.log(f)
        syy, sy1, syt = syy + vy * vy / f, sy1 + vy * v1 / f, syt + vy * vt / f
        s11, s1t, stt = s11 + v1 * v1 / f, s1t + v1 * vt / f, stt + vt * vt / f
    determinant = s11 * stt - s1t * s1t
    start = (sy1 * stt - syt * s1t) / determinant
    slope = (syt * s11 - sy1 * s1t) / determinant
    freedom = len(values) - 2
    left = max(syy - start * sy1 - slope * syt, freedom * floor_ft**2)
    log = -0.5 * (log_f + math.log(determinant) + freedom * math.log(left))
    g1, gt = 1.0 - m1, days[-1] - mt
    return log, Branch(
        weight=0.0,
        wander=ratio,
        sigma_ft=math.sqrt(left / freedom),
        level_ft=start + slope * days[-1] + my - start * m1 - slope * mt,
        slope_ft_per_day=slope,
        level_var=variance + (g1 * g1 * stt - 2.0 * g1 * gt * s1t + gt * gt * s11) / determinant,
        slope_var=s11 / determinant,
        covariance=(gt * s11 - g1 * s1t) / determinant,
    )
