"""Weather as comma-separated text: heights of pressure levels, and the temperatures of a climb.

Both begin with a line of column names; columns may stand in any order, and others are passed
over. Whatever does not fit raises an error that names the line.
"""

import csv
import math
import re
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from typing import TypeVar

from rvsmlog.dates import parse_instant
from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.atmosphere import pressure_hpa
from rvsmlog.science.geodesy import (
    HIGHEST_LONGITUDE_DEG,
    LOWEST_LONGITUDE_DEG,
    POLE_DEG,
)
from rvsmlog.science.soundings import Sounding, SoundingLevel, with_heights_from_temperatures
from rvsmlog.units import level_to_feet, metres_to_feet, parse_level

T = TypeVar("T")

HEIGHT_COLUMNS = ("valid_time", "lat", "lon", "level_hPa", "height_gpm")
CLIMB_COLUMNS = ("level", "static_air_temperature_c")
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)", re.ASCII)
_PRESSURES_HPA = (1.0, 1_100.0)
_HEIGHTS_GPM = (-1_000.0, 60_000.0)
#: Static air temperatures taken, degrees Celsius (the coldest on record aloft is above -100).
_TEMPERATURES_C = (-100.0, 60.0)
_FULL_HUMIDITY_PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimbLevel:
    """Static air temperature noted while passing a flight level.

    Parameters
    ----------
    level : int
        Flight level, hundreds of feet.
    temperature_c : float
        Static (not total) air temperature, degrees Celsius.
    """

    level: int
    temperature_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """The observation from which a climb's temperatures are integrated upwards.

    Parameters
    ----------
    valid_at : datetime
        UTC instant.
    latitude_deg, longitude_deg : float
        Its place, degrees, north and east positive.
    height_ft : float
        Geopotential height above mean sea level (of an aerodrome: its elevation), feet.
    pressure_hpa : float
        Pressure at that height (QFE), hectopascals.
    temperature_c : float
        Air temperature, degrees Celsius.
    """

    valid_at: datetime
    latitude_deg: float
    longitude_deg: float
    height_ft: float
    pressure_hpa: float
    temperature_c: float


def read_heights(lines: Iterable[str]) -> tuple[Sounding, ...]:
    """Read heights of pressure levels: valid_time, lat, lon, level_hPa, height_gpm.

    Parameters
    ----------
    lines : iterable of str
        Lines of text; times in ISO 8601 with Z or an offset, heights in geopotential metres.

    Returns
    -------
    tuple of Sounding
        One for each time and place, in the order of first appearance.

    Raises
    ------
    InputError
        When a line does not fit, a level comes twice, or there is no line at all.
    """
    columns: dict[tuple[datetime, float, float], dict[float, SoundingLevel]] = {}
    for number, (when, lat, lon, level, height) in _rows(lines, HEIGHT_COLUMNS):
        place = (
            _at_line(number, parse_instant, when),
            _number(number, "lat", lat, (-POLE_DEG, POLE_DEG)),
            _number(number, "lon", lon, (LOWEST_LONGITUDE_DEG, HIGHEST_LONGITUDE_DEG)),
        )
        pressure = _number(number, "level_hPa", level, _PRESSURES_HPA)
        height_m = _number(number, "height_gpm", height, _HEIGHTS_GPM)
        levels = columns.setdefault(place, {})
        if pressure in levels:
            raise _fault(number, f"{pressure:g} hPa is given twice for the same time and place")
        levels[pressure] = SoundingLevel(pressure_hpa=pressure, height_ft=metres_to_feet(height_m))
    return tuple(_column(place, levels) for place, levels in columns.items())


def _column(place: tuple[datetime, float, float], levels: dict[float, SoundingLevel]) -> Sounding:
    valid_at, latitude, longitude = place
    return Sounding(
        station=f"{latitude:+.4f} {longitude:+.4f}",
        valid_at=valid_at,
        latitude_deg=latitude,
        longitude_deg=longitude,
        levels=tuple(levels[pressure] for pressure in sorted(levels, reverse=True)),
    )


def read_climbs(lines: Iterable[str]) -> tuple[tuple[datetime, ClimbLevel], ...]:
    """Read the temperatures of several climbs: valid_time, level, static_air_temperature_c.

    Raises
    ------
    InputError
        When a line does not fit, or there is no line at all.
    """
    return tuple(
        (
            _at_line(number, parse_instant, when),
            ClimbLevel(
                level=_at_line(number, parse_level, level),
                temperature_c=_number(number, CLIMB_COLUMNS[1], temperature, _TEMPERATURES_C),
            ),
        )
        for number, (when, level, temperature) in _rows(lines, ("valid_time", *CLIMB_COLUMNS))
    )


