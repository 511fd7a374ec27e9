"""What a change looked like: when it began, how far it went, and whether at once or by and by.

The detector's own state says this roughly and at once; here all points since the restart are
weighed again, every onset for itself, both as a step and as a steady drift that still goes on.
"""

import math
from collections.abc import Sequence
from itertools import accumulate
from statistics import median

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.science.drift_evidence import log_ratio, log_sum, smallest_sigma_ft
from rvsmlog.science.drift_readings import Point
from rvsmlog.science.drift_slips import pulled_in

#: Probability with which the onset is held to lie within the range given.
COVERAGE = 0.90
FEWEST = 10
_FIRST_ONSET = 4
_NEIGHBOURS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """The change that the points since a restart show best.

    Parameters
    ----------
    onset : Point
        First point after the likeliest onset.
    earliest, latest : Point
        First points after the ends of the range that holds the onset.
    onset_index : int
        Points before the likeliest onset.
    size_ft : float
        How far altimeter 1 has risen against altimeter 2 by the last point, feet.
    size_sd_ft : float
        Its standard deviation, feet.
    gradual : float
        Probability that it was a steady drift, not a step, should it be one of the two.
    log_evidence : float
        Logarithm of the mean likelihood ratio of a change against none.
    """

    onset: Point
    earliest: Point
    latest: Point
    onset_index: int
    size_ft: float
    size_sd_ft: float
    gradual: float
    log_evidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    log: float
    size: float
    worth: float
    left: float


def describe_change(series: Sequence[Point], *, resolution_ft: float) -> Change:
    """Describe the change that one band's points show best, whether there is one or not.

    Parameters
    ----------
    series : sequence of Point
        Points since the last restart, in order of time.
    resolution_ft : float
        Step in which the differences are recorded, feet.

    Returns
    -------
    Change
        Worth reading once the detector has raised an alarm.

    Raises
    ------
    InputError
        When there are fewer than :data:`FEWEST` points.
    """
    if len(series) < FEWEST:
        raise InputError(
            f"{len(series)} readings are too few to describe a change", f"give {FEWEST} or more"
        )
    floor = smallest_sigma_ft(resolution_ft)
    values = _without_slips([point.difference_ft for point in series], floor)
    steps, ramps = _fits(values, floor)
    logs = [log_sum([a.log, b.log]) for a, b in zip(steps, ramps, strict=True)]
    total = log_sum(logs)
    best = logs.index(max(logs))
    early, late = _range([math.exp(log - total) for log in logs])
    gradual = math.exp(log_sum([fit.log for fit in ramps]) - total)
    fit = ramps[best] if ramps[best].log > steps[best].log else steps[best]
    sigma = math.sqrt(fit.left / (len(values) - 2))
    return Change(
        onset=series[best + _FIRST_ONSET],
        earliest=series[early + _FIRST_ONSET],
        latest=series[late + _FIRST_ONSET],
        onset_index=best + _FIRST_ONSET,
        size_ft=fit.size,
        size_sd_ft=sigma / math.sqrt(fit.worth),
        gradual=gradual,
        log_evidence=total - math.log(2 * len(logs)),
    )


def _without_slips(values: Sequence[float], floor: float) -> tuple[float, ...]:
    middles = [
        median(values[max(0, i - _NEIGHBOURS) : i + _NEIGHBOURS + 1]) for i in range(len(values))
    ]
    return pulled_in(values, middles, floor)


def _fits(values: Sequence[float], floor: float) -> tuple[list[_Fit], list[_Fit]]:
    """Fit a step and a ramp from each onset on."""
    n = len(values)
    mean = math.fsum(values) / n
    off = [value - mean for value in values]
    spread = math.fsum(each * each for each in off)
    after = list(accumulate(reversed(off)))[::-1]
    climbing = list(accumulate(reversed(after)))[::-1]
    steps, ramps = [], []
    for onset in range(_FIRST_ONSET, n):
        count = n - onset
        steps.append(_fit(n, after[onset], count * onset / n, spread, floor))
        # A ramp is counted in units of what it has reached by the last value.
        sums, squares = (count + 1) / 2.0, (count + 1) * (2 * count + 1) / (6.0 * count)
        ramps.append(_fit(n, climbing[onset] / count, squares - sums * sums / n, spread, floor))
    return steps, ramps


def _fit(n: int, moment: float, worth: float, spread: float, floor: float) -> _Fit:
    explained = moment * moment / worth
    left = max(spread - explained, (n - 2) * floor**2)
    return _Fit(
        log=log_ratio(n, worth, explained, left), size=moment / worth, worth=worth, left=left
    )


def _range(shares: Sequence[float]) -> tuple[int, int]:
    """Give the ends of the likeliest onsets that together hold the coverage."""
    ranked = sorted(range(len(shares)), key=lambda index: -shares[index])
    held, total = [], 0.0
    for index in ranked:
        held.append(index)
        total += shares[index]
        if total >= COVERAGE:
            break
    return min(held), max(held)
