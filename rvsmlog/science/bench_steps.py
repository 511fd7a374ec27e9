"""Whether a test was made in the order and with the times of 14 CFR Part 43 Appendix E(b)(1).

Only what is recorded can be looked at. A step that departs from the appendix makes no reading
wrong; whether the test counts all the same is for those who signed it to say.
"""

from collections.abc import Iterator
from itertools import pairwise

from rvsmlog.frozen import dataclass
from rvsmlog.science.bench_judgement import Item, Readings, Sheet
from rvsmlog.standards.altimeter_tests import (
    AFTER_EFFECT_S,
    HYSTERESIS_DWELLS_S,
    HYSTERESIS_NEAR_FT,
    HYSTERESIS_RATE_FT_MIN,
    HYSTERESIS_SHARES,
    HYSTERESIS_START_S,
    SCALE_DWELL_S,
    SCALE_RATE_FT_MIN,
    TABLE_I,
    TABLE_III,
    TABLE_IV,
    Span,
)

# Differentials are recorded to two decimals.
_ROUNDING_PSI = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a test as recorded.

    Parameters
    ----------
    item : Item
        The part of the test.
    says : str
        The step with its numbers and what the appendix wants, on one line.
    kept : bool
        Whether it is as the appendix wants it.
    """

    item: Item
    says: str
    kept: bool


def judge_steps(sheet: Sheet, *, max_differential_psi: float | None = None) -> tuple[Step, ...]:
    """Hold order, times and rates as recorded against the appendix.

    Parameters
    ----------
    sheet : Sheet
        What was recorded.
    max_differential_psi : float, optional
        The aeroplane's greatest cabin differential, psi, which a static leak check must reach.

    Returns
    -------
    tuple of Step
        Empty where no step is on record. A unit tested to its maker's specification is held to no
        step of the bench.
    """
    bench = (*_scale(sheet), *_hysteresis(sheet), *_after_effect(sheet))
    return (*(bench if sheet.to_appendix_e else ()), *_static_leak(sheet, max_differential_psi))


def gaps(sheet: Sheet) -> tuple[str, ...]:
    """Say what the appendix asks of an altimeter test and the readings do not show.

    A sheet without any scale error is that of another test and has no gaps.
    """
    top = sheet.top_ft
    if top is None or not sheet.to_appendix_e:
        return ()
    return tuple(_gaps(sheet, top))


def _gaps(sheet: Sheet, top_ft: float) -> Iterator[str]:
    scale = [row.altitude_ft for row in TABLE_I.value if row.altitude_ft <= top_ft]
    yield from _missing(Item.SCALE, sheet.scale_error_ft, scale, "ft")
    if len(sheet.hysteresis_ft) < len(HYSTERESIS_SHARES.value):
        given = len(sheet.hysteresis_ft)
        yield f"{Item.HYSTERESIS}: {given or 'no'} reading{'' if given == 1 else 's'} of two"
    if sheet.after_effect_ft is None:
        yield f"{Item.AFTER_EFFECT}: no reading"
    friction = [row.altitude_ft for row in TABLE_III.value if row.altitude_ft <= top_ft]
    yield from _missing(Item.FRICTION, sheet.friction_ft, friction, "ft")
    if sheet.case_leak_ft is None:
        yield f"{Item.CASE_LEAK}: no reading"
    settings = [row.pressure_inhg for row in TABLE_IV.value]
    yield from _missing(Item.BAROMETRIC, sheet.barometric_ft, settings, "inHg")


def _missing(
    item: Item, readings: Readings, wanted: list[float] | list[int], unit: str
) -> Iterator[str]:
    """Name the points of a table without a reading."""
    known = {round(point, 2) for point, _ in readings}
    missing = [point for point in wanted if round(point, 2) not in known]
    if missing and len(missing) == len(wanted):
        yield f"{item}: no reading"
    elif missing:
        digits = 0 if unit == "ft" else 2
        yield f"{item}: no reading at {', '.join(f'{each:,.{digits}f}' for each in missing)} {unit}"


def _within(item: Item, what: str, value: int | None, span: Span, unit: str) -> Iterator[Step]:
    """Hold one number against its span."""
    if value is None:
        return
    low, high = span
    kept = (low is None or value >= low) and (high is None or value <= high)
    wanted = f"{low:,} to {high:,}" if low is not None else f"{high:,} at most"
    yield Step(item=item, says=f"{what} {value:,} {unit}, wanted {wanted}", kept=kept)


def _scale(sheet: Sheet) -> Iterator[Step]:
    points = [point for point, _ in sheet.scale_error_ft]
    for before, after in pairwise(points):
        if after < before:
            yield Step(
                item=Item.SCALE,
                says=f"{after:,.0f} ft read after {before:,.0f} ft, wanted rising altitudes",
                kept=False,
            )
    for point, dwell in sheet.scale_dwell_s:
        yield from _within(Item.SCALE, f"{point:,.0f} ft kept", dwell, SCALE_DWELL_S.value, "s")
    rate = sheet.scale_rate_ft_min
    yield from _within(Item.SCALE, "rate", rate, SCALE_RATE_FT_MIN.value, "ft/min")


def _hysteresis(sheet: Sheet) -> Iterator[Step]:
    item, start = Item.HYSTERESIS, sheet.hysteresis_start_s
    yield from _within(item, "begun after", start, HYSTERESIS_START_S.value, "s")
    rate = sheet.hysteresis_rate_ft_min
    yield from _within(item, "rate", rate, HYSTERESIS_RATE_FT_MIN.value, "ft/min")
    yield from _hysteresis_points(sheet)
    dwells = dict(sheet.hysteresis_dwell_s)
    for (point, _), span in zip(sheet.hysteresis_ft, HYSTERESIS_DWELLS_S.value, strict=False):
        dwell = dwells.get(point)
        yield from _within(item, f"{point:,.0f} ft kept", dwell, span, "s")


def _hysteresis_points(sheet: Sheet) -> Iterator[Step]:
    """See that the points lie at half and at two fifths of the highest point of the scale."""
    top = sheet.top_ft
    if top is None:
        return
    for (point, _), share in zip(sheet.hysteresis_ft, HYSTERESIS_SHARES.value, strict=False):
        wanted = share * top
        yield Step(
            item=Item.HYSTERESIS,
            says=f"read at {point:,.0f} ft, wanted about {wanted:,.0f} ft ({share:.0%} of "
            f"{top:,.0f} ft)",
            kept=abs(point - wanted) <= HYSTERESIS_NEAR_FT.value,
        )


def _after_effect(sheet: Sheet) -> Iterator[Step]:
    return _within(Item.AFTER_EFFECT, "read after", sheet.after_effect_s, AFTER_EFFECT_S.value, "s")


def _static_leak(sheet: Sheet, max_differential_psi: float | None) -> Iterator[Step]:
    """See that the leak check went to the greatest differential (25.1325, legacy 23.1325)."""
    if not sheet.static_leak_ft or max_differential_psi is None:
        return
    reached = max(differential for differential, _ in sheet.static_leak_ft)
    yield Step(
        item=Item.STATIC_LEAK,
        says=f"made at {reached:.2f} psi, wanted {max_differential_psi:.2f} psi",
        kept=reached >= max_differential_psi - _ROUNDING_PSI,
    )
