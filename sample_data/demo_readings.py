"""What an invented aeroplane's altimeters show, and when its pilot compares them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from random import Random

from rvsmlog import geoid_grid
from rvsmlog.science.geodesy import geometric_ft, undulation_ft
from rvsmlog.units import level_to_feet
from sample_data.demo_book import Value
from sample_data.demo_flights import Trip
from sample_data.demo_weather import Weather

# How well the autopilot holds a level, and how much a witness scatters, feet.
_HOLDING_SIGMA_FT = 12.0
_STANDBY_SIGMA_FT = 20.0
_TRANSPONDER_SIGMA_FT = 6.0
_GNSS_SIGMA_FT = 12.0
# The part of an offset at altitude that shows on the ground.
_ON_GROUND = 0.15
_GROUND_SIGMA_FT = 7.0
_TRANSPONDER_STEP_FT = 25
_GNSS_STEP_FT = 10
_BEFORE_ENTRY_LEVEL = 270


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """A slow change of altimeter 2 that grows with the third power of time."""

    start: date
    end: date
    size_ft: float

    def at(self, day: date) -> float:
        """Give the drift of a day, feet."""
        part = (day - self.start) / (self.end - self.start)
        return self.size_ft * min(max(part, 0.0), 1.0) ** 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Altimetry:
    """How an aeroplane's altimeters read.

    Parameters
    ----------
    offset_1_ft, offset_2_ft, standby_ft : float
        What each shows too much at altitude.
    noise_ft : float
        Standard deviation of each primary.
    resolution_ft : int
        Steps in which the primaries are read.
    drift : Drift or None
        Of altimeter 2.
    exchanged : date or None
        From this day on altimeter 2 is another unit and reads like altimeter 1.
    misread : float
        Part of the readings that are written down 100 ft wrong.
    gnss_kind : str or None
        What the GNSS height shown is above; None where none is read.
    static_error_ft : float
        How much higher the aeroplane is than both altimeters say.
    """

    offset_1_ft: float
    offset_2_ft: float
    standby_ft: float
    noise_ft: float = 12.0
    resolution_ft: int = 20
    drift: Drift | None = None
    exchanged: date | None = None
    misread: float = 0.0
    gnss_kind: str | None = None
    static_error_ft: float = 0.0

    def offset_2_on(self, day: date) -> float:
        """Give altimeter 2's offset on a day."""
        if self.exchanged is not None and day >= self.exchanged:
            return self.offset_1_ft
        return self.offset_2_ft + (self.drift.at(day) if self.drift is not None else 0.0)


def crosschecks(
    rng: Random, altimetry: Altimetry, trip: Trip, weather: Weather
) -> Iterator[dict[str, Value]]:
    """Give the cross-checks of one flight as rows."""
    for taken_at, phase in _moments(rng, trip):
        row: dict[str, Value] = {"taken_at": taken_at, "phase": phase, "pilot": trip.pilot}
        if phase in ("ground", "after-flight"):
            row |= _on_ground(rng, altimetry, trip, weather, before=phase == "ground")
        else:
            level = _BEFORE_ENTRY_LEVEL if phase == "before-entry" else trip.level
            row |= _in_flight(rng, altimetry, trip.day, level)
        if phase in ("level", "hourly"):
            row |= _air(rng, trip, weather)
            if altimetry.gnss_kind is not None:
                row |= _gnss(rng, altimetry, trip, taken_at, weather)
        yield row


def _moments(rng: Random, trip: Trip) -> Iterator[tuple[datetime, str]]:
    """Say when the altimeters are compared: in the order of the flight."""
    start, end = trip.at_level
    yield trip.off_at - timedelta(minutes=rng.randrange(9, 16)), "ground"
    if trip.rvsm_from is not None:
        yield trip.rvsm_from - timedelta(minutes=3), "before-entry"
    instant = start + timedelta(minutes=rng.randrange(2, 7))
    yield instant, "level"
    while end - instant > timedelta(minutes=70):
        instant += timedelta(minutes=rng.randrange(54, 65))
        yield instant, "hourly"
    if trip.rvsm_to is not None:
        yield trip.rvsm_to - timedelta(minutes=rng.randrange(4, 9)), "leaving"
    yield trip.on_at + timedelta(minutes=rng.randrange(7, 13)), "after-flight"


