"""The drift detector: its evidence, its false alarms, what it finds and what leaves it unmoved."""

import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science.drift import (
    CLIP,
    LOG_LIMIT,
    WARM_UP,
    DriftState,
    advance,
    shift,
)
from rvsmlog.science.drift_evidence import SIZE_PRIOR, log_ratio, smallest_sigma_ft
from rvsmlog.science.drift_memo import pack, unpack
from rvsmlog.science.drift_readings import Band, Point
from tests.science.drift_run import watch

START = datetime(2027, 1, 1, tzinfo=UTC)
BAND = Band(lowest_level=290, middle_mach=0.5)
DIFFERENCES = st.lists(st.integers(-8, 8).map(lambda tens: 10.0 * tens), min_size=6, max_size=60)


def as_points(values: Iterable[float], *, readings: int = 1) -> tuple[Point, ...]:
    """Give points a day apart."""
    return tuple(
        Point(
            at=START + timedelta(days=day),
            flight_index=day,
            band=BAND,
            readings=readings,
            difference_ft=value,
        )
        for day, value in enumerate(values)
    )


def run(values: Iterable[float], *, resolution_ft: float = 10.0, readings: int = 1) -> DriftState:
    """Run the detector over values a day apart."""
    return watch(as_points(values, readings=readings), resolution_ft=resolution_ft)


def scattered(seed: int, count: int, *, sigma: float = 20.0, step_at: int = 10**9) -> list[float]:
    """Give readings to 10 ft about 30 ft, and 60 ft higher from a certain one on."""
    draw = random.Random(seed)
    return [
        10.0 * round((30.0 + (60.0 if i >= step_at else 0.0) + draw.gauss(0.0, sigma)) / 10.0)
        for i in range(count)
    ]


def grid_ratio(values: Sequence[float], course: Sequence[float]) -> float:
    """Integrate both likelihoods over mean, scale and size on a grid, with no formula in between.

    Priors as stated in the module: flat mean, 1/sigma, and d^2/g times normal(0, g) for the size.
    """
    x, u = np.array(values), np.array(course)
    n = len(x)
    log_sigma = np.linspace(-2.5, 3.5, 91)[:, None]
    sigma = np.exp(log_sigma)
    size = np.linspace(-10.0, 10.0, 161)[None, :]
    offsets = np.linspace(-7.0, 7.0, 121)
    prior = size**2 / SIZE_PRIOR * np.exp(-(size**2) / (2.0 * SIZE_PRIOR))
    prior /= prior.sum()
    changed = np.zeros((len(log_sigma), size.shape[1]))
    unchanged = np.zeros((len(log_sigma), 1))
    for offset in offsets:
        # The flat mean is scanned in units of sigma about the middle of the values.
        centre = x.mean() + offset * sigma
        still = ((x[:, None, None] - centre) ** 2).sum(axis=0)
        unchanged += np.exp(-still / (2.0 * sigma**2)) * sigma ** (1 - n)
        moved = ((x[:, None, None] - centre - sigma * size * u[:, None, None]) ** 2).sum(axis=0)
        changed += np.exp(-moved / (2.0 * sigma**2)) * sigma ** (1 - n)
    return float((changed * prior).sum() / unchanged.sum())


@pytest.mark.parametrize("course", [[0, 0, 0, 0, 1, 1, 1], [0, 0, 0, 1, 2, 3, 4]])
def test_ratio_is_the_integral_it_stands_for(course: list[float]) -> None:
    """The closed ratio of likelihoods agrees with brute integration over mean, scale and size."""
    values = [0.3, -0.9, 0.5, 0.1, 1.6, 1.1, 2.4]
    off = np.array(values) - np.mean(values)
    centred = np.array(course, dtype=float) - np.mean(course)
    worth = float(centred @ centred)
    explained = float(off @ centred) ** 2 / worth
    found = log_ratio(7, worth, explained, float(off @ off) - explained)
    assert math.exp(found) == pytest.approx(grid_ratio(values, course), rel=2e-3)


def test_ratio_has_expectation_one_without_change() -> None:
    """While nothing changes the ratio averages 1, which bounds the rate of false alarms."""
    draw = np.random.default_rng(12)
    values = draw.normal(5.0, 3.0, (40_000, 12))
    off = values - values.mean(axis=1, keepdims=True)
    explained = off[:, 7:].sum(axis=1) ** 2 / (5 * 7 / 12)
    spread = (off**2).sum(axis=1)
    ratios = [
        math.exp(log_ratio(12, 5 * 7 / 12, float(b), float(s - b)))
        for b, s in zip(explained, spread, strict=True)
    ]
    assert np.mean(ratios) == pytest.approx(1.0, abs=4.0 * float(np.std(ratios)) / 200.0)
    assert np.std(ratios) < 10.0


