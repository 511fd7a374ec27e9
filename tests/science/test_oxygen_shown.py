"""Litres as they are shown: what is on board less what is needed is what is left over.

The expected figures are worked out by hand, and held by fractions for any quantities.
"""

from fractions import Fraction
from math import floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rvsmlog.science.oxygen_shown import tenths_up, whole_litres
from rvsmlog.standards.oxygen import Group
from tests.science.test_oxygen_supply import need_of, supply_of

LITRES = st.integers(0, 40_000).map(lambda tenths: tenths / 10) | st.floats(0, 4_000)


@pytest.mark.parametrize(
    ("usable", "reserve", "crew", "passengers", "shown"),
    [
        # Each rounded for itself they would read 1285, 237 and +1047.
        (1284.6, 0.0, 120.0, 117.3, (1284, 0, 238, 1046)),
        (330.0, 0.0, 346.8, 0.0, (330, 0, 347, -17)),
        # A tenth is missing, or is left over, or nothing is either.
        (346.7, 0.0, 346.8, 0.0, (346, 0, 347, -1)),
        (346.9, 0.0, 346.8, 0.0, (346, 0, 346, 0)),
        (347.0, 0.0, 347.0, 0.0, (347, 0, 347, 0)),
        # An error in the ninth decimal costs no litre.
        (347.0 - 1e-9, 0.0, 347.0, 0.0, (347, 0, 347, 0)),
        # The crew's reserve counts where it is more than the crew needs.
        (500.0, 100.0, 80.0, 90.0, (500, 100, 90, 310)),
        (500.0, 100.0, 120.0, 90.0, (500, 0, 210, 290)),
        (189.0, 100.0, 80.0, 90.0, (189, 100, 90, -1)),
        (90.5, 100.0, 80.0, 90.0, (90, 90, 90, -90)),
        (50.5, 100.0, 80.0, 90.0, (50, 0, 170, -120)),
        (500.0, 100.0, 80.0, 0.0, (500, 0, 80, 420)),
    ],
)
def test_figures_by_hand(
    usable: float, reserve: float, crew: float, passengers: float, shown: tuple[int, ...]
) -> None:
    """What is on board is cut, what is needed is rounded up."""
    found = whole_litres(supply_of(usable, reserve), need_of(crew, passengers))
    assert (found.on_board, found.kept_back, found.needed, found.left) == shown


def test_who_is_not_served_draws_nothing() -> None:
    """A system of the crew alone is asked for the crew's litres."""
    found = whole_litres(supply_of(100.0, 0.0, Group.CREW), need_of(60.5, 900.0))
    assert (found.needed, found.left) == (61, 39)


@given(LITRES, LITRES, LITRES, LITRES)
def test_they_add_up_to_the_safe_side(
    usable: float, reserve: float, crew: float, passengers: float
) -> None:
    """Never more is shown than there is, nor by more than three litres less, nor another answer."""
    supply, case = supply_of(usable, reserve), need_of(crew, passengers)
    found = whole_litres(supply, case)
    margin = supply.margin_litres(case)
    assert found.left == found.on_board - found.kept_back - found.needed
    assert found.on_board <= supply.usable_litres + 1e-6
    assert floor(margin + 1e-6) - 3 <= found.left <= floor(margin + 1e-6)
    assert (found.left < 0) == (round(margin, 6) < 0)


@given(st.integers(0, 40_000))
def test_tenths_stay_and_what_is_between_is_rounded_up(tenths: int) -> None:
    """A tenth is itself, whatever binary fractions make of it."""
    exact = Fraction(tenths, 10)
    assert Fraction(str(tenths_up(float(exact)))) == exact
    assert Fraction(str(tenths_up(float(exact + Fraction(1, 1000))))) == exact + Fraction(1, 10)
