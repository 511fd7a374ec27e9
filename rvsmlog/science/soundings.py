"""Heights of pressure surfaces in the real atmosphere, from soundings and from temperatures.

Heights are geopotential feet above mean sea level, pressures hectopascals, temperatures degrees
Celsius. A hole in a profile is refused, not bridged: see :data:`WIDEST_STEP`.
"""

import math
from dataclasses import replace
from datetime import datetime

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.atmosphere import GAS_CONSTANT, STANDARD_GRAVITY, altitude_ft
from rvsmlog.units import metres_to_feet

#: Widest ratio of pressures between neighbouring levels that is interpolated or integrated
#: across. The widest step between standard pressure levels is 1.5 (150 to 100 hPa); a little
#: more lets one who notes the temperature every 10,000 ft of a climb through.
WIDEST_STEP = 1.6
#: Molar mass of water vapour over that of dry air (18.01528 and 28.96442 g/mol).
VAPOUR_RATIO = 18.01528 / 28.96442
ZERO_CELSIUS_K = 273.15
# Feet of thickness for each kelvin of virtual temperature and unit of ln p.
_FEET_PER_KELVIN = metres_to_feet(GAS_CONSTANT / STANDARD_GRAVITY)
# Magnus formula over water, hPa and degrees (WMO-No. 8, Annex 4.B, from memory). Soundings give
# humidity over water at all temperatures.
_MAGNUS_HPA, _MAGNUS_FACTOR, _MAGNUS_C = 6.112, 17.62, 243.12


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundingLevel:
    """One level of a sounding; what it does not give is None.

    Parameters
    ----------
    pressure_hpa : float
        Pressure, hectopascals.
    height_ft : float or None
        Geopotential height above mean sea level, feet.
    temperature_c : float or None
        Air temperature, degrees Celsius.
    humidity_percent : float or None
        Relative humidity over water, per cent.
    dew_point_depression_c : float or None
        Temperature less dew point, degrees.
    """

    pressure_hpa: float
    height_ft: float | None = None
    temperature_c: float | None = None
    humidity_percent: float | None = None
    dew_point_depression_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounding:
    """A profile of the atmosphere over one place at one time.

    Parameters
    ----------
    station : str
        Station identifier, or what else names the profile.
    valid_at : datetime or None
        UTC instant for which it stands, None when the source does not say.
    latitude_deg, longitude_deg : float
        Its place, degrees, north and east positive.
    levels : tuple of SoundingLevel
        From the ground up: pressure falls from each level to the next.

    Raises
    ------
    InputError
        When pressure does not fall from level to level.
    """

    station: str
    valid_at: datetime | None
    latitude_deg: float
    longitude_deg: float
    levels: tuple[SoundingLevel, ...]

    def __post_init__(self) -> None:
        for lower, upper in zip(self.levels, self.levels[1:], strict=False):
            if not lower.pressure_hpa > upper.pressure_hpa > 0:
                raise InputError(
                    f"{self.key}: pressure does not fall from {lower.pressure_hpa:g} "
                    f"to {upper.pressure_hpa:g} hPa",
                    "give each pressure level once, from the ground up",
                )

    @property
    def key(self) -> str:
        """Name this piece of weather: values that rest on the same one are not independent."""
        when = "time unknown" if self.valid_at is None else f"{self.valid_at:%Y-%m-%dT%H:%MZ}"
        return f"{self.station} {when}"


def vapour_pressure_hpa(dew_point_c: float) -> float:
    """Give the pressure of water vapour at saturation over water, hectopascals."""
    return _MAGNUS_HPA * math.exp(_MAGNUS_FACTOR * dew_point_c / (_MAGNUS_C + dew_point_c))


def virtual_temperature_k(level: SoundingLevel) -> float | None:
    """Give the temperature at which dry air would be as light as the air of a level.

    Parameters
    ----------
    level : SoundingLevel
        Its relative humidity is used; where it has none, its dew-point depression; where it has
        neither, the air is taken for dry (aloft that costs little: 0.1 K at 300 hPa).

    Returns
    -------
    float or None
        Virtual temperature, kelvins; None when the level has no temperature.
    """
    if level.temperature_c is None:
        return None
    vapour_hpa = 0.0
    if level.humidity_percent is not None:
        vapour_hpa = vapour_pressure_hpa(level.temperature_c) * level.humidity_percent / 100.0
    elif level.dew_point_depression_c is not None:
        vapour_hpa = vapour_pressure_hpa(level.temperature_c - level.dew_point_depression_c)
    kelvins = level.temperature_c + ZERO_CELSIUS_K
    return kelvins / (1.0 - vapour_hpa / level.pressure_hpa * (1.0 - VAPOUR_RATIO))


