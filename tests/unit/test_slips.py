"""Readings that are more likely a slip of the pen than what an altimeter showed."""

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.slips import ALTITUDES, SLIP_FT, any_slip, slips


def check(**said: Any) -> CrossCheck:
    """Give a cross-check at FL270, changed where said."""
    plain = {"taken_at": datetime(2026, 5, 1, 10, tzinfo=UTC), "phase": "before-entry"}
    read = {"level": 270, "primary_1_ft": 27000, "primary_2_ft": 26980}
    return CrossCheck(**{**plain, **read, **said})


def ground(**said: Any) -> CrossCheck:
    """Give a cross-check on the ground at 700 ft."""
    place = {"phase": "ground", "level": None, "field_elevation_ft": 700, "qnh_hpa": 1013.0}
    return check(**{**place, "primary_1_ft": 710, "primary_2_ft": 690, **said})


def test_a_digit_too_few_is_found() -> None:
    """2,698 for 26,980 at FL270: 27,000 - 2,698 = 24,302 ft."""
    (found,) = slips(check(primary_2_ft=2698))
    assert (found.field, found.says) == ("primary_2_ft", "2698 ft is 24302 ft from FL270")


@pytest.mark.parametrize("name", ALTITUDES)
@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(("made", "at"), [(check, 27000), (ground, 700)])
def test_both_sides_of_the_bound(name: str, side: int, made: Any, at: int) -> None:
    """A reading at the bound is taken for read so; one foot further is asked for again."""
    assert slips(made(**{name: at + side * SLIP_FT})) == ()
    assert [each.field for each in slips(made(**{name: at + side * (SLIP_FT + 1)}))] == [name]


def test_on_the_ground_the_elevation_counts() -> None:
    """7,000 for 700 at a field of 700 ft: 6,300 ft; a level that was noted beside says nothing."""
    (found,) = slips(ground(primary_1_ft=7000, level=70))
    assert found.says == "7000 ft is 6300 ft from the elevation"


def test_every_slip_is_named_in_the_order_of_the_sheet() -> None:
    """All four lost a digit."""
    short = dict.fromkeys(ALTITUDES, 2700)
    assert tuple(each.field for each in slips(check(**short))) == ALTITUDES


@given(st.integers(100, 450), st.data())
def test_what_altimeters_show_in_service_is_never_asked_for(
    level: int, data: st.DataObject
) -> None:
    """Twice the published 300 ft of an altitude deviation to be reported is still a reading."""
    near = st.integers(level * 100 - 600, level * 100 + 600)
    read = {name: data.draw(near) for name in ALTITUDES}
    assert slips(check(level=level, **read)) == ()


@given(st.integers(100, 450), st.integers(-300, 300))
def test_a_digit_lost_or_doubled_is_always_asked_for(level: int, off: int) -> None:
    """Ten times too much or a tenth of it, at any level of cruise, with any error in service."""
    reading = level * 100 + off
    for slipped in (reading // 10, reading * 10 % 100000):
        if slipped <= 60000 and abs(slipped - level * 100) > SLIP_FT:
            assert slips(check(level=level, primary_1_ft=slipped))
    assert slips(check(level=level, primary_1_ft=reading // 10))


@given(st.booleans(), st.lists(st.integers(-2000, 60000) | st.none(), min_size=2, max_size=2))
def test_many_at_once_are_looked_at_alike(flying: bool, more: list[int | None]) -> None:
    """What a file is held against is what one check is held against."""
    made = (check if flying else ground)(standby_ft=more[0], transponder_ft=more[1])
    held = ("phase", "level", "field_elevation_ft", *ALTITUDES)
    rows = [tuple(getattr(made, name) for name in held)]
    assert any_slip(rows) == bool(slips(made))
