"""Error common to both altimeters: the estimate over several flights.

Errors are counted as in :mod:`rvsmlog.science.static_error`, positive when the aircraft is higher
than it shows, and :data:`~rvsmlog.science.static_error.NOT_HEIGHT_MONITORING` goes with every
result.
"""

import math
from collections.abc import Sequence
from enum import StrEnum
from statistics import NormalDist, fmean

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.static_error import (
    NOT_HEIGHT_MONITORING,
    FlightResidual,
    SignConvention,
    residual_of_other_kind_ft,
)
from rvsmlog.science.weather_worth import WeatherSource

#: Two-sided probability of an alarm without cause, unless the caller says otherwise.
FALSE_ALARM = 0.01
NORMAL = NormalDist()
# Where between the stated kind of height (0) and the other (1) the two are parted.
_HALFWAY = 0.5


class KindVerdict(StrEnum):
    """Whether the stated kind of satellite height fits the flights."""

    RIGHT = "the stated kind of height fits"
    WRONG = "the other kind of height fits"
    CANNOT_TELL = "the flights do not tell which kind of height was read"


@dataclass(frozen=True, slots=True, kw_only=True)
class KindEvidence:
    """Which kind of height the flights fit, from how residuals follow the undulation.

    Parameters
    ----------
    share : float or None
        0 when residuals do not follow the undulation, 1 when they follow it as they would with
        the other kind of height; None when the undulations are too much alike to tell.
    sigma : float or None
        Standard deviation of the share.
    verdict : KindVerdict
        The reading of both.
    """

    share: float | None
    sigma: float | None
    verdict: KindVerdict


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledError:
    """Common error over several flights.

    Parameters
    ----------
    mean_ft, sigma_ft : float
        Weighted mean of the residuals and its standard deviation, feet.
    low_ft, high_ft : float
        Interval of the mean, feet.
    confidence : float
        Confidence of the interval.
    flights, independent : int
        Residuals given, and groups of them that share neither flight nor weather.
    spread_ratio : float or None
        Scatter of the groups over what their weather lets expect; None for a single group.
    widened : bool
        Whether that scatter was too great to be chance (1 per cent), and the interval was
        widened by the ratio.
    kind : KindVerdict
        Which kind of satellite height fits.
    doubtful : tuple of str
        Flights whose residual looks like that of the other kind of height.
    sources : tuple of WeatherSource
        Kinds of weather used.
    sign : SignConvention
        How the mean is counted.
    caution : str
        What this is not.
    """

    mean_ft: float
    sigma_ft: float
    low_ft: float
    high_ft: float
    confidence: float
    flights: int
    independent: int
    spread_ratio: float | None
    widened: bool
    kind: KindVerdict
    doubtful: tuple[str, ...]
    sources: tuple[WeatherSource, ...]
    sign: SignConvention = SignConvention.HIGHER_IS_POSITIVE
    caution: str = NOT_HEIGHT_MONITORING

    @property
    def kind_settled(self) -> bool:
        """Say whether nothing speaks for the other kind of height."""
        return self.kind is KindVerdict.RIGHT or (
            self.kind is KindVerdict.CANNOT_TELL and not self.doubtful
        )


def checked_share(value: float, what: str) -> float:
    """Give back a probability that lies between 0 and 1; refuse any other."""
    if not 0.0 < value < 1.0:
        raise OutOfRangeError(f"{what} {value:g} is out of range", "it lies between 0 and 1")
    return value


def reach(false_alarm: float) -> float:
    """Give how many standard deviations a two-sided test of that level allows."""
    return NORMAL.inv_cdf(1.0 - checked_share(false_alarm, "false alarm") / 2.0)


