"""Other detectors of drift on the same data, many series at a time, for the drift simulation.

Each takes differences of shape (flights, runs) and gives the statistic after each flight, of the
same shape; minus infinity where it cannot speak yet. They are told more than the product's
detector is: all but the self-starting sum know mean and scatter.
"""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tests.benchmarks.drift_series import OFFSET_FT, Array, Scatter

WINDOW = 50


def fixed_threshold(values: Array, scatter: Scatter) -> Array:
    """Give the distance of the single reading from the known mean."""
    return np.abs(values - OFFSET_FT) / scatter.recorded_sigma_ft


def known_cusum(values: Array, scatter: Scatter, allowance: float) -> Array:
    """Give the larger of the two sums with known mean and scatter, times twice the allowance.

    With an allowance of half the shift this is the optimal scheme for a shift of known size and
    unknown direction.
    """
    z = (values - OFFSET_FT) / scatter.recorded_sigma_ft
    out = np.empty_like(z)
    high = np.zeros(z.shape[1])
    low = np.zeros(z.shape[1])
    for flight, now in enumerate(z):
        high = np.maximum(high, 0.0) + 2.0 * allowance * (now - allowance)
        low = np.maximum(low, 0.0) + 2.0 * allowance * (-now - allowance)
        out[flight] = np.maximum(high, low)
    return out


def self_starting_cusum(values: Array, scatter: Scatter) -> Array:
    """Give Hawkins' self-starting sum, allowance 0.5, scores clipped at 3."""
    out = np.full_like(values, -np.inf)
    reference = values[0]
    total = np.zeros(values.shape[1])
    squares, high, low = total.copy(), total.copy(), total.copy()
    floor = scatter.resolution_ft / 6**0.5
    for count, raw in enumerate(values):
        now = raw - reference
        if count > 4:
            mean = total / count
            sigma = np.sqrt(np.maximum(squares / count - mean**2, 0.0) * count / (count - 1))
            t = (now - mean) / np.maximum(sigma, floor) * (count / (count + 1)) ** 0.5
            nu = count - 1
            score = np.sign(t) * (8 * nu + 1) / (8 * nu + 3)
            score = np.clip(score * np.sqrt(nu * np.log1p(t * t / nu)), -3.0, 3.0)
            high = np.maximum(0.0, high + score - 0.5)
            low = np.maximum(0.0, low - score - 0.5)
            if count >= 19:
                out[count] = np.maximum(high, low)
        total, squares = total + now, squares + now * now
    return out


def least_squares_slope(values: Array, scatter: Scatter) -> Array:
    """Give the slope over the last 50 readings in units of its standard deviation."""
    flight = np.arange(WINDOW) - (WINDOW - 1) / 2.0
    out = np.full_like(values, -np.inf)
    windows = sliding_window_view(values, WINDOW, axis=0)
    scale = scatter.recorded_sigma_ft * (flight @ flight) ** 0.5
    out[WINDOW - 1 :] = np.abs(windows @ flight) / scale
    return out


def median_slope(values: Array, scatter: Scatter) -> Array:
    """Give the Theil-Sen slope over the last 50 readings, in units of sigma a flight."""
    later, earlier = np.triu_indices(WINDOW, 1)[::-1]
    gaps = (later - earlier).astype(np.float32)
    out = np.full_like(values, -np.inf)
    small = values.astype(np.float32)
    for end in range(WINDOW, len(values) + 1):
        window = small[end - WINDOW : end]
        slopes = (window[later] - window[earlier]) / gaps[:, None]
        middle = len(gaps) // 2
        found = np.partition(slopes, middle, axis=0)[middle]
        out[end - 1] = np.abs(found) / scatter.recorded_sigma_ft
    return out


def unknown_mean_bound(values: Array, scatter: Scatter, shift: float) -> Array:
    """Give the summed evidence when all but mean, onset and direction is known.

    Nothing that does not know the mean can do much better: scatter and size of the shift are given.
    """
    out = np.full_like(values, -np.inf)
    z = values / scatter.recorded_sigma_ft
    sums = np.vstack([np.zeros(z.shape[1]), np.cumsum(z, axis=0)])
    for n in range(20, len(z) + 1):
        onset = np.arange(max(1, n - 400), n)
        after = (n - onset)[:, None]
        moment = sums[n] - sums[onset] - after * sums[n] / n
        worth = after * onset[:, None] / n
        logs = np.logaddexp(shift * moment, -shift * moment) - shift**2 * worth / 2.0
        out[n - 1] = np.logaddexp.reduce(logs, axis=0)
    return out


def first_alarm(statistic: Array, limit: float) -> Array:
    """Give the flight (from 0) of the first alarm of each run; the length where there is none."""
    hit = statistic >= limit
    return np.where(hit.any(axis=0), hit.argmax(axis=0), len(statistic)).astype(float)


def run_length(statistic: Array, limit: float) -> float:
    """Give the flights flown for each alarm."""
    found = first_alarm(statistic, limit)
    flown = np.minimum(found + 1, len(statistic)).sum()
    return float(flown / max((found < len(statistic)).sum(), 1))


def calibrated(statistic: Array, target: float) -> float:
    """Give the limit with which the average run length is the target."""
    finite = statistic[np.isfinite(statistic)]
    low, high = float(finite.min()), float(finite.max()) + 1e-6
    for _ in range(40):
        middle = (low + high) / 2.0
        if run_length(statistic, middle) < target:
            low = middle
        else:
            high = middle
    return high
