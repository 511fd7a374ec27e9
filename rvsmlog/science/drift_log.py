"""What the drift detector knows of one airframe: each band's state, and its newest points.

A drift log takes in readings as they come, in order of time. It can be kept beside the logbook as
text and taken up again; it is always what a run over all the readings would give.
"""

import json
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass, replace
from rvsmlog.once import once
from rvsmlog.science.drift import DriftState, advance
from rvsmlog.science.drift_memo import pack as pack_state
from rvsmlog.science.drift_memo import unpack as unpack_state
from rvsmlog.science.drift_readings import SAME_FLIGHT, Band, LoggedReading, Point, flight_points

#: How many of a band's newest points are kept, for the course and for the witnesses.
NEWEST_POINTS = 150
#: A flight of more readings than these is taken in parts, so that no log fills the memory.
MOST_READINGS = 500
_NO_TIME = timedelta(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class BandLog:
    """What is known of one band of levels and Mach numbers.

    Parameters
    ----------
    band : Band
        Which.
    state : DriftState
        The detector's.
    points : tuple of Point
        The newest points, earliest first.
    last_entry : int
        Entry of the newest reading.
    alarm_entry : int or None
        Entry of the reading with which the alarm was raised.
    """

    band: Band
    state: DriftState
    points: tuple[Point, ...] = ()
    last_entry: int = 0
    alarm_entry: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftLog:
    """What is known of one airframe since its altimetry was last disturbed.

    Parameters
    ----------
    resolution_ft : float
        Step in which the altimeters are read, feet.
    since : datetime or None
        When the altimetry was last disturbed, or an alarm accepted by review.
    bands : tuple of BandLog
        In the order in which they were first flown.
    open_flight : tuple of LoggedReading
        Readings of the newest flight, to which more may belong.
    flights : int
        Flights taken in, the open one not counted.
    """

    resolution_ft: float
    since: datetime | None = None
    bands: tuple[BandLog, ...] = ()
    open_flight: tuple[LoggedReading, ...] = ()
    flights: int = 0

    @property
    def last_at(self) -> datetime | None:
        """When the newest reading was taken."""
        if self.open_flight:
            return self.open_flight[-1].taken_at
        return max((band.points[-1].at for band in self.bands if band.points), default=None)


def extended(log: DriftLog, readings: Iterable[LoggedReading]) -> DriftLog:
    """Take in more readings.

    Parameters
    ----------
    log : DriftLog
        So far.
    readings : iterable of LoggedReading
        In order of time, none before the newest that is known.

    Raises
    ------
    InputError
        When a reading comes before one that is known already.
    """
    bands = {each.band: each for each in log.bands}
    flight = list(log.open_flight)
    flights = log.flights
    for logged in readings:
        if flight:
            gap = logged.taken_at - flight[-1].taken_at
            if gap < _NO_TIME:
                raise InputError(
                    f"reading #{logged.entry} comes before one that is known",
                    "read all of them again",
                )
            if gap > SAME_FLIGHT or len(flight) >= MOST_READINGS:
                _take_in(bands, flight, flights, log.resolution_ft)
                flights += 1
                flight = []
        flight.append(logged)
    return replace(log, bands=tuple(bands.values()), open_flight=tuple(flight), flights=flights)


@once
def settled(log: DriftLog) -> DriftLog:
    """Count the newest flight as ended."""
    if not log.open_flight:
        return log
    bands = {each.band: each for each in log.bands}
    _take_in(bands, log.open_flight, log.flights, log.resolution_ft)
    return replace(log, bands=tuple(bands.values()), open_flight=(), flights=log.flights + 1)


def _take_in(
    bands: dict[Band, BandLog],
    flight: Sequence[LoggedReading],
    flights: int,
    resolution_ft: float,
) -> None:
    """Advance each band that a flight touched."""
    last_entry = flight[-1].entry
    for point in flight_points(flights, flight):
        known = bands.get(point.band) or BandLog(
            band=point.band, state=DriftState(resolution_ft=resolution_ft)
        )
        state = advance(known.state, point.difference_ft, at=point.at, readings=point.readings)
        raised = state.alarm_at is not None and known.state.alarm_at is None
        bands[point.band] = replace(
            known,
            state=state,
            points=(*known.points, point)[-NEWEST_POINTS:],
            last_entry=last_entry,
            alarm_entry=last_entry if raised else known.alarm_entry,
        )


def pack(log: DriftLog) -> str:
    """Write a drift log as one line of JSON."""
    content = {
        "resolution_ft": log.resolution_ft,
        "since": None if log.since is None else log.since.isoformat(),
        "flights": log.flights,
        "open_flight": [_reading_row(logged) for logged in log.open_flight],
        "bands": [
            {
                "band": [each.band.lowest_level, each.band.middle_mach],
                "state": pack_state(each.state),
                "points": [_point_row(point) for point in each.points],
                "last_entry": each.last_entry,
                "alarm_entry": each.alarm_entry,
            }
            for each in log.bands
        ],
    }
    return json.dumps(content, separators=(",", ":"))


def unpack(text: str) -> DriftLog:
    """Read a drift log back.

    Raises
    ------
    InputError
        When the text is no drift log, or one made with other settings: run over the log again.
    """
    try:
        content = json.loads(text)
        return DriftLog(
            resolution_ft=content["resolution_ft"],
            since=None if content["since"] is None else datetime.fromisoformat(content["since"]),
            flights=content["flights"],
            open_flight=tuple(_reading(row) for row in content["open_flight"]),
            bands=tuple(_band_log(each) for each in content["bands"]),
        )
    except (ValueError, KeyError, TypeError, IndexError, RecursionError) as fault:
        raise InputError("the text is no drift log", "run over the readings again") from fault


def _reading_row(logged: LoggedReading) -> list[Any]:
    return [
        logged.entry,
        logged.taken_at.isoformat(),
        logged.level,
        logged.primary_1_ft,
        logged.primary_2_ft,
        logged.mach,
        logged.standby_ft,
        logged.transponder_ft,
    ]


def _reading(row: list[Any]) -> LoggedReading:
    taken_at = datetime.fromisoformat(row[1])
    if taken_at.tzinfo is None:
        raise ValueError("no time zone")
    return LoggedReading(
        entry=row[0],
        taken_at=taken_at,
        level=row[2],
        primary_1_ft=row[3],
        primary_2_ft=row[4],
        mach=row[5],
        standby_ft=row[6],
        transponder_ft=row[7],
    )


def _point_row(point: Point) -> list[Any]:
    return [
        point.at.isoformat(),
        point.flight_index,
        point.readings,
        point.difference_ft,
        point.standby_ft,
        point.transponder_ft,
    ]


def _band_log(content: dict[str, Any]) -> BandLog:
    band = Band(lowest_level=content["band"][0], middle_mach=content["band"][1])
    return BandLog(
        band=band,
        state=unpack_state(content["state"]),
        points=tuple(
            Point(
                at=datetime.fromisoformat(row[0]),
                flight_index=row[1],
                band=band,
                readings=row[2],
                difference_ft=row[3],
                standby_ft=row[4],
                transponder_ft=row[5],
            )
            for row in content["points"]
        ),
        last_entry=content["last_entry"],
        alarm_entry=content["alarm_entry"],
    )
