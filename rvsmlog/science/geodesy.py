"""From the height that satellites give to the geopotential height that pressure follows.

Three steps, each with its sign:

1. height above the ellipsoid less the geoid's undulation is height above mean sea level;
2. that height turns into geopotential height by the gravity of the latitude;
3. geopotential height is what soundings, analyses and the standard atmosphere speak of.

Only the defining constants of WGS 84 are typed in (NIMA TR8350.2, from memory). The constant
earth radius of the standard atmosphere is not used: at 36,000 ft it is 95 ft wrong at the
equator and at the poles.

The geoid is EGM96, a work of the United States government (NASA and the National Imagery and
Mapping Agency, 1996) and in the public domain. What ships with the package is its 15' grid taken
at whole degrees. Between them it is interpolated linearly, and against all nodes of the 15' grid
the result is off by 1.6 ft rms over the globe's area (1.5 ft over the nodes); 0.25 per cent of
the nodes are off by more than 10 ft, and the worst by 44.8 ft, at the top of Hawaii (19.5 N
155.5 W). ``tests/benchmarks/make_geoid_grid.py`` made the grid and measured this.
"""

import math
import struct

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.atmosphere import STANDARD_GRAVITY
from rvsmlog.units import feet_to_metres, metres_to_feet

#: Defining constants of WGS 84: semi-major axis m, flattening, gravitational constant of the
#: earth m3/s2, rate of rotation rad/s.
SEMI_MAJOR_AXIS_M = 6_378_137.0
FLATTENING = 1.0 / 298.257223563
EARTH_GM = 3.986004418e14
EARTH_RATE = 7.292115e-5
#: Normal gravity at the equator and at the poles, m/s2.
EQUATOR_GRAVITY = 9.7803253359
POLE_GRAVITY = 9.8321849378

_SEMI_MINOR_AXIS_M = SEMI_MAJOR_AXIS_M * (1.0 - FLATTENING)
_ECCENTRICITY_SQUARED = FLATTENING * (2.0 - FLATTENING)
_SOMIGLIANA_K = (_SEMI_MINOR_AXIS_M * POLE_GRAVITY) / (SEMI_MAJOR_AXIS_M * EQUATOR_GRAVITY) - 1.0
# Centrifugal over gravitational acceleration at the equator (the "m" of physical geodesy).
_CENTRIFUGAL_RATIO = EARTH_RATE**2 * SEMI_MAJOR_AXIS_M**2 * _SEMI_MINOR_AXIS_M / EARTH_GM

#: Heights answered, feet.
LOWEST_HEIGHT_FT = -3_000.0
HIGHEST_HEIGHT_FT = 70_000.0
#: Positions answered: longitudes may run from 0 to 360 as well as from -180 to 180, east positive.
POLE_DEG = 90.0
LOWEST_LONGITUDE_DEG = -180.0
HIGHEST_LONGITUDE_DEG = 360.0
#: Rows (from 90 S) and columns (from 180 W, eastwards) of the geoid grid, one degree apart.
GRID_ROWS = 181
GRID_COLUMNS = 360
_CENTIMETRES_PER_METRE = 100.0


def _checked_latitude(latitude_deg: float) -> float:
    if not -POLE_DEG <= latitude_deg <= POLE_DEG:
        raise OutOfRangeError(
            f"latitude {latitude_deg:g} is out of range", "latitudes run from -90 to 90 degrees"
        )
    return latitude_deg


def _checked_height(height_ft: float) -> float:
    if not LOWEST_HEIGHT_FT <= height_ft <= HIGHEST_HEIGHT_FT:
        raise OutOfRangeError(
            f"height {height_ft:g} ft is out of range",
            f"the range is {LOWEST_HEIGHT_FT:,.0f} to {HIGHEST_HEIGHT_FT:,.0f} ft",
        )
    return height_ft


def _sine_squared(latitude_deg: float) -> float:
    return math.sin(math.radians(_checked_latitude(latitude_deg))) ** 2


def normal_gravity(latitude_deg: float) -> float:
    """Give gravity on the ellipsoid by Somigliana's formula.

    Parameters
    ----------
    latitude_deg : float
        Geodetic latitude, degrees, north positive.

    Returns
    -------
    float
        Normal gravity, m/s2.

    Raises
    ------
    OutOfRangeError
        When there is no such latitude.
    """
    sine_squared = _sine_squared(latitude_deg)
    return (
        EQUATOR_GRAVITY
        * (1.0 + _SOMIGLIANA_K * sine_squared)
        / math.sqrt(1.0 - _ECCENTRICITY_SQUARED * sine_squared)
    )


