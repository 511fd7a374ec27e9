"""Which altimeter moved: what the witnesses can tell, and what they cannot."""

import math
import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.science.drift_readings import Point, Reading, points
from rvsmlog.science.drift_witness import (
    FEWEST_AFTER,
    FEWEST_BEFORE,
    NAMED_FROM,
    NEITHER,
    TRAITS,
    Suspicion,
    TransponderFeed,
    WitnessTraits,
    which_moved,
)

START = datetime(2027, 1, 1, tzinfo=UTC)
FINE = {**TRAITS, "transponder": WitnessTraits(resolution_ft=25.0, drift_ft=10.0)}


def flown(
    seed: int,
    step_ft: float,
    *,
    moved: int = 1,
    before: int = 40,
    after: int = 10,
    transponder_step_ft: float = 25.0,
    standby: bool = True,
    gnss: bool = False,
) -> tuple[Point, ...]:
    """Give flights of which the last have altimeter 1 risen, or altimeter 2 sunk, by the step."""
    draw = random.Random(seed)
    made = []
    for day in range(before + after):
        height = draw.gauss(31_000.0, 15.0)
        gone = step_ft if day >= before else 0.0
        first = height + draw.gauss(0.0, 14.0) + (gone if moved == 1 else 0.0)
        second = height + draw.gauss(0.0, 14.0) - (gone if moved == 2 else 0.0)
        spare = height + 120.0 + draw.gauss(0.0, 30.0)
        coded = height - 40.0 + draw.gauss(0.0, 12.0)
        made.append(
            Reading(
                taken_at=START + timedelta(days=day),
                level=310,
                flight=day,
                primary_1_ft=10.0 * round(first / 10.0),
                primary_2_ft=10.0 * round(second / 10.0),
                standby_ft=20.0 * round(spare / 20.0) if standby else None,
                transponder_ft=transponder_step_ft * round(coded / transponder_step_ft),
                gnss_ft=height + draw.gauss(0.0, 40.0) if gnss else None,
            )
        )
    return points(made)


def judged(
    series: tuple[Point, ...],
    *,
    before: int = 40,
    feed: TransponderFeed = TransponderFeed.OWN,
) -> Suspicion:
    """Judge flights parted after so many."""
    return which_moved(
        series[:before],
        series[before:],
        resolution_ft=10.0,
        transponder_feed=feed,
        traits=FINE,
    )


@pytest.mark.parametrize("moved", [1, 2])
@pytest.mark.parametrize("step_ft", [120.0, -120.0])
def test_altimeter_that_moved_is_named(moved: int, step_ft: float) -> None:
    """With an independent transponder a large step is laid to the altimeter that made it."""
    for seed in range(5):
        found = judged(flown(seed, step_ft, moved=moved))
        assert found.altimeter == moved
        assert found.reason == ""
        assert {each.name for each in found.testimonies} == {"standby", "transponder"}


def test_named_altimeter_is_rarely_the_wrong_one() -> None:
    """Over steps of all sizes a name given is wrong in fewer cases than its probability allows."""
    named = wrong = 0
    for seed in range(120):
        moved = 1 + seed % 2
        found = judged(flown(seed, 20.0 + seed, moved=moved, after=3 + seed % 8))
        named += found.altimeter is not None
        wrong += found.altimeter not in (None, moved)
    assert named > 40
    assert wrong <= 0.05 * named


def test_probabilities_are_those_of_a_multivariate_t() -> None:
    """The probabilities agree with scipy's multivariate t for the same changes and variances."""
    from scipy import stats

    series = flown(3, 60.0, gnss=True, transponder_step_ft=25.0)
    found = judged(series)
    differences = np.array([point.difference_ft for point in series])
    step = differences[40:].mean() - differences[:40].mean()
    shared = 2.0 * differences[:40].var(ddof=1) / 4.0 * (1.0 / 40 + 1.0 / 10)
    seen = [each.change_ft for each in found.testimonies]
    own = np.diag([each.sd_ft**2 for each in found.testimonies])
    weights = [
        prior * stats.multivariate_t(mean * np.ones(3), shape + shared, df=39).pdf(seen)
        for prior, mean, shape in (
            ((1 - NEITHER) / 2, -step / 2, own),
            ((1 - NEITHER) / 2, step / 2, own),
            (NEITHER, 0.0, own + step**2 * np.eye(3)),
        )
    ]
    expected = np.array(weights) / sum(weights)
    assert len(seen) == 3
    assert (found.altimeter_1, found.altimeter_2, found.neither) == pytest.approx(
        tuple(expected), rel=1e-6
    )
    assert sum(expected) == pytest.approx(1.0)


