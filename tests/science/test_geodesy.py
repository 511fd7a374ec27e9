"""Gravity, geopotential height and the geoid against closed formulae and published values."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog import geoid_grid
from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science import geodesy

latitudes = st.floats(-90, 90)
FT = 0.3048


def normal_potential(height_m: float, latitude_deg: float) -> float:
    """Potential of gravity above the WGS 84 ellipsoid, exact (Heiskanen and Moritz, 2-7).

    The closed formula in ellipsoidal coordinates, m2/s2, independent of the series and of
    Somigliana's formula that the package uses.
    """
    a, f, gm, omega = 6_378_137.0, 1 / 298.257223563, 3.986004418e14, 7.292115e-5
    b = a * (1 - f)
    linear = math.sqrt(a * a - b * b)
    sine, cosine = math.sin(math.radians(latitude_deg)), math.cos(math.radians(latitude_deg))
    normal = a / math.sqrt(1 - f * (2 - f) * sine * sine)
    x = (normal + height_m) * cosine
    z = (normal * (b / a) ** 2 + height_m) * sine
    rest = x * x + z * z - linear * linear
    u2 = rest / 2 * (1 + math.sqrt(1 + 4 * linear * linear * z * z / rest**2))
    u = math.sqrt(u2)
    sine_beta2 = z * z / u2

    def q(v: float) -> float:
        return ((1 + 3 * v * v / linear**2) * math.atan(linear / v) - 3 * v / linear) / 2

    return (
        gm / linear * math.atan(linear / u)
        + omega**2 * a * a / 2 * q(u) / q(b) * (sine_beta2 - 1 / 3)
        + omega**2 / 2 * (u2 + linear**2) * (1 - sine_beta2)
    )


@pytest.mark.parametrize("latitude", [-90, -60, -45, -20, 0, 10, 30, 45, 52, 70, 85, 90])
@pytest.mark.parametrize("height_ft", [-1_000, 10_000, 29_000, 36_000, 41_000, 65_000])
def test_geopotential_height_is_work_against_gravity(latitude: float, height_ft: float) -> None:
    """Geopotential height is the exact difference of potential over 9.80665, to half a foot."""
    work = normal_potential(0, latitude) - normal_potential(height_ft * FT, latitude)
    exact_ft = work / 9.80665 / FT
    assert geodesy.geopotential_ft(height_ft, latitude) == pytest.approx(exact_ft, abs=0.5)


@pytest.mark.parametrize("latitude", [0, 15, 30, 45, 60, 75, 90])
def test_gravity_is_the_slope_of_the_potential(latitude: float) -> None:
    """Somigliana's gravity is the slope of the exact potential to a part in a million."""
    slope = (normal_potential(-50, latitude) - normal_potential(50, latitude)) / 100
    assert geodesy.normal_gravity(latitude) == pytest.approx(slope, rel=1e-6)


def test_gravity_at_45_degrees() -> None:
    """Normal gravity at 45 degrees is that of the Geodetic Reference System 1980."""
    # 9.8061992 m/s2 (Moritz, Geodetic Reference System 1980, from memory); WGS 84 differs by 1e-6.
    assert geodesy.normal_gravity(45) == pytest.approx(9.8061992, abs=2e-6)
    assert geodesy.normal_gravity(-45) == geodesy.normal_gravity(45)


@pytest.mark.parametrize("latitude", [0, 20, 45, 60, 90])
def test_rounded_formulae_in_use_agree(latitude: float) -> None:
    """The formulae with typed-in constants that meteorology uses give the same (from memory)."""
    # WMO-No. 8 (Guide to Instruments), geopotential height from satellite height; from memory.
    s = math.sin(math.radians(latitude)) ** 2
    gravity = 9.780325 * (1 + 0.00193185 * s) / math.sqrt(1 - 0.00669435 * s)
    radius_m = 6_378_137 / (1.006803 - 0.006706 * s)
    assert geodesy.normal_gravity(latitude) == pytest.approx(gravity, rel=2e-7)
    assert geodesy.gravity_radius_m(latitude) == pytest.approx(radius_m, rel=2e-6)


