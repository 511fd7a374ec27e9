"""Integration and interpolation of soundings against real ascents and derived figures."""

import math
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science import atmosphere
from rvsmlog.science.soundings import (
    Sounding,
    SoundingLevel,
    height_of_pressure_ft,
    thickness_ft,
    vapour_pressure_hpa,
    virtual_temperature_k,
    with_heights_from_temperatures,
)

FT = 0.3048
DATA = Path(__file__).parent / "data"
# Heights above 500 hPa are listed to 10 gpm in these files, which is 33 ft.
LISTED_TO_FT = 10 / FT


def sounding(*levels: SoundingLevel) -> Sounding:
    """Make a sounding of nowhere in particular."""
    return Sounding(
        station="TEST",
        valid_at=datetime(2027, 3, 14, tzinfo=UTC),
        latitude_deg=0.0,
        longitude_deg=0.0,
        levels=levels,
    )


def real_ascent(name: str) -> Sounding:
    """Read one of the ascents in the data folder (its README says where they come from)."""
    rows = (DATA / name).read_text(encoding="ascii").partition("%RAW%")[2].partition("%END%")[0]
    levels = []
    for row in rows.strip().splitlines():
        pressure, height, temperature, dew_point = (float(field) for field in row.split(",")[:4])
        known = temperature > -999
        levels.append(
            SoundingLevel(
                pressure_hpa=pressure,
                height_ft=height / FT,
                temperature_c=temperature if known else None,
                dew_point_depression_c=temperature - dew_point if known else None,
            )
        )
    return sounding(*levels)


def listed_ft(ascent: Sounding, pressure: float) -> float:
    """Height that an ascent lists for a pressure."""
    height = next(level.height_ft for level in ascent.levels if level.pressure_hpa == pressure)
    assert height is not None
    return height


ASCENTS = (
    ("00021400_lzk.txt", 850),
    ("00030300_fwd.txt", 850),
    ("00061300_oax.txt", 850),
    ("01060800_dnr.txt", 700),
)


def dried(sounding: Sounding) -> Sounding:
    """Give a sounding without its humidity, to see what humidity is worth."""
    levels = (
        replace(level, humidity_percent=None, dew_point_depression_c=None)
        for level in sounding.levels
    )
    return replace(sounding, levels=tuple(levels))


@pytest.mark.parametrize(("name", "base"), ASCENTS)
@pytest.mark.parametrize("top", [500, 300, 250, 200])
def test_integration_gives_listed_heights(name: str, base: float, top: float) -> None:
    """Integrated virtual temperature gives the heights that real ascents list, to 10 gpm."""
    ascent = real_ascent(name)
    part = replace(ascent, levels=tuple(x for x in ascent.levels if x.pressure_hpa <= base))
    humid = with_heights_from_temperatures(part)
    assert listed_ft(humid, top) == pytest.approx(listed_ft(ascent, top), abs=LISTED_TO_FT)
    # Humidity makes air lighter, so leaving it out loses height: 15 ft at the least here.
    dry = with_heights_from_temperatures(dried(part))
    assert listed_ft(dry, top) < listed_ft(humid, top) - 15


@pytest.mark.parametrize(("name", "base"), ASCENTS)
@pytest.mark.parametrize("left_out", [300, 250])
def test_interpolation_finds_a_level_left_out(name: str, base: float, left_out: float) -> None:
    """The height of a listed level is found from its neighbours, to 10 gpm."""
    ascent = real_ascent(name)
    others = tuple(level for level in ascent.levels if level.pressure_hpa != left_out)
    found = height_of_pressure_ft(replace(ascent, levels=others), left_out)
    assert found == pytest.approx(listed_ft(ascent, left_out), abs=LISTED_TO_FT)
    assert height_of_pressure_ft(ascent, left_out) == listed_ft(ascent, left_out)


