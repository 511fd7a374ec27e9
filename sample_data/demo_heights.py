"""Heights of pressure levels as an analysis would give them, for the demo's GNSS heights.

Only around the flights of one aeroplane in the last weeks: the file shows what such a file looks
like, and what the demo's invented static error looks like when it is held against the weather.
"""

import csv
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from io import StringIO
from pathlib import Path

from rvsmlog.science.weather_csv import HEIGHT_COLUMNS
from rvsmlog.units import feet_to_metres
from sample_data.demo_flights import Trip
from sample_data.demo_weather import Weather

NAME = "heights.csv"
#: For whose flights, and from which day on.
REGISTRATION = "QX-ESK"
FIRST_DAY = date(2026, 9, 28)
_LEVELS_HPA = (300, 250)
_HOURS = timedelta(hours=3)
# Corners of the analysis, degrees: close enough for a plane through the four around a place.
_NORTH_DEG, _EAST_DEG = 4, 5


def heights(flown: Iterable[Trip], air: dict[date, Weather]) -> str:
    """Give the file: for each flight the corners around its way, every three hours."""
    cells = sorted({cell for trip in flown if trip.day >= FIRST_DAY for cell in _cells(trip)})
    out = StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEIGHT_COLUMNS)
    for valid_at, latitude, longitude in cells:
        for pressure in _LEVELS_HPA:
            metres = feet_to_metres(air[valid_at.date()].height_ft(pressure))
            writer.writerow(
                (f"{valid_at:%Y-%m-%dT%H:%MZ}", latitude, longitude, pressure, f"{metres:.1f}")
            )
    return out.getvalue()


def _cells(trip: Trip) -> Iterator[tuple[datetime, int, int]]:
    """Give hours and corners around a flight's way at its level."""
    start, end = trip.at_level
    instant = start
    while instant <= end:
        latitude, longitude = trip.position(instant)
        south = int(latitude // _NORTH_DEG) * _NORTH_DEG
        west = int(longitude // _EAST_DEG) * _EAST_DEG
        day = datetime(trip.day.year, trip.day.month, trip.day.day, tzinfo=instant.tzinfo)
        # The weather of a day is that of its take-off: an hour of the next day has another.
        before = day + (instant - day) // _HOURS * _HOURS
        for valid_at in (before, before + _HOURS):
            if valid_at.date() == trip.day:
                for north in (south, south + _NORTH_DEG):
                    for east in (west, west + _EAST_DEG):
                        yield valid_at, north, east
        instant += timedelta(minutes=15)


def write(folder: Path, text: str) -> None:
    """Write the file."""
    (folder / NAME).write_text(text, "utf-8", newline="")
