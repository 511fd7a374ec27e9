"""Feet, flight levels and pressures: exact conversion factors and checked parsing of levels.

Every factor here is exact by definition (international foot, pound, gravity) or stated with
its source. Formulae of the atmosphere are in :mod:`rvsmlog.science.atmosphere`.
"""

import re

from rvsmlog.errors import InputError, OutOfRangeError

#: Metres in one international foot, exact since 1959.
METRES_PER_FOOT = 0.3048
#: Hectopascals in one inch of mercury (conventional, 0 degrees C, g = 9.80665 m/s2).
HPA_PER_INHG = 33.86389
#: Hectopascals in one pound per square inch (0.45359237 kg * 9.80665 m/s2 / 0.0254 m squared).
HPA_PER_PSI = 0.45359237 * 9.80665 / (0.0254 * 0.0254) / 100.0
#: Hectopascals in one millimetre of mercury (conventional).
HPA_PER_MMHG = 1013.25 / 760.0

_LEVEL = re.compile(r"(?:FL ?)?(\d{1,3})", re.IGNORECASE | re.ASCII)
#: Highest flight level that any record or question may name.
HIGHEST_LEVEL = 660
_FEET_PER_LEVEL = 100
#: Item 15 of the flight plan writes a level as F and three figures (ICAO Doc 4444, from memory).
_PLANNED_DIGITS = 3


def level_to_feet(level: int) -> int:
    """Give the pressure altitude of a flight level, feet."""
    return level * _FEET_PER_LEVEL


def feet_to_level(feet: int) -> int:
    """Give the highest flight level that is not above a pressure altitude in feet."""
    return feet // _FEET_PER_LEVEL


def parse_level(text: str) -> int:
    """Read a flight level written ``310`` or ``FL310``.

    Parameters
    ----------
    text : str
        One to three digits, with or without ``FL`` before them.

    Returns
    -------
    int
        The flight level, hundreds of feet.

    Raises
    ------
    InputError
        When the text is no flight level; feet are recognised and answered with the level meant.

    Examples
    --------
    >>> parse_level("FL310")
    310
    """
    stripped = text.strip()
    match = _LEVEL.fullmatch(stripped)
    if match is None:
        digits = stripped.lower().removesuffix("ft").replace(",", "").strip()
        if digits.isascii() and digits.isdigit() and len(digits) in (4, 5):
            meant = int(digits) // _FEET_PER_LEVEL
            raise InputError(
                f"{stripped!r} looks like feet, but a flight level is wanted",
                f"write {meant:03d} or FL{meant:03d} for {digits} ft",
            )
        raise InputError(f"{stripped!r} is no flight level", "write 310 or FL310")
    level = int(match.group(1))
    if not 0 < level <= HIGHEST_LEVEL:
        raise OutOfRangeError(
            f"flight level {level} is out of range", f"levels run from 1 to {HIGHEST_LEVEL}"
        )
    return level


def parse_planned_level(text: str) -> int:
    """Read the flight level that is asked for; one of fewer than three digits is refused.

    A flight level is filed with three figures. ``31`` is far more often FL310 with a
    digit lost than FL031, for which the answer would be GO.

    Parameters
    ----------
    text : str
        Three digits, with or without ``FL`` before them.

    Returns
    -------
    int
        The flight level, hundreds of feet.

    Raises
    ------
    InputError
        When the text is no flight level, or has fewer than three digits.

    Examples
    --------
    >>> parse_planned_level("095")
    95
    """
    level = parse_level(text)
    digits = text.strip().upper().removeprefix("FL")
    if len(digits.strip()) < _PLANNED_DIGITS:
        raise InputError(
            f"{text.strip()!r} has fewer than three digits",
            f"write {level:03d} for FL{level:03d}, {level * _FEET_PER_LEVEL:,} ft; "
            f"310 for FL310, 31,000 ft",
        )
    return level


def show_level(level: int) -> str:
    """Write a flight level as the trade does, ``FL310`` or ``FL090``."""
    return f"FL{level:03d}"


def inhg_to_hpa(inhg: float) -> float:
    """Convert inches of mercury to hectopascals."""
    return inhg * HPA_PER_INHG


def psi_to_hpa(psi: float) -> float:
    """Convert pounds per square inch to hectopascals."""
    return psi * HPA_PER_PSI


def hpa_to_psi(hpa: float) -> float:
    """Convert hectopascals to pounds per square inch."""
    return hpa / HPA_PER_PSI


def metres_to_feet(metres: float) -> float:
    """Convert metres to feet."""
    return metres / METRES_PER_FOOT


def feet_to_metres(feet: float) -> float:
    """Convert feet to metres."""
    return feet * METRES_PER_FOOT
