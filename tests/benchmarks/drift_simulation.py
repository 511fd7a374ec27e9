"""How good the drift detector is: false alarms, delays, forecasts and witnesses, by simulation.

Run from the top of the checkout::

    python -m tests.benchmarks.drift_simulation [--quick] [--bound]

Seeds are fixed. ``--quick`` takes one scatter and fewer runs; ``--bound`` adds what could be
reached at best without knowing the mean (slow). Delays count the reading that raises the alarm;
runs with an alarm before the change are left out, of every detector alike. Every rival is
calibrated on the same kind of data to one false alarm in 1,000 flights; the product's detector has
the limit it ships with.
"""

import argparse
import math
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from rvsmlog.science import drift
from tests.benchmarks import drift_rivals as rivals
from tests.benchmarks.drift_airframes import (
    change_reports,
    drifting,
    forecast_coverage,
    witness_verdicts,
)
from tests.benchmarks.drift_evidence_many import Detectors, alarm_flights
from tests.benchmarks.drift_series import Array, Change, Scatter, ramp, series, step
from tests.benchmarks.run_length import run_length as siegmund

TARGET = 1000.0
CHANGES = (step(20.0), step(40.0), step(80.0), ramp(50), ramp(200))
HISTORIES = (20, 50, 100)
_AFTER = {"step 20 ft": 300, "step 40 ft": 150, "step 80 ft": 60}
_AFTER_RAMP = 600


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """How much is simulated."""

    scatters: tuple[Scatter, ...]
    steps: int
    ramps: int
    calibration: int
    airframes: int


FULL = Size(
    scatters=tuple(
        Scatter(sigma_ft=sigma, resolution_ft=resolution)
        for resolution in (10.0, 20.0)
        for sigma in (15.0, 20.0, 25.0)
    ),
    steps=2000,
    ramps=400,
    calibration=700,
    airframes=1000,
)
QUICK = Size(
    scatters=(Scatter(sigma_ft=20.0, resolution_ft=10.0),),
    steps=500,
    ramps=150,
    calibration=250,
    airframes=200,
)


def prove_equal() -> None:
    """Show that the fast detector used here is the product's, reading by reading."""
    values = series(1, Scatter(sigma_ft=20.0, resolution_ft=10.0), runs=5, flights=300)
    many = Detectors(5, 10.0)
    states = [drift.DriftState(resolution_ft=10.0) for _ in range(5)]
    at, worst = datetime(2027, 1, 1, tzinfo=UTC), 0.0
    for row in values:
        totals = many.advance(row)
        states = [
            drift.advance(state, float(value), at=at)
            for state, value in zip(states, row, strict=True)
        ]
        for total, state in zip(totals, states, strict=True):
            if state.alarm_index is None and state.onsets:
                worst = max(worst, abs(float(total) - state.log_evidence))
    if worst > 1e-9:
        raise SystemExit(f"the fast detector departs from the product's by {worst:g}")
    start = time.perf_counter()
    state = drift.DriftState(resolution_ft=10.0)
    for value in values[:, 0]:
        state = drift.advance(state, float(value), at=at)
    spent = (time.perf_counter() - start) / len(values) * 1e6
    print(f"product's detector equal to the fast one within {worst:.0e}; {spent:.0f} us a reading")


def length_without_change(seed: int, scatter: Scatter, runs: int) -> float:
    """Give the product's average run length."""
    values = series(seed, scatter, runs=runs, flights=5000)
    found = alarm_flights(values, scatter.resolution_ft)
    return float(np.minimum(found + 1, 5000).sum() / (found < 5000).sum())


def mean_delay(found: Array, history: int, flights: int) -> str:
    """Write the mean delay after the change; ``>`` where more than 2 % of the runs never ended."""
    late = found[found >= history]
    sign = ">" if (late >= flights).mean() > 0.02 else ""
    return f"{sign}{(np.minimum(late, flights - 1) - history + 1).mean():.2f}"


def number(text: str) -> float:
    """Read a delay back."""
    return float(text.removeprefix(">"))


def simulated(scatter: Scatter, change: Change, history: int, runs: int) -> Array:
    """Give the series for one cell; the seed depends on the cell alone."""
    seed = round(1000 * scatter.sigma_ft + 10 * scatter.resolution_ft + history) * 10
    flights = history + _AFTER.get(change.name, _AFTER_RAMP)
    seed += [each.name for each in CHANGES].index(change.name)
    return series(seed, scatter, runs=runs, flights=flights, history=history, change=change)


#: Rivals that do not depend on the change.
RIVALS: dict[str, Callable[[Array, Scatter], Array]] = {
    "fixed": rivals.fixed_threshold,
    "CUSUM": lambda values, scatter: rivals.known_cusum(values, scatter, 0.5),
    "self-st": rivals.self_starting_cusum,
    "OLS": rivals.least_squares_slope,
}


