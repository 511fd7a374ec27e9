"""What a change looked like: onset, size and shape, against regression and by simulation."""

import random
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from rvsmlog.errors import InputError
from rvsmlog.science.drift_change import FEWEST, describe_change
from rvsmlog.science.drift_readings import Band, Point

START = datetime(2027, 1, 1, tzinfo=UTC)
BAND = Band(lowest_level=290, middle_mach=0.5)


def as_points(values: Sequence[float]) -> tuple[Point, ...]:
    """Give points a day apart."""
    return tuple(
        Point(
            at=START + timedelta(days=day),
            flight_index=day,
            band=BAND,
            readings=1,
            difference_ft=value,
        )
        for day, value in enumerate(values)
    )


def step(since: int) -> float:
    """Give a step of 60 ft."""
    return 60.0


def ramp(since: int) -> float:
    """Give a drift of 3 ft a flight."""
    return 3.0 * since


def changed(seed: int, course: Callable[[int], float], *, onset: int = 40) -> list[float]:
    """Give 70 readings to 10 ft with a change."""
    draw = random.Random(seed)
    return [
        10.0
        * round((draw.gauss(20.0, 15.0) + (course(i - onset + 1) if i >= onset else 0.0)) / 10.0)
        for i in range(70)
    ]


@pytest.mark.parametrize("course", [step, ramp])
def test_size_is_that_of_a_regression(course: Callable[[int], float]) -> None:
    """At its onset and in its shape the size and its deviation are those of least squares."""
    values = changed(1, course)
    found = describe_change(as_points(values), resolution_ft=1.0)
    after = np.arange(70) - found.onset_index + 1.0
    shape = np.where(after > 0, after / after[-1] if course is ramp else 1.0, 0.0)
    design = np.column_stack([np.ones(70), shape])
    (_, size), left, *_ = np.linalg.lstsq(design, np.array(values), rcond=None)
    spread = np.linalg.inv(design.T @ design)[1, 1] * left[0] / 68.0
    assert (found.gradual > 0.5) == (course is ramp)
    assert found.size_ft == pytest.approx(size, rel=1e-9)
    assert found.size_sd_ft == pytest.approx(spread**0.5, rel=1e-9)


@pytest.mark.parametrize("course", [step, ramp])
def test_onset_lies_in_its_range(course: Callable[[int], float]) -> None:
    """The range given for the onset holds it about as often as it says, and is ordered."""
    held = 0
    for seed in range(40):
        found = describe_change(as_points(changed(seed, course)), resolution_ft=10.0)
        assert found.earliest.at <= found.onset.at <= found.latest.at
        assert found.onset.flight_index == found.onset_index
        held += found.earliest.flight_index <= 40 <= found.latest.flight_index
    # Binomial limit of 0.1 % below 90 %; more is allowed, for onsets come in whole flights.
    assert held >= 30


def test_shape_is_told_apart() -> None:
    """Most steps are called steps, and most long drifts gradual."""
    steps = [
        describe_change(as_points(changed(seed, step)), resolution_ft=10.0).gradual
        for seed in range(20)
    ]
    ramps = [
        describe_change(as_points(changed(seed, ramp)), resolution_ft=10.0).gradual
        for seed in range(20)
    ]
    assert sum(each < 0.5 for each in steps) >= 18
    assert sum(each > 0.5 for each in ramps) >= 18


def test_altimeters_that_change_places_turn_the_size() -> None:
    """Exchanging the altimeters turns the size and nothing else."""
    values = changed(3, step)
    found = describe_change(as_points(values), resolution_ft=10.0)
    turned = describe_change(as_points([-value for value in values]), resolution_ft=10.0)
    assert turned.size_ft == pytest.approx(-found.size_ft)
    assert [each.at for each in (turned.onset, turned.earliest, turned.latest)] == [
        each.at for each in (found.onset, found.earliest, found.latest)
    ]
    assert turned.gradual == pytest.approx(found.gradual)


def test_change_is_likelier_than_none_only_where_there_is_one() -> None:
    """Readings with a change speak for one, readings without do not."""
    with_change = describe_change(as_points(changed(4, step)), resolution_ft=10.0)
    without = describe_change(as_points(changed(4, lambda _: 0.0)), resolution_ft=10.0)
    assert with_change.log_evidence > 10.0
    assert without.log_evidence < 1.0


def test_slip_is_not_taken_for_the_change() -> None:
    """A single reading 1,000 ft out does not draw the onset to itself."""
    values = changed(5, step)
    values[20] += 1000.0
    found = describe_change(as_points(values), resolution_ft=10.0)
    assert abs(found.onset_index - 40) <= 3
    assert found.size_ft == pytest.approx(60.0, abs=20.0)


def test_change_of_nothing_is_refused() -> None:
    """Too few readings cannot describe a change."""
    with pytest.raises(InputError, match="too few"):
        describe_change(as_points(changed(6, step)[: FEWEST - 1]), resolution_ft=10.0)
