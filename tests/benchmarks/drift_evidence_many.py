"""The product's drift detector over many series at a time; the simulation proves it equal.

Blocks of onsets join by age alone, so all series share one layout of blocks and differ only in
what stands in them.
"""

import numpy as np
from numpy.typing import NDArray

from rvsmlog.science import drift, drift_evidence
from tests.benchmarks.drift_series import Array

_ROOM = 96
_FIRST = 5


class Detectors:
    """One detector for each series."""

    def __init__(self, runs: int, resolution_ft: float, clip: float = drift.CLIP) -> None:
        self.floor = drift_evidence.smallest_sigma_ft(resolution_ft) ** 2
        self.resolution_ft = resolution_ft
        self.clip = clip
        self.count = 0
        self.blocks: list[int] = []
        self.first: list[Array] = []
        self.reference, self.total, self.squares = (np.zeros(runs) for _ in range(3))
        self.onset, self.before, self.weight, self.ratio = (
            np.zeros((_ROOM, runs)) for _ in range(4)
        )

    def advance(self, values: Array) -> Array:
        """Take in one value of each series; give the logarithm of the summed evidence."""
        if self.count == 0:
            self.reference = values.copy()
        now = values - self.reference
        self._begin(now)
        now = self._clipped(now)
        if self.count >= _FIRST:
            size = len(self.blocks)
            self.blocks.append(self.count)
            self.onset[size], self.before[size] = self.count, self.total
            self.weight[size] = self.ratio[size] = 0.0
        self.count += 1
        self.total = self.total + now
        self.squares = self.squares + now * now
        size = len(self.blocks)
        if not size:
            return np.full(len(values), -np.inf)
        self.ratio[:size] = self._ratios(size)
        evidence = self.weight[:size] + self.ratio[:size]
        top = evidence.max(axis=0)
        total = np.asarray(top + np.log(np.exp(evidence - top).sum(axis=0)))
        self._join()
        return total

    def _begin(self, now: Array) -> None:
        """Pull the first few values in about their median."""
        if self.count < _FIRST:
            self.first.append(now)
        if self.count != _FIRST:
            return
        first = np.array(self.first)
        middle = np.median(first, axis=0)
        sigma = np.maximum(1.4826 * np.median(np.abs(first - middle), axis=0), self.resolution_ft)
        first = middle + np.clip(first - middle, -drift.CLIP * sigma, drift.CLIP * sigma)
        self.total, self.squares = first.sum(axis=0), (first**2).sum(axis=0)

    def keep(self, chosen: NDArray[np.bool_]) -> None:
        """Go on with some of the series only."""
        self.reference, self.total, self.squares = (
            each[chosen] for each in (self.reference, self.total, self.squares)
        )
        self.onset, self.before, self.weight, self.ratio = (
            each[:, chosen] for each in (self.onset, self.before, self.weight, self.ratio)
        )

    def _clipped(self, now: Array) -> Array:
        n = self.count
        if n < _FIRST:
            return now
        mean = self.total / n
        variance = np.maximum((self.squares - self.total * mean) / (n - 1), self.floor)
        reach = self.clip * (1.0 + 3.0 / n) * np.sqrt(variance * (1.0 + 1.0 / n))
        return np.clip(now, mean - reach, mean + reach)

    def _ratios(self, size: int) -> Array:
        n, g = self.count, drift_evidence.SIZE_PRIOR
        after = n - self.onset[:size]
        mean = self.total / n
        worth = after * self.onset[:size] / n
        explained = (self.total - self.before[:size] - after * mean) ** 2 / worth
        spread = np.maximum(self.squares - self.total * mean, 0.0)
        left = np.maximum(spread - explained, (n - 1) * self.floor)
        gain = 1.0 + g * worth
        below = left + explained / gain
        size_part = (1.0 - 1.0 / gain) ** 2 * explained * (n - 1) / (worth * below * g) + 1.0 / gain
        power = 0.5 * (n - 1) * np.log((left + explained) / below)
        return np.asarray(power + np.log(size_part) - 0.5 * np.log(gain))

    def _join(self) -> None:
        j = 1
        while j < len(self.blocks):
            end = self.blocks[j + 1] if j + 1 < len(self.blocks) else self.count
            age = self.count - end
            if age >= 2 and end - self.blocks[j - 1] <= 0.5 * age:
                self._join_pair(j)
            else:
                j += 1

    def _join_pair(self, j: int) -> None:
        size = len(self.blocks)
        older = self.weight[j - 1] + self.ratio[j - 1]
        newer = self.weight[j] + self.ratio[j]
        better = newer > older
        for each in (self.onset, self.before, self.ratio):
            each[j - 1] = np.where(better, each[j], each[j - 1])
            each[j : size - 1] = each[j + 1 : size]
        self.weight[j - 1] = np.logaddexp(older, newer) - self.ratio[j - 1]
        self.weight[j : size - 1] = self.weight[j + 1 : size]
        del self.blocks[j]


def alarm_flights(
    values: Array, resolution_ft: float, *, limit: float = drift.LOG_LIMIT, clip: float = drift.CLIP
) -> Array:
    """Give the flight (from 0) of each series' first alarm; the length where there is none."""
    flights, runs = values.shape
    found = np.full(runs, float(flights))
    alive = np.arange(runs)
    detectors = Detectors(runs, resolution_ft, clip)
    for flight in range(flights):
        total = detectors.advance(values[flight, alive])
        if flight + 1 < drift.WARM_UP:
            continue
        hit = total >= limit
        if hit.any():
            found[alive[hit]] = flight
            alive = alive[~hit]
            detectors.keep(~hit)
            if not len(alive):
                break
    return found
