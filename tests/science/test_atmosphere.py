"""The standard atmosphere against published tables and two reference libraries."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import OutOfRangeError
from rvsmlog.science import atmosphere
from rvsmlog.units import HPA_PER_INHG, hpa_to_psi, inhg_to_hpa, metres_to_feet

# Radius of the earth of the 1976 standard (and of ICAO Doc 7488), metres.
RADIUS_M = 6_356_766.0
ALTITUDES_FT = (
    *(-2_000, -1_000, 0, 500, 8_000, 18_000, 29_000, 31_000, 36_089, 36_090),
    *(41_000, 45_000, 51_000, 60_000, 65_616),
)

# 14 CFR Part 43 Appendix E Table I (2026 text): altitude ft, inches of mercury, tolerance ft.
TABLE_I = (
    (-1_000, 31.018, 20),
    (0, 29.921, 20),
    (500, 29.385, 20),
    (1_000, 28.856, 20),
    (1_500, 28.335, 25),
    (2_000, 27.821, 30),
    (3_000, 26.817, 30),
    (4_000, 25.842, 35),
    (6_000, 23.978, 40),
    (8_000, 22.225, 60),
    (10_000, 20.577, 80),
    (12_000, 19.029, 90),
    (14_000, 17.577, 100),
    (16_000, 16.216, 110),
    (18_000, 14.942, 120),
    (20_000, 13.750, 130),
    (22_000, 12.636, 140),
    (25_000, 11.104, 155),
    (30_000, 8.885, 180),
    (35_000, 7.041, 205),
    (40_000, 5.538, 230),
    (45_000, 4.355, 255),
    (50_000, 3.425, 280),
)

# 14 CFR Part 43 Appendix E Table IV (2026 text): setting inches, altitude difference ft.
# The 29.92 row is left out: see test_the_29_92_row_of_table_iv_is_a_rounded_name.
TABLE_IV = (
    (28.10, -1_727),
    (28.50, -1_340),
    (29.00, -863),
    (29.50, -392),
    (30.50, 531),
    (30.90, 893),
    (30.99, 974),
)

# Standard atmosphere worked out apart from this code, from the same constants (derived):
# ft, hPa, psi, inHg, degrees C.
WORKED = (
    (0, 1013.2500, 14.69595, 29.9213, 15.000),
    (5_000, 843.0726, 12.22773, 24.8959, 5.094),
    (8_000, 752.6236, 10.91588, 22.2250, -0.850),
    (10_000, 696.8164, 10.10647, 20.5770, -4.812),
    (14_000, 595.2386, 8.63321, 17.5774, -12.737),
    (15_000, 571.8194, 8.29354, 16.8858, -14.718),
    (18_000, 505.9982, 7.33888, 14.9421, -20.662),
    (25_000, 376.0089, 5.45355, 11.1035, -34.530),
    (29_000, 314.8498, 4.56651, 9.2975, -42.455),
    (30_000, 300.8956, 4.36412, 8.8854, -44.436),
    (31_000, 287.4465, 4.16906, 8.4883, -46.417),
    (35_000, 238.4227, 3.45803, 7.0406, -54.342),
    (41_000, 178.7384, 2.59238, 5.2781, -56.500),
)

altitudes = st.floats(atmosphere.LOWEST_FT, atmosphere.HIGHEST_FT)


def geometric_m(altitude_ft: float) -> float:
    """Geometric height of a geopotential altitude, as the 1976 standard defines the two."""
    height_m = altitude_ft * 0.3048
    return RADIUS_M * height_m / (RADIUS_M - height_m)


@pytest.mark.parametrize(("altitude", "inches", "tolerance"), TABLE_I)
def test_table_i_pressures(altitude: int, inches: float, tolerance: int) -> None:
    """Every pressure of Appendix E Table I comes out to half of the last printed digit."""
    shown = atmosphere.pressure_hpa(altitude) / HPA_PER_INHG
    assert shown == pytest.approx(inches, abs=0.0005)
    back = atmosphere.altitude_ft(inhg_to_hpa(inches))
    # Half of the last printed digit of pressure is at most 4 ft at 50,000 ft.
    assert back == pytest.approx(altitude, abs=4.0)
    assert abs(back - altitude) < tolerance


@pytest.mark.parametrize(("inches", "difference"), TABLE_IV)
def test_table_iv_differences(inches: float, difference: int) -> None:
    """Every altitude difference of Appendix E Table IV comes out to the whole foot."""
    correction = atmosphere.qnh_correction_ft(inhg_to_hpa(inches))
    assert correction == pytest.approx(difference, abs=0.5)


def test_the_29_92_row_of_table_iv_is_a_rounded_name() -> None:
    """Table IV prints 0 at 29.92, but the atmosphere is zero at 29.9213, 1.16 ft away."""
    correction = atmosphere.qnh_correction_ft(inhg_to_hpa(29.92))
    assert correction == pytest.approx(-1.16, abs=0.005)
    assert atmosphere.qnh_correction_ft(1013.25) == 0


@pytest.mark.parametrize(("altitude", "hpa", "psi", "inches", "celsius"), WORKED)
def test_worked_table(altitude: int, hpa: float, psi: float, inches: float, celsius: float) -> None:
    """Pressure in three units and temperature agree with figures worked out apart."""
    pressure = atmosphere.pressure_hpa(altitude)
    assert pressure == pytest.approx(hpa, abs=0.00005)
    assert hpa_to_psi(pressure) == pytest.approx(psi, abs=0.000005)
    assert pressure / HPA_PER_INHG == pytest.approx(inches, abs=0.00005)
    assert atmosphere.temperature_k(altitude) - 273.15 == pytest.approx(celsius, abs=0.0005)


def test_the_tropopause() -> None:
    """The tropopause lies at 36,089.24 ft with 226.3204 hPa and -56.5 degrees C."""
    assert metres_to_feet(atmosphere.TROPOPAUSE_M) == pytest.approx(36_089.24, abs=0.005)
    assert pytest.approx(226.3204, abs=0.00005) == atmosphere.TROPOPAUSE_PRESSURE_HPA
    assert pytest.approx(216.65, abs=1e-9) == atmosphere.TROPOPAUSE_TEMPERATURE_K


@pytest.mark.parametrize("altitude", ALTITUDES_FT)
def test_agrees_with_ambiance(altitude: int) -> None:
    """The library ambiance (ICAO Doc 7488) gives the same pressure and temperature."""
    from ambiance import Atmosphere

    reference = Atmosphere(geometric_m(altitude))
    # It types in the pressures of the layers' foot with six digits, 2e-6 of pressure: 0.04 ft.
    assert atmosphere.pressure_hpa(altitude) * 100 == pytest.approx(reference.pressure[0], rel=2e-6)
    assert atmosphere.temperature_k(altitude) == pytest.approx(reference.temperature[0], rel=1e-9)


@pytest.mark.parametrize("altitude", ALTITUDES_FT)
def test_agrees_with_fluids(altitude: int) -> None:
    """The library fluids (US Standard Atmosphere 1976) gives the same within its gas constant."""
    from fluids.atmosphere import ATMOSPHERE_1976

    reference = ATMOSPHERE_1976(geometric_m(altitude))
    # Its gas constant is 8314.32/28.9644 = 287.05307, 7e-7 larger: at 20 km 2e-6 of pressure.
    assert atmosphere.pressure_hpa(altitude) * 100 == pytest.approx(reference.P, rel=3e-6)
    assert atmosphere.temperature_k(altitude) == pytest.approx(reference.T, rel=1e-9)


# US Standard Atmosphere 1976, table I, by geopotential height, from memory: m, hPa, K.
@pytest.mark.parametrize(
    ("height_m", "hpa", "kelvin"),
    [
        (0, 1013.25, 288.15),
        (1_000, 898.746, 281.65),
        (5_000, 540.199, 255.65),
        (10_000, 264.363, 223.15),
        (11_000, 226.321, 216.65),
        (20_000, 54.7489, 216.65),
    ],
)
def test_ussa_76_points(height_m: int, hpa: float, kelvin: float) -> None:
    """Points of the 1976 standard's tables (from memory) agree to 1 part in 200,000."""
    altitude = height_m / 0.3048
    assert atmosphere.pressure_hpa(altitude) == pytest.approx(hpa, rel=5e-6)
    assert atmosphere.temperature_k(altitude) == pytest.approx(kelvin, abs=0.005)


