"""The mask that one pilot wears in normal flight, in litres worked out by hand."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import OutOfRangeError
from rvsmlog.science.oxygen import (
    CaseName,
    FlowCurve,
    Mode,
    OxygenCase,
    how_long,
    oxygen_needed,
    without_worn,
)
from rvsmlog.science.oxygen_worn import worn_lpm
from rvsmlog.standards.oxygen import Group
from tests.science.test_oxygen import FLAT, lasts, supply_of
from tests.science.test_oxygen_need import cases, never_less

#: A mask is worn above FL300 on a flight at FL310: 20 minutes at 10 l/min.
WORN = replace(FLAT, worn_above=300, cruise_minutes=20.0)


def curve(*points: tuple[float, float]) -> FlowCurve:
    """Make a curve of the crew's normal position."""
    return FlowCurve(group=Group.CREW, mode=Mode.NORMAL, points=points, reference="invented")


@pytest.mark.parametrize(
    ("points", "low_ft", "high_ft", "expected"),
    [
        # Rising, falling, with a hump, at one altitude.
        (((4_000, 4.0), (8_000, 6.0)), 5_000, 6_000, 5.0),
        (((4_000, 7.0), (8_000, 5.0)), 5_000, 7_000, 6.5),
        (((4_000, 4.0), (5_000, 9.0), (8_000, 5.0)), 4_500, 7_000, 9.0),
        (((4_000, 4.0), (8_000, 6.0)), 8_000, 8_000, 6.0),
        # A mask that delivers nothing there, on either side of its first row.
        (((8_000, 0.0), (14_000, 0.0), (15_000, 5.0)), 5_000, 9_000, 0.0),
        (((8_000, 0.0), (14_000, 0.0), (15_000, 5.0)), 5_000, 14_000, 0.0),
        # From there up with the next row, where it begins is not known: dry 399.5 mmHg at 14,000 ft
        # (595.2 hPa) and 381.9 at 15,000 (571.8 hPa), 5 x 399.5 / 381.9.
        (((8_000, 0.0), (14_000, 0.0), (15_000, 5.0)), 5_000, 14_001, 5.230),
        (((8_000, 0.0), (14_000, 0.0), (15_000, 5.0), (20_000, 5.0)), 5_000, 18_000, 5.230),
        (((8_000, 0.0), (14_000, 0.0), (15_000, 5.0), (20_000, 8.0)), 5_000, 17_500, 6.5),
        # Below the first row: dry 760 - 47 = 713 mmHg at sea level, at 10,000 ft 522.7 - 47 =
        # 475.7 (14 CFR 25.1443's 100 mmHg is air at 10,000 ft); 713 / 475.7 = 1.4988.
        (((10_000, 4.0), (20_000, 3.0)), 0, 0, 5.995),
        (((10_000, 4.0), (20_000, 9.0)), 0, 15_000, 6.5),
        (((10_000, 4.0), (20_000, 3.0)), 0, 15_000, 5.995),
    ],
)
def test_the_flow_of_a_worn_mask(
    points: tuple[tuple[float, float], ...], low_ft: float, high_ft: float, expected: float
) -> None:
    """The greatest between two cabin altitudes; a handbook that begins higher is not left out."""
    assert worn_lpm(curve(*points), low_ft, high_ft) == pytest.approx(expected, abs=1e-3)


def test_above_its_last_row_a_table_says_nothing() -> None:
    """It is refused, not guessed."""
    with pytest.raises(OutOfRangeError, match="16,000 ft"):
        worn_lpm(curve((4_000, 4.0), (15_000, 6.0)), 5_000, 16_000)
    with pytest.raises(OutOfRangeError, match="16,000 ft"):
        worn_lpm(curve((4_000, 0.0), (15_000, 0.0)), 5_000, 16_000)


