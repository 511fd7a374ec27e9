"""Soundings in the text format of the Integrated Global Radiosonde Archive, version 2.

The format is NOAA's (igra2-data-format.txt, versions 2.0 to 2.2; columns counted from 1) and its
data are in the public domain. Its fields touch each other, so they are cut by column, never at
blanks. A value of -9999 is missing, one of -8888 was removed by the archive's quality control;
both become None. Whatever else does not fit raises an error that names the line.
"""

import re
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.science.soundings import Sounding, SoundingLevel
from rvsmlog.units import metres_to_feet

_HEADER_LENGTH = 71
_LEVEL_LENGTH = 51
#: Columns that are blank in every header and in every level.
_HEADER_BLANKS = (13, 18, 21, 24, 27, 32, 37, 46, 55, 63)
_LEVEL_BLANKS = (3, 9, 34, 40, 46)
_NO_VALUE = (-9999, -8888)
_NO_HOUR, _NO_MINUTE, _NO_TIME = 99, 99, 9999
#: Level type 3 carries no pressure (a wind level by height).
_PRESSURE_TYPES = ("1", "2")
_WHOLE_NUMBER = re.compile(r"-?\d+", re.ASCII)
_HINT = "the file is damaged, or no IGRA v2 text: fetch it again, and do not edit it"


@dataclass(frozen=True, slots=True)
class _Field:
    """A whole number in fixed columns, its range as written, and its scale."""

    name: str
    first: int
    last: int
    low: int
    high: int
    per_unit: float = 1.0


_YEAR = _Field("YEAR", 14, 17, 1800, 2200)
_MONTH = _Field("MONTH", 19, 20, 1, 12)
_DAY = _Field("DAY", 22, 23, 1, 31)
_HOUR = _Field("HOUR", 25, 26, 0, 99)
_RELEASE = _Field("RELTIME", 28, 31, 0, 9999)
_LEVELS = _Field("NUMLEV", 33, 36, 0, 9999)
_LATITUDE = _Field("LAT", 56, 62, -900_000, 900_000, 10_000.0)
_LONGITUDE = _Field("LON", 64, 71, -1_800_000, 1_800_000, 10_000.0)
_PRESSURE = _Field("PRESS", 10, 15, 1, 110_000, 100.0)
_HEIGHT = _Field("GPH", 17, 21, -1_000, 60_000)
_TEMPERATURE = _Field("TEMP", 23, 27, -1_200, 700, 10.0)
_HUMIDITY = _Field("RH", 29, 33, 0, 1_200, 10.0)
_DEPRESSION = _Field("DPDP", 35, 39, 0, 990, 10.0)


def read_igra(lines: Iterable[str]) -> Iterator[Sounding]:
    """Read the soundings of an IGRA v2 data file, one after another.

    Parameters
    ----------
    lines : iterable of str
        Lines of the file, with or without their ends.

    Yields
    ------
    Sounding
        Levels by falling pressure; levels without pressure are left out. ``valid_at`` is the
        nominal hour, or the release time where the archive has no hour, or None without either.

    Raises
    ------
    InputError
        At the line that does not fit the format, with its number.
    """
    numbered = enumerate((line.rstrip("\r\n") for line in lines), start=1)
    for number, line in numbered:
        if not line.strip():
            continue
        if not line.startswith("#"):
            raise _fault(number, "a header is due here; it begins with #")
        _check_layout(line, number, _HEADER_LENGTH, _HEADER_BLANKS)
        announced = _whole(line, number, _LEVELS)
        yield _sounding(line, number, tuple(_levels(numbered, number, announced)))


def _levels(
    numbered: Iterator[tuple[int, str]], header_number: int, announced: int
) -> Iterator[SoundingLevel]:
    for found in range(announced):
        number, line = next(numbered, (header_number, "#"))
        if line.startswith("#"):
            raise _fault(header_number, f"{announced} levels are announced, {found} follow")
        _check_layout(line, number, _LEVEL_LENGTH, _LEVEL_BLANKS)
        if line[0] not in "123":
            raise _fault(number, f"there is no level type {line[0]!r}")
        pressure_hpa = _value(line, number, _PRESSURE)
        if pressure_hpa is None or line[0] not in _PRESSURE_TYPES:
            continue
        height_m = _value(line, number, _HEIGHT)
        yield SoundingLevel(
            pressure_hpa=pressure_hpa,
            height_ft=None if height_m is None else metres_to_feet(height_m),
            temperature_c=_value(line, number, _TEMPERATURE),
            humidity_percent=_value(line, number, _HUMIDITY),
            dew_point_depression_c=_value(line, number, _DEPRESSION),
        )


def _sounding(header: str, number: int, levels: tuple[SoundingLevel, ...]) -> Sounding:
    latitude = _value(header, number, _LATITUDE)
    longitude = _value(header, number, _LONGITUDE)
    if latitude is None or longitude is None:
        raise _fault(number, "the position is missing")
    try:
        return Sounding(
            station=header[1:12].strip(),
            valid_at=_valid_at(header, number),
            latitude_deg=latitude,
            longitude_deg=longitude,
            levels=tuple(sorted(levels, key=lambda level: -level.pressure_hpa)),
        )
    except InputError as fault:
        raise _fault(number, fault.message) from None


def _valid_at(header: str, number: int) -> datetime | None:
    """Give the nominal hour; where the archive has none, the time of release."""
    hour, minute = _whole(header, number, _HOUR), 0
    if hour == _NO_HOUR:
        release = _whole(header, number, _RELEASE)
        if release == _NO_TIME:
            return None
        hour, minute = divmod(release, 100)
        minute = 0 if minute == _NO_MINUTE else minute
    year, month, day = (_whole(header, number, field) for field in (_YEAR, _MONTH, _DAY))
    try:
        return datetime(year, month, day, hour, minute, tzinfo=UTC)
    except ValueError:
        raise _fault(number, f"there is no time {header[13:31]!r}") from None


def _value(line: str, number: int, field: _Field) -> float | None:
    """Cut a field out of a line: None when missing or removed."""
    value = _whole(line, number, field)
    return None if value in _NO_VALUE else value / field.per_unit


def _whole(line: str, number: int, field: _Field) -> int:
    text = line[field.first - 1 : field.last].strip()
    where = f"{field.name} (columns {field.first} to {field.last})"
    if not _WHOLE_NUMBER.fullmatch(text):
        raise _fault(number, f"{where} reads {text!r}, which is no whole number")
    value = int(text)
    if value not in _NO_VALUE and not field.low <= value <= field.high:
        raise _fault(number, f"{where} reads {value}, out of {field.low} to {field.high}")
    return value


def _check_layout(line: str, number: int, length: int, blanks: tuple[int, ...]) -> None:
    if len(line) < length:
        raise _fault(number, f"the line ends at column {len(line)}, not at {length}")
    for column in blanks:
        if line[column - 1] != " ":
            raise _fault(number, f"column {column} should be blank, and holds {line[column - 1]!r}")


def _fault(number: int, what: str) -> InputError:
    return InputError(f"line {number}: {what}", _HINT)