@settings(max_examples=60)
@given(altitudes)
def test_there_and_back(altitude: float) -> None:
    """Altitude to pressure and back is the same altitude to a millionth of a foot."""
    back = atmosphere.altitude_ft(atmosphere.pressure_hpa(altitude))
    assert back == pytest.approx(altitude, abs=1e-6)
    assert atmosphere.LOWEST_FT <= back <= atmosphere.HIGHEST_FT


@settings(max_examples=60)
@given(altitudes, altitudes)
def test_pressure_falls_with_altitude(one: float, other: float) -> None:
    """Of two altitudes a thousandth of a foot or more apart, the higher has less pressure."""
    low, high = sorted((one, other))
    if high - low >= 1e-3:
        assert atmosphere.pressure_hpa(low) > atmosphere.pressure_hpa(high)


@settings(max_examples=60)
@given(st.floats(-1_000, 60_000), st.floats(951, 1_050))
def test_setting_there_and_back(altitude: float, qnh: float) -> None:
    """Indicated altitude and pressure altitude turn into each other under any setting."""
    sensed = atmosphere.altitude_ft(atmosphere.pressure_hpa(altitude))
    shown = sensed + atmosphere.qnh_correction_ft(qnh)
    assert atmosphere.pressure_altitude_ft(shown, qnh) == pytest.approx(altitude, abs=1e-6)