@pytest.mark.parametrize(("kelvin", "metres"), [(273.15, 5_542.0), (255.0, 5_173.8)])
def test_thickness_at_one_temperature(kelvin: float, metres: float) -> None:
    """The 1000 to 500 hPa thickness of dry air at one temperature is R T ln 2 / g0 (derived)."""
    levels = tuple(
        SoundingLevel(
            pressure_hpa=pressure,
            temperature_c=kelvin - 273.15,
            height_ft=0.0 if pressure == 1000 else None,
        )
        for pressure in (1000.0, 700.0, 500.0)
    )
    top = with_heights_from_temperatures(sounding(*levels)).levels[-1]
    assert top.height_ft is not None
    assert top.height_ft * FT == pytest.approx(metres, abs=0.05)


# Saturation over water: Smithsonian Meteorological Tables, from memory (degrees, hPa).
@pytest.mark.parametrize(
    ("celsius", "hpa"), [(30, 42.43), (20, 23.37), (10, 12.27), (0, 6.11), (-20, 1.254)]
)
def test_saturation_vapour_pressure(celsius: float, hpa: float) -> None:
    """Saturation vapour pressure over water is that of published tables to half a per cent."""
    assert vapour_pressure_hpa(celsius) == pytest.approx(hpa, rel=0.005)


def test_virtual_temperature_of_a_published_level() -> None:
    """Virtual temperature is that of NOAA's derived record of one level.

    IGRA v2 derived parameters, USM00070026, 10 September 2014 00 UTC, second-hand: 947.43 hPa,
    269.1 K, relative humidity 94.1 %, saturation 4.533 hPa, virtual temperature 269.5 K.
    """
    level = SoundingLevel(pressure_hpa=947.43, temperature_c=269.1 - 273.15, humidity_percent=94.1)
    virtual = virtual_temperature_k(level)
    # Both temperatures are printed to a tenth.
    assert virtual == pytest.approx(269.5, abs=0.1)
    assert vapour_pressure_hpa(269.1 - 273.15) == pytest.approx(4.533, rel=0.004)


def test_humidity_by_either_measure() -> None:
    """Relative humidity and dew-point depression of one real level mean the same vapour.

    IGRA v2, USM00072357, 1 January 2026 00 UTC, surface: 977.88 hPa, 17.6 C, 26.0 %, 19.7 C.
    """
    wet = SoundingLevel(pressure_hpa=977.88, temperature_c=17.6, humidity_percent=26.0)
    dew = SoundingLevel(pressure_hpa=977.88, temperature_c=17.6, dew_point_depression_c=19.7)
    one, other = virtual_temperature_k(wet), virtual_temperature_k(dew)
    assert one == pytest.approx(other, abs=0.02)
    assert one is not None
    assert one > 17.6 + 273.15 + 0.4


def standard_levels(offset_ft: float = 0.0) -> tuple[SoundingLevel, ...]:
    """Levels of the standard atmosphere, all of them lifted by the same height."""
    return tuple(
        SoundingLevel(
            pressure_hpa=atmosphere.pressure_hpa(altitude),
            height_ft=altitude + offset_ft,
            temperature_c=atmosphere.temperature_k(altitude) - 273.15,
        )
        for altitude in range(0, 50_000, 5_000)
    )


@settings(max_examples=40)
@given(st.floats(0, 44_900), st.floats(-1_000, 1_000))
def test_a_lifted_standard_atmosphere_is_exact(altitude: float, lift: float) -> None:
    """Where real and standard height differ by a constant, interpolation has no error."""
    found = height_of_pressure_ft(
        sounding(*standard_levels(lift)), atmosphere.pressure_hpa(altitude)
    )
    assert found == pytest.approx(altitude + lift, abs=1e-6)


def test_integrating_the_standard_atmosphere() -> None:
    """The standard atmosphere's own temperatures give its own heights, to 5 ft."""
    levels = tuple(
        replace(level, height_ft=level.height_ft if i == 0 else None)
        # No level stands at the tropopause, where the temperature bends: stop below it.
        for i, level in enumerate(standard_levels()[:8])
    )
    built = with_heights_from_temperatures(sounding(*levels))
    for level, altitude in zip(built.levels, range(0, 40_000, 5_000), strict=True):
        # The mean of both ends is (dT/T)^2/12 too warm: 0.7 ft in each step of 5,000 ft.
        assert level.height_ft == pytest.approx(altitude, abs=5)


