"""Readings of altimeter and static system tests against their tolerances, both sides of each.

Source: 14 CFR Part 43 Appendix E, paragraphs (b)(1) and (c), Tables I to IV; 14 CFR
25.1325(c)(2). Edition: 2026 text. Status: published.
"""

import pytest

from rvsmlog.errors import OutOfRangeError
from rvsmlog.science.bench_judgement import (
    RVSM_CAUTION,
    Item,
    Judged,
    Sheet,
    beyond,
    judge_readings,
)
from tests.published.test_altimeter_tables import TABLE_I, TABLE_III, TABLE_IV

METRES_PER_FOOT = 0.3048
PASCALS_PER_PSI = 6_894.757293168


def rows(text: str) -> list[tuple[float, int]]:
    """Give the first and the last figure of each row of a table: the point, and its tolerance."""
    cells = [cell.split() for cell in text.replace("\n", "|").split("|") if cell.strip()]
    return [(float(cell[0]), int(cell[-1])) for cell in cells]


def one(sheet: Sheet, psi: float | None = None) -> Judged:
    """Judge a sheet of one reading."""
    (judged,) = judge_readings(sheet, max_differential_psi=psi)
    return judged


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("altitude", "tolerance"), rows(TABLE_I))
def test_scale_error_at_each_row_of_table_i(altitude: float, tolerance: int, sign: int) -> None:
    """The printed tolerance passes, one foot more does not, either way."""
    inside = one(Sheet(scale_error_ft=((altitude, sign * tolerance),)))
    outside = one(Sheet(scale_error_ft=((altitude, sign * (tolerance + 1)),)))
    assert (inside.item, inside.tolerance_ft, inside.margin_ft) == (Item.SCALE, tolerance, 0)
    assert (inside.within, outside.within) == (True, False)
    assert beyond((inside,)) == ()
    assert beyond((outside,)) == (outside,)


@pytest.mark.parametrize(
    ("altitude", "passes", "fails"),
    # By hand, half way between the rows 25,000 (155) and 30,000 (180), and at FL290, FL310, FL410.
    [(27_500, 167, 168), (29_000, 175, 176), (31_000, 185, 186), (41_000, 235, 236)],
)
def test_scale_error_between_rows(altitude: int, passes: int, fails: int) -> None:
    """Between rows the tolerance lies on the straight line (common practice, no source)."""
    assert one(Sheet(scale_error_ft=((altitude, -passes),))).within
    assert not one(Sheet(scale_error_ft=((altitude, -fails),))).within


def test_scale_error_outside_the_table_is_refused() -> None:
    """There is no tolerance above 50,000 ft."""
    with pytest.raises(OutOfRangeError, match="outside Table I"):
        judge_readings(Sheet(scale_error_ft=((50_001, 0),)))


@pytest.mark.parametrize("sign", [1, -1])
def test_table_ii(sign: int) -> None:
    """Hysteresis 75 ft at both points, after effect 30 ft, case leak 100 ft: printed values."""
    for extra, within in ((0, True), (1, False)):
        sheet = Sheet(
            hysteresis_ft=((17_500, sign * (75 + extra)), (14_000, sign * (75 + extra))),
            after_effect_ft=sign * (30 + extra),
            case_leak_ft=sign * (100 + extra),
        )
        judged = judge_readings(sheet)
        assert [(each.item, each.tolerance_ft) for each in judged] == [
            (Item.HYSTERESIS, 75),
            (Item.HYSTERESIS, 75),
            (Item.AFTER_EFFECT, 30),
            (Item.CASE_LEAK, 100),
        ]
        assert {each.within for each in judged} == {within}


@pytest.mark.parametrize(("altitude", "tolerance"), rows(TABLE_III))
def test_friction_at_each_row_of_table_iii(altitude: float, tolerance: int) -> None:
    """The printed tolerance passes, one foot more does not."""
    inside = one(Sheet(friction_ft=((altitude, tolerance),)))
    assert (inside.within, inside.tolerance_ft) == (True, tolerance)
    assert not one(Sheet(friction_ft=((altitude, tolerance + 1),))).within


@pytest.mark.parametrize(("setting", "difference"), rows(TABLE_IV))
def test_barometric_scale_at_each_row_of_table_iv(setting: float, difference: int) -> None:
    """25 ft from the printed difference pass either way, 26 ft do not."""
    for error, within in ((25, True), (-25, True), (26, False), (-26, False)):
        judged = one(Sheet(barometric_ft=((setting, difference + error),)))
        assert (judged.error_ft, judged.within) == (error, within)
        assert judged.reading_ft == difference + error