def test_a_low_setting_shows_a_low_altitude() -> None:
    """On the ground at sea level the altimeter shows zero when the setting is the pressure."""
    shown = atmosphere.altitude_ft(990.0) + atmosphere.qnh_correction_ft(990.0)
    assert shown == pytest.approx(0, abs=1e-9)
    # 1 hPa is 27.3 ft at sea level (derived from p0, T0, R and g0: dH = R T0 / g0 dp/p0).
    per_hpa = 287.05287 * 288.15 / 9.80665 / 1013.25 / 0.3048
    assert atmosphere.qnh_correction_ft(1012.25) == pytest.approx(-per_hpa, abs=0.02)


@pytest.mark.parametrize("bad", [-2_000.1, 65_617.1, math.nan, math.inf, -math.inf])
def test_altitudes_out_of_range_are_refused(bad: float) -> None:
    """No altitude outside -2,000 to 65,617 ft is answered, nor one that is no number."""
    for function in (
        atmosphere.pressure_hpa,
        atmosphere.temperature_k,
    ):
        with pytest.raises(OutOfRangeError, match="out of range"):
            function(bad)


@pytest.mark.parametrize("bad", [0.0, -5.0, 54.7, 1_089.0, 29.92, math.nan, math.inf])
def test_pressures_out_of_range_are_refused(bad: float) -> None:
    """No pressure outside those of the altitudes answered is taken, nor a setting in inches."""
    for function in (atmosphere.altitude_ft, atmosphere.qnh_correction_ft):
        with pytest.raises(OutOfRangeError, match="out of range"):
            function(bad)


def test_the_ends_of_the_range_are_answered() -> None:
    """The two ends themselves are in range, and the 20 km end is 65,617 ft."""
    assert atmosphere.HIGHEST_FT == 65_617
    assert atmosphere.altitude_ft(atmosphere.HIGHEST_HPA) == -2_000
    assert atmosphere.altitude_ft(atmosphere.LOWEST_HPA) == pytest.approx(65_617, abs=1e-6)
    assert atmosphere.qnh_correction_ft(atmosphere.LOWEST_QNH_HPA) < 0
    with pytest.raises(OutOfRangeError, match="altimeter setting"):
        atmosphere.qnh_correction_ft(849.9)
    with pytest.raises(OutOfRangeError, match="pressure altitude"):
        atmosphere.pressure_altitude_ft(65_600, 980.0)
