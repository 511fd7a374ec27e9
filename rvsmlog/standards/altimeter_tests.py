"""Altimeter and static system tests of 14 CFR Part 43 Appendix E: tables and limits.

The tolerances here are for the periodic test. From FL290 to FL410 they are wider than the whole
budget of altimetry system error, so passing them is never proof of fitness for RVSM airspace.
"""

from bisect import bisect_left
from collections.abc import Mapping
from math import inf, isfinite
from types import MappingProxyType
from typing import NamedTuple

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.standards.source import Figure
from rvsmlog.standards.sources import source


class ScalePoint(NamedTuple):
    """One row of Table I."""

    altitude_ft: int
    pressure_inhg: float
    tolerance_ft: int


class FrictionPoint(NamedTuple):
    """One row of Table III."""

    altitude_ft: int
    tolerance_ft: int


class BarometricPoint(NamedTuple):
    """One row of Table IV."""

    pressure_inhg: float
    difference_ft: int


class Span(NamedTuple):
    """From the least to the most that is allowed; None for no such bound."""

    least: int | None
    most: int | None


#: Table I, scale error, with the barometric scale set to 29.92 inHg.
TABLE_I = Figure(
    value=(
        ScalePoint(-1_000, 31.018, 20),
        ScalePoint(0, 29.921, 20),
        ScalePoint(500, 29.385, 20),
        ScalePoint(1_000, 28.856, 20),
        ScalePoint(1_500, 28.335, 25),
        ScalePoint(2_000, 27.821, 30),
        ScalePoint(3_000, 26.817, 30),
        ScalePoint(4_000, 25.842, 35),
        ScalePoint(6_000, 23.978, 40),
        ScalePoint(8_000, 22.225, 60),
        ScalePoint(10_000, 20.577, 80),
        ScalePoint(12_000, 19.029, 90),
        ScalePoint(14_000, 17.577, 100),
        ScalePoint(16_000, 16.216, 110),
        ScalePoint(18_000, 14.942, 120),
        ScalePoint(20_000, 13.750, 130),
        ScalePoint(22_000, 12.636, 140),
        ScalePoint(25_000, 11.104, 155),
        ScalePoint(30_000, 8.885, 180),
        ScalePoint(35_000, 7.041, 205),
        ScalePoint(40_000, 5.538, 230),
        ScalePoint(45_000, 4.355, 255),
        ScalePoint(50_000, 3.425, 280),
    ),
    unit="ft, inHg, ft",
    source=source("43-appendix-e-table-1"),
)

#: Table II: case leak in one minute at 18,000 ft.
CASE_LEAK_FT = Figure(value=100, unit="ft", source=source("43-appendix-e-table-2"))
#: Table II: hysteresis at the first point, half of the maximum altitude.
HYSTERESIS_FIRST_FT = Figure(value=75, unit="ft", source=source("43-appendix-e-table-2"))
#: Table II: hysteresis at the second point, 40 % of the maximum altitude.
HYSTERESIS_SECOND_FT = Figure(value=75, unit="ft", source=source("43-appendix-e-table-2"))
#: Table II: after effect.
AFTER_EFFECT_FT = Figure(value=30, unit="ft", source=source("43-appendix-e-table-2"))

#: Table III, friction, at about 750 ft/min.
TABLE_III = Figure(
    value=(
        FrictionPoint(1_000, 70),
        FrictionPoint(2_000, 70),
        FrictionPoint(3_000, 70),
        FrictionPoint(5_000, 70),
        FrictionPoint(10_000, 80),
        FrictionPoint(15_000, 90),
        FrictionPoint(20_000, 100),
        FrictionPoint(25_000, 120),
        FrictionPoint(30_000, 140),
        FrictionPoint(35_000, 160),
        FrictionPoint(40_000, 180),
        FrictionPoint(50_000, 250),
    ),
    unit="ft, ft",
    source=source("43-appendix-e-table-3"),
)

#: Table IV, change of indicated altitude with the barometric scale. The table starts from
#: 29.9213 inHg, yet its row 29.92 is printed as 0 (the standard atmosphere gives -1.2 ft).
TABLE_IV = Figure(
    value=(
        BarometricPoint(28.10, -1_727),
        BarometricPoint(28.50, -1_340),
        BarometricPoint(29.00, -863),
        BarometricPoint(29.50, -392),
        BarometricPoint(29.92, 0),
        BarometricPoint(30.50, 531),
        BarometricPoint(30.90, 893),
        BarometricPoint(30.99, 974),
    ),
    unit="inHg, ft",
    source=source("43-appendix-e-table-4"),
)
#: Tolerance at each row of Table IV.
BAROMETRIC_TOLERANCE_FT = Figure(value=25, unit="ft", source=source("43-appendix-e-table-4"))

#: Time kept at each point of the scale before it is read.
SCALE_DWELL_S = Figure(value=Span(60, 600), unit="s", source=source("43-appendix-e-b"))
#: Rate from one point of the scale to within about 2,000 ft of the next.
SCALE_RATE_FT_MIN = Figure(
    value=Span(None, 20_000), unit="ft/min", source=source("43-appendix-e-b")
)
#: From first reaching the highest point of the scale to the start of the hysteresis test.
HYSTERESIS_START_S = Figure(value=Span(None, 900), unit="s", source=source("43-appendix-e-b"))
#: Rate of the descent to within 3,000 ft of a hysteresis point.
HYSTERESIS_RATE_FT_MIN = Figure(
    value=Span(5_000, 20_000), unit="ft/min", source=source("43-appendix-e-b")
)
#: Where the two hysteresis points lie, and the time kept at each before it is read.
HYSTERESIS_SHARES = Figure(
    value=(0.5, 0.4), unit="of the maximum altitude", source=source("43-appendix-e-b")
)
HYSTERESIS_DWELLS_S = Figure(
    value=(Span(300, 900), Span(60, 600)), unit="s", source=source("43-appendix-e-b")
)
#: How close a hysteresis point is taken to lie to its share of the maximum altitude.
HYSTERESIS_NEAR_FT = Figure(
    value=1_000,
    unit="ft",
    source=source("practice"),
    note="half the step between most points of Table I; the appendix gives no allowance",
)
#: From the end of the hysteresis test to the reading of the after effect.
AFTER_EFFECT_S = Figure(value=Span(None, 300), unit="s", source=source("43-appendix-e-b"))

