"""Heights of pressure levels and climbs read from comma-separated text."""

from datetime import UTC, datetime

import pytest

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science import atmosphere
from rvsmlog.science.soundings import height_of_pressure_ft
from rvsmlog.science.weather_csv import (
    ClimbLevel,
    Ground,
    climb_sounding,
    read_climbs,
    read_heights,
)

HEIGHTS = (
    "valid_time, lat, lon, level_hPa, height_gpm",
    "2027-03-14T00:00Z, -45.0, 170.5, 300, 9164",
    "2027-03-14T00:00Z, -45.0, 170.5, 250, 10363",
    "2027-03-14T13:00+13:00, -45.0, 170.5, 200, 11784.5",
    "2027-03-14T00:00Z, -46.0, 170.5, 300, 9100",
)
CLIMB = "valid_time,level,static_air_temperature_c"
GROUND = Ground(
    valid_at=datetime(2027, 3, 14, tzinfo=UTC),
    latitude_deg=-45.0,
    longitude_deg=170.5,
    height_ft=0.0,
    pressure_hpa=1013.25,
    temperature_c=15.0,
)


def test_heights_are_gathered_by_time_and_place() -> None:
    """Lines of one instant and place make one profile, from the ground up."""
    south, further = read_heights(HEIGHTS)
    assert [level.pressure_hpa for level in south.levels] == [300, 250, 200]
    assert south.levels[2].height_ft == pytest.approx(11_784.5 / 0.3048)
    assert south.valid_at == datetime(2027, 3, 14, tzinfo=UTC)
    assert (south.latitude_deg, south.longitude_deg) == (-45.0, 170.5)
    assert further.latitude_deg == -46.0
    assert south.key != further.key


def test_columns_in_any_order_and_case() -> None:
    """Columns may be in any order, with others between, and a byte-order mark in front."""
    names = "\ufeffHeight_gpm,LEVEL_HPA,note,lon,lat,valid_time"
    lines = (names, "9164,300,from the model,170.5,-45,2027-03-14T00:00Z", "", " , ")
    (profile,) = read_heights(lines)
    assert profile.levels[0].height_ft == pytest.approx(9164 / 0.3048)


@pytest.mark.parametrize(
    ("line", "old", "new", "message"),
    [
        (0, "height_gpm", "height", "line 1: no column, or two, named height_gpm"),
        (0, "lat, lon", "lat, lat", "line 1: no column, or two, named lat"),
        (1, "00:00Z", "00:00", "line 2: .* does not say which time zone"),
        (1, "-45.0", "-95.0", "line 2: lat reads '-95.0'"),
        (1, "170.5", "nan", "line 2: lon reads 'nan'"),
        (1, "9164", "1e4", "line 2: height_gpm reads '1e4'"),
        (1, "300,", "30000,", "line 2: level_hPa reads '30000'"),
        (2, ", 10363", "", "line 3: 4 fields are too few"),
        (2, "250", "300.0", "line 3: 300 hPa is given twice"),
        (2, "2027-03-14T00:00Z", '"2027', "line 5: "),
    ],
)
def test_bad_lines_are_reported(line: int, old: str, new: str, message: str) -> None:
    """A line that does not fit is refused with its number and the offending field."""
    lines = list(HEIGHTS)
    assert old in lines[line]
    lines[line] = lines[line].replace(old, new)
    with pytest.raises(InputError, match=message):
        read_heights(lines)


@pytest.mark.parametrize("lines", [(), HEIGHTS[:1], ("", "  ")])
def test_no_data_is_no_answer(lines: tuple[str, ...]) -> None:
    """A file without a line of data is refused, not read as an empty sky."""
    with pytest.raises(InputError, match="no line of data"):
        read_heights(lines)


def test_a_climb_is_read() -> None:
    """Levels are written as flight levels, temperatures in degrees Celsius."""
    at = "2026-03-01T10:00Z"
    lines = (CLIMB, f"{at},FL100,-4.8", f"{at},310,-46.5")
    assert read_climbs(lines) == (
        (datetime(2026, 3, 1, 10, tzinfo=UTC), ClimbLevel(level=100, temperature_c=-4.8)),
        (datetime(2026, 3, 1, 10, tzinfo=UTC), ClimbLevel(level=310, temperature_c=-46.5)),
    )


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("31000,-46.5", "line 2: '31000' looks like feet"),
        ("310,-146.5", "line 2: static_air_temperature_c reads '-146.5'"),
        ("310", "line 2: 2 fields are too few"),
    ],
)
def test_a_bad_climb_is_refused(row: str, message: str) -> None:
    """Feet for levels and impossible temperatures are refused with their line."""
    with pytest.raises(InputError, match=message):
        read_climbs((CLIMB, f"2026-03-01T10:00Z,{row}"))


def standard_climb(warmer_c: float = 0.0) -> tuple[ClimbLevel, ...]:
    """Temperatures of a standard day every 2,000 ft, highest level first."""
    return tuple(
        ClimbLevel(
            level=level,
            temperature_c=atmosphere.temperature_k(level * 100) - 273.15 + warmer_c,
        )
        for level in range(400, 0, -20)
    )


def test_a_standard_climb_gives_standard_heights() -> None:
    """Dry standard temperatures from sea level give FL350 a height of 35,000 ft."""
    profile = climb_sounding("flight 1", GROUND, standard_climb(), humidity_percent=0)
    height = height_of_pressure_ft(profile, atmosphere.pressure_hpa(35_000))
    assert height == pytest.approx(35_000, abs=1)
    assert profile.key == "flight 1 2027-03-14T00:00Z"


def test_humidity_lifts_a_climb() -> None:
    """On a warm damp day humidity is worth about 60 ft at FL350 (common practice, no source)."""
    heights = [
        height_of_pressure_ft(
            climb_sounding("x", GROUND, standard_climb(5.0), humidity_percent=humidity),
            atmosphere.pressure_hpa(35_000),
        )
        for humidity in (0, 60)
    ]
    assert heights[1] - heights[0] == pytest.approx(62, abs=25)


def test_levels_below_the_ground_are_left_out() -> None:
    """A flight level under the aerodrome takes no part."""
    high = Ground(
        valid_at=GROUND.valid_at,
        latitude_deg=-45.0,
        longitude_deg=170.5,
        height_ft=5_000.0,
        pressure_hpa=843.07,
        temperature_c=5.0,
    )
    profile = climb_sounding("x", high, standard_climb(), humidity_percent=0)
    assert profile.levels[0].pressure_hpa == 843.07
    assert len(profile.levels) == 1 + len([c for c in standard_climb() if c.level > 50])


def test_a_climb_with_a_hole_is_refused() -> None:
    """Temperatures missing over a wide part of the climb are not bridged."""
    climb = tuple(noted for noted in standard_climb() if not 100 < noted.level < 260)
    with pytest.raises(OutOfRangeError, match="nothing is known between"):
        climb_sounding("x", GROUND, climb, humidity_percent=0)
    with pytest.raises(OutOfRangeError, match="relative humidity 101"):
        climb_sounding("x", GROUND, standard_climb(), humidity_percent=101)
    with pytest.raises(InputError, match="pressure does not fall"):
        climb_sounding("x", GROUND, standard_climb() * 2, humidity_percent=0)
