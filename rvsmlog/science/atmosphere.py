"""Standard atmosphere up to 20 km, both ways, and what a sub-scale setting does to a reading.

Altitudes are geopotential pressure altitudes in feet, pressures are in hectopascals. Only the
defining constants are typed in; every exponent and every layer pressure is computed from them.

The constants are those of ICAO Doc 7488 and ISO 2533, from memory. With them all 23 pressures of
14 CFR Part 43 Appendix E Table I come out to the last printed digit, which the tests hold.
"""

import math

from rvsmlog.errors import OutOfRangeError
from rvsmlog.units import METRES_PER_FOOT, feet_to_metres, metres_to_feet

#: Standard acceleration of free fall, m/s2.
STANDARD_GRAVITY = 9.80665
#: Specific gas constant of dry air, J/(kg K).
GAS_CONSTANT = 287.05287
#: Temperature at zero pressure altitude, kelvins.
SEA_LEVEL_TEMPERATURE_K = 288.15
#: Pressure at zero pressure altitude, hectopascals.
SEA_LEVEL_PRESSURE_HPA = 1013.25
#: Change of temperature with geopotential height below the tropopause, kelvins a metre.
LAPSE_RATE_K_PER_M = -0.0065
#: Geopotential height of the tropopause, metres.
TROPOPAUSE_M = 11_000.0
#: Geopotential height to which the isothermal layer above the tropopause reaches, metres.
TOP_M = 20_000.0

#: Lowest and highest altitude answered, feet (the highest is 20 km, to the next whole foot).
LOWEST_FT = -2_000.0
HIGHEST_FT = float(math.ceil(TOP_M / METRES_PER_FOOT))

TROPOPAUSE_TEMPERATURE_K = SEA_LEVEL_TEMPERATURE_K + LAPSE_RATE_K_PER_M * TROPOPAUSE_M
_EXPONENT = -STANDARD_GRAVITY / (LAPSE_RATE_K_PER_M * GAS_CONSTANT)
TROPOPAUSE_PRESSURE_HPA = SEA_LEVEL_PRESSURE_HPA * math.pow(
    TROPOPAUSE_TEMPERATURE_K / SEA_LEVEL_TEMPERATURE_K, _EXPONENT
)
# Height over which pressure falls by the factor e in the isothermal layer, metres.
_SCALE_HEIGHT_M = GAS_CONSTANT * TROPOPAUSE_TEMPERATURE_K / STANDARD_GRAVITY


def _checked(value: float, low: float, high: float, what: str, unit: str) -> float:
    """Give a value back when it lies in its range; ``nan`` lies in none."""
    if not low <= value <= high:
        raise OutOfRangeError(
            f"{what} {value:g} {unit} is out of range",
            f"the range is {low:,.0f} to {high:,.0f} {unit}",
        )
    return value


def temperature_k(altitude_ft: float) -> float:
    """Give the standard temperature at a pressure altitude.

    Parameters
    ----------
    altitude_ft : float
        Pressure altitude, feet, from -2,000 to 65,617.

    Returns
    -------
    float
        Temperature, kelvins.

    Raises
    ------
    OutOfRangeError
        When the altitude is out of range or no finite number.
    """
    height_m = feet_to_metres(_checked(altitude_ft, LOWEST_FT, HIGHEST_FT, "altitude", "ft"))
    return SEA_LEVEL_TEMPERATURE_K + LAPSE_RATE_K_PER_M * min(height_m, TROPOPAUSE_M)


def pressure_hpa(altitude_ft: float) -> float:
    """Give the standard pressure at a pressure altitude.

    Parameters
    ----------
    altitude_ft : float
        Pressure altitude, feet, from -2,000 to 65,617.

    Returns
    -------
    float
        Pressure, hectopascals.

    Raises
    ------
    OutOfRangeError
        When the altitude is out of range or no finite number.

    Examples
    --------
    >>> round(pressure_hpa(31_000), 3)
    287.447
    """
    ratio = temperature_k(altitude_ft) / SEA_LEVEL_TEMPERATURE_K
    above_m = feet_to_metres(altitude_ft) - TROPOPAUSE_M
    if above_m <= 0:
        return SEA_LEVEL_PRESSURE_HPA * math.pow(ratio, _EXPONENT)
    return TROPOPAUSE_PRESSURE_HPA * math.exp(-above_m / _SCALE_HEIGHT_M)


#: Highest and lowest pressure answered, hectopascals: those at the two ends of the range.
HIGHEST_HPA = pressure_hpa(LOWEST_FT)
LOWEST_HPA = pressure_hpa(HIGHEST_FT)
#: Range of sub-scale settings answered, hectopascals. Sea-level pressures on record lie between
#: about 870 and 1085 hPa (from memory), so a value outside is a slip, or inches of mercury.
LOWEST_QNH_HPA = 850.0
HIGHEST_QNH_HPA = HIGHEST_HPA


def altitude_ft(pressure_hpa: float) -> float:
    """Give the pressure altitude at which a pressure is the standard one.

    Parameters
    ----------
    pressure_hpa : float
        Pressure, hectopascals, from that at 65,617 ft (54.7) to that at -2,000 ft (1088.7).

    Returns
    -------
    float
        Pressure altitude, feet, within the range that the other functions answer.

    Raises
    ------
    OutOfRangeError
        When the pressure is out of range or no finite number.
    """
    _checked(pressure_hpa, LOWEST_HPA, HIGHEST_HPA, "pressure", "hPa")
    if pressure_hpa >= TROPOPAUSE_PRESSURE_HPA:
        ratio = math.pow(pressure_hpa / SEA_LEVEL_PRESSURE_HPA, 1.0 / _EXPONENT)
        height_m = SEA_LEVEL_TEMPERATURE_K * (ratio - 1.0) / LAPSE_RATE_K_PER_M
    else:
        height_m = TROPOPAUSE_M - _SCALE_HEIGHT_M * math.log(pressure_hpa / TROPOPAUSE_PRESSURE_HPA)
    # Rounding may carry the two end points past the range by a part in 10^16: hold them.
    return min(max(metres_to_feet(height_m), LOWEST_FT), HIGHEST_FT)


def qnh_correction_ft(qnh_hpa: float) -> float:
    """Give what an altimeter's sub-scale setting adds to the altitude it shows on 1013.25.

    Negative for settings below 1013.25 hPa. This is the difference of which 14 CFR Part 43
    Appendix E Table IV is the table.

    Parameters
    ----------
    qnh_hpa : float
        Sub-scale setting, hectopascals, from 850 to 1088.7.

    Returns
    -------
    float
        Feet to add to pressure altitude to have indicated altitude.

    Raises
    ------
    OutOfRangeError
        When the setting is out of range (inches of mercury are) or no finite number.
    """
    _checked(qnh_hpa, LOWEST_QNH_HPA, HIGHEST_QNH_HPA, "altimeter setting", "hPa")
    return -altitude_ft(qnh_hpa)


def pressure_altitude_ft(indicated_ft: float, qnh_hpa: float) -> float:
    """Give the pressure altitude behind an indicated altitude and a sub-scale setting.

    Parameters
    ----------
    indicated_ft : float
        Indicated altitude (an aerodrome's elevation, say), feet.
    qnh_hpa : float
        Sub-scale setting, hectopascals.

    Returns
    -------
    float
        Pressure altitude, feet.

    Raises
    ------
    OutOfRangeError
        When the setting or the pressure altitude is out of range or no finite number.
    """
    altitude = indicated_ft - qnh_correction_ft(qnh_hpa)
    return _checked(altitude, LOWEST_FT, HIGHEST_FT, "pressure altitude", "ft")
