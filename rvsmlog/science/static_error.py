"""Error common to both altimeters, seen by comparing with height from satellites.

A static system that is wrong misleads both altimeters alike, and no cross-check shows it. The
geometric height does, once the real atmosphere is taken out: the height of the pressure surface
on which the aeroplane believed itself to be is taken from the weather, and what the aeroplane was
above it is the residual. Everything here needs the weather of the place and the hour; the outside
air temperature at the level alone leaves several hundred feet of error, and is not accepted.
"""

from collections.abc import Callable
from datetime import datetime
from enum import StrEnum
from statistics import median

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.science.atmosphere import pressure_hpa
from rvsmlog.science.geodesy import GeoidGrid, geopotential_ft, undulation_ft
from rvsmlog.science.weather_field import Place
from rvsmlog.science.weather_worth import WORTH, WeatherSource

#: What stands beside every result.
NOT_HEIGHT_MONITORING = (
    "This is not approved height monitoring and does not count as monitoring by any authority. "
    "It is an aid to notice a change in the static system: its sources of weather are not "
    "certified, and one flight says little. Approved manuals, licensed maintenance, the regional "
    "monitoring agency and the pilot in command decide."
)
#: An aeroplane whose indicated altitude moved more than this was not level (twice 100 ft is a
#: working limit without a published source; lag of the static system grows with the climb).
LEVEL_WITHIN_FT = 200.0
#: A satellite height on the ground that is further off is of the other kind (a working limit,
#: without a published source; receivers are within some 30 ft most of the time).
GROUND_WITHIN_FT = 50.0
# Standard normal quantile of 99.5 per cent: two-sided 1 per cent.
_DOUBT = 2.5758

#: Gives the geopotential height in feet of a pressure in hectopascals at a place.
PressureSurface = Callable[[float, Place], float]


class SignConvention(StrEnum):
    """Which way a static error is counted; stored with each value, since documents differ."""

    HIGHER_IS_POSITIVE = "positive when the aircraft is higher than it shows"


class HeightKind(StrEnum):
    """What a satellite receiver's height is counted from; always stated, never assumed."""

    ELLIPSOID = "ellipsoid"
    MEAN_SEA_LEVEL = "mean-sea-level"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One reading of both heights in level flight.

    Parameters
    ----------
    place : Place
        Where and when.
    satellite_height_ft : float
        Height from the satellite receiver, feet, of the kind that its segment states.
    indicated_ft : float
        Altitude on 1013.25 hPa: the mean of both altimeters, or one of them throughout.
    """

    place: Place
    satellite_height_ft: float
    indicated_ft: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A stretch of level flight.

    Parameters
    ----------
    flight : str
        Which flight: its segments count once.
    samples : tuple of Sample
        At least one.
    height_kind : HeightKind
        What the satellite heights are counted from.
    source : WeatherSource
        Kind of weather used.
    weather : tuple of str
        Keys of the soundings, analyses or forecasts used: flights that share one count once.
    kind_confirmed : bool
        Whether the kind of height is known from more than a statement: from the receiver's
        manual, or from a ground check (:func:`kind_on_ground`). No doubt is then raised.
    """

    flight: str
    samples: tuple[Sample, ...]
    height_kind: HeightKind
    source: WeatherSource
    weather: tuple[str, ...]
    kind_confirmed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FlightResidual:
    """What one flight says about the static system.

    Parameters
    ----------
    flight : str
        Which flight.
    at : datetime
        UTC instant of the middle sample.
    indicated_ft : float
        Median indicated altitude, feet.
    residual_ft : float
        Median height of the aeroplane above the pressure surface it showed, feet.
    sigma_ft : float
        Standard deviation to expect of it from the kind of weather used, feet.
    samples : int
        Number of samples behind it.
    undulation_ft : float
        Median undulation of the geoid there, feet.
    height_kind : HeightKind
        What was stated of the satellite heights.
    kind_doubtful : bool
        Whether the residual looks as if the other kind had been meant.
    source : WeatherSource
        Kind of weather used.
    weather : tuple of str
        Keys of the weather used.
    sign : SignConvention
        How the residual is counted.
    """

    flight: str
    at: datetime
    indicated_ft: float
    residual_ft: float
    sigma_ft: float
    samples: int
    undulation_ft: float
    height_kind: HeightKind
    kind_doubtful: bool
    source: WeatherSource
    weather: tuple[str, ...]
    sign: SignConvention = SignConvention.HIGHER_IS_POSITIVE


def sample_residual_ft(
    sample: Sample, undulation: float, kind: HeightKind, surface: PressureSurface
) -> float:
    """Give how far above the pressure surface that it showed the aeroplane was.

    Parameters
    ----------
    sample : Sample
        One reading.
    undulation : float
        Height of the geoid above the ellipsoid there, feet.
    kind : HeightKind
        What the satellite height is counted from.
    surface : callable
        The weather: geopotential height of a pressure at a place, feet.

    Returns
    -------
    float
        Feet, positive when the aeroplane was higher than it showed.
    """
    height = sample.satellite_height_ft
    if kind is HeightKind.ELLIPSOID:
        height -= undulation
    real = geopotential_ft(height, sample.place.latitude_deg)
    return real - surface(pressure_hpa(sample.indicated_ft), sample.place)


