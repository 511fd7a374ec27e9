"""From altimeter readings to one difference for each flight, level band and Mach band.

Sign: every difference is **altimeter 1 less altimeter 2**, positive when altimeter 1 shows more.
Readings of one flight share its weather, its trim and its pilot's eye. They are not independent,
and a detector that takes them singly raises several times the false alarms it promises; so each
flight gives one median for each band.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from statistics import median
from typing import NamedTuple

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass

#: Width of a level band (common practice, no source). Altimeters are compared at like heights,
#: because their scale errors differ with height; RVSM airspace begins a band.
LEVEL_BAND = 40
_LEVEL_ANCHOR = 290
#: Width of a Mach band (common practice, no source): two static systems differ with speed.
MACH_BAND = 0.10
#: Readings without a flight belong to one flight when no gap between them is longer than this
#: (common practice, no source).
SAME_FLIGHT = timedelta(hours=3)
#: A flight named twice over so long a gap is two flights of one number.
SAME_NAME = timedelta(hours=24)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Altimeters read together in level flight, all set to 1013.25 hPa.

    Parameters
    ----------
    taken_at : datetime
        When, aware.
    level : int
        Flight level held, hundreds of feet.
    primary_1_ft, primary_2_ft : float
        The two primary altimeters, feet.
    flight : str or int, optional
        What names the flight; None where it is not on record.
    mach : float, optional
        Mach number.
    standby_ft, transponder_ft : float, optional
        Standby altimeter, and the pressure altitude the transponder reports, feet.
    gnss_ft : float, optional
        Pressure altitude inferred from the GNSS height with the atmosphere taken out (altitude
        shown plus the residual of :mod:`rvsmlog.science.static_error`), feet. Never the bare
        GNSS height: weather moves that by hundreds of feet.
    """

    taken_at: datetime
    level: int
    primary_1_ft: float
    primary_2_ft: float
    flight: str | int | None = None
    mach: float | None = None
    standby_ft: float | None = None
    transponder_ft: float | None = None
    gnss_ft: float | None = None

    def __post_init__(self) -> None:
        """Refuse an instant without an offset."""
        if self.taken_at.tzinfo is None:
            raise InputError(
                f"reading of {self.taken_at} does not say which time zone it is in",
                "give an instant in UTC",
            )


class LoggedReading(NamedTuple):
    """A reading out of a log, where flights have no names; a tuple, for a log holds a million.

    Parameters
    ----------
    entry : int
        Number of its entry.
    taken_at, level, primary_1_ft, primary_2_ft, mach, standby_ft, transponder_ft, gnss_ft
        As in :class:`Reading`.
    """

    entry: int
    taken_at: datetime
    level: int
    primary_1_ft: float
    primary_2_ft: float
    mach: float | None = None
    standby_ft: float | None = None
    transponder_ft: float | None = None
    gnss_ft: float | None = None

    def reading(self) -> Reading:
        """Give it without its entry."""
        return Reading(**{name: getattr(self, name) for name in self._fields[1:]})


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Band:
    """Range of levels and Mach numbers within which differences are compared.

    Parameters
    ----------
    lowest_level : int
        First flight level of the band, which is :data:`LEVEL_BAND` levels wide.
    middle_mach : float
        Middle of the Mach band, which is :data:`MACH_BAND` wide; -1 where no Mach was noted.
    """

    lowest_level: int
    middle_mach: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """What one flight says of the two primary altimeters within one band.

    Parameters
    ----------
    at : datetime
        When the flight's first reading in the band was taken.
    flight_index : int
        Number of the flight in order of time, from 0, over all bands.
    band : Band
        Level and Mach band.
    readings : int
        How many readings the median is of.
    difference_ft : float
        Median of altimeter 1 less altimeter 2, feet.
    standby_ft, transponder_ft, gnss_ft : float or None
        Median of each witness less the mean of the two primaries read with it, feet.
    """

    at: datetime
    flight_index: int
    band: Band
    readings: int
    difference_ft: float
    standby_ft: float | None = None
    transponder_ft: float | None = None
    gnss_ft: float | None = None


