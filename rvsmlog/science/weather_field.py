"""The height of a pressure surface where the aeroplane was, from profiles around it."""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.soundings import Sounding, height_of_pressure_ft

#: Mean radius of the earth for distances between stations, kilometres.
_EARTH_KM = 6371.0
#: How far from the aeroplane a single sounding may be: common practice, no source.
NEAREST_KM = 150.0
NEAREST_TIME = timedelta(hours=3)
#: Fewest profiles through which a plane is laid: it takes three, the rest show the scatter.
FEWEST_FOR_PLANE = 4
_SMALLEST_PIVOT = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where and when the aeroplane was.

    Parameters
    ----------
    at : datetime
        UTC instant.
    latitude_deg, longitude_deg : float
        Position, degrees, north and east positive.
    """

    at: datetime
    latitude_deg: float
    longitude_deg: float


def distance_km(place: Place, sounding: Sounding) -> float:
    """Give the great-circle distance from a place to a sounding, kilometres."""
    one, other = math.radians(place.latitude_deg), math.radians(sounding.latitude_deg)
    east = math.radians(sounding.longitude_deg - place.longitude_deg)
    chord = (
        math.sin((other - one) / 2) ** 2 + math.cos(one) * math.cos(other) * math.sin(east / 2) ** 2
    )
    return 2 * _EARTH_KM * math.asin(min(1.0, math.sqrt(chord)))


def nearest_sounding(soundings: Sequence[Sounding], place: Place) -> Sounding:
    """Choose the sounding nearest to a place, within 150 km and 3 hours.

    Raises
    ------
    OutOfRangeError
        When there is none, or none whose time is known.
    """
    near = tuple(
        sounding
        for sounding in soundings
        if sounding.valid_at is not None
        and abs(sounding.valid_at - place.at) <= NEAREST_TIME
        and distance_km(place, sounding) <= NEAREST_KM
    )
    if not near:
        raise OutOfRangeError(
            "no sounding lies near enough in place and time",
            f"one within {NEAREST_KM:g} km and {NEAREST_TIME // timedelta(hours=1)} hours "
            "is wanted, or several around the place",
        )
    return min(near, key=lambda sounding: distance_km(place, sounding))


def plane_height_ft(soundings: Sequence[Sounding], pressure_hpa: float, place: Place) -> float:
    """Lay a plane through the heights of a pressure surface and read it at a place.

    Least squares in distance east, distance north and, where the profiles are of more than one
    time, time: all measured from the place, so that the plane's constant is the answer.

    Parameters
    ----------
    soundings : sequence of Sounding
        Profiles around the place (soundings, or columns of an analysis or forecast).
    pressure_hpa : float
        Pressure, hectopascals.
    place : Place
        Where and when.

    Returns
    -------
    float
        Geopotential height of the pressure surface, feet.

    Raises
    ------
    InputError
        When there are fewer than four, or they lie in one line.
    OutOfRangeError
        When the place or the time lies outside them, or the pressure outside their levels.
    """
    if len(soundings) < FEWEST_FOR_PLANE:
        raise InputError(
            f"{len(soundings)} profiles are too few for a plane",
            f"give {FEWEST_FOR_PLANE} or more around the place",
        )
    offsets = tuple(_offsets(sounding, place) for sounding in soundings)
    for axis, name in enumerate(("east and west", "north and south", "time")):
        _check_around([offset[axis] for offset in offsets], name)
    in_time = len({offset[2] for offset in offsets}) > 1
    rows = [[1.0, *(offset if in_time else offset[:2])] for offset in offsets]
    heights = [height_of_pressure_ft(sounding, pressure_hpa) for sounding in soundings]
    return _least_squares(rows, heights)[0]


def _offsets(sounding: Sounding, place: Place) -> tuple[float, float, float]:
    """Give hundreds of kilometres east and north of the place, and hours after it."""
    if sounding.valid_at is None:
        raise InputError(f"{sounding.key}: its time is not known", "leave that profile out")
    east_deg = (sounding.longitude_deg - place.longitude_deg + 180.0) % 360.0 - 180.0
    north_deg = sounding.latitude_deg - place.latitude_deg
    scale = math.radians(1.0) * _EARTH_KM / 100.0
    hours = (sounding.valid_at - place.at) / timedelta(hours=1)
    return east_deg * scale * math.cos(math.radians(place.latitude_deg)), north_deg * scale, hours


def _check_around(values: list[float], name: str) -> None:
    """Refuse to carry the plane outside its profiles; one common time may be 3 hours away."""
    low, high = min(values), max(values)
    if low <= 0.0 <= high:
        return
    if name == "time" and low == high and abs(low) <= NEAREST_TIME / timedelta(hours=1):
        return
    raise OutOfRangeError(
        f"the aeroplane was outside the profiles in {name}",
        "give profiles on all sides of it, and before and after it",
    )


def _least_squares(rows: list[list[float]], values: list[float]) -> list[float]:
    """Solve the normal equations by elimination (three or four unknowns)."""
    size = len(rows[0])
    matrix = [
        [sum(row[i] * row[j] for row in rows) for j in range(size)]
        + [sum(row[i] * value for row, value in zip(rows, values, strict=True))]
        for i in range(size)
    ]
    for step in range(size):
        pivot = max(range(step, size), key=lambda i: abs(matrix[i][step]))
        matrix[step], matrix[pivot] = matrix[pivot], matrix[step]
        if abs(matrix[step][step]) < _SMALLEST_PIVOT:
            raise InputError("the profiles lie in one line", "give profiles on all sides")
        for i in range(size):
            if i != step:
                factor = matrix[i][step] / matrix[step][step]
                matrix[i] = [a - factor * b for a, b in zip(matrix[i], matrix[step], strict=True)]
    return [matrix[i][size] / matrix[i][i] for i in range(size)]
