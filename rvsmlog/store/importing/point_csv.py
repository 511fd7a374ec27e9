"""Readings of one test from a CSV file with one row for each point.

Columns: ``check`` says what was measured, ``point`` where, ``reading_ft`` what was found, and
``dwell_s`` how long the point was kept. The order of the rows is the order of the test.
"""

from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError
from rvsmlog.records.fields import FieldType
from rvsmlog.records.point_table import PointTable
from rvsmlog.records.readings import Readings
from rvsmlog.store.csv_rows import Row, check_header, read_rows
from rvsmlog.store.importing.csv_drafts import BadRow

COLUMNS = ("check", "point", "reading_ft", "dwell_s")
_REQUIRED = ("check", "reading_ft")
#: Each check, and the field of the readings that keeps what it found.
CHECKS: Mapping[str, str] = MappingProxyType(
    {
        "scale": "scale_error",
        "hysteresis": "hysteresis",
        "after-effect": "after_effect_ft",
        "friction": "friction",
        "case-leak": "case_leak_ft",
        "barometric": "barometric",
        "static-leak": "static_leak",
        "correspondence": "correspondence",
    }
)
#: The checks whose points are kept for a time, and the field of those times.
DWELLS: Mapping[str, str] = MappingProxyType(
    {"scale": "scale_dwell_s", "hysteresis": "hysteresis_dwell_s"}
)


@dataclass(slots=True)
class PointFile:
    """What a file says.

    Parameters
    ----------
    texts : dict of str to str
        Fields of :class:`rvsmlog.records.readings.Readings` as texts.
    bad : list of BadRow
        What is wrong with which rows; with one of them nothing is to be recorded.
    """

    texts: dict[str, str] = field(default_factory=dict)
    bad: list[BadRow] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Reading:
    """One row: the field, its text by point, and the same for the time kept."""

    name: str
    text: str
    dwell: tuple[str, str] | None


def read_points(path: Path) -> PointFile:
    """Read the points of one test.

    Parameters
    ----------
    path : Path
        CSV, UTF-8; the first row names the columns of :data:`COLUMNS`.

    Raises
    ------
    InputError
        When the file as a whole cannot be read, or its columns are wrong.
    """
    rows = read_rows(path)
    _, names = check_header(path, next(rows, None), COLUMNS, _REQUIRED)
    found, seen = PointFile(), set[tuple[str, int | None]]()
    for row in rows:
        cells = dict(zip(names, (cell.strip() for cell in row.cells), strict=False))
        try:
            _check_length(row, names)
            reading = _read(cells, seen)
        except FieldError as error:
            found.bad.append(_bad(row, cells, error))
            continue
        _add(found.texts, reading.name, reading.text)
        if reading.dwell is not None:
            _add(found.texts, *reading.dwell)
    if not found.texts and not found.bad:
        raise InputError(f"{path} has no reading", "write one row for each point")
    return found


def _check_length(row: Row, names: tuple[str, ...]) -> None:
    """Refuse a row with other fields than the header has."""
    if len(row.cells) != len(names):
        says = f"the row has {len(row.cells)} fields, the header {len(names)}"
        raise FieldError("", says, "quote a field that holds a comma")


def _read(cells: Mapping[str, str], seen: set[tuple[str, int | None]]) -> _Reading:
    """Read one row; ``seen`` holds the points that there were before."""
    check = cells["check"].lower()
    if check not in CHECKS:
        raise FieldError("check", "is not known here", f"write one of {', '.join(CHECKS)}")
    name = CHECKS[check]
    kind = Readings.kind.by_name[name].type
    at = _point(kind, cells.get("point", ""))
    _number(kind, cells["reading_ft"], at, "reading_ft")
    if (name, at) in seen:
        raise FieldError("point" if at is not None else "check", "stands twice", "give it once")
    seen.add((name, at))
    if not isinstance(kind, PointTable) or at is None:
        return _Reading(name, cells["reading_ft"], _dwell(check, "", cells))
    point = kind.show_point(at)
    return _Reading(name, f"{point}:{cells['reading_ft']}", _dwell(check, point, cells))


def _point(kind: FieldType[Any], text: str) -> int | None:
    """Read the point of a check; a check of one reading has none."""
    if not isinstance(kind, PointTable):
        if text:
            raise FieldError("point", "this check has no point", "leave the field empty")
        return None
    if not text:
        raise FieldError("point", "is missing", f"write the {kind.point}")
    try:
        return kind.parse_point(text)
    except InputError as error:
        raise FieldError("point", error.message, f"write the {kind.point}") from None


def _number(kind: FieldType[Any], text: str, at: int | None, column: str) -> None:
    """See that a reading, or a time, is one at its point."""
    try:
        if isinstance(kind, PointTable) and at is not None:
            kind.parse(f"{kind.show_point(at)}:{text}")
        else:
            kind.parse(text)
    except InputError as error:
        raise FieldError(column, error.message, "write whole numbers") from None


def _dwell(check: str, point: str, cells: Mapping[str, str]) -> tuple[str, str] | None:
    """Give the time kept at a point, None where it is not recorded."""
    text = cells.get("dwell_s", "")
    if not text:
        return None
    if check not in DWELLS:
        raise FieldError("dwell_s", "this check has no time to be kept", "leave the field empty")
    kind = Readings.kind.by_name[DWELLS[check]].type
    at = kind.parse_point(point) if isinstance(kind, PointTable) else None
    _number(kind, text, at, "dwell_s")
    return DWELLS[check], f"{point}:{text}"


def _add(texts: dict[str, str], name: str, text: str) -> None:
    """Add a point to a field."""
    texts[name] = f"{texts[name]},{text}" if name in texts else text


def _bad(row: Row, cells: Mapping[str, str], error: FieldError) -> BadRow:
    """Say what is wrong with a row."""
    return BadRow(
        line=row.line,
        column=error.field,
        value=cells.get(error.field, ""),
        says=error.fault,
        wanted=error.hint,
    )
