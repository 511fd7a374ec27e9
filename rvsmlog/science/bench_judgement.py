"""Readings of altimeter and static system tests against 14 CFR Part 43 Appendix E.

Each reading is held against its tolerance: scale error against Table I, linear between its rows;
hysteresis, after effect and case leak against Table II; friction against Table III and barometric
scale against Table IV at their own points only; static leak against 25.1325; correspondence
against Appendix E(c). Passing says nothing of fitness for RVSM airspace: see :data:`RVSM_CAUTION`.
"""

from collections.abc import Iterator
from enum import StrEnum

from rvsmlog.frozen import dataclass
from rvsmlog.science.atmosphere import SEA_LEVEL_PRESSURE_HPA, altitude_ft
from rvsmlog.standards.altimeter_tests import (
    AFTER_EFFECT_FT,
    BAROMETRIC_TOLERANCE_FT,
    CASE_LEAK_FT,
    HYSTERESIS_FIRST_FT,
    HYSTERESIS_SECOND_FT,
    barometric_difference_ft,
    friction_tolerance_ft,
    scale_tolerance_ft,
    static_leak_limit_ft,
)
from rvsmlog.standards.rvsm import (
    CORRESPONDENCE_TOLERANCE_FT,
    RVSM_HIGHEST_LEVEL,
    RVSM_LOWEST_LEVEL,
    ase_limit,
)
from rvsmlog.units import level_to_feet, psi_to_hpa

#: Points with what was read at them: altitude in feet, setting in inHg or differential in psi.
Readings = tuple[tuple[float, int], ...]


class Item(StrEnum):
    """What a test measures."""

    SCALE = "scale error"
    HYSTERESIS = "hysteresis"
    AFTER_EFFECT = "after effect"
    FRICTION = "friction"
    CASE_LEAK = "case leak"
    BAROMETRIC = "barometric scale"
    STATIC_LEAK = "static leak"
    CORRESPONDENCE = "correspondence"