def flight_residual(segment: Segment, grid: GeoidGrid, surface: PressureSurface) -> FlightResidual:
    """Make one value of a level segment.

    Parameters
    ----------
    segment : Segment
        Samples of level flight.
    grid : GeoidGrid
        The geoid, see :func:`rvsmlog.geoid_grid.load`.
    surface : callable
        The weather: geopotential height of a pressure at a place, feet. For soundings, see
        :mod:`rvsmlog.science.soundings` and :mod:`rvsmlog.science.weather_field`.

    Returns
    -------
    FlightResidual
        The median of the samples, with what the weather is worth.

    Raises
    ------
    InputError
        When there is no sample, no weather is named, or the aeroplane was not level.
    OutOfRangeError
        When a height, a position or the weather is out of range.
    """
    _check(segment)
    undulations = [
        undulation_ft(grid, sample.place.latitude_deg, sample.place.longitude_deg)
        for sample in segment.samples
    ]
    residuals = [
        sample_residual_ft(sample, undulation, segment.height_kind, surface)
        for sample, undulation in zip(segment.samples, undulations, strict=True)
    ]
    residual, undulation = median(residuals), median(undulations)
    sigma = WORTH[segment.source].sigma_ft
    return FlightResidual(
        flight=segment.flight,
        at=sorted(sample.place.at for sample in segment.samples)[len(segment.samples) // 2],
        indicated_ft=median(sample.indicated_ft for sample in segment.samples),
        residual_ft=residual,
        sigma_ft=sigma,
        samples=len(residuals),
        undulation_ft=undulation,
        height_kind=segment.height_kind,
        kind_doubtful=not segment.kind_confirmed
        and looks_like_other_kind(residual, undulation, segment.height_kind, sigma),
        source=segment.source,
        weather=segment.weather,
    )


def residual_of_other_kind_ft(undulation: float, kind: HeightKind) -> float:
    """Give the residual that arises when the height was of the other kind than stated.

    Parameters
    ----------
    undulation : float
        Height of the geoid above the ellipsoid, feet.
    kind : HeightKind
        The kind stated.

    Returns
    -------
    float
        Feet: the undulation was taken off once too often (-N), or once too seldom (+N).
    """
    return -undulation if kind is HeightKind.ELLIPSOID else undulation


def looks_like_other_kind(
    residual: float, undulation: float, kind: HeightKind, sigma: float
) -> bool:
    """Say whether a residual fits a height of the other kind, and does not fit no error at all.

    A real static error of that very size looks the same, so this is a doubt to settle (by the
    receiver's manual or :func:`kind_on_ground`), and no reason to set the flight aside.

    Parameters
    ----------
    residual, undulation, sigma : float
        The residual, the undulation and the residual's standard deviation, feet.
    kind : HeightKind
        The kind stated.

    Returns
    -------
    bool
        True when it is within two-sided 1 per cent of the other kind and outside that of zero.
    """
    reach = _DOUBT * sigma
    off = residual - residual_of_other_kind_ft(undulation, kind)
    return abs(residual) > reach and abs(off) <= reach


def kind_on_ground(
    satellite_height_ft: float, elevation_ft: float, undulation: float
) -> HeightKind | None:
    """Tell what a receiver's height is counted from by reading it where the elevation is known.

    Parameters
    ----------
    satellite_height_ft : float
        Height shown on the ground, feet.
    elevation_ft : float
        Elevation of that place above mean sea level, feet.
    undulation : float
        Height of the geoid above the ellipsoid there, feet.

    Returns
    -------
    HeightKind or None
        The kind that fits within 50 ft when the other does not; None when both fit, as where the
        undulation is small, or neither does.
    """
    above_sea = abs(satellite_height_ft - elevation_ft) <= GROUND_WITHIN_FT
    above_ellipsoid = abs(satellite_height_ft - elevation_ft - undulation) <= GROUND_WITHIN_FT
    if above_sea is above_ellipsoid:
        return None
    return HeightKind.MEAN_SEA_LEVEL if above_sea else HeightKind.ELLIPSOID


def _check(segment: Segment) -> None:
    if not segment.samples:
        raise InputError(f"{segment.flight}: no sample", "give one reading or more")
    if not segment.weather:
        raise InputError(
            f"{segment.flight}: the weather is not named",
            "name the sounding, analysis or forecast, so that shared weather counts once",
        )
    shown = [sample.indicated_ft for sample in segment.samples]
    moved = max(shown) - min(shown)
    if not moved <= LEVEL_WITHIN_FT:
        raise InputError(
            f"{segment.flight}: indicated altitude moved {moved:.0f} ft, which is not level flight",
            f"use a stretch within {LEVEL_WITHIN_FT:.0f} ft",
        )
