"""Cruising levels of a track, every row of the tables: 91.179(b), Annex 2 appendix 3, CAR 91.313.

Levels above FL410 are from secondary pages, the split 090-269 is from memory.
"""

from typing import Any

import pytest

from rvsmlog.answers.level_choice import LevelChoice, item_15, level_choice, tracks_of_other_half
from rvsmlog.errors import InputError
from rvsmlog.verdict import judge
from tests.rules.conftest import Make

# As printed: from FL100 up, below RVSM airspace, in it, and above it.
ODD = (
    *(110, 130, 150, 170, 190, 210, 230, 250, 270),
    *(290, 310, 330, 350, 370, 390, 410),
    *(450, 490),
)
EVEN = (
    *(100, 120, 140, 160, 180, 200, 220, 240, 260, 280),
    *(300, 320, 340, 360, 380, 400),
    *(430, 470, 510),
)


def choice(make: Make, track: float, split: str | None = "000-179", **parts: Any) -> LevelChoice:
    """Choose levels for a track."""
    flight = make.flight_data(track=track, split=split, **parts.pop("flight", {}))
    return level_choice(make.facts(question=make.question(flight=flight), **parts))


@pytest.mark.parametrize(
    ("split", "track", "own", "others"),
    [
        ("000-179", 0, ODD, EVEN),
        ("000-179", 90, ODD, EVEN),
        ("000-179", 179, ODD, EVEN),
        ("000-179", 180, EVEN, ODD),
        ("000-179", 359, EVEN, ODD),
        ("000-179", 360, ODD, EVEN),
        ("270-089", 270, ODD, EVEN),
        ("270-089", 89, ODD, EVEN),
        ("270-089", 90, EVEN, ODD),
        ("270-089", 269, EVEN, ODD),
        ("090-269", 90, ODD, EVEN),
        ("090-269", 269, ODD, EVEN),
        ("090-269", 270, EVEN, ODD),
        ("090-269", 89, EVEN, ODD),
    ],
)
def test_every_row_of_the_tables(
    make: Make, split: str, track: float, own: tuple[int, ...], others: tuple[int, ...]
) -> None:
    """The whole rows of the track's half circle are judged, those of the other are named."""
    made = choice(make, track, split)
    assert sorted(view.level for view in (*made.usable, *made.excluded)) == list(own)
    assert tuple(view.level for view in made.other_half) == others[::-1]
    # Certificated to FL310, with everything in order: all levels up to there, the highest first.
    assert tuple(view.level for view in made.usable) == tuple(
        level for level in own[::-1] if level <= 310
    )


def test_each_level_is_what_the_check_says_of_it(make: Make) -> None:
    """A level is usable where the check answers GO at it, and only there."""
    low = (make.oxygen_reading(gauge_psi=420.0),)
    for track in (90, 265):
        made = choice(make, track, oxygen_readings=low)
        for view in (*made.usable, *made.excluded):
            flight = make.flight_data(track=track, split="000-179")
            question = make.question(level=view.level, flight=flight)
            verdict = judge(make.facts(question=question, oxygen_readings=low))
            assert view.usable is (verdict.answer == "GO"), view.level
            assert bool(view.excluded_by) is not view.usable


def test_what_excludes_a_level_is_named(make: Make) -> None:
    """Ceiling, RVSM status and tested altitude exclude what they exclude, and nothing lower."""
    withdrawn = make.approval(40, withdrawal=make.withdrawal(200, 40, "2027-03-01"))
    made = choice(make, 90, approvals=(withdrawn,), airframe=make.airframe(highest_level=330))
    assert made.best == 270
    rules = {view.level: {finding.rule for finding in view.excluded_by} for view in made.excluded}
    assert rules[350] == {"level-above-certificated"}
    assert rules[290] == {"rvsm-approval-missing"}
    assert rules[330] == {"rvsm-approval-missing", "cabin-altitude-too-high"}


def test_the_hold_excludes_what_lies_below_it(make: Make) -> None:
    """A hold at FL140 leaves nothing lower."""
    made = choice(make, 265, flight={"hold_level": 140, "hold_minutes": 10})
    assert min(view.level for view in made.usable) == 140
    assert {view.level for view in made.excluded if view.level < 140} == {100, 120}
    for view in made.excluded:
        if view.level < 140:
            assert {finding.rule for finding in view.excluded_by} == {"level-below-hold"}


def test_the_flight_plan_is_that_of_the_best_level(make: Make) -> None:
    """W and REG/ at FL310; without approval neither."""
    made = choice(make, 90)
    assert made.best == 310
    assert (made.verdict.flight_plan.item_10a_w, made.verdict.flight_plan.item_18) == (
        True,
        ("REG/QXABC",),
    )
    without = choice(make, 90, approvals=())
    assert without.best == 270
    assert without.verdict.flight_plan.item_10a_w is False
    assert (item_15(310), item_15(90)) == ("F310", "F090")


def test_nothing_usable_has_no_best(make: Make) -> None:
    """Without a test of the altimeters nothing may be filed."""
    made = choice(make, 90, tests=())
    assert (made.best, made.usable) == (None, ())
    assert made.verdict.highest_level is None


@pytest.mark.parametrize(
    ("code", "split"), [("us-91", "000-179"), ("au-91", "000-179"), ("nz-91", "270-089")]
)
def test_the_split_is_the_authoritys_own_unless_said(make: Make, code: str, split: str) -> None:
    """And the answer says that it was assumed."""
    airframe = make.airframe(authority=code)
    made = choice(make, 90, None, airframe=airframe)
    assert (made.split, made.split_assumed) == (split, True)
    said = choice(make, 90, "090-269", airframe=airframe)
    assert (said.split, said.split_assumed) == ("090-269", False)


def test_a_track_must_be_said(make: Make) -> None:
    """Nothing is guessed."""
    with pytest.raises(InputError, match="track is not said"):
        level_choice(make.facts())


@pytest.mark.parametrize(
    ("track", "split", "others"),
    [
        (90, "000-179", "180-359"),
        (265, "000-179", "000-179"),
        (0, "270-089", "090-269"),
        (180, "270-089", "270-089"),
        (180, "090-269", "270-089"),
        (300, "090-269", "090-269"),
    ],
)
def test_the_other_half_circle(track: float, split: str, others: str) -> None:
    """The tracks that do take the levels which this one does not."""
    assert tracks_of_other_half(track, split) == others