@lru_cache(maxsize=1024)
def band_of(level: int, mach: float | None) -> Band:
    """Give the band of a level and a Mach number.

    Examples
    --------
    >>> band_of(310, 0.47)
    Band(lowest_level=290, middle_mach=0.5)
    """
    lowest = _LEVEL_ANCHOR + (level - _LEVEL_ANCHOR) // LEVEL_BAND * LEVEL_BAND
    middle = -1.0 if mach is None else round(round(mach / MACH_BAND) * MACH_BAND, 6)
    return Band(lowest_level=lowest, middle_mach=middle)


def flights(
    readings: Iterable[Reading], restarts: Iterable[datetime] = ()
) -> tuple[tuple[Reading, ...], ...]:
    """Sort readings into flights.

    Parameters
    ----------
    readings : iterable of Reading
        In any order.
    restarts : iterable of datetime
        Instants that no flight reaches across: work on the altimetry.

    Returns
    -------
    tuple of tuple of Reading
        One tuple for each flight, in order of time.
    """
    ordered = sorted(readings, key=lambda reading: (reading.taken_at, str(reading.flight)))
    begun = tuple(restarts)
    found: list[list[Reading]] = []
    for reading in ordered:
        if found and _same_flight(found[-1][-1], reading, begun):
            found[-1].append(reading)
        else:
            found.append([reading])
    return tuple(tuple(group) for group in found)


def _same_flight(earlier: Reading, later: Reading, restarts: Sequence[datetime]) -> bool:
    longest = SAME_FLIGHT if later.flight is None else SAME_NAME
    return (
        earlier.flight == later.flight
        and later.taken_at - earlier.taken_at <= longest
        and not any(earlier.taken_at < instant <= later.taken_at for instant in restarts)
    )


def points(readings: Iterable[Reading], restarts: Iterable[datetime] = ()) -> tuple[Point, ...]:
    """Give one point for each flight and band.

    Parameters
    ----------
    readings : iterable of Reading
        In any order.
    restarts : iterable of datetime
        Instants that no flight reaches across.

    Returns
    -------
    tuple of Point
        In order of flight, then band.
    """
    made: list[Point] = []
    for index, flight in enumerate(flights(readings, restarts)):
        made.extend(flight_points(index, flight))
    return tuple(made)


def flight_points(index: int, flight: Iterable[Reading | LoggedReading]) -> tuple[Point, ...]:
    """Give one point for each band of one flight.

    Parameters
    ----------
    index : int
        Number of the flight.
    flight : iterable of Reading
        All its readings, in order of time.

    Returns
    -------
    tuple of Point
        In order of the bands.
    """
    by_band: dict[Band, list[Reading | LoggedReading]] = {}
    last, same = None, list[Reading | LoggedReading]()
    for reading in flight:
        band = band_of(reading.level, reading.mach)
        if band is not last:  # readings of one band mostly come together
            last, same = band, by_band.setdefault(band, [])
        same.append(reading)
    return tuple(_point(index, band, by_band[band]) for band in sorted(by_band))


def _point(index: int, band: Band, same: Sequence[Reading | LoggedReading]) -> Point:
    means = [(reading.primary_1_ft + reading.primary_2_ft) / 2.0 for reading in same]
    return Point(
        at=min(reading.taken_at for reading in same),
        flight_index=index,
        band=band,
        readings=len(same),
        difference_ft=median([reading.primary_1_ft - reading.primary_2_ft for reading in same]),
        standby_ft=_witness([reading.standby_ft for reading in same], means),
        transponder_ft=_witness([reading.transponder_ft for reading in same], means),
        gnss_ft=_witness([reading.gnss_ft for reading in same], means),
    )


def _witness(seen: Sequence[float | None], means: Sequence[float]) -> float | None:
    noted = [shown - mean for shown, mean in zip(seen, means, strict=True) if shown is not None]
    return median(noted) if noted else None
