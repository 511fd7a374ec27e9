"""Readings of a test from a CSV file, one row for each point."""

from pathlib import Path

import pytest

from rvsmlog.errors import InputError
from rvsmlog.records.readings import MEASURED, Readings
from rvsmlog.store.importing.point_csv import CHECKS, read_points

SHEET = """\
check,point,reading_ft,dwell_s
scale,0,+5,60
scale,10000,-20,75
scale,30000,-60,
hysteresis,15000,40,300
hysteresis,12000,35,60
after-effect,,10,
friction,1000,20,
case-leak,,30,
barometric,28.1,-1730,
barometric,29.92,2,
static-leak,5.75,180,
correspondence,30000,-25,
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Name a file."""
    return tmp_path / "points.csv"


def test_a_whole_sheet(file: Path) -> None:
    """Every check finds its field, in the order of the rows."""
    file.write_text(SHEET, encoding="utf-8")
    found = read_points(file)
    assert found.bad == []
    record = Readings.kind.parse({"test": "1", **found.texts})
    assert record == Readings.kind.parse(
        {
            "test": "1",
            "scale_error": "0:5,10000:-20,30000:-60",
            "scale_dwell_s": "0:60,10000:75",
            "hysteresis": "15000:40,12000:35",
            "hysteresis_dwell_s": "15000:300,12000:60",
            "after_effect_ft": "10",
            "friction": "1000:20",
            "case_leak_ft": "30",
            "barometric": "28.10:-1730,29.92:2",
            "static_leak": "5.75:180",
            "correspondence": "30000:-25",
        }
    )


def test_each_measurement_has_its_check() -> None:
    """What the record can hold the file can bring."""
    assert tuple(sorted(CHECKS.values())) == tuple(sorted(MEASURED))


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        ("width,0,5,", "check", "is not known here"),
        ("scale,,5,", "point", "is missing"),
        ("scale,high,5,", "point", "'high' is no altitude in feet"),
        ("scale,60000,5,", "reading_ft", "the point 60000 is out of range"),
        ("scale,0,,", "reading_ft", "'0:' is no point:reading pair"),
        ("scale,0,5.5,", "reading_ft", "'0:5.5' is no point:reading pair"),
        ("scale,0,5,soon", "dwell_s", "'0:soon' is no point:reading pair"),
        ("scale,0,5,-1", "dwell_s", "0:-1 is out of range"),
        ("after-effect,,x,", "reading_ft", "'x' is no whole number"),
        ("after-effect,500,5,", "point", "this check has no point"),
        ("friction,1000,5,60", "dwell_s", "this check has no time to be kept"),
        ("barometric,28.105,5,", "point", "'28.105' is no setting in inHg"),
        ("scale,0,5", "", "the row has 3 fields, the header 4"),
    ],
)
def test_a_wrong_row_is_named(file: Path, row: str, column: str, says: str) -> None:
    """By its line and its column; the rest of the file is looked at all the same."""
    file.write_text(f"check,point,reading_ft,dwell_s\nscale,500,5,\n{row}\nscale,1000,5,\n")
    (bad,) = read_points(file).bad
    assert (bad.line, bad.column, bad.says) == (3, column, says)


def test_a_point_stands_once(file: Path) -> None:
    """However it is written; the same point of another check is another point."""
    file.write_text("check,point,reading_ft\nscale,0,5\nscale,00,6\ncorrespondence,0,5\n")
    (bad,) = read_points(file).bad
    assert (bad.line, bad.column, bad.says) == (3, "point", "stands twice")
    file.write_text("check,reading_ft\nafter-effect,5\nafter-effect,6\n")
    (bad,) = read_points(file).bad
    assert (bad.line, bad.column, bad.says) == (3, "check", "stands twice")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty"),
        ("check,point,reading_ft\n", "has no reading"),
        ("check,point,error\nscale,0,5\n", "no such column"),
        ("check,point\nscale,0\n", "columns missing: reading_ft"),
    ],
)
def test_a_file_of_another_sort_is_refused(file: Path, text: str, says: str) -> None:
    """Before any row is looked at."""
    file.write_text(text)
    with pytest.raises(InputError, match=says):
        read_points(file)