def climb_sounding(
    name: str, ground: Ground, climb: tuple[ClimbLevel, ...], *, humidity_percent: float
) -> Sounding:
    """Make a sounding of an own climb by integrating its temperatures from the ground.

    A probe that reads one degree warm puts FL350 about 139 ft too high, so heights from a climb
    serve to see change from flight to flight, not to measure an error by itself.

    Parameters
    ----------
    name : str
        Name of the flight: two values that rest on one climb are not independent.
    ground : Ground
        Observation at the ground.
    climb : tuple of ClimbLevel
        Temperatures on the way up; levels at or below the ground's pressure are left out.
    humidity_percent : float
        Relative humidity assumed at all levels, since none is measured; 0 leaves humidity out,
        which costs about 60 ft at FL350 in summer.

    Returns
    -------
    Sounding
        With heights at each level.

    Raises
    ------
    InputError
        When a level comes twice.
    OutOfRangeError
        When a hole in the climb is too wide, or humidity is not from 0 to 100.
    """
    if not 0.0 <= humidity_percent <= _FULL_HUMIDITY_PERCENT:
        raise OutOfRangeError(
            f"relative humidity {humidity_percent:g} % is out of range", "it runs from 0 to 100"
        )
    levels = [
        SoundingLevel(
            pressure_hpa=ground.pressure_hpa,
            height_ft=ground.height_ft,
            temperature_c=ground.temperature_c,
            humidity_percent=humidity_percent,
        )
    ]
    for noted in sorted(climb, key=lambda item: item.level):
        pressure = pressure_hpa(level_to_feet(noted.level))
        if pressure < ground.pressure_hpa:
            levels.append(
                SoundingLevel(
                    pressure_hpa=pressure,
                    temperature_c=noted.temperature_c,
                    humidity_percent=humidity_percent,
                )
            )
    profile = Sounding(
        station=name,
        valid_at=ground.valid_at,
        latitude_deg=ground.latitude_deg,
        longitude_deg=ground.longitude_deg,
        levels=tuple(levels),
    )
    return with_heights_from_temperatures(profile)


def _rows(lines: Iterable[str], wanted: tuple[str, ...]) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Give line number and the wanted fields, in their order, of each line that is not blank."""
    reader = csv.reader(lines, skipinitialspace=True, strict=True)
    places: tuple[int, ...] | None = None
    found = False
    try:
        for row in reader:
            if not any(field.strip() for field in row):
                continue
            if places is None:
                places = _places(reader.line_num, row, wanted)
                continue
            if len(row) <= max(places):
                raise _fault(reader.line_num, f"{len(row)} fields are too few")
            found = True
            yield reader.line_num, tuple(row[place].strip() for place in places)
    except csv.Error as fault:
        raise _fault(reader.line_num, str(fault)) from None
    if not found:
        raise InputError("there is no line of data", f"the columns are {', '.join(wanted)}")


def _places(number: int, row: list[str], wanted: tuple[str, ...]) -> tuple[int, ...]:
    # A byte-order mark before the first name is what spreadsheets write.
    names = [name.strip().lstrip("\ufeff").lower() for name in row]
    missing = [name for name in wanted if names.count(name.lower()) != 1]
    if missing:
        raise InputError(
            f"line {number}: no column, or two, named {missing[0]}",
            f"the first line names the columns: {', '.join(wanted)}",
        )
    return tuple(names.index(name.lower()) for name in wanted)


def _number(number: int, name: str, text: str, limits: tuple[float, float]) -> float:
    value = float(text) if _NUMBER.fullmatch(text) else math.nan
    if not limits[0] <= value <= limits[1]:
        raise _fault(
            number, f"{name} reads {text!r}, no number from {limits[0]:g} to {limits[1]:g}"
        )
    return value


def _at_line(number: int, parse: Callable[[str], T], text: str) -> T:
    """Parse a field, and let its error say on which line it stood."""
    try:
        return parse(text)
    except InputError as fault:
        raise InputError(f"line {number}: {fault.message}", fault.hint) from None


def _fault(number: int, what: str) -> InputError:
    return InputError(f"line {number}: {what}", "correct the line, or leave it out")
