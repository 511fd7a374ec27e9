"""Reading what an estimate of the common error rests on: cross-checks, and files of weather."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import chain
from pathlib import Path

from sqlalchemy import Connection

from rvsmlog.errors import InputError
from rvsmlog.facts import Logged
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.trade_fields import instant_to_scalar
from rvsmlog.science.atmosphere import pressure_altitude_ft, pressure_hpa
from rvsmlog.science.climbs import climbs, own_climbs
from rvsmlog.science.igra import read_igra
from rvsmlog.science.soundings import Sounding
from rvsmlog.science.weather_choice import PLANE_TIME, Chooser, Profiles
from rvsmlog.science.weather_csv import Ground, read_climbs, read_heights
from rvsmlog.science.weather_worth import WeatherSource
from rvsmlog.store.csv_rows import text_blocks
from rvsmlog.store.inputs import open_input
from rvsmlog.store.reading.reader import View, read

_WITH_HEIGHT = (
    "d.gnss_height_ft IS NOT NULL AND d.latitude_deg IS NOT NULL AND d.longitude_deg IS NOT NULL"
)
_GROUND = "d.qnh_hpa IS NOT NULL AND d.static_air_temperature_c IS NOT NULL"


def checks_with_height(
    connection: Connection, seen: View, at: datetime
) -> tuple[Logged[CrossCheck], ...]:
    """Give the standing cross-checks with a GNSS height and a position, in order of time."""
    return read(
        connection,
        seen,
        CrossCheck.kind,
        where=f"{_WITH_HEIGHT} AND d.taken_at <= :at",
        order="d.taken_at, d.number",
        at=instant_to_scalar(at),
    )


def grounds(connection: Connection, seen: View, at: datetime) -> tuple[Ground, ...]:
    """Give the ground checks from which temperatures of a climb can be integrated.

    Their place is of no account: a climb serves for its own flight.
    """
    found: tuple[Logged[CrossCheck], ...] = read(
        connection,
        seen,
        CrossCheck.kind,
        where=f"{_GROUND} AND d.phase = 'ground' AND d.taken_at <= :at",
        order="d.taken_at, d.number",
        at=instant_to_scalar(at),
    )
    return tuple(_ground(logged.record) for logged in found)


def _ground(record: CrossCheck) -> Ground:
    elevation = float(record.field_elevation_ft or 0)
    qnh = record.qnh_hpa or 0.0
    return Ground(
        valid_at=record.taken_at,
        latitude_deg=record.latitude_deg or 0.0,
        longitude_deg=record.longitude_deg or 0.0,
        height_ft=elevation,
        pressure_hpa=pressure_hpa(pressure_altitude_ft(elevation, qnh)),
        temperature_c=record.static_air_temperature_c or 0.0,
    )


def soundings(paths: Sequence[Path], checks: Sequence[Logged[CrossCheck]]) -> Chooser:
    """Read soundings in IGRA v2 text, and keep those of the time that was flown.

    A station's whole record is a hundred years long; most of it is passed over.

    Raises
    ------
    InputError
        When a file cannot be read or does not fit.
    """
    flown = [check.record.taken_at for check in checks]
    if not flown:
        return Profiles((), WeatherSource.SOUNDING)
    first, last = min(flown) - PLANE_TIME, max(flown) + PLANE_TIME
    kept = (
        sounding
        for path in paths
        for sounding in _of_file(path)
        if sounding.valid_at is not None and first <= sounding.valid_at <= last
    )
    return Profiles(kept, WeatherSource.SOUNDING)


def heights(paths: Sequence[Path], source: WeatherSource) -> Chooser:
    """Read heights of pressure levels as CSV."""
    return Profiles((profile for path in paths for profile in read_heights(_lines(path))), source)


def climb_files(paths: Sequence[Path], known: Sequence[Ground], humidity_percent: float) -> Chooser:
    """Read temperatures of own climbs as CSV."""
    noted = [row for path in paths for row in read_climbs(_lines(path))]
    return own_climbs(climbs(noted), known, humidity_percent=humidity_percent)


def _of_file(path: Path) -> Iterator[Sounding]:
    try:
        yield from read_igra(_lines(path))
    except InputError as error:
        known = error.message.startswith(str(path))
        raise InputError(
            error.message if known else f"{path}: {error.message}", error.hint
        ) from None


def _lines(path: Path) -> Iterator[str]:
    """Give a file's lines."""
    with open_input(path, "a file of weather") as handle:
        yield from chain.from_iterable(text_blocks(handle, path))
