"""Feet, flight levels and pressures.

Sources: the foot and the pound are exact by the international yard and pound agreement of 1959;
conventional inch of mercury 3,386.389 Pa, pound per square inch 6,894.757 Pa and millimetre of
mercury 133.3224 Pa from NIST SP 811 appendix B.8, from memory; standard pressure 1013.25 hPa is
29.9213 inHg and 14.69595 psi. A reference library's constants stand beside them.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rvsmlog import units
from rvsmlog.errors import InputError, OutOfRangeError

pressures = st.floats(0.1, 1100)


def test_feet_and_metres() -> None:
    """One foot is 0.3048 m exactly, and back."""
    from scipy import constants

    assert units.feet_to_metres(1) == 0.3048
    assert units.feet_to_metres(1) == pytest.approx(constants.foot, rel=1e-15)
    assert units.metres_to_feet(0.3048) == 1
    # The tropopause of the standard atmosphere, 11,000 m, is printed as 36,089.24 ft.
    assert units.metres_to_feet(11_000) == pytest.approx(36_089.24, abs=0.005)


@pytest.mark.parametrize(
    ("factor_hpa", "published_pa", "half_digit"),
    [
        (units.HPA_PER_INHG, 3386.389, 0.0005),
        (units.HPA_PER_PSI, 6894.757, 0.0005),
        (units.HPA_PER_MMHG, 133.3224, 0.00005),
    ],
)
def test_pressure_factors(factor_hpa: float, published_pa: float, half_digit: float) -> None:
    """Each factor is the published one, to its last printed digit."""
    assert factor_hpa * 100 == pytest.approx(published_pa, abs=half_digit)


def test_pressure_factors_against_the_reference_library() -> None:
    """The pound per square inch and the torr agree with the library's exact definitions."""
    from scipy import constants

    assert units.psi_to_hpa(1) * 100 == pytest.approx(constants.psi, rel=1e-14)
    torr_pa = units.HPA_PER_MMHG * 100
    assert torr_pa == pytest.approx(constants.torr, rel=1e-14)


def test_standard_pressure_in_other_units() -> None:
    """1013.25 hPa is 29.9213 inHg, 14.69595 psi and 760 mmHg."""
    assert units.inhg_to_hpa(29.9213) == pytest.approx(1013.25, abs=0.00005 * units.HPA_PER_INHG)
    assert units.hpa_to_psi(1013.25) == pytest.approx(14.69595, abs=0.000005)
    atmosphere_hpa = 760 * units.HPA_PER_MMHG
    assert atmosphere_hpa == pytest.approx(1013.25, rel=1e-15)


@given(hpa=pressures)
def test_pressures_survive_the_way_there_and_back(hpa: float) -> None:
    """A pressure turned into another unit and back is the same pressure."""
    assert units.psi_to_hpa(units.hpa_to_psi(hpa)) == pytest.approx(hpa, rel=1e-14)


@given(feet=st.floats(-2_000, 66_000))
def test_lengths_survive_the_way_there_and_back(feet: float) -> None:
    """A height turned into metres and back is the same height."""
    assert units.metres_to_feet(units.feet_to_metres(feet)) == pytest.approx(feet, rel=1e-14)


def test_level_to_feet() -> None:
    """A flight level is in hundreds of feet of pressure altitude."""
    assert units.level_to_feet(310) == 31_000


@pytest.mark.parametrize(
    ("feet", "level"),
    [(31_000, 310), (30_999, 309), (31_099, 310), (99, 0), (0, 0), (-1, -1), (-100, -1)],
)
def test_feet_to_level_never_rounds_up(feet: int, level: int) -> None:
    """A level above the altitude would claim height that is not there."""
    assert units.feet_to_level(feet) == level


@given(level=st.integers(1, units.HIGHEST_LEVEL))
def test_a_level_survives_every_way_of_writing_it(level: int) -> None:
    """A level written or turned into feet is read back as itself."""
    assert units.feet_to_level(units.level_to_feet(level)) == level
    assert units.parse_level(units.show_level(level)) == level
    assert units.parse_level(str(level)) == level


@pytest.mark.parametrize(
    ("text", "level"),
    [
        ("310", 310),
        ("FL310", 310),
        ("fl310", 310),
        ("FL 310", 310),
        (" 310 ", 310),
        ("90", 90),
        ("FL090", 90),
        ("1", 1),
        ("660", 660),
    ],
)
def test_ways_of_writing_a_level(text: str, level: int) -> None:
    """A level is read with or without FL, in either case."""
    assert units.parse_level(text) == level


@pytest.mark.parametrize(
    ("text", "level"), [("310", 310), ("FL310", 310), ("fl 095", 95), ("031", 31)]
)
def test_a_planned_level_has_three_digits(text: str, level: int) -> None:
    """The level of a flight plan has three figures; a lower one begins with a zero."""
    assert units.parse_planned_level(text) == level


@pytest.mark.parametrize("text", ["31", "FL31", " fl 31 ", "5"])
def test_a_planned_level_that_lost_a_digit_is_refused(text: str) -> None:
    """31 is no question about FL031; the hint writes both that may be meant."""
    with pytest.raises(InputError, match="fewer than three digits") as caught:
        units.parse_planned_level(text)
    assert f"FL{int(text.strip().lower().removeprefix('fl')):03d}" in caught.value.hint
    assert "FL310" in caught.value.hint


@pytest.mark.parametrize("text", ["0", "000", "FL000", "661", "999"])
def test_levels_out_of_range(text: str) -> None:
    """Levels run from 1 to 660."""
    with pytest.raises(OutOfRangeError, match="out of range"):
        units.parse_level(text)


@pytest.mark.parametrize(
    "text", ["", " ", "FL", "level", "-310", "310.5", "3 10", "FL3100", "F310"]
)
def test_what_is_no_level(text: str) -> None:
    """Text that is no level is refused, and the hint shows how to write one."""
    with pytest.raises(InputError, match="no flight level") as caught:
        units.parse_level(text)
    assert "310" in caught.value.hint


@pytest.mark.parametrize(
    ("text", "meant"),
    [("31000", "310"), ("31,000", "310"), ("31000 ft", "310"), ("31000FT", "310"), ("9000", "090")],
)
def test_feet_are_not_taken_for_a_level(text: str, meant: str) -> None:
    """Feet are recognised, refused, and answered with the level meant."""
    with pytest.raises(InputError, match="looks like feet") as caught:
        units.parse_level(text)
    assert f"FL{meant}" in caught.value.hint


@pytest.mark.parametrize(("level", "shown"), [(310, "FL310"), (90, "FL090"), (5, "FL005")])
def test_a_level_is_shown_with_three_digits(level: int, shown: str) -> None:
    """A level is written as the trade does."""
    assert units.show_level(level) == shown
