"""Time of useful consciousness: the lower value, always."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science.consciousness import donning_margin, useful_consciousness_s

# FAA AC 61-107's table, read in a type-training reprint (published, second-hand), seconds:
# altitude ft, shortest normal time, shortest time after rapid decompression.
TABLE = (
    (18_000, 20 * 60, 10 * 60),
    (22_000, 10 * 60, 5 * 60),
    (25_000, 3 * 60, 90),
    (28_000, 150, 75),
    (30_000, 60, 30),
    (35_000, 30, 15),
    (40_000, 15, 7),
    (43_000, 9, 5),
    (50_000, 9, 5),
)


@pytest.mark.parametrize(("altitude_ft", "normal_s", "rapid_s"), TABLE)
def test_at_a_row_the_shortest_time_counts(altitude_ft: int, normal_s: int, rapid_s: int) -> None:
    """At an altitude of the table the lower end of its range is answered."""
    assert useful_consciousness_s(altitude_ft, rapid=False) == normal_s
    assert useful_consciousness_s(altitude_ft, rapid=True) == rapid_s


@pytest.mark.parametrize(("below", "above"), tuple(pairwise(TABLE)))
def test_between_rows_the_higher_row_counts(
    below: tuple[int, int, int], above: tuple[int, int, int]
) -> None:
    """One foot above a row the next row's time is answered."""
    assert useful_consciousness_s(below[0] + 1, rapid=False) == above[1]
    assert useful_consciousness_s(below[0] + 1, rapid=True) == above[2]


def test_below_the_table_its_first_row_counts() -> None:
    """Where the table has not begun, its first row is the shorter, safer answer."""
    assert useful_consciousness_s(0, rapid=True) == 600
    assert useful_consciousness_s(17_999, rapid=False) == 1_200


@pytest.mark.parametrize("altitude_ft", [-1, 50_001, float("nan")])
def test_outside_the_table_is_an_error(altitude_ft: float) -> None:
    """Above 50,000 ft no time is known."""
    with pytest.raises(OutOfRangeError):
        useful_consciousness_s(altitude_ft, rapid=True)


@given(altitude_ft=st.integers(0, 49_999), rapid=st.booleans())
def test_higher_is_never_longer(altitude_ft: int, rapid: bool) -> None:
    """A foot higher never gives more time, and rapid decompression never more than slow."""
    here = useful_consciousness_s(altitude_ft, rapid=rapid)
    assert useful_consciousness_s(altitude_ft + 1, rapid=rapid) <= here
    assert useful_consciousness_s(altitude_ft, rapid=True) <= here


def test_slow_recognition_leaves_nothing_at_fl310() -> None:
    """15 s to react and 5 s to don a quick-donning mask are 5 s more than FL310 leaves."""
    margin = donning_margin(31_000, donning_s=5, recognition_s=15, rapid=True)
    assert margin.left_s == -5
    assert margin.source.key == "ac-61-107"


@pytest.mark.parametrize("seconds", [-1.0, float("inf"), float("nan")])
def test_a_time_that_is_none_is_an_error(seconds: float) -> None:
    """Donning and recognition take 0 seconds or more."""
    with pytest.raises(InputError, match="donning"):
        donning_margin(31_000, donning_s=seconds, recognition_s=5, rapid=True)
    with pytest.raises(InputError, match="recognition"):
        donning_margin(31_000, donning_s=5, recognition_s=seconds, rapid=True)