@pytest.mark.parametrize(
    "sheet", [Sheet(friction_ft=((29_000, 10),)), Sheet(barometric_ft=((29.91, -10),))]
)
def test_other_points_of_tables_iii_and_iv_are_refused(sheet: Sheet) -> None:
    """Friction and barometric scale are not interpolated."""
    with pytest.raises(OutOfRangeError):
        judge_readings(sheet)


@pytest.mark.parametrize("psi", [2.0, 5.0, 5.5, 5.75, 6.5])
def test_static_leak_by_differential(psi: float) -> None:
    """25.1325(c)(2)(ii): 2 % of the altitude equivalent (reference library), at least 100 ft."""
    from ambiance import Atmosphere

    geometric = Atmosphere.from_pressure(101_325 - psi * PASCALS_PER_PSI).h
    equivalent_ft = float(Atmosphere.geom2geop_height(geometric)[0]) / METRES_PER_FOOT
    limit = max(100.0, 0.02 * equivalent_ft)
    inside = one(Sheet(static_leak_ft=((psi, int(limit)),)), psi=psi)
    assert inside.tolerance_ft == pytest.approx(limit, abs=0.02)
    assert inside.within
    assert not one(Sheet(static_leak_ft=((psi, int(limit) + 1),)), psi=psi).within


def test_static_leak_beyond_the_certificated_differential_has_no_wider_limit() -> None:
    """The limit is that of the certificated differential: 5.75 psi is 13,107 ft, so 262 ft."""
    judged = one(Sheet(static_leak_ft=((6.5, 263),)), psi=5.75)
    assert judged.tolerance_ft == pytest.approx(262.14, abs=0.02)
    assert not judged.within


def test_static_leak_without_a_differential_on_record_has_the_least_limit() -> None:
    """25.1325(c)(2)(i): 100 ft."""
    assert one(Sheet(static_leak_ft=((5.75, 100),))).within
    assert not one(Sheet(static_leak_ft=((5.75, 101),))).within


@pytest.mark.parametrize(("difference", "within"), [(125, True), (-125, True), (-126, False)])
def test_correspondence(difference: int, within: bool) -> None:
    """Appendix E(c): 125 ft."""
    judged = one(Sheet(correspondence_ft=((30_000, difference),)))
    assert (judged.within, judged.source) == (within, "43-appendix-e-c")


def test_the_worst_reading_comes_first() -> None:
    """Of several readings beyond tolerance the one furthest beyond leads."""
    sheet = Sheet(
        scale_error_ft=((0, 21), (30_000, -200), (35_000, 100)), correspondence_ft=((0, 126),)
    )
    failed = beyond(judge_readings(sheet))
    assert [str(each) for each in failed] == [
        "scale error -200 ft at 30,000 ft, limit 180 ft",
        "scale error +21 ft at 0 ft, limit 20 ft",
        "correspondence +126 ft at 0 ft, limit 125 ft",
    ]


def test_a_makers_specification_leaves_table_i_and_the_aeroplane() -> None:
    """(b)(2): bench items but the scale error are the maker's; the scale limit stays the floor."""
    sheet = Sheet(
        to_appendix_e=False,
        scale_error_ft=((0, 21),),
        hysteresis_ft=((17_500, 80),),
        after_effect_ft=31,
        friction_ft=((1_000, 71),),
        case_leak_ft=101,
        barometric_ft=((29.92, 26),),
        static_leak_ft=((5.75, 300),),
        correspondence_ft=((0, 126),),
    )
    judged = judge_readings(sheet, max_differential_psi=5.75)
    assert not any(each.within for each in judged)
    assert {each.item for each in beyond(judged)} == {
        Item.SCALE,
        Item.STATIC_LEAK,
        Item.CORRESPONDENCE,
    }


def test_the_caution_says_that_table_i_is_wider_than_the_budget() -> None:
    """Table I by hand: 175 ft at FL290, 235 ft at FL410, 200 ft at FL340; budget 80 and 200 ft."""
    assert "±175 to ±235 ft, wider than the 80 ft" in RVSM_CAUTION
    assert "from FL340 up as wide as all the 200 ft" in RVSM_CAUTION