def height_kind_evidence(flights: Sequence[FlightResidual]) -> KindEvidence:
    """Weigh whether residuals follow the undulation from flight to flight.

    A static error is the same wherever one flies; a height of the wrong kind is off by the
    undulation, which changes from region to region. The weighted slope of the one on the other
    parts the two where the undulations of the flights differ enough.

    Parameters
    ----------
    flights : sequence of FlightResidual
        Flights of one aeroplane.

    Returns
    -------
    KindEvidence
        Right or wrong only when the slope's whole interval (two-sided 1 per cent) lies within a
        half of 0 or of 1.
    """
    points = [
        (residual_of_other_kind_ft(one.undulation_ft, one.height_kind), one) for one in flights
    ]
    weights = [1.0 / one.sigma_ft**2 for one in flights]
    mean = math.fsum(w * x for w, (x, _) in zip(weights, points, strict=True)) / math.fsum(weights)
    information = math.fsum(w * (x - mean) ** 2 for w, (x, _) in zip(weights, points, strict=True))
    wide = reach(FALSE_ALARM)
    # An interval wider than this reaches past the halfway mark wherever the share lies.
    if information * _HALFWAY**2 <= wide**2:
        return KindEvidence(share=None, sigma=None, verdict=KindVerdict.CANNOT_TELL)
    share = (
        math.fsum(
            w * (x - mean) * one.residual_ft for w, (x, one) in zip(weights, points, strict=True)
        )
        / information
    )
    sigma = 1.0 / math.sqrt(information)
    verdict = KindVerdict.CANNOT_TELL
    if abs(share) + wide * sigma < _HALFWAY:
        verdict = KindVerdict.RIGHT
    elif abs(share - 1.0) + wide * sigma < _HALFWAY:
        verdict = KindVerdict.WRONG
    return KindEvidence(share=share, sigma=sigma, verdict=verdict)


def _groups(flights: Sequence[FlightResidual]) -> list[list[FlightResidual]]:
    """Gather flights that share a flight name or a piece of weather, directly or by others."""
    groups: list[tuple[set[str], list[FlightResidual]]] = []
    for one in flights:
        keys = {f"flight {one.flight}", *(f"weather {key}" for key in one.weather)}
        members = [one]
        apart = []
        for group_keys, group in groups:
            if group_keys & keys:
                keys |= group_keys
                members = group + members
            else:
                apart.append((group_keys, group))
        groups = [*apart, (keys, members)]
    return [members for _, members in groups]


def _too_scattered(chi_squared: float, freedom: int) -> bool:
    """Say whether a sum of squares exceeds 99 per cent of chi-squared (Wilson and Hilferty)."""
    part = 2.0 / (9.0 * freedom)
    limit = freedom * (1.0 - part + NORMAL.inv_cdf(1.0 - FALSE_ALARM) * math.sqrt(part)) ** 3
    return chi_squared > limit


def pooled_error(
    flights: Sequence[FlightResidual], *, confidence: float = 1.0 - FALSE_ALARM
) -> PooledError:
    """Estimate the common error from several flights.

    Flights that share weather, and segments of one flight, are averaged first and count once,
    with the largest standard deviation among them.

    Parameters
    ----------
    flights : sequence of FlightResidual
        Flights of one aeroplane in one state of its static system.
    confidence : float
        Confidence of the interval.

    Returns
    -------
    PooledError
        The estimate; doubts about the kind of height are carried, not acted upon.

    Raises
    ------
    InputError
        When there is no flight.
    OutOfRangeError
        When the confidence is out of range.
    """
    if not flights:
        raise InputError("there is no flight to estimate from", "log flights with both heights")
    groups = _groups(flights)
    mean, sigma, ratio, widened = _weighted_mean(groups)
    wide = reach(1.0 - checked_share(confidence, "confidence")) * sigma
    return PooledError(
        mean_ft=mean,
        sigma_ft=sigma,
        low_ft=mean - wide,
        high_ft=mean + wide,
        confidence=confidence,
        flights=len(flights),
        independent=len(groups),
        spread_ratio=ratio,
        widened=widened,
        kind=height_kind_evidence(flights).verdict,
        doubtful=tuple(one.flight for one in flights if one.kind_doubtful),
        sources=tuple(sorted({one.source for one in flights})),
    )


def _weighted_mean(
    groups: Sequence[Sequence[FlightResidual]],
) -> tuple[float, float, float | None, bool]:
    """Give mean, its standard deviation, the ratio of scatter, and whether that widened it."""
    values = [fmean(one.residual_ft for one in group) for group in groups]
    weights = [1.0 / max(one.sigma_ft for one in group) ** 2 for group in groups]
    total = math.fsum(weights)
    mean = math.fsum(w * value for w, value in zip(weights, values, strict=True)) / total
    sigma, freedom = 1.0 / math.sqrt(total), len(groups) - 1
    if not freedom:
        return mean, sigma, None, False
    squares = math.fsum(w * (v - mean) ** 2 for w, v in zip(weights, values, strict=True))
    ratio, widened = math.sqrt(squares / freedom), _too_scattered(squares, freedom)
    return mean, sigma * ratio if widened else sigma, ratio, widened