def test_witness_scatter_is_its_own() -> None:
    """A witness's deviation counts its scatter beyond the primaries', its drift and its steps."""
    series = flown(4, 0.0)
    found = {each.name: each for each in judged(series).testimonies}["standby"]
    seen = np.array([point.standby_ft for point in series])
    differences = np.array([point.difference_ft for point in series])
    own = seen[:40].var(ddof=1) - differences[:40].var(ddof=1) / 4.0
    rounding = 20.0**2 / 12.0
    variance = own * (1 / 40 + 1 / 10) + TRAITS["standby"].drift_ft ** 2 + 2.0 * rounding
    assert found.change_ft == pytest.approx(seen[40:].mean() - seen[:40].mean())
    assert found.sd_ft == pytest.approx(math.sqrt(variance))
    assert (found.before, found.after) == (40, 10)


@pytest.mark.parametrize(
    "feed", [TransponderFeed.PRIMARY_1, TransponderFeed.PRIMARY_2, TransponderFeed.UNKNOWN]
)
def test_transponder_fed_by_a_primary_is_no_witness(feed: TransponderFeed) -> None:
    """A transponder that repeats a primary, or may do so, is not heard, and the reason says so."""
    found = judged(flown(5, 150.0, standby=False), feed=feed)
    assert found.altimeter is None
    assert found.testimonies == ()
    assert "transponder" in found.reason
    assert found.altimeter_1 == found.altimeter_2 == (1.0 - NEITHER) / 2.0


def test_silence_of_an_independent_transponder_is_said_plainly() -> None:
    """Where nothing was noted, the reason is that nothing was noted."""
    series = tuple(replace(point, transponder_ft=None) for point in flown(5, 150.0, standby=False))
    found = judged(series)
    assert found.altimeter is None
    assert "noted often enough" in found.reason


@given(offset=st.integers(-400, 400), seed=st.integers(0, 50))
@settings(max_examples=15, deadline=None)
def test_constant_offset_of_a_witness_does_not_matter(offset: int, seed: int) -> None:
    """A witness that always reads so much more or less says the same."""
    series = flown(seed, 60.0)
    moved = tuple(
        replace(point, standby_ft=None if point.standby_ft is None else point.standby_ft + offset)
        for point in series
    )
    assert judged(moved).altimeter_1 == pytest.approx(judged(series).altimeter_1, abs=1e-9)


@given(seed=st.integers(0, 200), step_ft=st.sampled_from([-100.0, -40.0, 40.0, 100.0]))
@settings(max_examples=15, deadline=None)
def test_altimeters_that_change_places_change_the_verdict(seed: int, step_ft: float) -> None:
    """Exchanging the two primaries exchanges their probabilities."""
    series = flown(seed, step_ft)
    turned = tuple(replace(point, difference_ft=-point.difference_ft) for point in series)
    found, other = judged(series), judged(turned)
    assert other.altimeter_1 == pytest.approx(found.altimeter_2, rel=1e-6, abs=1e-12)
    assert other.neither == pytest.approx(found.neither, rel=1e-6, abs=1e-12)


def test_small_step_cannot_be_told() -> None:
    """A 40 ft step is less than a standby altimeter can tell: the verdict is that it cannot."""
    for seed in range(8):
        series = flown(seed, 40.0)
        found = judged(series, feed=TransponderFeed.PRIMARY_1)
        assert found.altimeter is None
        assert "separate" in found.reason
        assert max(found.altimeter_1, found.altimeter_2) < NAMED_FROM


def test_transponder_in_hundreds_of_feet_does_not_decide_a_small_step() -> None:
    """A display that stands at one step of 100 ft says nothing of a step of 40 ft."""
    for seed in range(8):
        series = flown(seed, 40.0, standby=False, transponder_step_ft=100.0)
        found = which_moved(
            series[:40], series[40:], resolution_ft=10.0, transponder_feed=TransponderFeed.OWN
        )
        assert found.altimeter is None


def test_witness_that_fits_neither_is_said_so() -> None:
    """Where the witness moved far more than the altimeters, neither altimeter is named."""
    series = flown(6, 60.0)
    strayed = tuple(
        replace(point, standby_ft=400.0, transponder_ft=400.0) if index >= 40 else point
        for index, point in enumerate(series)
    )
    found = judged(strayed)
    assert found.altimeter is None
    assert found.neither > 0.9
    assert "neither" in found.reason


@pytest.mark.parametrize(("before", "after"), [(FEWEST_BEFORE - 1, 10), (40, FEWEST_AFTER - 1)])
def test_few_readings_cannot_tell(before: int, after: int) -> None:
    """Without readings enough on both sides of the onset nothing is told."""
    found = judged(flown(7, 150.0, before=before, after=after), before=before)
    assert found.altimeter is None
    assert "too few" in found.reason