def test_one_kelvin_is_139_ft_at_fl350() -> None:
    """Air one degree warmer throughout puts FL350 139 ft higher (R/g0 ln(p0/p), derived)."""
    warm = tuple(replace(x, temperature_c=(x.temperature_c or 0) + 1) for x in standard_levels())
    lift = [
        listed_ft(
            with_heights_from_temperatures(sounding(*levels)), atmosphere.pressure_hpa(35_000)
        )
        for levels in (standard_levels(), warm)
    ]
    exact = 287.05287 / 9.80665 * math.log(1013.25 / 238.4227) / FT
    assert exact == pytest.approx(139, abs=0.5)
    assert lift[1] - lift[0] == pytest.approx(exact, abs=0.01)


def test_a_level_without_temperature_is_passed_over() -> None:
    """A level with no temperature takes no part in the integration, nor does what lies below."""
    levels = standard_levels()
    below = SoundingLevel(pressure_hpa=1020.0, height_ft=-180.0)
    holed = replace(levels[3], temperature_c=None)
    built = with_heights_from_temperatures(sounding(below, *levels[:3], holed, *levels[4:]))
    pressures = [level.pressure_hpa for level in built.levels]
    assert pressures == [x.pressure_hpa for x in (*levels[:3], *levels[4:])]


def test_holes_are_refused() -> None:
    """Neither integration nor interpolation bridges a hole wider than a factor of 1.6."""
    low = SoundingLevel(pressure_hpa=850.0, height_ft=4_800.0, temperature_c=10.0)
    high = SoundingLevel(pressure_hpa=500.0, height_ft=18_300.0, temperature_c=-15.0)
    with pytest.raises(OutOfRangeError, match="nothing is known between 850 and 500 hPa"):
        with_heights_from_temperatures(sounding(low, high))
    with pytest.raises(OutOfRangeError, match="nothing is known between 850 and 500 hPa"):
        height_of_pressure_ft(sounding(low, high), 600.0)


@pytest.mark.parametrize("pressure", [1_013.3, 100.0, 0.0, -1.0, math.nan])
def test_no_height_outside_the_profile(pressure: float) -> None:
    """A pressure below the lowest or above the highest level with a height is refused."""
    with pytest.raises(OutOfRangeError, match="no height around"):
        height_of_pressure_ft(sounding(*standard_levels()), pressure)


def test_a_profile_must_go_up() -> None:
    """Levels out of order, and a level given twice, are refused."""
    one, other = SoundingLevel(pressure_hpa=500.0), SoundingLevel(pressure_hpa=700.0)
    with pytest.raises(InputError, match="pressure does not fall from 500 to 700"):
        sounding(one, other)
    with pytest.raises(InputError, match="pressure does not fall from 500 to 500"):
        sounding(one, one)


def test_integration_needs_one_height() -> None:
    """Temperatures alone do not make heights."""
    with pytest.raises(InputError, match="no level has both a height and a temperature"):
        with_heights_from_temperatures(
            sounding(SoundingLevel(pressure_hpa=850.0, temperature_c=10.0))
        )


def test_thickness_needs_both_temperatures() -> None:
    """A level without a temperature has no virtual one, and no thickness ends on it."""
    bare, warm = standard_levels()[:2]
    bare = replace(bare, temperature_c=None)
    assert virtual_temperature_k(bare) is None
    with pytest.raises(InputError, match="a level has no temperature"):
        thickness_ft(bare, warm)


def test_a_sounding_names_its_piece_of_weather() -> None:
    """The key holds station and time, and says when the time is not known."""
    known = sounding()
    assert known.key == "TEST 2027-03-14T00:00Z"
    assert replace(known, valid_at=None).key == "TEST time unknown"