def thickness_ft(lower: SoundingLevel, upper: SoundingLevel) -> float:
    """Give the height between two levels by the virtual temperature, linear in ln p.

    Parameters
    ----------
    lower, upper : SoundingLevel
        Two levels with temperatures, the lower one first.

    Returns
    -------
    float
        Geopotential feet.

    Raises
    ------
    InputError
        When one of them has no temperature.
    OutOfRangeError
        When they are too far apart, see :data:`WIDEST_STEP`.
    """
    below, above = virtual_temperature_k(lower), virtual_temperature_k(upper)
    if below is None or above is None:
        raise InputError("a level has no temperature", "leave it out before integrating")
    _check_step(lower.pressure_hpa, upper.pressure_hpa)
    return (
        _FEET_PER_KELVIN * (below + above) / 2 * math.log(lower.pressure_hpa / upper.pressure_hpa)
    )


def with_heights_from_temperatures(sounding: Sounding) -> Sounding:
    """Integrate virtual temperature upwards from the lowest level with height and temperature.

    Parameters
    ----------
    sounding : Sounding
        Profile with temperatures; one height suffices.

    Returns
    -------
    Sounding
        Its levels with temperatures, from that one up, all with heights so computed.

    Raises
    ------
    InputError
        When no level has both height and temperature.
    OutOfRangeError
        When a hole in the temperatures is wider than :data:`WIDEST_STEP`.
    """
    warm = tuple(level for level in sounding.levels if level.temperature_c is not None)
    start = next((i for i, level in enumerate(warm) if level.height_ft is not None), None)
    if start is None:
        raise InputError(
            f"{sounding.key}: no level has both a height and a temperature",
            "give the height and temperature of the ground",
        )
    built = [warm[start]]
    height_ft = warm[start].height_ft or 0.0
    for level in warm[start + 1 :]:
        height_ft += thickness_ft(built[-1], level)
        built.append(replace(level, height_ft=height_ft))
    return replace(sounding, levels=tuple(built))


def height_of_pressure_ft(sounding: Sounding, pressure_hpa: float) -> float:
    """Give the height of a pressure surface over the place of a sounding.

    What is interpolated, linearly in ln p, is the difference between real and standard height
    (the D-value), which bends far less than height itself.

    Parameters
    ----------
    sounding : Sounding
        Profile with heights.
    pressure_hpa : float
        Pressure, hectopascals.

    Returns
    -------
    float
        Geopotential height, feet.

    Raises
    ------
    OutOfRangeError
        When the pressure lies outside the levels that have heights, or in a hole between them.
    """
    known = tuple(level for level in sounding.levels if level.height_ft is not None)
    lower = next((level for level in reversed(known) if level.pressure_hpa >= pressure_hpa), None)
    upper = next((level for level in known if level.pressure_hpa <= pressure_hpa), None)
    if lower is None or upper is None:
        raise OutOfRangeError(
            f"{sounding.key} gives no height around {pressure_hpa:g} hPa",
            "use a profile that reaches from the ground past the level flown",
        )
    if lower is upper:
        return lower.height_ft or 0.0
    _check_step(lower.pressure_hpa, upper.pressure_hpa)
    below, above = _d_value_ft(lower), _d_value_ft(upper)
    share = math.log(lower.pressure_hpa / pressure_hpa) / math.log(
        lower.pressure_hpa / upper.pressure_hpa
    )
    return altitude_ft(pressure_hpa) + below + share * (above - below)


def _d_value_ft(level: SoundingLevel) -> float:
    return (level.height_ft or 0.0) - altitude_ft(level.pressure_hpa)


def _check_step(lower_hpa: float, upper_hpa: float) -> None:
    if lower_hpa / upper_hpa > WIDEST_STEP:
        raise OutOfRangeError(
            f"nothing is known between {lower_hpa:g} and {upper_hpa:g} hPa",
            f"levels may lie apart by a factor of {WIDEST_STEP:g} at most",
        )
