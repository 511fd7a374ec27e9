"""Simulated airframes for the forecast, the description of a change, and the witnesses."""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from rvsmlog.science.drift_change import describe_change
from rvsmlog.science.drift_course import fit_course
from rvsmlog.science.drift_forecast import Span, difference_at, reach
from rvsmlog.science.drift_readings import Band, Point, Reading, points
from rvsmlog.science.drift_witness import TransponderFeed, which_moved
from tests.benchmarks.drift_series import Array, Change, Scatter, series
from tests.science.drift_run import watch

BAND = Band(lowest_level=290, middle_mach=0.5)
START = datetime(2027, 1, 1, tzinfo=UTC)
TOLERANCE_FT = 200.0
_YEAR = 365.25
_AHEAD_DAYS = 6000


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """An airframe: readings up to now, and the true course of its difference day by day."""

    readings: tuple[Point, ...]
    flown_days: Array
    now_day: float
    course_ft: Array
    scatter: Scatter


def flight_days(rng: np.random.Generator, flights: int) -> Array:
    """Give days of flights, four days apart on average, 3 % of the gaps 20 to 60 days longer."""
    gaps = rng.exponential(4.0, flights)
    gaps += (rng.random(flights) < 0.03) * rng.uniform(20.0, 60.0, flights)
    return np.asarray(np.cumsum(gaps) - gaps[0])


def life(rng: np.random.Generator, *, slope_ft: float, wander_ft: float) -> Life:
    """Make an airframe with a slope and a wander, both in feet for a year."""
    count = int(rng.integers(20, 101))
    scatter = Scatter(
        sigma_ft=float(rng.choice([15.0, 20.0, 25.0])),
        resolution_ft=float(rng.choice([10.0, 20.0])),
    )
    flown = flight_days(rng, count + 1700)
    days = np.arange(0.0, flown[count - 1] + _AHEAD_DAYS + 1.0)
    wander = np.cumsum(rng.normal(0.0, wander_ft / _YEAR**0.5, len(days)))
    course = rng.normal(0.0, 25.0) + slope_ft / _YEAR * days + wander - wander[0]
    read = np.interp(flown[:count], days, course) + rng.normal(0.0, scatter.sigma_ft, count)
    read = np.round(read / scatter.resolution_ft) * scatter.resolution_ft
    return Life(
        readings=as_points(read, flown),
        flown_days=flown,
        now_day=float(flown[count - 1]),
        course_ft=course,
        scatter=scatter,
    )


def as_points(differences: Array, days: Array) -> tuple[Point, ...]:
    """Give points of one band."""
    return tuple(
        Point(
            at=START + timedelta(days=float(day)),
            flight_index=index,
            band=BAND,
            readings=1,
            difference_ft=float(difference),
        )
        for index, (difference, day) in enumerate(zip(differences, days, strict=False))
    )


def forecast_hits(one: Life) -> dict[str, bool]:
    """Say which forecasts of one airframe held."""
    course = fit_course(one.readings, resolution_ft=one.scatter.resolution_ft)
    forecast = reach(course, TOLERANCE_FT)
    ahead = np.abs(one.course_ft[int(np.ceil(one.now_day)) :]) >= TOLERANCE_FT
    ever = bool(ahead.any())
    wait = float(np.ceil(one.now_day) + ahead.argmax() - one.now_day) if ever else np.inf
    flights = int(np.searchsorted(one.flown_days, one.now_day + wait)) - len(one.readings)
    soon = difference_at(course, one.readings[-1].at + timedelta(days=100))
    then = float(np.interp(one.now_day + 100.0, np.arange(len(one.course_ft)), one.course_ft))
    return {
        # A passage later than the simulated years is known to be later only.
        "date": _within(forecast.days, wait) if ever else forecast.days.high >= _AHEAD_DAYS,
        "flights": _within(forecast.flights, flights)
        if ever
        else forecast.days.high >= _AHEAD_DAYS,
        "feet in 100 days": bool(soon.low <= then <= soon.high),
        "passage comes": ever,
    }


