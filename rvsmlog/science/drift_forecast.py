"""When the difference between the primary altimeters reaches a tolerance, and where it will stand.

Forecasts rest on :mod:`rvsmlog.science.drift_course`. The difference on a day follows a mixture of
Student distributions, one for each branch. The day of passage is read off the draws of
:mod:`rvsmlog.science.drift_passage`; both sides of the tolerance are tried, and the earlier passage
counts.
"""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

from rvsmlog.errors import OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.drift_course import Course
from rvsmlog.science.drift_passage import draws, flights_until, passage_days
from rvsmlog.science.student import t_probability, t_quantile

#: Share of forecasts whose interval holds what comes.
COVERAGE = 0.90
_SHARES = ((1.0 - COVERAGE) / 2.0, 0.5, (1.0 + COVERAGE) / 2.0)
_FEET_PRECISION = 1e-9
_SHARE_PRECISION = 1e-10
_LAST_YEAR = 2199
_FAR_FUTURE_DAYS = 365.25 * 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """An interval that holds the outcome with probability :data:`COVERAGE`, and its middle.

    Parameters
    ----------
    low, likely, high : float
        5 %, 50 % and 95 % points; infinite where it may never come.
    """

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """When the difference will reach the tolerance.

    Parameters
    ----------
    tolerance_ft : float
        The tolerance, either way, feet.
    days, flights : Span
        Days and flights after the last reading; 0 when it is reached already.
    """

    tolerance_ft: float
    days: Span
    flights: Span
    last_at: datetime

    @property
    def earliest_at(self) -> datetime | None:
        """Day of the 5 % point; None when it lies beyond any calendar worth keeping."""
        return _date(self.last_at, self.days.low)

    @property
    def likely_at(self) -> datetime | None:
        """Day of the 50 % point, or None."""
        return _date(self.last_at, self.days.likely)

    @property
    def latest_at(self) -> datetime | None:
        """Day of the 95 % point, or None."""
        return _date(self.last_at, self.days.high)


def _date(last_at: datetime, days: float) -> datetime | None:
    if days >= _FAR_FUTURE_DAYS:
        return None
    found = last_at + timedelta(days=days)
    return found if found.year <= _LAST_YEAR else None


def reach(course: Course, tolerance_ft: float) -> Reach:
    """Forecast when the difference reaches a tolerance.

    Parameters
    ----------
    course : Course
        As fitted.
    tolerance_ft : float
        The tolerance, either way, feet.

    Returns
    -------
    Reach
        What reaches the tolerance is the difference itself, not one scattered reading of it.

    Raises
    ------
    OutOfRangeError
        When the tolerance is not positive.
    """
    if not 0.0 < tolerance_ft < math.inf:
        raise OutOfRangeError(
            f"tolerance of {tolerance_ft:g} ft is out of range", "give a positive number of feet"
        )
    sides: tuple[list[float], ...] = ([], [], [], [])
    for draw in draws(course):
        up, down = passage_days(draw, tolerance_ft)
        outcomes = (up, down, flights_until(course, up, draw), flights_until(course, down, draw))
        for side, found in zip(sides, outcomes, strict=True):
            side.append(found)
    days_up, days_down, flights_up, flights_down = map(_span, sides)
    return Reach(
        tolerance_ft=tolerance_ft,
        days=_earlier(days_up, days_down),
        flights=_earlier(flights_up, flights_down),
        last_at=course.last_at,
    )


def _earlier(up: Span, down: Span) -> Span:
    return Span(
        low=min(up.low, down.low), likely=min(up.likely, down.likely), high=min(up.high, down.high)
    )


