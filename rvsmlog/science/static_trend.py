"""Error common to both altimeters: whether it changed, and whether it is beyond a limit.

Errors are counted as in :mod:`rvsmlog.science.static_error`, positive when the aircraft is higher
than it shows, and :data:`~rvsmlog.science.static_error.NOT_HEIGHT_MONITORING` goes with every
result.
"""

import math
from collections.abc import Sequence
from enum import StrEnum

from rvsmlog.errors import OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.static_error import FlightResidual
from rvsmlog.science.static_pool import (
    FALSE_ALARM,
    NORMAL,
    PooledError,
    checked_share,
    pooled_error,
    reach,
)
from rvsmlog.science.weather_worth import WORTH, WeatherSource

#: Probability of seeing a shift that is there, unless the caller says otherwise.
POWER = 0.95


class ChangeVerdict(StrEnum):
    """What a comparison of two periods says."""

    CHANGED = "changed"
    NOT_SEEN = "no change seen"
    CANNOT_TELL = "cannot tell"


class LimitVerdict(StrEnum):
    """What a comparison with a limit of altimetry system error says."""

    BEYOND = "beyond the limit"
    WITHIN = "within the limit"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True, kw_only=True)
class PeriodChange:
    """Difference of the common error between two periods.

    Parameters
    ----------
    change_ft, sigma_ft : float
        Later less earlier mean and its standard deviation, feet.
    low_ft, high_ft : float
        Interval of the change, feet.
    visible_ft : float
        Smallest change that so many flights show with the power wanted, feet.
    verdict : ChangeVerdict
        Changed, no change seen, or cannot tell.
    reason : str
        Why it cannot be told, or empty.
    before, after : PooledError
        The two periods.
    """

    change_ft: float
    sigma_ft: float
    low_ft: float
    high_ft: float
    visible_ft: float
    verdict: ChangeVerdict
    reason: str
    before: PooledError
    after: PooledError


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitComparison:
    """Common error against a limit of altimetry system error.

    Parameters
    ----------
    limit_ft : float
        The limit, feet, either way.
    verdict : LimitVerdict
        Beyond when the whole interval is, within when the whole interval is, else cannot tell.
    reason : str
        Why it cannot be told, or empty.
    pooled : PooledError
        What was compared.
    """

    limit_ft: float
    verdict: LimitVerdict
    reason: str
    pooled: PooledError


_KIND_REASON = (
    "the residuals look as if the satellite height were of the other kind than stated; confirm by "
    "the receiver's manual, or by reading it on the ground at a known elevation, whether it is "
    "above the ellipsoid or above mean sea level"
)


def compare_periods(
    before: Sequence[FlightResidual],
    after: Sequence[FlightResidual],
    *,
    false_alarm: float = FALSE_ALARM,
    power: float = POWER,
) -> PeriodChange:
    """Say whether the common error changed between two periods.

    Parameters
    ----------
    before, after : sequence of FlightResidual
        Flights of one aeroplane in each period (before and after work on the static system, say).
    false_alarm : float
        Two-sided probability of saying so without a change.
    power : float
        Power for which the smallest visible change is given.

    Returns
    -------
    PeriodChange
        "No change seen" is worth no more than ``visible_ft`` says.

    Raises
    ------
    InputError
        When a period has no flight.
    """
    earlier, later = pooled_error(before), pooled_error(after)
    change = later.mean_ft - earlier.mean_ft
    sigma = math.hypot(earlier.sigma_ft, later.sigma_ft)
    wide = reach(false_alarm) * sigma
    reason = _change_reason(earlier, later)
    verdict = ChangeVerdict.CHANGED if abs(change) > wide else ChangeVerdict.NOT_SEEN
    return PeriodChange(
        change_ft=change,
        sigma_ft=sigma,
        low_ft=change - wide,
        high_ft=change + wide,
        visible_ft=wide + NORMAL.inv_cdf(checked_share(power, "power")) * sigma,
        verdict=ChangeVerdict.CANNOT_TELL if reason else verdict,
        reason=reason,
        before=earlier,
        after=later,
    )


def _change_reason(before: PooledError, after: PooledError) -> str:
    if not (before.kind_settled and after.kind_settled):
        return _KIND_REASON
    own = {*before.sources, *after.sources} - {WeatherSource.OWN_CLIMB}
    if own and WeatherSource.OWN_CLIMB in (*before.sources, *after.sources):
        return (
            "own climbs are mixed with other weather: the probe's own error cancels only between "
            "own climbs"
        )
    return ""


def compare_with_limit(pooled: PooledError, limit_ft: float) -> LimitComparison:
    """Compare the common error with a limit of altimetry system error.

    Parameters
    ----------
    pooled : PooledError
        The estimate.
    limit_ft : float
        Limit, feet, either way.

    Returns
    -------
    LimitComparison
        Within or beyond only when the whole interval is.

    Raises
    ------
    OutOfRangeError
        When the limit is not positive.
    """
    if not 0.0 < limit_ft < math.inf:
        raise OutOfRangeError(f"limit {limit_ft:g} ft is out of range", "give a positive number")
    reason = ""
    if not pooled.kind_settled:
        reason = _KIND_REASON
    elif not all(WORTH[source].absolute for source in pooled.sources):
        reason = "heights from an own climb carry the probe's error: they show change only"
    verdict = LimitVerdict.CANNOT_TELL
    if not reason:
        if pooled.low_ft > limit_ft or pooled.high_ft < -limit_ft:
            verdict = LimitVerdict.BEYOND
        elif -limit_ft <= pooled.low_ft and pooled.high_ft <= limit_ft:
            verdict = LimitVerdict.WITHIN
        else:
            reason = "the interval reaches across the limit: more flights are needed"
    return LimitComparison(limit_ft=limit_ft, verdict=verdict, reason=reason, pooled=pooled)