#: Static system, unpressurised aeroplane: loss in one minute at about 1 inHg of suction.
STATIC_LEAK_UNPRESSURISED_FT = Figure(
    value=100,
    unit="ft",
    source=source("25-1325"),
    note="appendix E(a)(2) names 25.1325 for Part 25 types; legacy 23.1325 has the same figure",
)
#: Static system, pressurised aeroplane: the least limit.
STATIC_LEAK_PRESSURISED_FT = Figure(value=100, unit="ft", source=source("25-1325"))
#: Static system, pressurised aeroplane: share of the equivalent altitude.
STATIC_LEAK_PRESSURISED_SHARE = Figure(
    value=0.02,
    unit="of the altitude equivalent of the greatest certificated differential pressure",
    source=source("25-1325"),
)

_FRICTION: Mapping[int, int] = MappingProxyType(
    {row.altitude_ft: row.tolerance_ft for row in TABLE_III.value}
)
_BAROMETRIC: Mapping[int, int] = MappingProxyType(
    {round(row.pressure_inhg * 100): row.difference_ft for row in TABLE_IV.value}
)
_HUNDREDTH_INHG = 1e-6


def scale_tolerance_ft(altitude_ft: float) -> float:
    """Give the scale error tolerance of Table I, linear between its rows.

    Parameters
    ----------
    altitude_ft : float
        Pressure altitude, feet.

    Returns
    -------
    float
        Tolerance, plus or minus feet. Between the rows it is common practice, not the rule.

    Raises
    ------
    OutOfRangeError
        Outside -1,000 to 50,000 ft.

    Examples
    --------
    >>> scale_tolerance_ft(30_000)
    180.0
    """
    rows = TABLE_I.value
    if not rows[0].altitude_ft <= altitude_ft <= rows[-1].altitude_ft:
        raise OutOfRangeError(
            f"{altitude_ft} ft is outside Table I", "the table runs from -1,000 to 50,000 ft"
        )
    above = max(1, bisect_left(rows, altitude_ft, key=lambda row: row.altitude_ft))
    low, high = rows[above - 1], rows[above]
    share = (altitude_ft - low.altitude_ft) / (high.altitude_ft - low.altitude_ft)
    return low.tolerance_ft + share * (high.tolerance_ft - low.tolerance_ft)


def friction_tolerance_ft(altitude_ft: float) -> int:
    """Give the friction tolerance of Table III at one of its test points.

    Raises
    ------
    OutOfRangeError
        Between the points too: paragraph (b)(1)(iv) has the test at each listed altitude.
    """
    tolerance = _FRICTION.get(int(altitude_ft)) if float(altitude_ft).is_integer() else None
    if tolerance is None:
        points = ", ".join(f"{altitude:,}" for altitude in _FRICTION)
        raise OutOfRangeError(
            f"{altitude_ft} ft is no test point of Table III", f"the points are {points} ft"
        )
    return tolerance


def barometric_difference_ft(pressure_inhg: float) -> int:
    """Give the altitude difference of Table IV at one of its settings.

    Raises
    ------
    OutOfRangeError
        At any other setting.
    """
    hundredths = round(pressure_inhg * 100) if isfinite(pressure_inhg) else 0
    difference = _BAROMETRIC.get(hundredths)
    if difference is None or abs(pressure_inhg * 100 - hundredths) > _HUNDREDTH_INHG:
        settings = ", ".join(f"{row.pressure_inhg:.2f}" for row in TABLE_IV.value)
        raise OutOfRangeError(
            f"{pressure_inhg} inHg is no setting of Table IV", f"the settings are {settings} inHg"
        )
    return difference


def static_leak_limit_ft(
    *, pressurised: bool, equivalent_altitude_ft: float | None = None
) -> float:
    """Give the greatest loss of indicated altitude in one minute.

    Parameters
    ----------
    pressurised : bool
        Whether the cabin is pressurised.
    equivalent_altitude_ft : float, optional
        Pressure altitude at which the standard atmosphere is below sea level pressure by the
        greatest certificated cabin differential. A pressurised aeroplane needs it.

    Returns
    -------
    float
        Feet.

    Raises
    ------
    InputError
        When a pressurised aeroplane has no equivalent altitude, or a negative or endless one.
    """
    if not pressurised:
        return float(STATIC_LEAK_UNPRESSURISED_FT.value)
    if equivalent_altitude_ft is None or not 0 <= equivalent_altitude_ft < inf:
        raise InputError(
            "the static leak limit of a pressurised aeroplane needs the altitude equivalent of its "
            "greatest certificated differential pressure",
            "record the greatest differential pressure",
        )
    share = STATIC_LEAK_PRESSURISED_SHARE.value * equivalent_altitude_ft
    return max(float(STATIC_LEAK_PRESSURISED_FT.value), share)
