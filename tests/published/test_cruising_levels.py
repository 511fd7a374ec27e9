"""Tables of cruising levels.

Sources: 14 CFR 91.179(b), 2026 text (FL180 to FL410): published, read. ICAO Annex 2 Appendix 3,
as the French rules of the air carry it: read up to FL310. Levels above FL410: FAA Order JO 7110.65,
table 4-5-1 (published, read): odd from FL450, the others from FL430, each 4,000 ft.
Splits: 91.179(b) (000 to 179 odd) and New Zealand CAR 91.313 (270 to 089 odd): published;
090 to 269 odd in some European states: from memory.
"""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.standards.cruising_levels import (
    BELOW,
    NON_RVSM,
    RVSM,
    SPLITS,
    Split,
    cruising_levels,
    parse_split,
    takes_odd_levels,
)
from rvsmlog.standards.source import Status

# 91.179(b)(2) to (4) and, above FL410, table 4-5-1 of the order.
ODD_BELOW = [10, 30, 50, 70, 90, 110, 130, 150, 170, 190, 210, 230, 250, 270]
EVEN_BELOW = [20, 40, 60, 80, 100, 120, 140, 160, 180, 200, 220, 240, 260, 280]
RVSM_ODD = [290, 310, 330, 350, 370, 390, 410]
RVSM_EVEN = [300, 320, 340, 360, 380, 400]
NON_RVSM_ODD = [290, 330, 370]
NON_RVSM_EVEN = [310, 350, 390]
ABOVE_ODD = [450, 490]
ABOVE_EVEN = [430, 470, 510]

splits = st.sampled_from(list(Split))
# Tenths of a degree: finer ones are lost in rounding when the track is reversed.
tracks = st.integers(0, 3599).map(lambda tenths: tenths / 10)


def test_rvsm_table() -> None:
    """From FL290 to FL410 each half circle takes every second thousand, above that every fourth."""
    assert list(RVSM.odd) == RVSM_ODD + ABOVE_ODD
    assert list(RVSM.even) == RVSM_EVEN + ABOVE_EVEN


def test_non_rvsm_table() -> None:
    """From FL290 up each half circle takes every fourth thousand."""
    assert list(NON_RVSM.odd) == [*NON_RVSM_ODD, 410, *ABOVE_ODD]
    assert list(NON_RVSM.even) == NON_RVSM_EVEN + ABOVE_EVEN


def test_table_below() -> None:
    """Below FL290 the half circles take odd and even thousands."""
    assert list(BELOW.odd) == ODD_BELOW
    assert list(BELOW.even) == EVEN_BELOW


@pytest.mark.parametrize(
    ("split", "first", "last"),
    [(Split.EASTERLY, 0, 179), (Split.NORTHERLY, 270, 89), (Split.SOUTHERLY, 90, 269)],
)
def test_both_sides_of_each_split(split: Split, first: int, last: int) -> None:
    """The first and last degree belong to the odd half circle, the next ones do not."""
    assert takes_odd_levels(first, split)
    assert takes_odd_levels(last, split)
    assert takes_odd_levels(last + 0.999, split)
    assert not takes_odd_levels((first - 1) % 360, split)
    assert not takes_odd_levels((first - 0.001) % 360, split)
    assert not takes_odd_levels(last + 1, split)


@pytest.mark.parametrize(
    ("split", "status"),
    [
        (Split.EASTERLY, Status.PUBLISHED),
        (Split.NORTHERLY, Status.PUBLISHED),
        (Split.SOUTHERLY, Status.MEMORY),
    ],
)
def test_each_split_says_how_sure_it_is(split: Split, status: Status) -> None:
    """A split that was not read is not passed off as published."""
    assert SPLITS[split].source.status is status


@pytest.mark.parametrize(
    ("track", "split", "rvsm", "level", "listed"),
    [
        (90, Split.EASTERLY, True, 310, True),
        (90, Split.EASTERLY, True, 300, False),
        (270, Split.EASTERLY, True, 300, True),
        (270, Split.EASTERLY, True, 310, False),
        (270, Split.EASTERLY, False, 310, True),
        (90, Split.EASTERLY, False, 310, False),
        (90, Split.EASTERLY, False, 270, True),
        (270, Split.EASTERLY, False, 280, True),
        (20, Split.NORTHERLY, True, 310, True),
        (200, Split.NORTHERLY, True, 310, False),
        (200, Split.SOUTHERLY, True, 310, True),
        (360, Split.EASTERLY, True, 290, True),
    ],
)
def test_levels_of_a_track(
    track: float, split: Split, rvsm: bool, level: int, listed: bool
) -> None:
    """A track has the levels of its half circle only."""
    assert (level in cruising_levels(track, split, rvsm)) is listed


@given(track=tracks, split=splits, rvsm=st.booleans())
@settings(max_examples=100)
def test_opposite_tracks_share_no_level(track: float, split: Split, rvsm: bool) -> None:
    """No level serves a track and its reverse."""
    there = cruising_levels(track, split, rvsm)
    back = cruising_levels((track + 180) % 360, split, rvsm)
    assert set(there).isdisjoint(back)
    assert list(there) == sorted(set(there))


@pytest.mark.parametrize("rvsm", [True, False])
def test_opposite_tracks_keep_the_vertical_minimum(rvsm: bool) -> None:
    """Appendix G section 1: 1,000 ft up to the band's top; elsewhere from FL290 up 2,000 ft."""
    levels = sorted(cruising_levels(0, "000-179", rvsm) + cruising_levels(180, "000-179", rvsm))
    one_thousand_up_to = 410 if rvsm else 290
    for low, high in pairwise(levels):
        assert high - low == (10 if high <= one_thousand_up_to else 20)


@pytest.mark.parametrize("track", [-0.1, 360.1, 720, float("nan"), float("inf")])
def test_a_track_off_the_compass_is_refused(track: float) -> None:
    """Tracks run from 0 to 360 degrees."""
    with pytest.raises(OutOfRangeError, match="out of range"):
        cruising_levels(track, Split.EASTERLY, rvsm=True)


@pytest.mark.parametrize("text", ["", "east", "000/180", "180-359"])
def test_an_unknown_split_is_refused(text: str) -> None:
    """An unknown split is answered with the known ones."""
    with pytest.raises(InputError) as caught:
        parse_split(text)
    assert "000-179" in caught.value.hint
    with pytest.raises(InputError):
        cruising_levels(10, text, rvsm=True)


def test_a_split_is_read() -> None:
    """A split is read as it is written."""
    assert parse_split(" 270-089 ") is Split.NORTHERLY