def test_evidence_is_the_sum_over_all_onsets() -> None:
    """Before any blocks join, the detector's evidence is the plain sum over the onsets."""
    values = [10.0, -20.0, 30.0, 0.0, 10.0, 60.0, 70.0, 50.0, 20.0]
    total = 0.0
    off = np.array(values) - np.mean(values)
    for onset in range(5, 9):
        worth = onset * (9 - onset) / 9
        explained = float(off[onset:].sum()) ** 2 / worth
        total += math.exp(log_ratio(9, worth, explained, float(off @ off) - explained))
    assert run(values, resolution_ft=1.0).log_evidence == pytest.approx(math.log(total), abs=1e-9)


@given(values=DIFFERENCES, constant=st.integers(-300, 300))
@settings(max_examples=40)
def test_constant_difference_changes_nothing(values: list[float], constant: int) -> None:
    """A constant added to all readings of one altimeter leaves the evidence as it is."""
    moved = run([value + constant for value in values])
    state = run(values)
    assert moved.log_evidence == pytest.approx(state.log_evidence, abs=1e-9)
    assert moved.alarm_index == state.alarm_index


@given(values=DIFFERENCES)
@settings(max_examples=40)
def test_unit_of_length_changes_nothing(values: list[float]) -> None:
    """Readings and resolution in another unit give the same evidence: sigma need not be known."""
    metres = run([0.3048 * value for value in values], resolution_ft=3.048)
    assert metres.log_evidence == pytest.approx(run(values).log_evidence, abs=1e-6)


@given(seed=st.integers(0, 10**6))
@settings(max_examples=15)
def test_altimeters_that_change_places_turn_the_direction(seed: int) -> None:
    """Exchanging the altimeters leaves the alarm where it is and turns its direction."""
    values = scattered(seed, 70, step_at=40)
    state, swapped = run(values), run([-value for value in values])
    assert swapped.alarm_index == state.alarm_index
    found, turned = shift(state), shift(swapped)
    if found is None or turned is None:
        assert found is turned
        return
    assert turned.size_ft == pytest.approx(-found.size_ft)
    assert (turned.size_ft > 0) is (found.size_ft < 0)
    assert turned.onset_index == found.onset_index


@pytest.mark.parametrize("seed", range(8))
def test_step_is_found_with_onset_size_and_direction(seed: int) -> None:
    """A step of three sigma is found within a few flights, and described within its own doubt."""
    state = run(scattered(seed, 64, step_at=50))
    found = shift(state)
    assert found is not None
    assert state.alarm_index is not None
    assert 50 < state.alarm_index <= 58
    assert abs(found.onset_index - 50) <= 2
    assert found.size_ft == pytest.approx(60.0, abs=4.0 * found.size_sd_ft)
    assert found.before_ft == pytest.approx(30.0, abs=4.0 * 20.0 / 50**0.5)
    assert found.sigma_ft == pytest.approx(20.0, rel=0.35)
    assert found.alarm_at == START + timedelta(days=state.alarm_index - 1)
    assert found.onset_at == START + timedelta(days=found.onset_index)


def test_rate_of_false_alarms() -> None:
    """18,000 flights without a change bring about as many alarms as one in 1,000 flights."""
    flown = alarms = 0
    for seed in range(60):
        state = run(scattered(seed, 300))
        alarms += state.alarm_index is not None
        flown += state.alarm_index or 300
    # Poisson limits of 0.1 % either side.
    expected = flown / 1000.0
    assert abs(alarms - expected) < 3.3 * math.sqrt(expected)


def test_no_alarm_before_twenty_values() -> None:
    """However large a step, history of fewer than twenty values raises no alarm."""
    values = scattered(3, 10) + [500.0] * 9
    assert run(values).alarm_index is None
    assert not run(values).ready
    assert run([*values, 500.0]).alarm_index == WARM_UP


def test_digit_slip_rarely_raises_the_alarm() -> None:
    """A single reading 100 ft out tips few runs over; trusted in full it would tip most."""
    calm = [
        values for seed in range(40) if not run(values := scattered(seed, 60, sigma=15.0)).alarm_at
    ]
    slipped = [as_points([*values, 130.0]) for values in calm]
    tipped = [watch(series, resolution_ft=10.0).alarm_at is not None for series in slipped]
    trusted = [
        watch((*series[:-1], replace(series[-1], readings=3)), resolution_ft=10.0).alarm_at
        is not None
        for series in slipped
    ]
    assert len(calm) > 30
    assert sum(tipped) <= len(calm) / 10
    assert sum(trusted) > len(calm) / 2