@pytest.mark.parametrize(("latitude", "difference_ft"), [(0, -159), (45, -64), (90, 32)])
def test_what_latitude_does_at_36_000_ft(latitude: float, difference_ft: float) -> None:
    """At 36,000 ft geopotential less geometric height runs from -159 ft to +32 ft (derived)."""
    difference = geodesy.geopotential_ft(36_000, latitude) - 36_000
    assert difference == pytest.approx(difference_ft, abs=0.5)


# H = r z / (r + z) with r = 6,356,766 m (US Standard Atmosphere 1976); derived, metres.
@pytest.mark.parametrize(
    ("geometric_m", "geopotential_m"), [(11_019, 10_999.93), (10_000, 9_984.29), (5_000, 4_996.07)]
)
def test_the_standard_radius_holds_where_gravity_is_standard(
    geometric_m: float, geopotential_m: float
) -> None:
    """At 45 deg 32 min 33 s, where gravity is 9.80665, the constant radius is right to 1 m."""
    given_ft = geodesy.geopotential_ft(geometric_m / FT, 45.5425)
    assert given_ft * FT == pytest.approx(geopotential_m, abs=1.0)


@settings(max_examples=50)
@given(st.floats(-2_000, 69_000), latitudes)
def test_geopotential_there_and_back(height_ft: float, latitude: float) -> None:
    """Geometric to geopotential height and back is the same height."""
    there = geodesy.geopotential_ft(height_ft, latitude)
    assert geodesy.geometric_ft(there, latitude) == pytest.approx(height_ft, abs=1e-6)


@settings(max_examples=50)
@given(st.floats(-2_000, 69_000), latitudes)
def test_gravity_grows_towards_the_poles(height_ft: float, latitude: float) -> None:
    """Above sea level no latitude has less geopotential height than the equator."""
    equator = geodesy.geopotential_ft(abs(height_ft), 0)
    assert geodesy.geopotential_ft(abs(height_ft), latitude) >= equator


# README of the EGM96 geoid files (NIMA, December 1996): latitude, longitude, geoid height m.
README_POINTS = (
    (38.6281550, 269.7791550, -31.628),
    (-14.6212170, 305.0211140, -2.969),
    (46.8743190, 102.4487290, -43.575),
    (-23.6174460, 133.8747120, 15.871),
    (38.6254730, 359.9995000, 50.066),
    (-0.4667440, 0.0023000, 17.329),
)


@pytest.mark.parametrize(("latitude", "longitude", "metres"), README_POINTS)
def test_published_check_points(latitude: float, longitude: float, metres: float) -> None:
    """The check points published with EGM96 come out within the error of a one-degree grid."""
    undulation = geodesy.undulation_ft(geoid_grid.load(), latitude, longitude)
    # Three times the rms error that the module states: 1.56 ft.
    assert undulation == pytest.approx(metres / FT, abs=4.7)


# Nodes of the 15' grid (egm96_15.gtx of Debian's proj-data 9.1.1), metres.
SOURCE_NODES = (
    (-90, 0, -29.534),
    (-60, -60, 20.199),
    (-37, 145, 6.684),
    (-34, 151, 22.309),
    (-8, 147, 84.229),
    (0, 0, 17.162),
    (0, -180, 21.153),
    (5, 79, -106.594),
    (19, -156, 13.203),
    (40, -75, -34.040),
    (51, 0, 45.301),
    (60, -30, 63.799),
    (66, -19, 65.816),
    (90, 0, 13.606),
    (27, 86, -58.612),
)


@pytest.mark.parametrize(("latitude", "longitude", "metres"), SOURCE_NODES)
def test_whole_degrees_are_the_source(latitude: float, longitude: float, metres: float) -> None:
    """At whole degrees the grid is the 15' grid, to half a centimetre."""
    undulation = geodesy.undulation_ft(geoid_grid.load(), latitude, longitude)
    assert undulation * FT == pytest.approx(metres, abs=0.0056)