def limits(scatter: Scatter, size: Size) -> dict[str, float]:
    """Calibrate every rival for one scatter."""
    calm = series(77, scatter, runs=size.calibration, flights=2500)
    found = {
        name: rivals.calibrated(statistic(calm, scatter), TARGET)
        for name, statistic in RIVALS.items()
    }
    few = calm[:1200, :120]
    found["T-S"] = rivals.calibrated(rivals.median_slope(few, scatter), TARGET)
    for change in CHANGES:
        if change.size_ft:
            allowance = change.size_ft / scatter.recorded_sigma_ft / 2.0
            statistic = rivals.known_cusum(calm, scatter, allowance)
            found[change.name] = rivals.calibrated(statistic, TARGET)
    return found


def row(scatter: Scatter, change: Change, limit: dict[str, float], size: Size) -> list[str]:
    """Give one line of the table."""
    runs = size.steps if change.size_ft else size.ramps
    values = simulated(scatter, change, 50, runs)
    flights = len(values)
    cells = [f"{scatter.resolution_ft:.0f}", f"{scatter.sigma_ft:.0f}", change.name]
    optimal = ""
    if change.size_ft:
        shift = change.size_ft / scatter.recorded_sigma_ft
        statistic = rivals.known_cusum(values, scatter, shift / 2.0)
        found = rivals.first_alarm(statistic, limit[change.name])
        optimal = mean_delay(found, 50, flights)
        cells += [f"{2.0 * math.log(TARGET) / shift**2:.2f}", optimal]
    else:
        cells += ["", ""]
    for name, rival in RIVALS.items():
        found = rivals.first_alarm(rival(values, scatter), limit[name])
        cells.append(mean_delay(found, 50, flights))
    few = values[:, : max(60, runs // 10)]
    found = rivals.first_alarm(rivals.median_slope(few, scatter), limit["T-S"])
    cells.append(mean_delay(found, 50, flights))
    ours = [
        mean_delay(
            alarm_flights(simulated(scatter, change, history, runs), scatter.resolution_ft),
            history,
            history + flights - 50,
        )
        for history in HISTORIES
    ]
    return cells + ours + _ratios(change, optimal, cells, ours)


def _ratios(change: Change, optimal: str, cells: list[str], ours: list[str]) -> list[str]:
    if change.size_ft:
        return [f"{number(each) / number(optimal):.2f}" for each in ours[1:]]
    slope = min(number(cells[-2]), number(cells[-1]))
    return [f"{number(each) / slope:.2f}" for each in ours[1:]]


HEADINGS = (
    "res",
    "sigma",
    "change",
    "Lorden",
    "optimal",
    "fixed",
    "CUSUM",
    "self-st",
    "OLS",
    "T-S",
    "ours 20",
    "ours 50",
    "ours 100",
    "50/best",
    "100/best",
)


def print_row(cells: list[str] | tuple[str, ...]) -> None:
    """Print one line of the table."""
    print(" ".join(f"{cell:>{11 if i == 2 else 8}}" for i, cell in enumerate(cells)), flush=True)


def delay_table(size: Size) -> None:
    """Print run length and delays."""
    print("\nMean delay in flights. Lorden: lower bound. Optimal: two-sided sum that knows mean,")
    print("scatter and size. Fixed, CUSUM (k 0.5), OLS and T-S slopes (window 50) know mean and")
    print("scatter; self-st (Hawkins) and ours nothing. Rivals after 50 flights, ours after 20, 50")
    print("and 100. Last columns: ours over optimal for steps, over the better slope for ramps.")
    print_row(HEADINGS)
    for index, scatter in enumerate(size.scatters):
        limit = limits(scatter, size)
        for change in CHANGES:
            print_row(row(scatter, change, limit, size))
        length = length_without_change(900 + index, scatter, 2 * size.calibration)
        error = length / math.sqrt(2 * size.calibration)
        print(f"{'':17} flights between false alarms, ours: {length:.0f} +- {error:.0f}")


def doubtful_cases(size: Size) -> None:
    """Print the run length where the assumptions fail."""
    print("\nFlights between false alarms, ours, where readings are not as assumed (sigma 20 ft):")
    cases = {
        "each altimeter rounded by itself, 10 ft": Scatter(
            sigma_ft=20.0, resolution_ft=10.0, both_rounded=True
        ),
        "sigma 5 ft read to 20 ft": Scatter(sigma_ft=5.0, resolution_ft=20.0),
        "1 % digit slips of 100 ft": Scatter(sigma_ft=20.0, resolution_ft=10.0, slips=0.01),
        "heavy tails (Student, 5 degrees)": Scatter(sigma_ft=20.0, resolution_ft=10.0, tails=5.0),
        "correlation 0.1 from flight to flight": Scatter(
            sigma_ft=20.0, resolution_ft=10.0, memory=0.1
        ),
        "correlation 0.2 from flight to flight": Scatter(
            sigma_ft=20.0, resolution_ft=10.0, memory=0.2
        ),
    }
    for name, scatter in cases.items():
        print(f"  {name:40} {length_without_change(950, scatter, size.calibration):6.0f}")
    print("80 ft steps, sigma 20 ft, 50 flights of history, medians of three readings (wide clip):")
    scatter = Scatter(sigma_ft=20.0, resolution_ft=10.0)
    values = simulated(scatter, step(80.0), 50, size.steps)
    found = alarm_flights(values, 10.0, clip=drift.CLIP_OF_MEDIAN)
    print(f"  mean delay {mean_delay(found, 50, 110)}")


def bound(size: Size) -> None:
    """Print what can be reached at best by whoever does not know the mean."""
    scatter = Scatter(sigma_ft=20.0, resolution_ft=10.0)
    calm = series(78, scatter, runs=size.calibration // 2, flights=2000)
    print("\nScatter and size known, mean not (sigma 20, resolution 10): mean delay after 50, 100")
    for change in CHANGES[:3]:
        shift = change.size_ft / scatter.recorded_sigma_ft
        limit = rivals.calibrated(rivals.unknown_mean_bound(calm, scatter, shift), TARGET)
        delays = []
        for history in (50, 100):
            values = simulated(scatter, change, history, size.steps)[: history + 150]
            statistic = rivals.unknown_mean_bound(values, scatter, shift)
            delays.append(mean_delay(rivals.first_alarm(statistic, limit), history, len(values)))
        print(f"  {change.name}: {', '.join(delays)}")


def forecasts(size: Size) -> None:
    """Print how often the 90 % intervals of the forecast hold."""
    print("\nShare of 90 % intervals that hold, airframes drifting 20 to 120 ft a year, tolerance")
    print("200 ft, 20 to 100 readings about 4 days apart with gaps of weeks, by wander in a year:")
    total: Counter[str] = Counter()
    wanders = (0.0, 5.0, 10.0, 20.0)
    for index, wander in enumerate(wanders):
        found = forecast_coverage(40 + index, size.airframes // len(wanders), wander, drifting)
        total.update(found)
        print(f"  wander {wander:3.0f} ft  " + _shares(found))
    print(
        "  all            " + _shares({name: each / len(wanders) for name, each in total.items()})
    )
    calm = forecast_coverage(50, size.airframes // 4, 5.0, lambda rng: float(rng.normal(0.0, 5.0)))
    print("  hardly drifting" + _shares(calm))


def _shares(found: dict[str, float]) -> str:
    return "  ".join(f"{name} {100.0 * share:.1f} %" for name, share in found.items())


def reports(size: Size) -> None:
    """Print what is said of a change once the alarm is there, and of the witnesses."""
    print(
        "\nFive flights after the alarm (60 of history, sigma 20): 90 % range of the onset holds,"
    )
    print("median size, share called gradual:")
    runs = max(size.ramps // 2, 60)
    for change in (step(40.0), step(80.0), ramp(50)):
        found = change_reports(60, runs, change)
        print(f"  {change.name:11} " + ", ".join(f"{k} {v:.2f}" for k, v in found.items()))
    print("\nWhich altimeter moved: standby (sigma 35) and own transponder in 100 ft steps, ten")
    print("flights after the step (right / none / wrong; when both moved, any name is wrong):")
    for size_ft in (40.0, 80.0, 120.0, 160.0):
        for moved in (1, 2, 0):
            count = Counter(witness_verdicts(70 + moved, runs, size_ft, moved))
            print(
                f"  {size_ft:3.0f} ft, moved {moved or 'both'}: "
                f"{count['right']} / {count['none']} / {count['wrong']}"
            )


def main() -> None:
    """Run the simulation and print it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--bound", action="store_true")
    chosen = parser.parse_args()
    size = QUICK if chosen.quick else FULL
    start = time.perf_counter()
    print(f"Tabular CUSUM, k 0.5, h 5.76, no shift, by Siegmund: {_siegmund():.0f} flights")
    prove_equal()
    delay_table(size)
    doubtful_cases(size)
    if chosen.bound:
        bound(size)
    forecasts(size)
    reports(size)
    print(f"\n{time.perf_counter() - start:.0f} s")


def _siegmund() -> float:
    return siegmund(0.0, allowance=0.5, limit=5.76)


if __name__ == "__main__":
    main()