def test_slip_among_the_first_values_does_not_blind() -> None:
    """With a reading 1,000 ft out at the very start a later step is still found in ten flights."""
    found = 0
    for seed in range(24):
        values = scattered(seed, 60, step_at=50)
        values[seed % 8] += 1000.0
        found += run(values).alarm_index is not None
    assert found >= 22


def test_median_of_three_is_trusted_further() -> None:
    """The same far value counts for more as a median of three, which a slip cannot move."""
    values = scattered(1, 60, sigma=15.0)
    single = run([*values, 180.0])
    of_three = watch(
        (*as_points(values), replace(as_points([*values, 180.0])[-1], readings=3)),
        resolution_ft=10.0,
    )
    assert of_three.log_evidence > single.log_evidence + 2.0


def test_readings_that_all_agree_are_not_exact() -> None:
    """Identical readings followed by two that differ by the resolution raise no alarm."""
    state = run([20.0] * 40 + [30.0, 30.0])
    assert state.alarm_index is None
    assert state.log_evidence < LOG_LIMIT
    assert smallest_sigma_ft(10.0) == pytest.approx(math.hypot(10 / 12**0.5, 10 / 12**0.5))


def test_alarm_stands_until_a_restart() -> None:
    """Once raised, an alarm stays with its flight, whatever is read later."""
    values = scattered(5, 60, step_at=45)
    raised = run(values)
    later = run([*values, *scattered(6, 40)])
    assert raised.alarm_index is not None
    assert (later.alarm_index, later.alarm_at) == (raised.alarm_index, raised.alarm_at)


def test_size_follows_a_drift_that_goes_on() -> None:
    """After the alarm the size keeps step with what is read."""
    values = scattered(5, 50, sigma=10.0)
    climbing = [30.0 + 4.0 * i for i in range(1, 61)]
    early, late = (shift(run(values + climbing[:n])) for n in (30, 60))
    assert early is not None
    assert late is not None
    assert late.size_ft > early.size_ft + 80.0


def test_state_stays_small() -> None:
    """The state grows with the logarithm of the history: 1,000 readings take a few kilobytes."""
    state = run(scattered(2, 40))
    assert len(state.onsets) <= 16
    state = run([10.0 * ((7 * i) % 5) for i in range(1000)])
    assert state.count == 1000
    assert len(state.onsets) <= 30
    assert len(pack(state)) < 6000


@given(values=DIFFERENCES)
@settings(max_examples=20)
def test_state_survives_as_text(values: list[float]) -> None:
    """A state written and read back is equal, and goes on equally."""
    state = run(values)
    again = unpack(pack(state))
    assert again == state
    at = START + timedelta(days=99)
    assert advance(again, 50.0, at=at) == advance(state, 50.0, at=at)


def test_state_with_alarm_survives_as_text() -> None:
    """The instant of an alarm is read back as an instant."""
    state = run(scattered(5, 70, step_at=45))
    assert state.alarm_at is not None
    assert unpack(pack(state)) == state


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"settings":{}}', "nothing"])
def test_text_that_is_no_state_is_refused(text: str) -> None:
    """What is no state, or one of other settings, asks to be rebuilt."""
    with pytest.raises(InputError) as caught:
        unpack(text)
    assert "again" in caught.value.hint


def test_state_of_other_settings_is_refused() -> None:
    """A state made with another limit asks to be rebuilt."""
    text = pack(run([0.0] * 6)).replace('"warm_up":20', '"warm_up":19')
    with pytest.raises(InputError, match="other settings"):
        unpack(text)


def test_odd_state_in_text_is_refused() -> None:
    """A state with a field that is none asks to be rebuilt."""
    text = pack(run([0.0] * 6)).replace('"count"', '"counted"')
    with pytest.raises(InputError, match="no state"):
        unpack(text)


def test_far_value_is_held_at_the_clip() -> None:
    """Values beyond the clip all count alike."""
    values = scattered(4, 60)
    assert CLIP == 3.0
    assert run([*values, 400.0]).log_evidence == run([*values, 4000.0]).log_evidence


@pytest.mark.parametrize("resolution_ft", [0.0, -10.0, math.inf, math.nan])
def test_resolution_must_be_a_length(resolution_ft: float) -> None:
    """A resolution that is no positive length is refused."""
    with pytest.raises(OutOfRangeError):
        DriftState(resolution_ft=resolution_ft)
