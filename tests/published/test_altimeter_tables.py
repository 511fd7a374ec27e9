"""Tables and limits of altimeter and static system tests.

Source: 14 CFR Part 43 Appendix E, Tables I to IV; 14 CFR 25.1325(c)(2). Edition: 2026 text.
Status: published. Pressures are held besides against a standard atmosphere from a reference
library, within half of their last printed digit.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.standards import altimeter_tests as at
from rvsmlog.standards.source import Figure, Status

# Altitude in feet, pressure in inches of mercury, tolerance in feet.
TABLE_I = """
-1000 31.018 20 |     0 29.921 20 |   500 29.385 20 |  1000 28.856 20 |  1500 28.335 25
 2000 27.821 30 |  3000 26.817 30 |  4000 25.842 35 |  6000 23.978 40 |  8000 22.225 60
10000 20.577 80 | 12000 19.029 90 | 14000 17.577 100 | 16000 16.216 110 | 18000 14.942 120
20000 13.750 130 | 22000 12.636 140 | 25000 11.104 155 | 30000 8.885 180 | 35000 7.041 205
40000 5.538 230 | 45000 4.355 255 | 50000 3.425 280
"""
# Altitude in feet, tolerance in feet.
TABLE_III = """
1000 70 | 2000 70 | 3000 70 | 5000 70 | 10000 80 | 15000 90
20000 100 | 25000 120 | 30000 140 | 35000 160 | 40000 180 | 50000 250
"""
# Barometric scale in inches of mercury, altitude difference in feet.
TABLE_IV = """
28.10 -1727 | 28.50 -1340 | 29.00 -863 | 29.50 -392 | 29.92 0 | 30.50 531 | 30.90 893 | 30.99 974
"""

METRES_PER_FOOT = 0.3048
# Conventional inch of mercury, NIST SP 811 appendix B.8, from memory.
PASCALS_PER_INHG = 3386.389


def rows(text: str) -> list[tuple[float, ...]]:
    """Read a table typed as cells between bars."""
    cells = text.replace("\n", "|").split("|")
    return [tuple(float(part) for part in cell.split()) for cell in cells if cell.strip()]


def standard_pressure_inhg(altitude_ft: float) -> float:
    """Give the standard pressure at a geopotential altitude, from the reference library."""
    from ambiance import Atmosphere

    geometric_m = Atmosphere.geop2geom_height(altitude_ft * METRES_PER_FOOT)
    return float(Atmosphere(geometric_m).pressure[0]) / PASCALS_PER_INHG


def standard_altitude_ft(pascals: float) -> float:
    """Give the geopotential altitude of a standard pressure, from the reference library."""
    from ambiance import Atmosphere

    geopotential_m = Atmosphere.geom2geop_height(Atmosphere.from_pressure(pascals).h)
    return float(geopotential_m[0]) / METRES_PER_FOOT


def test_table_i_is_the_published_one() -> None:
    """All 23 rows of Table I stand as printed, in order, and nothing else."""
    assert [tuple(row) for row in at.TABLE_I.value] == rows(TABLE_I)
    assert len(at.TABLE_I.value) == 23
    assert at.TABLE_I.source.key == "43-appendix-e-table-1"
    assert at.TABLE_I.source.status is Status.PUBLISHED


@pytest.mark.parametrize("row", at.TABLE_I.value, ids=lambda row: str(row.altitude_ft))
def test_table_i_pressures_are_standard(row: at.ScalePoint) -> None:
    """Each pressure of Table I is that of the standard atmosphere, to its last digit."""
    assert standard_pressure_inhg(row.altitude_ft) == pytest.approx(row.pressure_inhg, abs=0.0005)


@pytest.mark.parametrize("row", rows(TABLE_I), ids=lambda row: f"{row[0]:.0f}")
def test_scale_tolerance_at_each_row(row: tuple[float, ...]) -> None:
    """At a tabulated altitude the tolerance is the printed one."""
    assert at.scale_tolerance_ft(row[0]) == row[2]


@pytest.mark.parametrize(
    ("altitude_ft", "tolerance_ft"),
    [(29_000, 175), (41_000, 235), (27_500, 167.5), (-500, 20), (5_000, 37.5)],
)
def test_scale_tolerance_between_rows(altitude_ft: float, tolerance_ft: float) -> None:
    """Between rows the tolerance is on the straight line (by hand from the two printed rows)."""
    assert at.scale_tolerance_ft(altitude_ft) == pytest.approx(tolerance_ft, abs=1e-9)


@pytest.mark.parametrize("altitude_ft", [-1_000.5, -1_001, 50_000.5, 50_001, float("nan")])
def test_scale_tolerance_outside_the_table(altitude_ft: float) -> None:
    """Outside -1,000 to 50,000 ft there is no tolerance."""
    with pytest.raises(OutOfRangeError, match="outside Table I"):
        at.scale_tolerance_ft(altitude_ft)


@given(low=st.floats(-1_000, 50_000), high=st.floats(-1_000, 50_000))
@settings(max_examples=100)
def test_scale_tolerance_never_shrinks_with_altitude(low: float, high: float) -> None:
    """A higher altitude never has a smaller tolerance, and all lie between 20 and 280 ft."""
    low, high = min(low, high), max(low, high)
    below, above = at.scale_tolerance_ft(low), at.scale_tolerance_ft(high)
    assert below <= above + 1e-9
    assert 20 <= below <= above + 1e-9 <= 280 + 1e-6


def test_table_i_is_wider_than_the_altimetry_error_budget() -> None:
    """At FL410 Table I allows more than the 200 ft of 14 CFR 91 appendix G section 9(b)."""
    assert at.scale_tolerance_ft(41_000) > 200


@pytest.mark.parametrize(
    ("figure", "feet"),
    [
        (at.CASE_LEAK_FT, 100),
        (at.HYSTERESIS_FIRST_FT, 75),
        (at.HYSTERESIS_SECOND_FT, 75),
        (at.AFTER_EFFECT_FT, 30),
    ],
)
def test_table_ii(figure: Figure[int], feet: int) -> None:
    """The four tolerances of Table II stand as printed."""
    assert figure.value == feet
    assert figure.unit == "ft"
    assert figure.source.key == "43-appendix-e-table-2"


def test_table_iii_is_the_published_one() -> None:
    """All 12 rows of Table III stand as printed."""
    assert [tuple(row) for row in at.TABLE_III.value] == rows(TABLE_III)


@pytest.mark.parametrize("row", rows(TABLE_III), ids=lambda row: f"{row[0]:.0f}")
def test_friction_tolerance_at_each_point(row: tuple[float, ...]) -> None:
    """At a test point the friction tolerance is the printed one."""
    assert at.friction_tolerance_ft(row[0]) == row[1]


@pytest.mark.parametrize("altitude_ft", [999, 1_001, 29_000, 45_000, 0, 30_000.5, float("nan")])
def test_friction_is_not_interpolated(altitude_ft: float) -> None:
    """Paragraph (b)(1)(iv) tests friction at each listed altitude, so others are refused."""
    with pytest.raises(OutOfRangeError, match="no test point"):
        at.friction_tolerance_ft(altitude_ft)


def test_table_iv_is_the_published_one() -> None:
    """All 8 rows of Table IV stand as printed, with a tolerance of 25 ft."""
    assert [tuple(row) for row in at.TABLE_IV.value] == rows(TABLE_IV)
    assert at.BAROMETRIC_TOLERANCE_FT.value == 25


@pytest.mark.parametrize("row", rows(TABLE_IV), ids=lambda row: f"{row[0]:.2f}")
def test_barometric_difference_at_each_setting(row: tuple[float, ...]) -> None:
    """At a setting of Table IV the difference is the printed one."""
    assert at.barometric_difference_ft(row[0]) == row[1]


@pytest.mark.parametrize("setting", [row for row in rows(TABLE_IV) if row[0] != 29.92])
def test_table_iv_differences_are_standard(setting: tuple[float, ...]) -> None:
    """Each difference but that of 29.92 is the standard altitude of the setting, to the foot."""
    # A higher pressure reads higher on the scale and lies lower in the atmosphere.
    altitude_ft = standard_altitude_ft(setting[0] * PASCALS_PER_INHG)
    assert -altitude_ft == pytest.approx(setting[1], abs=0.5)


@pytest.mark.parametrize("inhg", [28.11, 29.921, 29.9213, 31.0, 0.0, float("nan"), float("inf")])
def test_other_settings_are_refused(inhg: float) -> None:
    """A setting that Table IV does not list has no printed difference."""
    with pytest.raises(OutOfRangeError, match="no setting of Table IV"):
        at.barometric_difference_ft(inhg)


def test_unpressurised_static_leak() -> None:
    """25.1325(c)(2)(i): an unpressurised aeroplane may lose 100 ft in the minute."""
    assert at.static_leak_limit_ft(pressurised=False) == 100
    assert at.static_leak_limit_ft(pressurised=False, equivalent_altitude_ft=13_107) == 100


@pytest.mark.parametrize(
    ("differential_psi", "equivalent_ft", "limit_ft"),
    [(5.0, 11_064, 221), (5.5, 12_411, 248), (5.75, 13_107, 262), (6.0, 13_819, 276)],
)
def test_pressurised_static_leak(
    differential_psi: float, equivalent_ft: float, limit_ft: float
) -> None:
    """25.1325(c)(2)(ii): 2 % of the equivalent altitude (itself held to the reference library)."""
    pascals = 101_325 - differential_psi * 6_894.757293168
    assert standard_altitude_ft(pascals) == pytest.approx(equivalent_ft, abs=0.5)
    limit = at.static_leak_limit_ft(pressurised=True, equivalent_altitude_ft=equivalent_ft)
    assert limit == pytest.approx(limit_ft, abs=0.5)


@pytest.mark.parametrize(
    ("equivalent_ft", "limit_ft"), [(0, 100), (4_999, 100), (5_000, 100), (5_001, 100.02)]
)
def test_pressurised_static_leak_is_never_below_100_ft(
    equivalent_ft: float, limit_ft: float
) -> None:
    """The greater of 2 % and 100 ft holds; they meet at 5,000 ft."""
    limit = at.static_leak_limit_ft(pressurised=True, equivalent_altitude_ft=equivalent_ft)
    assert limit == pytest.approx(limit_ft, abs=1e-9)


@pytest.mark.parametrize("equivalent_ft", [None, -1.0, float("nan"), float("inf")])
def test_pressurised_static_leak_needs_the_differential(equivalent_ft: float | None) -> None:
    """Without a differential pressure on record there is no limit to hold a test against."""
    with pytest.raises(InputError, match="differential pressure"):
        at.static_leak_limit_ft(pressurised=True, equivalent_altitude_ft=equivalent_ft)