def gravity_radius_m(latitude_deg: float) -> float:
    """Give the radius of the sphere on which gravity falls with height as it does here.

    The gradient of normal gravity at the ellipsoid is ``2 g / R`` with this R (Heiskanen and
    Moritz, Physical Geodesy, section 2-14, from memory).

    Parameters
    ----------
    latitude_deg : float
        Geodetic latitude, degrees, north positive.

    Returns
    -------
    float
        Radius, metres. Not a radius of curvature: it carries the earth's rotation as well.

    Raises
    ------
    OutOfRangeError
        When there is no such latitude.
    """
    sine_squared = _sine_squared(latitude_deg)
    return SEMI_MAJOR_AXIS_M / (
        1.0 + FLATTENING + _CENTRIFUGAL_RATIO - 2.0 * FLATTENING * sine_squared
    )


def geopotential_ft(height_ft: float, latitude_deg: float) -> float:
    """Turn height above mean sea level into geopotential height.

    Parameters
    ----------
    height_ft : float
        Geometric height above mean sea level, feet.
    latitude_deg : float
        Geodetic latitude, degrees, north positive.

    Returns
    -------
    float
        Geopotential height, feet.

    Raises
    ------
    OutOfRangeError
        When height or latitude is out of range or no finite number.
    """
    height_m = feet_to_metres(_checked_height(height_ft))
    radius_m = gravity_radius_m(latitude_deg)
    weight = normal_gravity(latitude_deg) / STANDARD_GRAVITY
    return metres_to_feet(weight * radius_m * height_m / (radius_m + height_m))


def geometric_ft(geopotential_height_ft: float, latitude_deg: float) -> float:
    """Turn geopotential height into height above mean sea level, feet both.

    Raises
    ------
    OutOfRangeError
        When height or latitude is out of range or no finite number.
    """
    geopotential_m = feet_to_metres(_checked_height(geopotential_height_ft))
    radius_m = gravity_radius_m(latitude_deg)
    weight = normal_gravity(latitude_deg) / STANDARD_GRAVITY
    return metres_to_feet(radius_m * geopotential_m / (weight * radius_m - geopotential_m))


@dataclass(frozen=True, slots=True, kw_only=True)
class GeoidGrid:
    """Undulations of the geoid at whole degrees.

    Parameters
    ----------
    values_cm : tuple of int
        Height of the geoid above the ellipsoid, centimetres: 181 rows of 360, rows from 90 S
        northwards, each row from 180 W eastwards.
    """

    values_cm: tuple[int, ...]

    def __post_init__(self) -> None:
        wanted = GRID_ROWS * GRID_COLUMNS
        if len(self.values_cm) != wanted:
            raise InputError(
                f"the geoid grid has {len(self.values_cm)} values, not {wanted}",
                "install the package again: a file of it is damaged",
            )


def grid_from_bytes(data: bytes) -> GeoidGrid:
    """Read a geoid grid from big-endian 16-bit integers (its values in order, no header).

    Raises
    ------
    InputError
        When the length is not that of the grid.
    """
    count = len(data) // 2
    return GeoidGrid(values_cm=struct.unpack(f">{count}h", data[: 2 * count]))


def undulation_ft(grid: GeoidGrid, latitude_deg: float, longitude_deg: float) -> float:
    """Give the height of the geoid above the ellipsoid, linearly between four nodes.

    Parameters
    ----------
    grid : GeoidGrid
        The geoid, see :func:`rvsmlog.geoid_grid.load`.
    latitude_deg : float
        Geodetic latitude, degrees, north positive.
    longitude_deg : float
        Longitude, degrees, east positive, from -180 to 360.

    Returns
    -------
    float
        Undulation, feet, positive where mean sea level lies above the ellipsoid.

    Raises
    ------
    OutOfRangeError
        When there is no such position.
    """
    if not LOWEST_LONGITUDE_DEG <= longitude_deg <= HIGHEST_LONGITUDE_DEG:
        raise OutOfRangeError(
            f"longitude {longitude_deg:g} is out of range",
            "longitudes run from -180 to 180 (or 0 to 360) degrees, east positive",
        )
    north = _checked_latitude(latitude_deg) + POLE_DEG
    east = (longitude_deg - LOWEST_LONGITUDE_DEG) % GRID_COLUMNS
    # Both are held below the last cell: 90 N itself, and a sum that rounding carried to 360.
    row = min(int(north), GRID_ROWS - 2)
    column = min(int(east), GRID_COLUMNS - 1)
    south_cm = _along_row_cm(grid, row, column, east - column)
    north_cm = _along_row_cm(grid, row + 1, column, east - column)
    value_cm = south_cm + (north_cm - south_cm) * (north - row)
    return metres_to_feet(value_cm / _CENTIMETRES_PER_METRE)


def _along_row_cm(grid: GeoidGrid, row: int, column: int, fraction: float) -> float:
    start = row * GRID_COLUMNS
    west = grid.values_cm[start + column]
    east = grid.values_cm[start + (column + 1) % GRID_COLUMNS]
    return west + (east - west) * fraction
