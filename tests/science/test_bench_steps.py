"""Order, times and rates of an altimeter test, both sides of each limit.

Source: 14 CFR Part 43 Appendix E, paragraph (b)(1)(i) to (iii). Edition: 2026 text. Status:
published. How close a hysteresis point lies to its share is common practice, no source.
"""

from typing import Any

import pytest

from rvsmlog.science.bench_judgement import Sheet
from rvsmlog.science.bench_steps import gaps, judge_steps

SCALE = ((0.0, 5), (10_000.0, -20), (35_000.0, -60))
HYSTERESIS = ((17_500.0, 40), (14_000.0, 35))
TABLE_I = (
    *(-1000, 0, 500, 1000, 1500, 2000, 3000, 4000, 6000, 8000, 10000, 12000, 14000, 16000, 18000),
    *(20000, 22000, 25000, 30000, 35000),
)
TABLE_III = (1000, 2000, 3000, 5000, 10000, 15000, 20000, 25000, 30000, 35000)
TABLE_IV = (28.10, 28.50, 29.00, 29.50, 29.92, 30.50, 30.90, 30.99)


def kept(**fields: Any) -> list[bool]:
    """Judge the steps of a sheet without hysteresis points, which are steps by themselves."""
    return [step.kept for step in judge_steps(Sheet(scale_error_ft=SCALE, **fields))]


@pytest.mark.parametrize(
    ("field", "value", "is_kept"),
    [
        # At least 1 and not more than 10 minutes at each point of the scale.
        ("scale_dwell_s", ((10_000.0, 59),), False),
        ("scale_dwell_s", ((10_000.0, 60),), True),
        ("scale_dwell_s", ((10_000.0, 600),), True),
        ("scale_dwell_s", ((10_000.0, 601),), False),
        # Not in excess of 20,000 ft/min.
        ("scale_rate_ft_min", 20_000, True),
        ("scale_rate_ft_min", 20_001, False),
        # Not more than 15 minutes after the initial exposure to the upper limit.
        ("hysteresis_start_s", 900, True),
        ("hysteresis_start_s", 901, False),
        # 5,000 to 20,000 ft/min.
        ("hysteresis_rate_ft_min", 4_999, False),
        ("hysteresis_rate_ft_min", 5_000, True),
        ("hysteresis_rate_ft_min", 20_000, True),
        ("hysteresis_rate_ft_min", 20_001, False),
        # Not more than 5 minutes after the completion.
        ("after_effect_s", 300, True),
        ("after_effect_s", 301, False),
    ],
)
def test_times_and_rates(field: str, value: Any, is_kept: bool) -> None:
    """Each number on its two sides."""
    assert kept(**{field: value}) == [is_kept]


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        # First point 5 to 15 minutes, second 1 to 10 minutes.
        (300, 60, [True, True]),
        (900, 600, [True, True]),
        (299, 59, [False, False]),
        (901, 601, [False, False]),
        (600, 900, [True, False]),
    ],
)
def test_dwells_of_the_hysteresis_points(first: int, second: int, expected: list[bool]) -> None:
    """The two points have dwells of their own."""
    dwells = ((14_000.0, second), (17_500.0, first))
    sheet = Sheet(hysteresis_ft=HYSTERESIS, hysteresis_dwell_s=dwells)
    assert [step.kept for step in judge_steps(sheet)] == expected


@pytest.mark.parametrize(
    ("points", "expected"),
    [
        # 50 % and 40 % of 35,000 ft are 17,500 and 14,000 ft; within 1,000 ft is practice.
        ((17_500, 14_000), [True, True]),
        ((18_500, 13_000), [True, True]),
        ((18_501, 12_999), [False, False]),
        # In the wrong order neither lies where it should.
        ((14_000, 17_500), [False, False]),
    ],
)
def test_places_of_the_hysteresis_points(points: tuple[int, int], expected: list[bool]) -> None:
    """First at half of the maximum altitude, then at two fifths."""
    sheet = Sheet(scale_error_ft=SCALE, hysteresis_ft=tuple((point, 10) for point in points))
    assert [step.kept for step in judge_steps(sheet)] == expected


def test_scale_points_rise() -> None:
    """The pressure is reduced from point to point, so altitudes rise."""
    assert kept() == []
    down = Sheet(scale_error_ft=((0, 5), (35_000, -60), (10_000, -20)))
    assert [(step.says, step.kept) for step in judge_steps(down)] == [
        ("10,000 ft read after 35,000 ft, wanted rising altitudes", False)
    ]


@pytest.mark.parametrize(("psi", "is_kept"), [(5.75, True), (5.74, False), (6.0, True)])
def test_the_leak_check_reaches_the_greatest_differential(psi: float, is_kept: bool) -> None:
    """25.1325(c)(2)(ii): to the maximum certificated cabin differential."""
    sheet = Sheet(static_leak_ft=((psi, 50),))
    assert [step.kept for step in judge_steps(sheet, max_differential_psi=5.75)] == [is_kept]
    assert judge_steps(sheet) == ()


def test_a_makers_specification_has_its_own_steps() -> None:
    """(b)(2): only the static system's check is held to the regulations."""
    sheet = Sheet(
        to_appendix_e=False,
        scale_error_ft=SCALE,
        scale_dwell_s=((0, 1),),
        after_effect_s=900,
        static_leak_ft=((4.0, 50),),
    )
    (step,) = judge_steps(sheet, max_differential_psi=5.75)
    assert (step.says, step.kept) == ("made at 4.00 psi, wanted 5.75 psi", False)
    assert gaps(sheet) == ()


def test_a_complete_sheet_has_no_gap() -> None:
    """Every row up to the highest point, both hysteresis points, and the single readings."""
    sheet = Sheet(
        scale_error_ft=tuple((point, 0) for point in TABLE_I),
        hysteresis_ft=HYSTERESIS,
        after_effect_ft=0,
        friction_ft=tuple((point, 0) for point in TABLE_III),
        case_leak_ft=0,
        barometric_ft=tuple((point, 0) for point in TABLE_IV),
    )
    assert gaps(sheet) == ()


def test_gaps_are_named() -> None:
    """What appendix E asks for and the sheet does not show."""
    sheet = Sheet(
        scale_error_ft=tuple((point, 0) for point in TABLE_I if point not in (500, 30_000)),
        hysteresis_ft=HYSTERESIS[:1],
        friction_ft=tuple((point, 0) for point in TABLE_III if point != 5_000),
        barometric_ft=tuple((point, 0) for point in TABLE_IV if point != 30.99),
    )
    assert gaps(sheet) == (
        "scale error: no reading at 500, 30,000 ft",
        "hysteresis: 1 reading of two",
        "after effect: no reading",
        "friction: no reading at 5,000 ft",
        "case leak: no reading",
        "barometric scale: no reading at 30.99 inHg",
    )
    assert gaps(Sheet(scale_error_ft=((0.0, 0),)))[1:] == (
        "hysteresis: no readings of two",
        "after effect: no reading",
        "case leak: no reading",
        "barometric scale: no reading",
    )


def test_a_sheet_of_another_test_has_no_gaps() -> None:
    """A leak check or a correspondence test is no altimeter test."""
    assert gaps(Sheet(static_leak_ft=((5.75, 50),), correspondence_ft=((0, 10),))) == ()
