"""The IGRA v2 reader against lines of NOAA's archive and against damage."""

from datetime import UTC, datetime

import pytest

from rvsmlog.errors import InputError
from rvsmlog.science.igra import read_igra

# Lines of NOAA's archive (public domain). The first ascent announces 158 levels; two are at hand.
ALASKA_HEADER = "#USM00070026 2010 06 01 00 2303  158 ncdc6301 ncdc6301  712889 -1567833"
ALASKA_LEVELS = (
    "21     0 100980B   12     0B 1000     0    20    51 ",
    "10    12 100000    90B   -7B  936     9 -9999 -9999 ",
)
OKLAHOMA = (
    "#USM00072357 2026 01 01 00 2302    1 ncdc-nws ncdc-gts  351808  -974378",
    "21     0  97788B  345   176B  260   197   235    15",
)
# Fields that touch each other: no reader that splits at blanks gets these right.
GREECE = (
    "#GRM00016622 2018 01 01 00 2333    2 ncdc-gts           405272   229714",
    "21 -9999 102000B-9999    30B-9999    50   120    21",
    "20 -9999 101600A-9999    66B-9999    60 -9999 -9999",
)
TWO_LEVELS = (ALASKA_HEADER.replace("  158", "    2"), *ALASKA_LEVELS)


def test_the_published_ascent() -> None:
    """Every field of two published levels is read from its own columns."""
    (sounding,) = read_igra(TWO_LEVELS)
    assert sounding.station == "USM00070026"
    assert sounding.valid_at == datetime(2010, 6, 1, 0, tzinfo=UTC)
    assert (sounding.latitude_deg, sounding.longitude_deg) == (71.2889, -156.7833)
    ground, first = sounding.levels
    assert ground.pressure_hpa == 1009.80
    assert ground.height_ft == pytest.approx(12 / 0.3048)
    assert (ground.temperature_c, ground.humidity_percent) == (0.0, 100.0)
    assert ground.dew_point_depression_c == 0.0
    assert (first.pressure_hpa, first.temperature_c) == (1000.0, -0.7)
    assert first.height_ft == pytest.approx(90 / 0.3048)
    assert (first.humidity_percent, first.dew_point_depression_c) == (93.6, 0.9)


def test_touching_and_missing_fields() -> None:
    """Fields that touch are cut apart by column, and -9999 is None."""
    (sounding,) = read_igra(GREECE)
    low, high = sounding.levels
    assert (low.pressure_hpa, high.pressure_hpa) == (1020.0, 1016.0)
    assert low.height_ft is None
    assert high.height_ft is None
    assert (low.temperature_c, high.temperature_c) == (3.0, 6.6)
    assert low.humidity_percent is None
    assert (low.dew_point_depression_c, high.dew_point_depression_c) == (5.0, 6.0)


def test_several_ascents_in_one_file() -> None:
    """A file gives its ascents one after another, with blank lines and line ends let pass."""
    lines = [f"{line}\r\n" for line in (*OKLAHOMA, *GREECE, "", *TWO_LEVELS)]
    stations = [sounding.station for sounding in read_igra(lines)]
    assert stations == ["USM00072357", "GRM00016622", "USM00070026"]


def test_removed_values_and_levels_without_pressure() -> None:
    """What quality control removed (-8888) is None, and a level without pressure is left out."""
    removed = OKLAHOMA[1].replace("  345   176B", "-8888 -8888 ")
    wind_only = "30     5  -9999   500 -9999 -9999 -9999   240   100"
    header = OKLAHOMA[0].replace("    1 ncdc", "    3 ncdc")
    no_pressure = "20     9  -8888   600    12B  500   100   240   100"
    (sounding,) = read_igra((header, removed, wind_only, no_pressure))
    (level,) = sounding.levels
    assert (level.height_ft, level.temperature_c) == (None, None)
    assert (level.humidity_percent, level.dew_point_depression_c) == (26.0, 19.7)


def test_levels_are_put_in_order() -> None:
    """Levels listed below the ground's are sorted to where their pressure belongs."""
    (sounding,) = read_igra((TWO_LEVELS[0], *reversed(ALASKA_LEVELS)))
    assert [level.pressure_hpa for level in sounding.levels] == [1009.8, 1000.0]


@pytest.mark.parametrize(
    ("written", "instant"),
    [
        ("12 9999", datetime(2010, 6, 1, 12, tzinfo=UTC)),
        ("99 1117", datetime(2010, 6, 1, 11, 17, tzinfo=UTC)),
        ("99 1199", datetime(2010, 6, 1, 11, 0, tzinfo=UTC)),
        ("99 9999", None),
    ],
)
def test_missing_hours(written: str, instant: datetime | None) -> None:
    """Without a nominal hour the release stands, to the hour if need be, and without it None."""
    (sounding,) = read_igra((TWO_LEVELS[0].replace("00 2303", written), *ALASKA_LEVELS))
    assert sounding.valid_at == instant


@pytest.mark.parametrize(
    ("line", "old", "new", "message"),
    [
        (0, "#USM00070026", "USM000700266", "line 1: a header is due here"),
        (0, " 06 01", " 06 31", "line 1: there is no time"),
        (0, " 00 2303", " 24 2303", "line 1: there is no time"),
        (0, " 00 2303", " 99 2460", "line 1: there is no time"),
        (0, " 06 01", " 0x 01", r"line 1: MONTH \(columns 19 to 20\) reads '0x'"),
        (0, " 712889", " 912889", "line 1: LAT .* reads 912889, out of"),
        (0, " 712889", "  -9999", "line 1: the position is missing"),
        (0, " -1567833", " -1567833"[:-2], "line 1: the line ends at column 69"),
        (1, "100980B", "1oo980B", r"line 2: PRESS \(columns 10 to 15\) reads '1oo980'"),
        (1, "100980B", "200980B", "line 2: PRESS .* reads 200980, out of"),
        (1, "100980B", "  1_00B", "line 2: PRESS .* reads '1_00'"),
        (1, "    20    51 ", "    20", "line 2: the line ends at column 45"),
        (1, "21     0 ", "21     0", "line 2: column 9 should be blank, and holds '1'"),
        (1, "21 ", "41 ", "line 2: there is no level type '4'"),
        (2, " 100000 ", " 100980 ", "line 1: USM00070026 .* pressure does not fall"),
        (2, "  936 ", " 9360 ", "line 3: RH .* reads 9360, out of"),
    ],
)
def test_damage_is_reported_with_its_line(line: int, old: str, new: str, message: str) -> None:
    """A line that does not fit the format is refused with its number."""
    lines = list(TWO_LEVELS)
    assert old in lines[line]
    lines[line] = lines[line].replace(old, new)
    with pytest.raises(InputError, match=message):
        tuple(read_igra(lines))


def test_fewer_levels_than_announced() -> None:
    """An ascent cut short is refused, at the end of the file and before the next header."""
    for rest in ((), OKLAHOMA):
        with pytest.raises(InputError, match="line 1: 158 levels are announced, 2 follow"):
            tuple(read_igra((ALASKA_HEADER, *ALASKA_LEVELS, *rest)))


def test_more_levels_than_announced() -> None:
    """A level past the announced number is refused."""
    with pytest.raises(InputError, match="line 3: a header is due here"):
        tuple(read_igra((*OKLAHOMA, OKLAHOMA[1])))


def test_reading_is_lazy() -> None:
    """The first ascent is given before a damaged second one is reached."""
    ascents = read_igra((*OKLAHOMA, "rubbish"))
    assert next(ascents).station == "USM00072357"
    with pytest.raises(InputError, match="line 3"):
        next(ascents)
