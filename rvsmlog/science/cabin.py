"""Cabin altitude from level and differential pressure, both ways, and the margins it leaves.

The differential is cabin pressure less outside pressure: the greatest that the relief valve
allows, or the greatest that the day's bleed air and leaks achieve, whichever the caller gives.
The cabin is never pumped below sea level: where the differential could, the answer is 0 ft.
"""

import math

from rvsmlog.errors import OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.atmosphere import (
    HIGHEST_FT,
    LOWEST_HPA,
    SEA_LEVEL_PRESSURE_HPA,
    altitude_ft,
    pressure_hpa,
)
from rvsmlog.standards.oxygen_figures import CABIN_LIMITS
from rvsmlog.standards.source import Source
from rvsmlog.units import feet_to_level, hpa_to_psi, psi_to_hpa

#: Greatest differential answered, psi; no civil aeroplane holds more (common practice, no source).
HIGHEST_DIFFERENTIAL_PSI = 12.0
# Decimals of a foot kept: going to pressure and back must land on a limit itself, not beside it.
_DECIMALS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class CabinMargin:
    """How far the cabin is from one altitude that matters.

    Parameters
    ----------
    limit_ft : int
        Cabin altitude that matters.
    why : str
        What it means.
    margin_ft : float
        Limit less cabin altitude, feet; negative once above it.
    differential_psi : float
        Differential that holds the limit at the planned altitude.
    highest_level : int or None
        Highest flight level at which the given differential holds the limit; None: the
        highest lies above all that the atmosphere here answers.
    source : Source
        Where the limit stands.
    """

    limit_ft: int
    why: str
    margin_ft: float
    differential_psi: float
    highest_level: int | None
    source: Source


def _checked_psi(differential_psi: float) -> float:
    """Give a differential back when it is one that a cabin can hold."""
    if not 0.0 <= differential_psi <= HIGHEST_DIFFERENTIAL_PSI:
        raise OutOfRangeError(
            f"differential {differential_psi:g} psi is out of range",
            f"the range is 0 to {HIGHEST_DIFFERENTIAL_PSI:g} psi",
        )
    return differential_psi


def cabin_altitude_ft(planned_ft: float, differential_psi: float) -> float:
    """Give the cabin altitude at a pressure altitude and a differential.

    Parameters
    ----------
    planned_ft : float
        Pressure altitude of the aeroplane, feet.
    differential_psi : float
        Cabin pressure less outside pressure, psi, from 0 to 12.

    Returns
    -------
    float
        Cabin pressure altitude, feet, not below 0 (nor below the aeroplane's own).

    Raises
    ------
    OutOfRangeError
        When either is out of range or no finite number.

    Examples
    --------
    >>> round(cabin_altitude_ft(31_000, 6.5))
    8597
    """
    outside_hpa = pressure_hpa(planned_ft)
    inside_hpa = outside_hpa + psi_to_hpa(_checked_psi(differential_psi))
    highest_hpa = max(SEA_LEVEL_PRESSURE_HPA, outside_hpa)
    return round(altitude_ft(min(inside_hpa, highest_hpa)), _DECIMALS)


def differential_psi(planned_ft: float, cabin_ft: float) -> float:
    """Give the differential that holds a cabin altitude at a pressure altitude.

    Parameters
    ----------
    planned_ft, cabin_ft : float
        Pressure altitude of the aeroplane and of its cabin, feet.

    Returns
    -------
    float
        Psi; 0 where the aeroplane is not above the cabin altitude.

    Raises
    ------
    OutOfRangeError
        When either is out of range or no finite number.

    Examples
    --------
    >>> round(differential_psi(31_000, 8_000), 3)
    6.747
    """
    return max(hpa_to_psi(pressure_hpa(cabin_ft) - pressure_hpa(planned_ft)), 0.0)


def altitude_for_cabin_ft(cabin_ft: float, differential_psi: float) -> float:
    """Give the pressure altitude at which the cabin reaches an altitude.

    Parameters
    ----------
    cabin_ft : float
        Cabin pressure altitude, feet.
    differential_psi : float
        Cabin pressure less outside pressure, psi, from 0 to 12.

    Returns
    -------
    float
        Pressure altitude of the aeroplane, feet.

    Raises
    ------
    OutOfRangeError
        When the cabin never reaches that altitude below 65,617 ft, or an input is out of range.
    """
    outside_hpa = pressure_hpa(cabin_ft) - psi_to_hpa(_checked_psi(differential_psi))
    if outside_hpa < LOWEST_HPA:
        raise OutOfRangeError(
            f"{differential_psi:g} psi holds a cabin below {cabin_ft:,.0f} ft at every altitude "
            f"up to {HIGHEST_FT:,.0f} ft",
            "check the differential",
        )
    return round(altitude_ft(outside_hpa), _DECIMALS)


def highest_level_for_cabin(cabin_ft: float, differential_psi: float) -> int | None:
    """Give the highest flight level at which a differential holds a cabin altitude.

    Returns
    -------
    int or None
        Flight level; None when it lies above all that the atmosphere here answers.

    Raises
    ------
    OutOfRangeError
        When an input is out of range.
    """
    if pressure_hpa(cabin_ft) - psi_to_hpa(_checked_psi(differential_psi)) < LOWEST_HPA:
        return None
    return feet_to_level(math.floor(altitude_for_cabin_ft(cabin_ft, differential_psi)))


def cabin_margins(planned_ft: float, differential: float) -> tuple[CabinMargin, ...]:
    """Give the margins to 8,000, 10,000, 12,500, 14,000 and 15,000 ft.

    Parameters
    ----------
    planned_ft : float
        Pressure altitude of the aeroplane, feet.
    differential : float
        Cabin pressure less outside pressure, psi.

    Returns
    -------
    tuple of CabinMargin
        Lowest limit first.

    Raises
    ------
    OutOfRangeError
        When either is out of range or no finite number.
    """
    cabin_ft = cabin_altitude_ft(planned_ft, differential)
    return tuple(
        CabinMargin(
            limit_ft=limit.value,
            why=limit.note,
            margin_ft=limit.value - cabin_ft,
            differential_psi=differential_psi(planned_ft, limit.value),
            highest_level=highest_level_for_cabin(limit.value, differential),
            source=limit.source,
        )
        for limit in CABIN_LIMITS
    )
