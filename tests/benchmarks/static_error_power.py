"""Inject an error common to both altimeters into simulated flights, and count who sees it.

Each flight goes the whole way: an atmosphere of its own, the aeroplane above the surface it
shows by the error injected, its height turned into one above the ellipsoid, and back through
geoid, gravity and a sounding that is wrong by what its kind of weather is worth. The number of
flights is the one that the power calculation gives; 95 per cent should see the error, and one per
cent should see one where there is none. The kind of satellite height is taken as confirmed; while
it is not, some of these answers are "cannot tell" instead.

Usage: ``python tests/benchmarks/static_error_power.py [REPETITIONS]`` (400 take about 40 s).
"""

import math
import random
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from rvsmlog import geoid_grid
from rvsmlog.science import atmosphere, geodesy
from rvsmlog.science.soundings import Sounding, SoundingLevel, height_of_pressure_ft
from rvsmlog.science.static_error import (
    FlightResidual,
    HeightKind,
    Sample,
    Segment,
    flight_residual,
)
from rvsmlog.science.static_pool import FALSE_ALARM, NORMAL, pooled_error, reach
from rvsmlog.science.static_trend import POWER, ChangeVerdict, compare_periods
from rvsmlog.science.weather_field import Place
from rvsmlog.science.weather_worth import WORTH, WeatherSource

_START = datetime(2027, 1, 1, tzinfo=UTC)
_SHOWN_FT = 31_000.0
#: Pressure levels, and their heights in the standard atmosphere: the same for every flight.
_LEVELS = tuple((hpa, atmosphere.altitude_ft(hpa)) for hpa in (350.0, 300.0, 250.0, 200.0))
_SAMPLES = 5
_READING_NOISE_FT = 5.0


def flights_needed(
    sigma_ft: float,
    shift_ft: float,
    *,
    baseline_sigma_ft: float = 0.0,
    false_alarm: float = FALSE_ALARM,
    power: float = POWER,
) -> int | None:
    """Give how many independent flights after a shift show it; None where no number does.

    Parameters
    ----------
    sigma_ft, shift_ft : float
        Standard deviation of one flight, and the shift to be seen, feet.
    baseline_sigma_ft : float
        Standard deviation of the mean before the shift, feet; 0 when it is known.
    false_alarm, power : float
        Probability of an alarm without the shift, two-sided, and with it.
    """
    steps = reach(false_alarm) + NORMAL.inv_cdf(power)
    left = (shift_ft / steps) ** 2 - baseline_sigma_ft**2
    return max(1, math.ceil(sigma_ft**2 / left)) if left > 0.0 else None


def simulated_flight(
    rng: random.Random, number: int, source: WeatherSource, error_ft: float
) -> FlightResidual:
    """Fly once with a static error and look at it through one kind of weather."""
    latitude, longitude = rng.uniform(-70, 70), rng.uniform(-180, 180)
    lift_ft = rng.gauss(0, 600)
    weather_error_ft = rng.gauss(0, WORTH[source].sigma_ft)
    at = _START + timedelta(days=number)
    sounding = Sounding(
        station=f"simulated {number}",
        valid_at=at,
        latitude_deg=latitude,
        longitude_deg=longitude,
        levels=tuple(
            SoundingLevel(
                pressure_hpa=pressure,
                height_ft=standard_ft + lift_ft + weather_error_ft,
            )
            for pressure, standard_ft in _LEVELS
        ),
    )
    place = Place(at=at, latitude_deg=latitude, longitude_deg=longitude)
    undulation_ft = geodesy.undulation_ft(geoid_grid.load(), latitude, longitude)
    samples = []
    for _ in range(_SAMPLES):
        shown = _SHOWN_FT + rng.choice((-20, -10, 0, 10, 20))
        real = geodesy.geometric_ft(shown + error_ft + lift_ft, latitude)
        height = real + undulation_ft + rng.gauss(0, _READING_NOISE_FT)
        samples.append(Sample(place=place, satellite_height_ft=height, indicated_ft=shown))
    segment = Segment(
        flight=f"flight {number}",
        samples=tuple(samples),
        height_kind=HeightKind.ELLIPSOID,
        source=source,
        weather=(sounding.key,),
        kind_confirmed=True,
    )
    return flight_residual(
        segment, geoid_grid.load(), lambda pressure, _: height_of_pressure_ft(sounding, pressure)
    )


def flights(
    rng: random.Random, count: int, source: WeatherSource, error_ft: float
) -> tuple[FlightResidual, ...]:
    """Fly several times with the same error."""
    return tuple(simulated_flight(rng, number, source, error_ft) for number in range(count))


def seen_share(
    source: WeatherSource, error_ft: float, count: int, repetitions: int, seed: int
) -> float:
    """Give the share of repetitions whose interval leaves zero out."""
    rng = random.Random(seed)
    seen = 0
    for _ in range(repetitions):
        pooled = pooled_error(flights(rng, count, source, error_ft))
        seen += pooled.low_ft > 0 or pooled.high_ft < 0
    return seen / repetitions


def change_share(
    source: WeatherSource, change_ft: float, counts: tuple[int, int], repetitions: int, seed: int
) -> float:
    """Give the share of repetitions that call a change after an unknown constant error."""
    rng = random.Random(seed)
    seen = 0
    for _ in range(repetitions):
        standing = rng.uniform(-60, 60)
        before = flights(rng, counts[0], source, standing)
        after = flights(rng, counts[1], source, standing + change_ft)
        seen += compare_periods(before, after).verdict is ChangeVerdict.CHANGED
    return seen / repetitions


def rows(repetitions: int) -> Iterator[str]:
    """Give the lines of the table."""
    yield "source              sigma  error  flights   seen   none injected"
    for source in WeatherSource:
        sigma = WORTH[source].sigma_ft
        for error in (50, 100, 200):
            count = flights_needed(sigma, error) or 0
            seen = seen_share(source, error, count, repetitions, seed=error)
            alarms = seen_share(source, 0, count, repetitions, seed=error + 1)
            yield (
                f"{source:18} {sigma:5.0f} {error:6} {count:8} {100 * seen:6.1f} %"
                f" {100 * alarms:6.1f} %"
            )
    yield "change of 100 ft after 20 or 60 flights with an unknown constant error"
    for source, baseline in (
        (WeatherSource.ANALYSIS, 20),
        (WeatherSource.SOUNDING, 20),
        (WeatherSource.OWN_CLIMB, 20),
        (WeatherSource.OWN_CLIMB, 60),
    ):
        sigma = WORTH[source].sigma_ft
        needed = flights_needed(sigma, 100, baseline_sigma_ft=sigma / math.sqrt(baseline))
        if needed is None:
            yield f"{source:18} {sigma:5.0f}: no number of flights shows it"
            continue
        counts = (baseline, needed)
        seen = change_share(source, 100, counts, repetitions, seed=3)
        alarms = change_share(source, 0, counts, repetitions, seed=4)
        yield (
            f"{source:18} {sigma:5.0f} {100:6} {needed:8} {100 * seen:6.1f} % {100 * alarms:6.1f} %"
        )


def main() -> None:
    """Print the table."""
    repetitions = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    print(f"{repetitions} repetitions; 95 % to be seen, 1 % false alarms")
    for row in rows(repetitions):
        print(row, flush=True)


if __name__ == "__main__":
    main()
