"""Altimeter tolerances that hold for one airframe: the published one, or its own if tighter."""

from rvsmlog.records.airframe import Airframe, tolerance_at
from rvsmlog.standards.authorities import authority


def crosscheck_tolerance_ft(airframe: Airframe, level: int) -> int:
    """Give the greatest difference between the primary altimeters at a flight level, feet."""
    published = authority(airframe.authority).crosscheck_tolerance_ft.value
    table = airframe.primary_tolerance
    return published if table is None else min(published, tolerance_at(table, level))


def tightest_tolerance_ft(airframe: Airframe) -> int:
    """Give the tightest tolerance between the primary altimeters that any level has, feet."""
    published = authority(airframe.authority).crosscheck_tolerance_ft.value
    return min((published, *(feet for _, feet in airframe.primary_tolerance or ())))


def ground_tolerance_ft(airframe: Airframe) -> int:
    """Give the greatest difference between an altimeter and the known elevation, feet."""
    published = authority(airframe.authority).ground_check_tolerance_ft.value
    return min(published, airframe.ground_tolerance_ft or published)


def between_on_ground_ft(airframe: Airframe) -> int | None:
    """Give the greatest difference between the primaries on the ground; None where none is known.

    The published figure, or the lowest row of the airframe's own table where it is tighter. The
    United States leave it to the manual, so that there only that row says anything.
    """
    published, table = authority(airframe.authority).ground_between_ft, airframe.primary_tolerance
    known = [] if published is None else [published.value]
    return min((*known, *(feet for _, feet in (table or ())[:1])), default=None)


def standby_tolerance_ft(airframe: Airframe, level: int) -> int | None:
    """Give the greatest difference of the standby from a primary at a level; None if unknown."""
    table = airframe.standby_tolerance
    return None if table is None else tolerance_at(table, level)