def _steps(value: float, step: int) -> int:
    """Round to whole steps of an indication."""
    return round(value / step) * step


def _in_flight(rng: Random, altimetry: Altimetry, day: date, level: int) -> dict[str, Value]:
    """Read all altimeters at a level."""
    held = level_to_feet(level) + rng.gauss(0.0, _HOLDING_SIGMA_FT)
    # Altimeter 1 flies the aeroplane and feeds the transponder.
    shown_1 = held + rng.gauss(0.0, altimetry.noise_ft)
    shown_2 = held + altimetry.offset_2_on(day) - altimetry.offset_1_ft
    shown_2 += rng.gauss(0.0, altimetry.noise_ft)
    if rng.random() < altimetry.misread:
        shown_2 += rng.choice((-100.0, 100.0))
    standby = held - altimetry.offset_1_ft + altimetry.standby_ft
    return {
        "primary_1_ft": _steps(shown_1, altimetry.resolution_ft),
        "primary_2_ft": _steps(shown_2, altimetry.resolution_ft),
        "standby_ft": _steps(standby + rng.gauss(0.0, _STANDBY_SIGMA_FT), 20),
        "transponder_ft": _steps(
            held + rng.gauss(0.0, _TRANSPONDER_SIGMA_FT), _TRANSPONDER_STEP_FT
        ),
        "level": level,
    }


def _on_ground(
    rng: Random, altimetry: Altimetry, trip: Trip, weather: Weather, *, before: bool
) -> dict[str, Value]:
    """Read the primaries and the standby on the QNH of the aerodrome."""
    place = trip.departure if before else trip.destination
    offsets = (altimetry.offset_1_ft, altimetry.offset_2_on(trip.day), altimetry.standby_ft)
    shown = [
        place.elevation_ft + _ON_GROUND * offset + rng.gauss(0.0, _GROUND_SIGMA_FT)
        for offset in offsets
    ]
    return {
        "primary_1_ft": _steps(shown[0], altimetry.resolution_ft),
        "primary_2_ft": _steps(shown[1], altimetry.resolution_ft),
        "standby_ft": _steps(shown[2], 20),
        "field_elevation_ft": place.elevation_ft,
        "qnh_hpa": round(weather.qnh_hpa),
    }


def _air(rng: Random, trip: Trip, weather: Weather) -> dict[str, Value]:
    """Read Mach number and temperatures."""
    mach = 0.46 + rng.gauss(0.0, 0.008)
    static = weather.temperature_c(trip.level) + rng.gauss(0.0, 0.5)
    total = (static + 273.15) * (1.0 + 0.2 * mach**2) - 273.15
    return {
        "mach": round(mach, 2),
        "static_air_temperature_c": round(static),
        "total_air_temperature_c": round(total),
    }


def _gnss(
    rng: Random, altimetry: Altimetry, trip: Trip, instant: datetime, weather: Weather
) -> dict[str, Value]:
    """Read height and position of the GNSS receiver."""
    latitude, longitude = trip.position(instant)
    height = geometric_ft(weather.geopotential_ft(trip.level), latitude)
    height += altimetry.static_error_ft + rng.gauss(0.0, _GNSS_SIGMA_FT)
    if altimetry.gnss_kind == "ellipsoid":
        height += undulation_ft(geoid_grid.load(), latitude, longitude)
    return {
        "gnss_height_ft": _steps(height, _GNSS_STEP_FT),
        "gnss_kind": altimetry.gnss_kind,
        "latitude_deg": latitude,
        "longitude_deg": longitude,
    }
