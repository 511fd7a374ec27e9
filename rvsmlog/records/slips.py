"""Readings that no altimeter shows in service: more likely a slip of the pen than the altimetry.

They are asked for again, not refused: once confirmed they stand and are judged like any other.
"""

from collections.abc import Iterable
from typing import Any

from rvsmlog.frozen import dataclass
from rvsmlog.records.flights import GROUND_PHASES, CrossCheck
from rvsmlog.units import level_to_feet, show_level

#: A reading further than this from the level, or on the ground from the elevation, is asked for
#: again, feet. Our own choice, no source: RVSM tolerances are 200 ft, and a height error of 245 ft
#: is called large already; a digit lost or doubled is off by thousands.
SLIP_FT = 1000
#: Fields that a slip may be in, in the order in which they are asked for.
ALTITUDES = ("primary_1_ft", "primary_2_ft", "standby_ft", "transponder_ft")


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A reading that may be a slip of the pen: its field, and what is odd about it."""

    field: str
    says: str


def slip(name: str, reading_ft: int, *, level: int | None, elevation_ft: int | None) -> Slip | None:
    """Say why one reading may be a slip of the pen; None where it is likely.

    Parameters
    ----------
    name : str
        Its field.
    reading_ft : int
        What it says.
    level : int or None
        The flight level held; None on the ground.
    elevation_ft : int or None
        On the ground the known elevation, feet; None in flight.
    """
    reference = elevation_ft if level is None else level_to_feet(level)
    if reference is None or abs(reading_ft - reference) <= SLIP_FT:
        return None
    where = "the elevation" if level is None else show_level(level)
    return Slip(
        field=name, says=f"{reading_ft} ft is {abs(reading_ft - reference)} ft from {where}"
    )


def slips(check: CrossCheck) -> tuple[Slip, ...]:
    """Give the readings of a cross-check that may be slips of the pen."""
    level = None if check.on_ground else check.level
    elevation = check.field_elevation_ft if check.on_ground else None
    found = []
    for name in ALTITUDES:
        reading = getattr(check, name)
        if reading is not None:
            found.append(slip(name, reading, level=level, elevation_ft=elevation))
    return tuple(each for each in found if each is not None)


def any_slip(rows: Iterable[tuple[Any, ...]]) -> bool:
    """Whether :func:`slips` would find any in many cross-checks, without making records of them.

    Each is given by its phase, level, elevation, and what stands in `ALTITUDES`.
    """
    for phase, level, elevation, *readings in rows:
        reference = elevation if phase in GROUND_PHASES else level_to_feet(level)
        for reading in readings:
            if reading is not None and abs(reading - reference) > SLIP_FT:
                return True
    return False