# The library sidereon 3.0.4 (its own one-degree EGM96 grid, read linearly), metres.
SIDEREON_POINTS = (
    (-23.293, 146.745, 47.092),
    (-18.7152, -105.8208, -3.094),
    (57.2036, 93.1623, -38.305),
    (35.6909, -172.1471, -13.127),
    (-16.6985, -66.7784, 37.916),
    (-44.0852, -57.9412, 5.176),
    (-40.3292, 1.5539, 18.060),
    (-87.9723, 27.5731, -22.953),
    (86.5901, -5.9982, 21.088),
    (-32.7894, 67.9289, 13.456),
    (-27.6173, 147.0157, 31.628),
    (68.6193, 107.679, -15.090),
    (2.2233, -169.8238, 13.869),
    (-79.0114, -22.4738, -10.932),
    (58.7501, -45.9192, 37.902),
    (86.5244, 32.0089, 20.432),
)


@pytest.mark.parametrize(("latitude", "longitude", "metres"), SIDEREON_POINTS)
def test_agrees_with_sidereon(latitude: float, longitude: float, metres: float) -> None:
    """Another library with a grid of its own gives the same undulation, to a centimetre."""
    undulation = geodesy.undulation_ft(geoid_grid.load(), latitude, longitude)
    assert undulation * FT == pytest.approx(metres, abs=0.011)


@pytest.mark.parametrize("latitude", [-90, -45.5, 0, 33.3, 89.5, 90])
def test_the_geoid_has_no_seam(latitude: float) -> None:
    """Crossing 180 degrees, and counting longitude either way, changes nothing."""
    grid = geoid_grid.load()
    assert geodesy.undulation_ft(grid, latitude, 180) == geodesy.undulation_ft(grid, latitude, -180)
    west = geodesy.undulation_ft(grid, latitude, -179.999)
    east = geodesy.undulation_ft(grid, latitude, 179.999)
    assert west == pytest.approx(east, abs=0.05)
    assert geodesy.undulation_ft(grid, latitude, 200.25) == pytest.approx(
        geodesy.undulation_ft(grid, latitude, -159.75), abs=1e-9
    )


@settings(max_examples=50)
@given(latitudes, st.floats(-180, 360))
def test_undulations_lie_in_the_known_range(latitude: float, longitude: float) -> None:
    """No undulation lies outside -107 to +86 m, the extremes of EGM96 (from memory)."""
    undulation_m = geodesy.undulation_ft(geoid_grid.load(), latitude, longitude) * FT
    assert -107.0 <= undulation_m <= 86.0


@pytest.mark.parametrize("bad", [-90.01, 90.01, math.nan, math.inf])
def test_latitudes_out_of_range_are_refused(bad: float) -> None:
    """A latitude that there is not is refused everywhere."""
    with pytest.raises(OutOfRangeError, match="latitude"):
        geodesy.normal_gravity(bad)
    with pytest.raises(OutOfRangeError, match="latitude"):
        geodesy.geopotential_ft(30_000, bad)
    with pytest.raises(OutOfRangeError, match="latitude"):
        geodesy.undulation_ft(geoid_grid.load(), bad, 0)


@pytest.mark.parametrize("bad", [-180.5, 360.5, math.nan, -math.inf])
def test_longitudes_out_of_range_are_refused(bad: float) -> None:
    """A longitude that there is not is refused."""
    with pytest.raises(OutOfRangeError, match="longitude"):
        geodesy.undulation_ft(geoid_grid.load(), 0, bad)


@pytest.mark.parametrize("bad", [-3_001, 70_001, math.nan, math.inf])
def test_heights_out_of_range_are_refused(bad: float) -> None:
    """A height that no aeroplane of this log flies at is refused both ways."""
    with pytest.raises(OutOfRangeError, match="height"):
        geodesy.geopotential_ft(bad, 0)
    with pytest.raises(OutOfRangeError, match="height"):
        geodesy.geometric_ft(bad, 0)


def test_a_damaged_grid_is_refused() -> None:
    """A grid file of the wrong length is no grid."""
    with pytest.raises(InputError, match="65159 values, not 65160"):
        geodesy.grid_from_bytes(bytes(2 * 65_159))