def difference_at(course: Course, at: datetime, *, one_reading: bool = False) -> Span:
    """Forecast the difference on a day.

    Parameters
    ----------
    course : Course
        As fitted.
    at : datetime
        Instant, not before the last reading, aware.
    one_reading : bool
        Whether a single reading is meant, with its scatter, or the difference itself.

    Returns
    -------
    Span
        Feet, altimeter 1 less altimeter 2.

    Raises
    ------
    OutOfRangeError
        When the instant lies before the last reading.
    """
    parts = _parts(course, at, one_reading=one_reading)
    low, likely, high = (_mixed_quantile(share, parts, course.count - 2) for share in _SHARES)
    return Span(low=low, likely=likely, high=high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """How likely the difference is to be beyond a tolerance on a day.

    Parameters
    ----------
    below, above : float
        Probabilities that it is beyond it on the one side and on the other.
    """

    below: float
    above: float

    @property
    def likely(self) -> bool:
        """Whether the middle of the forecast is beyond it: :attr:`Span.likely`."""
        return max(self.below, self.above) > _SHARES[1]

    @property
    def possible(self) -> bool:
        """Whether the interval of the forecast reaches beyond it, on either side."""
        return max(self.below, self.above) > _SHARES[0]


def chance_beyond(course: Course, at: datetime, tolerance_ft: float) -> Chance:
    """Say how likely the difference is to be beyond a tolerance: two values, no root to find.

    Parameters
    ----------
    course : Course
        As fitted.
    at : datetime
        Instant, not before the last reading, aware.
    tolerance_ft : float
        The tolerance, either way, feet.

    Raises
    ------
    OutOfRangeError
        When the instant lies before the last reading.
    """
    parts, freedom = _parts(course, at), course.count - 2
    # What is above on the one side is below on the other, seen in a mirror: no digits are lost.
    mirrored = [(weight, -middle, scale) for weight, middle, scale in parts]
    return Chance(
        below=_mixed_probability(-tolerance_ft, parts, freedom),
        above=_mixed_probability(-tolerance_ft, mirrored, freedom),
    )


def likely_beyond(course: Course, at: datetime, tolerance_ft: float) -> bool:
    """Say whether the middle of the forecast is beyond a tolerance: :attr:`Chance.likely`.

    Parameters
    ----------
    course, at, tolerance_ft
        As in :func:`chance_beyond`.
    """
    middles = [middle for weight, middle, _ in _parts(course, at) if weight > 0.0]
    known = _known_beyond(middles, tolerance_ft)
    return chance_beyond(course, at, tolerance_ft).likely if known is None else known


def possibly_beyond(course: Course, at: datetime, tolerance_ft: float) -> bool:
    """Say whether the interval of the forecast reaches beyond a tolerance: :attr:`Chance.possible`.

    Parameters
    ----------
    course, at, tolerance_ft
        As in :func:`chance_beyond`.
    """
    reach = t_quantile(_SHARES[2], course.count - 2)
    parts = [each for each in _parts(course, at) if each[0] > 0.0]
    above = _known_beyond([middle + reach * scale for _, middle, scale in parts], tolerance_ft)
    below = _known_beyond([middle - reach * scale for _, middle, scale in parts], tolerance_ft)
    if above or below:
        return True
    if above is None or below is None:
        return chance_beyond(course, at, tolerance_ft).possible
    return False


def _known_beyond(points: Sequence[float], tolerance_ft: float) -> bool | None:
    """Say whether a point of a mixture is beyond a tolerance, by those of its parts.

    It lies among them. Only where some are beyond the tolerance and others are not need the
    probabilities be worked out: None.
    """
    low, high = min(points), max(points)
    if -tolerance_ft < low and high < tolerance_ft:
        return False
    return True if low > tolerance_ft or high < -tolerance_ft else None


def _parts(
    course: Course, at: datetime, *, one_reading: bool = False
) -> list[tuple[float, float, float]]:
    """Give the mixture that the difference follows on a day: weights, middles, scales."""
    ahead = (at - course.last_at).total_seconds() / 86400.0
    if ahead < 0.0:
        raise OutOfRangeError(
            f"{at.isoformat()} lies before the last reading", "ask for a later day"
        )
    parts = []
    for branch in course.branches:
        spread = branch.level_var + ahead * (2.0 * branch.covariance + ahead * branch.slope_var)
        spread += branch.wander * ahead + (1.0 if one_reading else 0.0)
        middle = branch.level_ft + ahead * branch.slope_ft_per_day
        parts.append((branch.weight, middle, branch.sigma_ft * math.sqrt(spread)))
    return parts


def _mixed_quantile(
    probability: float, parts: Sequence[tuple[float, float, float]], freedom: int
) -> float:
    """Give the quantile of a mixture of Student distributions (weight, middle, scale)."""
    single = t_quantile(probability, freedom)
    ends = [middle + scale * single for weight, middle, scale in parts if weight > 0.0]
    low, high = min(ends), max(ends)
    off_low, off_high = (
        _mixed_probability(end, parts, freedom) - probability for end in (low, high)
    )
    # False position; an end that stays twice running is drawn in by halving its weight (Illinois).
    moved = 0
    while high - low > _FEET_PRECISION and off_low < 0.0 < off_high:
        tried = (low * off_high - high * off_low) / (off_high - off_low)
        off = _mixed_probability(tried, parts, freedom) - probability
        if abs(off) < _SHARE_PRECISION:
            return tried
        if off < 0.0:
            low, off_low = tried, off
            off_high *= 0.5 if moved < 0 else 1.0
            moved = -1
        else:
            high, off_high = tried, off
            off_low *= 0.5 if moved > 0 else 1.0
            moved = 1
    return low if off_low >= 0.0 else high


def _mixed_probability(
    value: float, parts: Sequence[tuple[float, float, float]], freedom: int
) -> float:
    return sum(
        weight * t_probability((value - middle) / scale, freedom) for weight, middle, scale in parts
    )


def _span(found: Sequence[float]) -> Span:
    ranked = sorted(found)
    low, likely, high = (ranked[int(share * len(ranked))] for share in _SHARES)
    return Span(low=low, likely=likely, high=high)