def test_each_case_comes_after_the_mask() -> None:
    """20 x 10 = 200 l in each of the three cases, none at FL300, none where no smoke is asked."""
    for case in oxygen_needed(WORN).cases:
        assert case.worn is not None
        assert (case.worn.minutes, case.worn.crew_litres) == (20.0, 200.0)
    bare = oxygen_needed(replace(WORN, worn_above=None)).cases
    assert without_worn(oxygen_needed(WORN).cases) == bare
    with_mask = [case.litres for case in oxygen_needed(WORN).cases]
    assert with_mask == pytest.approx([case.litres + 200.0 for case in bare])
    assert [c.worn for c in oxygen_needed(replace(WORN, planned_level=300)).cases] == [None] * 3
    silent = oxygen_needed(replace(WORN, contaminated_minutes=0.0)).cases[2]
    assert silent.phases == ()


def test_who_wears_the_mask_is_counted_once() -> None:
    """Unpressurised, both pilots breathe oxygen: 20 x 10 by the band, 20 x 10 by the mask."""
    high = replace(WORN, crew=2, passengers=0, differential_psi=0.0)
    worn, normal, *_ = oxygen_needed(high).cases[0].phases
    assert (normal.crew_litres, worn.crew_litres) == (200.0, 200.0)
    alone = replace(high, crew=1)
    assert oxygen_needed(alone).cases[0].crew_litres == pytest.approx(200.0 + 100.0)


def test_the_assumptions_say_how_it_is_counted() -> None:
    """Where a mask is worn, and nowhere else."""
    said = " ".join(oxygen_needed(WORN).assumptions)
    assert "above FL300 one pilot wears a mask" in said
    assert "first row" in said
    below = oxygen_needed(replace(WORN, planned_level=300))
    assert "wears a mask" not in " ".join(below.assumptions)


def test_how_long_after_the_mask() -> None:
    """500 l less 200: everyone 300 / 26, contaminated air 300 / 10, hold 31.833 - 20 minutes.

    The greatest case after it is the descent with its hold of 30 minutes: 181.667 + 300 l. What is
    left lasts the mask for 18.333 / 10 minutes.
    """
    supply = supply_of(500.0)
    assert lasts(supply, WORN, CaseName.LEGAL).minutes == pytest.approx(300.0 / 26.0)
    assert lasts(supply, WORN, CaseName.CONTAMINATED).minutes == pytest.approx(30.0)
    assert lasts(supply, WORN, CaseName.DESCENT).minutes == pytest.approx(11.83333, abs=1e-4)
    mask = how_long(supply, WORN)[-1]
    assert mask.what == "mask worn by one pilot at FL310, what comes after kept"
    assert mask.case is CaseName.DESCENT
    assert mask.minutes == pytest.approx(1.83333, abs=1e-4)
    assert len(how_long(supply, replace(WORN, planned_level=300))) == 3


def test_how_long_where_the_mask_took_all_or_draws_elsewhere() -> None:
    """Nothing is left of 150 l; a cylinder of the passengers gives the mask nothing."""
    assert [each.minutes for each in how_long(supply_of(150.0), WORN)] == [0.0, 0.0, 0.0, 0.0]
    others = how_long(supply_of(160.0, 0.0, Group.PASSENGERS), WORN)
    assert others[0].minutes == pytest.approx(160.0 / 16.0)
    assert others[-1].minutes == float("inf")


WORN_CASES = st.builds(
    lambda case, above: replace(case, worn_above=above), cases(), st.integers(90, 380)
)


@settings(max_examples=80, deadline=None)
@given(case=WORN_CASES, more=st.integers(1, 60))
def test_a_higher_level_never_needs_less(case: OxygenCase, more: int) -> None:
    """Whatever the mask's flow does with the cabin altitude."""
    assert never_less(case, replace(case, planned_level=min(case.planned_level + more, 400)))


@settings(max_examples=60, deadline=None)
@given(case=WORN_CASES, minutes=st.floats(0.0, 60.0), crew=st.integers(0, 2))
def test_more_minutes_and_more_people_never_need_less(
    case: OxygenCase, minutes: float, crew: int
) -> None:
    """Longer at the level, or another pilot."""
    assert never_less(case, replace(case, cruise_minutes=case.cruise_minutes + minutes))
    assert never_less(case, replace(case, crew=case.crew + crew))