#: What paragraph (b)(2) of appendix E leaves to the maker of an air data computer type. The scale
#: error is not among it here: published limits are the floor.
_LEFT_TO_THE_MAKER = (
    Item.HYSTERESIS,
    Item.AFTER_EFFECT,
    Item.FRICTION,
    Item.CASE_LEAK,
    Item.BAROMETRIC,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What a test measured, each field as in :class:`rvsmlog.records.readings.Readings`.

    Parameters
    ----------
    to_appendix_e : bool
        False for a unit tested to its maker's specification.
    scale_error_ft, hysteresis_ft, friction_ft, barometric_ft, static_leak_ft, correspondence_ft
        Readings by point, feet, in the order of the test.
    scale_dwell_s, hysteresis_dwell_s
        Times by point, seconds.
    """

    to_appendix_e: bool = True
    scale_error_ft: Readings = ()
    scale_dwell_s: Readings = ()
    scale_rate_ft_min: int | None = None
    hysteresis_ft: Readings = ()
    hysteresis_start_s: int | None = None
    hysteresis_dwell_s: Readings = ()
    hysteresis_rate_ft_min: int | None = None
    after_effect_ft: int | None = None
    after_effect_s: int | None = None
    friction_ft: Readings = ()
    case_leak_ft: int | None = None
    barometric_ft: Readings = ()
    static_leak_ft: Readings = ()
    correspondence_ft: Readings = ()

    @property
    def top_ft(self) -> float | None:
        """The highest point of the scale, None without one."""
        return max((point for point, _ in self.scale_error_ft), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One reading against its tolerance.

    Parameters
    ----------
    item : Item
        What was measured.
    point : float or None
        Altitude (ft), setting (inHg) or differential (psi); None where there is but one.
    unit : str
        Unit of the point, ``""`` without one.
    reading_ft : int
        As recorded, feet.
    error_ft : float
        What is held against the tolerance, feet; other than the reading for the barometric scale.
    tolerance_ft : float
        Plus or minus feet.
    source : str
        Key of the published source.
    binding : bool
        Whether the test is not passed beyond it: what a maker's specification replaces is not.
    """

    item: Item
    point: float | None = None
    unit: str = ""
    reading_ft: int
    error_ft: float
    tolerance_ft: float
    source: str
    binding: bool = True

    @property
    def margin_ft(self) -> float:
        """Feet left to the tolerance, negative beyond it."""
        return self.tolerance_ft - abs(self.error_ft)

    @property
    def within(self) -> bool:
        """Whether it is within the tolerance; exactly the tolerance is."""
        return self.margin_ft >= 0

    @property
    def where(self) -> str:
        """The point in running text, ``""`` without one."""
        if self.point is None:
            return ""
        digits = 0 if self.unit == "ft" else 2
        return f"{self.point:,.{digits}f} {self.unit}"

    def __str__(self) -> str:
        where = f" at {self.where}" if self.where else ""
        return f"{self.item} {self.error_ft:+.0f} ft{where}, limit {self.tolerance_ft:.0f} ft"


def judge_readings(
    sheet: Sheet, *, max_differential_psi: float | None = None
) -> tuple[Judged, ...]:
    """Hold each reading against its tolerance.

    Parameters
    ----------
    sheet : Sheet
        What was measured.
    max_differential_psi : float, optional
        The aeroplane's greatest cabin differential, psi. Left out, the least static leak limit of
        any aeroplane holds.

    Returns
    -------
    tuple of Judged
        In the order of :class:`Item`.

    Raises
    ------
    OutOfRangeError
        When a friction or barometric point is none of its table, or an altitude is outside Table I.
    """
    found = (
        *_scale(sheet),
        *_hysteresis(sheet),
        *_after_effect(sheet),
        *_friction(sheet),
        *_case_leak(sheet),
        *_barometric(sheet),
        *_static_leak(sheet, max_differential_psi),
        *_correspondence(sheet),
    )
    return tuple(found)


def beyond(judged: tuple[Judged, ...]) -> tuple[Judged, ...]:
    """Give the readings that no test passes with, the worst first."""
    failed = [each for each in judged if each.binding and not each.within]
    return tuple(sorted(failed, key=lambda each: each.margin_ft))


def static_leak_tolerance_ft(differential_psi: float | None) -> float:
    """Give the greatest loss of altitude in one minute of the leak check, feet.

    Without a cabin differential the least limit of any aeroplane holds.
    """
    if differential_psi is None:
        return static_leak_limit_ft(pressurised=False)
    equivalent = altitude_ft(SEA_LEVEL_PRESSURE_HPA - psi_to_hpa(differential_psi))
    # A differential of nothing is at sea level to within rounding.
    return static_leak_limit_ft(pressurised=True, equivalent_altitude_ft=max(0.0, equivalent))


def _binding(sheet: Sheet, item: Item) -> bool:
    return sheet.to_appendix_e or item not in _LEFT_TO_THE_MAKER


def _scale(sheet: Sheet) -> Iterator[Judged]:
    for point, error in sheet.scale_error_ft:
        yield Judged(
            item=Item.SCALE,
            point=point,
            unit="ft",
            reading_ft=error,
            error_ft=error,
            tolerance_ft=scale_tolerance_ft(point),
            source="43-appendix-e-table-1",
        )


def _hysteresis(sheet: Sheet) -> Iterator[Judged]:
    tolerances = (HYSTERESIS_FIRST_FT.value, HYSTERESIS_SECOND_FT.value)
    for (point, difference), tolerance in zip(sheet.hysteresis_ft, tolerances, strict=False):
        yield Judged(
            item=Item.HYSTERESIS,
            point=point,
            unit="ft",
            reading_ft=difference,
            error_ft=difference,
            tolerance_ft=tolerance,
            source="43-appendix-e-table-2",
            binding=_binding(sheet, Item.HYSTERESIS),
        )


def _single(sheet: Sheet, item: Item, reading: int | None, tolerance_ft: int) -> Iterator[Judged]:
    """Judge what Table II gives one tolerance for."""
    if reading is not None:
        yield Judged(
            item=item,
            reading_ft=reading,
            error_ft=reading,
            tolerance_ft=tolerance_ft,
            source="43-appendix-e-table-2",
            binding=_binding(sheet, item),
        )


def _after_effect(sheet: Sheet) -> Iterator[Judged]:
    return _single(sheet, Item.AFTER_EFFECT, sheet.after_effect_ft, AFTER_EFFECT_FT.value)


def _case_leak(sheet: Sheet) -> Iterator[Judged]:
    return _single(sheet, Item.CASE_LEAK, sheet.case_leak_ft, CASE_LEAK_FT.value)


def _friction(sheet: Sheet) -> Iterator[Judged]:
    for point, change in sheet.friction_ft:
        yield Judged(
            item=Item.FRICTION,
            point=point,
            unit="ft",
            reading_ft=change,
            error_ft=change,
            tolerance_ft=friction_tolerance_ft(point),
            source="43-appendix-e-table-3",
            binding=_binding(sheet, Item.FRICTION),
        )


def _barometric(sheet: Sheet) -> Iterator[Judged]:
    for setting, change in sheet.barometric_ft:
        yield Judged(
            item=Item.BAROMETRIC,
            point=setting,
            unit="inHg",
            reading_ft=change,
            error_ft=change - barometric_difference_ft(setting),
            tolerance_ft=BAROMETRIC_TOLERANCE_FT.value,
            source="43-appendix-e-table-4",
            binding=_binding(sheet, Item.BAROMETRIC),
        )


def _static_leak(sheet: Sheet, max_differential_psi: float | None) -> Iterator[Judged]:
    for differential, loss in sheet.static_leak_ft:
        # A check beyond the certificated differential does not widen the limit.
        counted = None if max_differential_psi is None else min(differential, max_differential_psi)
        yield Judged(
            item=Item.STATIC_LEAK,
            point=differential,
            unit="psi",
            reading_ft=loss,
            error_ft=loss,
            tolerance_ft=static_leak_tolerance_ft(counted),
            source="25-1325",
        )


def _correspondence(sheet: Sheet) -> Iterator[Judged]:
    for point, difference in sheet.correspondence_ft:
        yield Judged(
            item=Item.CORRESPONDENCE,
            point=point,
            unit="ft",
            reading_ft=difference,
            error_ft=difference,
            tolerance_ft=CORRESPONDENCE_TOLERANCE_FT.value,
            source="43-appendix-e-c",
        )


def _caution() -> str:
    """Say, from the published figures, what passing Table I is worth for RVSM."""
    lowest, highest = RVSM_LOWEST_LEVEL.value, RVSM_HIGHEST_LEVEL.value
    narrow, wide = (scale_tolerance_ft(level_to_feet(level)) for level in (lowest, highest))
    limit = ase_limit("group", tc_after_split=True)
    full = next(
        level
        for level in range(lowest, highest + 1)
        if scale_tolerance_ft(level_to_feet(level)) >= limit.individual_ft
    )
    return (
        f"Passing Table I is no proof of fitness for RVSM: from FL{lowest} to FL{highest} it "
        f"allows ±{narrow:.0f} to ±{wide:.0f} ft, wider than the {limit.mean_ft} ft of mean "
        f"altimetry error allowed to a group of aeroplanes, and from FL{full} up as wide as all "
        f"the {limit.individual_ft} ft of altimetry error, static source error included. The "
        "limit of the aeroplane's own RVSM data counts."
    )


#: What goes with every judgement against Table I.
RVSM_CAUTION = _caution()
