"""Simulated differences between two altimeters, with fixed seeds, for the drift simulation."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
#: Constant difference of the simulated altimeters, feet; no detector is told it unless it says so.
OFFSET_FT = 3.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """How simulated differences scatter.

    ``both_rounded`` rounds each altimeter by itself; otherwise the difference is rounded.
    ``slips`` is the share of readings 100 ft out; ``memory`` the correlation from flight to flight;
    ``tails`` the degrees of freedom of Student's t, 0 for a normal distribution.
    """

    sigma_ft: float
    resolution_ft: float
    slips: float = 0.0
    memory: float = 0.0
    tails: float = 0.0
    both_rounded: bool = False

    @property
    def recorded_sigma_ft(self) -> float:
        """Standard deviation once rounded, feet."""
        return float(np.hypot(self.sigma_ft, self.resolution_ft / 12**0.5))


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change: its name, and how far it has gone after so many flights, feet."""

    name: str
    course: Callable[[Array], Array]
    size_ft: float = 0.0


def step(size_ft: float) -> Change:
    """Give a change that comes at once."""
    return Change(
        name=f"step {size_ft:.0f} ft", course=lambda flight: 0.0 * flight + size_ft, size_ft=size_ft
    )


def ramp(flights_for_10_ft: int) -> Change:
    """Give a change that comes by and by."""
    return Change(
        name=f"10 ft in {flights_for_10_ft}",
        course=lambda flight: flight * 10.0 / flights_for_10_ft,
    )


def series(
    seed: int,
    scatter: Scatter,
    *,
    runs: int,
    flights: int,
    history: int | None = None,
    change: Change | None = None,
) -> Array:
    """Give differences, shape (flights, runs); the change begins after ``history`` flights."""
    rng = np.random.default_rng(seed)
    found = OFFSET_FT + _noise(rng, scatter, (flights, runs))
    if change is not None and history is not None:
        since = np.arange(flights, dtype=np.float64) - history + 1.0
        found += np.where(since > 0, change.course(since), 0.0)[:, None]
    step_ft = scatter.resolution_ft
    if scatter.both_rounded:
        height = rng.uniform(-500.0, 500.0, found.shape)
        first, second = height + found / 2.0, height - found / 2.0
        found = (np.round(first / step_ft) - np.round(second / step_ft)) * step_ft
    else:
        found = np.round(found / step_ft) * step_ft
    slipped = rng.random(found.shape) < scatter.slips
    return np.asarray(found + slipped * rng.choice([-100.0, 100.0], found.shape))


def _noise(rng: np.random.Generator, scatter: Scatter, shape: tuple[int, int]) -> Array:
    if scatter.tails:
        scale = scatter.sigma_ft / (scatter.tails / (scatter.tails - 2.0)) ** 0.5
        return np.asarray(rng.standard_t(scatter.tails, shape) * scale)
    noise = rng.normal(0.0, scatter.sigma_ft, shape)
    if scatter.memory:
        fresh = (1.0 - scatter.memory**2) ** 0.5
        for flight in range(1, shape[0]):
            noise[flight] = scatter.memory * noise[flight - 1] + fresh * noise[flight]
    return noise