def _within(span: Span, found: float) -> bool:
    """Say whether an outcome, counted in whole days or flights, lies in the interval."""
    return bool(span.low - 1.0 <= found <= span.high + 1.0)


def forecast_coverage(
    seed: int, airframes: int, wander_ft: float, slopes: Callable[[np.random.Generator], float]
) -> dict[str, float]:
    """Give the share of forecasts that held."""
    rng = np.random.default_rng(seed)
    total: Counter[str] = Counter()
    for _ in range(airframes):
        total.update(forecast_hits(life(rng, slope_ft=slopes(rng), wander_ft=wander_ft)))
    return {name: count / airframes for name, count in total.items()}


def drifting(rng: np.random.Generator) -> float:
    """Give a slope of an airframe that drifts, 20 to 120 ft a year either way."""
    return float(rng.choice([-1.0, 1.0]) * rng.uniform(20.0, 120.0))


def change_reports(seed: int, runs: int, change: Change) -> dict[str, float]:
    """Describe changes as they stand when the alarm comes: onset, size and shape."""
    scatter = Scatter(sigma_ft=20.0, resolution_ft=10.0)
    held, sizes, gradual, alarms = 0, [], [], 0
    for values in series(seed, scatter, runs=runs, flights=350, history=60, change=change).T:
        known = as_points(values, np.arange(len(values), dtype=np.float64) * 3.0)
        count = watch(known, resolution_ft=10.0).alarm_index
        if count is None or count <= 60:
            continue
        alarms += 1
        found = describe_change(known[: count + 5], resolution_ft=10.0)
        held += found.earliest.flight_index <= 60 <= found.latest.flight_index
        sizes.append(found.size_ft)
        gradual.append(found.gradual > 0.5)
    return {
        "onset held": held / alarms,
        "median size": float(np.median(sizes)),
        "called gradual": float(np.mean(gradual)),
    }


def witness_verdicts(seed: int, runs: int, step_ft: float, moved: int) -> Iterator[str]:
    """Say for each run whether the altimeter named is right, wrong, or none."""
    rng = np.random.default_rng(seed)
    for run in range(runs):
        known = _witnessed(rng, step_ft * (1 if run % 2 else -1), moved)
        verdict = which_moved(
            known[:50], known[50:], resolution_ft=10.0, transponder_feed=TransponderFeed.OWN
        )
        named = verdict.altimeter
        yield "none" if named is None else "right" if named == moved else "wrong"


def _witnessed(rng: np.random.Generator, step_ft: float, moved: int) -> tuple[Point, ...]:
    """Give fifty flights before a step and ten after it; 0 moves both altimeters by half."""
    count, since = 60, np.where(np.arange(60) >= 50, 1.0, 0.0)
    height = rng.normal(31_000.0, 15.0, count)
    share = {0: 0.5, 1: 1.0, 2: 0.0}[moved]
    first = height + rng.normal(0.0, 14.0, count) + since * step_ft * share
    second = height + rng.normal(0.0, 14.0, count) - since * step_ft * (1.0 - share)
    standby = _third(rng, height, since, 35.0, 20.0)
    transponder = _third(rng, height, since, 15.0, 10.0)
    return points(
        Reading(
            taken_at=START + timedelta(days=index),
            level=310,
            flight=index,
            primary_1_ft=float(np.round(first[index], -1)),
            primary_2_ft=float(np.round(second[index], -1)),
            standby_ft=float(np.round(standby[index] / 20.0) * 20.0),
            transponder_ft=float(np.round(transponder[index], -2)),
        )
        for index in range(count)
    )


def _third(
    rng: np.random.Generator, height: Array, since: Array, sigma_ft: float, drift_ft: float
) -> Array:
    noise = rng.normal(0.0, sigma_ft, len(height))
    return np.asarray(height + rng.normal(0.0, 100.0) + noise + since * rng.normal(0.0, drift_ft))
