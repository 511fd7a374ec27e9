"""The course of the difference and its forecast, against reference libraries and by simulation."""

import math
import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science.drift_course import FEWEST, WANDERS, Branch, Course, fit_course
from rvsmlog.science.drift_forecast import (
    chance_beyond,
    difference_at,
    likely_beyond,
    possibly_beyond,
    reach,
)
from rvsmlog.science.drift_readings import Band, Point

START = datetime(2027, 1, 1, tzinfo=UTC)
BAND = Band(lowest_level=290, middle_mach=0.5)


def as_points(days: Sequence[float], values: Sequence[float]) -> tuple[Point, ...]:
    """Give points of flights on certain days."""
    return tuple(
        Point(
            at=START + timedelta(days=day),
            flight_index=index,
            band=BAND,
            readings=1,
            difference_ft=value,
        )
        for index, (day, value) in enumerate(zip(days, values, strict=True))
    )


def airframe(
    seed: int, count: int, *, slope_ft: float = 60.0, wander_ft: float = 0.0
) -> tuple[list[float], list[float]]:
    """Give whole days, some weeks apart, and readings to 10 ft; slope and wander in a year."""
    draw = random.Random(seed)
    days, level, before = [], -10.0, 0.0
    values = []
    for _ in range(count):
        day = before + draw.randint(1, 6) + (30 if draw.random() < 0.05 else 0)
        level += slope_ft * (day - before) / 365.25
        level += draw.gauss(0.0, wander_ft * math.sqrt((day - before) / 365.25))
        before = day
        days.append(day)
        values.append(10.0 * round((level + draw.gauss(0.0, 20.0)) / 10.0))
    return days, values


def certain(
    *, level_ft: float, slope_ft: float, wander_var: float = 0.0, sigma_ft: float = 1.0
) -> Course:
    """Give a course that is known but for its wander; slope and wander by the day."""
    branch = Branch(
        weight=1.0,
        wander=wander_var / sigma_ft**2,
        sigma_ft=sigma_ft,
        level_ft=level_ft,
        slope_ft_per_day=slope_ft,
        level_var=1e-18,
        slope_var=1e-24,
        covariance=0.0,
    )
    return Course(
        last_at=START, count=10**8, branches=(branch,), flight_days=2.0, flight_days_sd=1.0
    )


def steady(course: Course) -> Course:
    """Keep only the branch without wander."""
    return replace(course, branches=(replace(course.branches[0], weight=1.0),))


@pytest.mark.parametrize("seed", range(4))
def test_course_without_wander_is_least_squares(seed: int) -> None:
    """Without wander, level, slope, scatter and their covariances are those of scipy's line."""
    from scipy import stats

    days, values = airframe(seed, 30)
    branch = fit_course(as_points(days, values), resolution_ft=10.0).branches[0]
    line = stats.linregress(np.array(days) - days[-1], values)
    left = np.array(values) - line.intercept - line.slope * (np.array(days) - days[-1])
    assert branch.wander == 0.0
    assert branch.sigma_ft == pytest.approx(math.sqrt(left @ left / 28.0), rel=1e-9)
    assert branch.level_ft == pytest.approx(line.intercept, rel=1e-9)
    assert branch.slope_ft_per_day == pytest.approx(line.slope, rel=1e-9)
    assert branch.sigma_ft * math.sqrt(branch.slope_var) == pytest.approx(line.stderr, rel=1e-9)
    assert branch.sigma_ft * math.sqrt(branch.level_var) == pytest.approx(
        line.intercept_stderr, rel=1e-9
    )


def reference_filter(days: Sequence[float], values: Sequence[float], branch: Branch) -> object:
    """Run statsmodels' local level with a fixed trend, missing days left empty."""
    from statsmodels.tsa.statespace.structural import UnobservedComponents

    daily = np.full(int(days[-1] - days[0]) + 1, np.nan)
    daily[(np.array(days) - days[0]).astype(int)] = values
    model = UnobservedComponents(daily, "lldtrend", use_exact_diffuse=True)
    return model.smooth([branch.sigma_ft**2, branch.sigma_ft**2 * branch.wander])


@pytest.mark.parametrize("which", range(1, len(WANDERS)))
def test_course_with_wander_agrees_with_statsmodels(which: int) -> None:
    """Level, slope and covariances at the last reading agree with a reference filter."""
    days, values = airframe(11, 40, wander_ft=20.0)
    branch = fit_course(as_points(days, values), resolution_ft=10.0).branches[which]
    found = reference_filter(days, values, branch)
    state = found.filtered_state[:, -1]  # type: ignore[attr-defined] # statsmodels has no types
    spread = found.filtered_state_cov[:, :, -1]  # type: ignore[attr-defined] # same
    scale = branch.sigma_ft**2
    assert branch.level_ft == pytest.approx(state[0], abs=1e-4)
    assert branch.slope_ft_per_day == pytest.approx(state[1], abs=1e-6)
    assert branch.level_var * scale == pytest.approx(spread[0, 0], rel=1e-4)
    assert branch.slope_var * scale == pytest.approx(spread[1, 1], rel=1e-4)
    assert branch.covariance * scale == pytest.approx(spread[0, 1], rel=1e-4)


def test_weights_follow_the_reference_likelihood() -> None:
    """Branches are weighed as the diffuse likelihoods of the reference filter weigh them."""
    days, values = airframe(12, 60, wander_ft=30.0)
    branches = fit_course(as_points(days, values), resolution_ft=10.0).branches
    logs = [reference_filter(days, values, each).llf for each in branches]  # type: ignore[attr-defined] # statsmodels has no types
    weights = np.exp(np.array(logs) - max(logs))
    assert [each.weight for each in branches] == pytest.approx(weights / weights.sum(), rel=1e-3)


def test_forecast_without_wander_is_the_prediction_of_a_regression() -> None:
    """Without wander, the span on a day is statsmodels' interval of a straight line."""
    from statsmodels.regression.linear_model import OLS
    from statsmodels.tools.tools import add_constant

    days, values = airframe(13, 24)
    course = steady(fit_course(as_points(days, values), resolution_ft=10.0))
    frame = OLS(values, add_constant(np.array(days))).fit().get_prediction([[1.0, days[-1] + 60.0]])
    expected = frame.summary_frame(alpha=0.10).iloc[0]
    at = course.last_at + timedelta(days=60)
    mean, one = difference_at(course, at), difference_at(course, at, one_reading=True)
    assert mean.likely == pytest.approx(expected["mean"], abs=1e-6)
    assert mean.low == pytest.approx(expected["mean_ci_lower"], abs=1e-6)
    assert mean.high == pytest.approx(expected["mean_ci_upper"], abs=1e-6)
    assert one.low == pytest.approx(expected["obs_ci_lower"], abs=1e-6)
    assert one.high == pytest.approx(expected["obs_ci_upper"], abs=1e-6)


def test_certain_line_reaches_the_tolerance_when_it_does() -> None:
    """A course known exactly reaches the tolerance at the distance over the slope."""
    forecast = reach(certain(level_ft=20.0, slope_ft=0.5), 200.0)
    assert forecast.days.low == pytest.approx(360.0, rel=1e-6)
    assert forecast.days.high == pytest.approx(360.0, rel=1e-6)
    assert forecast.flights.likely == pytest.approx(180.0, rel=0.02)
    assert forecast.likely_at is not None
    assert abs(forecast.likely_at - (START + timedelta(days=360))) < timedelta(minutes=1)
    falling = reach(certain(level_ft=20.0, slope_ft=-0.5), 200.0)
    assert falling.days.likely == pytest.approx(440.0, rel=1e-6)


@pytest.mark.parametrize(("slope", "wander"), [(0.5, 30.0), (0.2, 5.0), (0.05, 20.0)])
def test_wandering_course_follows_the_inverse_gaussian_law(slope: float, wander: float) -> None:
    """Passage of a known drift with wander has the quantiles of scipy's inverse Gaussian."""
    from scipy import stats

    course = certain(level_ft=0.0, slope_ft=slope, wander_var=wander)
    found = reach(course, 150.0).days
    mean, shape = 150.0 / slope, 150.0**2 / wander
    law = stats.invgauss(mean / shape, scale=shape)
    for quantile, share in ((found.low, 0.05), (found.likely, 0.5), (found.high, 0.95)):
        assert law.cdf(quantile) == pytest.approx(share, abs=0.012)


def test_course_that_drifts_away_may_never_arrive() -> None:
    """Only the side towards which it drifts is reached for certain; the other mostly never."""
    course = certain(level_ft=0.0, slope_ft=-0.5, wander_var=10.0)
    found = reach(course, 100.0)
    assert 150.0 < found.days.likely < 250.0
    still = reach(certain(level_ft=0.0, slope_ft=0.0), 100.0)
    assert still.days.low > 1e9
    assert (still.earliest_at, still.likely_at, still.latest_at) == (None, None, None)
    assert still.flights.low > 1e8


def test_wander_alone_follows_the_law_of_levy() -> None:
    """Without drift, passage of one side has the quantiles of scipy's Levy law."""
    from scipy import stats

    course = certain(level_ft=0.0, slope_ft=0.0, wander_var=4.0)
    law = stats.levy(scale=100.0**2 / 4.0)
    assert law.cdf(reach(course, 100.0).days.likely) == pytest.approx(0.5, abs=0.012)


def test_tolerance_reached_already_is_reached_now() -> None:
    """A difference beyond the tolerance has no days left."""
    forecast = reach(certain(level_ft=-230.0, slope_ft=0.1), 200.0)
    assert forecast.days.high == 0.0
    assert forecast.flights.high == 0.0
    assert forecast.latest_at == START


def test_difference_beyond_all_calendars_has_no_date() -> None:
    """A passage centuries ahead is given no date."""
    forecast = reach(certain(level_ft=0.0, slope_ft=0.0015), 200.0)
    assert 365 * 300 < forecast.days.likely < 365 * 400
    assert forecast.likely_at is None


@pytest.mark.parametrize("seed", [14, 18, 19])
def test_chance_of_being_beyond_is_that_of_scipys_mixture(seed: int) -> None:
    """Probabilities beyond a tolerance are scipy's, and agree with the quantiles forecast."""
    from scipy import stats

    days, values = airframe(seed, 40)
    course = fit_course(as_points(days, values), resolution_ft=10.0)
    ahead = 200.0
    at = course.last_at + timedelta(days=ahead)
    span = difference_at(course, at)
    for tolerance in (0.5, abs(span.likely) - 0.1, abs(span.likely) + 0.1, 60.0, 200.0):
        above = below = 0.0
        for branch in course.branches:
            variance = branch.level_var + branch.wander * ahead
            variance += ahead * (2.0 * branch.covariance + ahead * branch.slope_var)
            law = stats.t(
                course.count - 2,
                branch.level_ft + ahead * branch.slope_ft_per_day,
                branch.sigma_ft * math.sqrt(variance),
            )
            above += branch.weight * float(law.sf(tolerance))
            below += branch.weight * float(law.cdf(-tolerance))
        chance = chance_beyond(course, at, tolerance)
        assert chance.above == pytest.approx(above, rel=1e-9)
        assert chance.below == pytest.approx(below, rel=1e-9)
        assert chance.likely == (abs(span.likely) > tolerance)
        assert chance.possible == (max(abs(span.low), abs(span.high)) > tolerance)


@pytest.mark.parametrize("wander_ft", [0.0, 30.0])
@pytest.mark.parametrize("seed", [14, 18, 19, 20])
def test_likely_beyond_is_what_scipys_mixture_says(seed: int, wander_ft: float) -> None:
    """Far from the tolerance and about it, where the parts of the mixture do not agree."""
    from scipy import stats

    course = fit_course(
        as_points(*airframe(seed, 40, slope_ft=-60.0, wander_ft=wander_ft)), resolution_ft=10.0
    )
    divided, possible = 0, []
    for ahead in (0.0, 1.0, 90.0, 400.0, 3653.0):
        at = course.last_at + timedelta(days=ahead)
        middles = [each.level_ft + ahead * each.slope_ft_per_day for each in course.branches]
        spread = max(middles) - min(middles)
        about = sorted(abs(middle) for middle in middles)
        tried = [about[0] - 0.3 * spread - 1.0, *about, about[-1] + 0.3 * spread + 1.0]
        tried += [about[0] + share * (about[-1] - about[0]) for share in (0.2, 0.5, 0.8)]
        span = difference_at(course, at)
        end = max(abs(span.low), abs(span.high))
        tried += [end + share * (end - about[-1]) for share in (-0.5, -0.1, -0.01, 0.01, 0.1, 1.0)]
        for tolerance in (each for each in tried if each > 0.0):
            sides = [0.0, 0.0]
            for branch, middle in zip(course.branches, middles, strict=True):
                variance = branch.level_var + branch.wander * ahead
                variance += ahead * (2.0 * branch.covariance + ahead * branch.slope_var)
                law = stats.t(course.count - 2, middle, branch.sigma_ft * math.sqrt(variance))
                sides[0] += branch.weight * float(law.cdf(-tolerance))
                sides[1] += branch.weight * float(law.sf(tolerance))
            divided += about[0] < tolerance < about[-1]
            if abs(max(sides) - 0.5) > 1e-9:
                assert likely_beyond(course, at, tolerance) == (max(sides) > 0.5)
            if abs(max(sides) - 0.05) > 1e-9:
                assert possibly_beyond(course, at, tolerance) == (max(sides) > 0.05)
                possible.append(max(sides) > 0.05)
    assert divided > 5  # the parts did not always agree
    assert {True, False} == set(possible)


def test_altimeters_that_change_places_turn_the_forecast() -> None:
    """Exchanging the altimeters turns the forecast of the difference and leaves that of the day."""
    days, values = airframe(14, 40)
    course = fit_course(as_points(days, values), resolution_ft=10.0)
    turned = fit_course(as_points(days, [-value for value in values]), resolution_ft=10.0)
    at = course.last_at + timedelta(days=90)
    span, other = difference_at(course, at), difference_at(turned, at)
    assert other.high == pytest.approx(-span.low, abs=1e-5)
    assert other.low == pytest.approx(-span.high, abs=1e-5)
    assert reach(turned, 200.0).days.likely == pytest.approx(
        reach(course, 200.0).days.likely, rel=0.05
    )
    assert turned.level_ft == pytest.approx(-course.level_ft)
    assert turned.slope_ft_per_day == pytest.approx(-course.slope_ft_per_day)


def test_equal_records_give_equal_forecasts() -> None:
    """Nothing is drawn by chance: the same readings in any order give the same forecast."""
    series = as_points(*airframe(15, 30))
    course = fit_course(series, resolution_ft=10.0)
    again = fit_course(series[::-1], resolution_ft=10.0)
    assert reach(course, 200.0) == reach(again, 200.0)


def test_digit_slip_moves_the_course_little() -> None:
    """One reading 1,000 ft out moves the level by far less than it would in a plain line."""
    from scipy import stats

    days, values = airframe(16, 40)
    slipped = [*values[:-3], values[-3] + 1000.0, *values[-2:]]
    clean = fit_course(as_points(days, values), resolution_ft=10.0).branches[0].level_ft
    moved = fit_course(as_points(days, slipped), resolution_ft=10.0).branches[0].level_ft
    line = stats.linregress(np.array(days) - days[-1], slipped)
    assert abs(moved - clean) < 0.2 * abs(line.intercept - clean)


@pytest.mark.parametrize("wander_ft", [0.0, 10.0])
def test_intervals_hold_as_often_as_they_say(wander_ft: float) -> None:
    """The 90 % interval of the difference 60 days ahead holds in about nine cases of ten."""
    held = 0
    for seed in range(60):
        days, values = airframe(1000 + seed, 31, slope_ft=80.0, wander_ft=wander_ft)
        course = fit_course(as_points(days[:-1], values[:-1]), resolution_ft=10.0)
        at = START + timedelta(days=days[-1])
        span = difference_at(course, at, one_reading=True)
        held += span.low - 5.0 <= values[-1] <= span.high + 5.0
    # Binomial limits of 0.1 % either side of 90 %.
    assert 46 <= held < 60


def test_course_of_nothing_is_refused() -> None:
    """Too few readings, and readings of one instant only, give no course."""
    days, values = airframe(17, FEWEST)
    with pytest.raises(InputError, match="too few"):
        fit_course(as_points(days[:-1], values[:-1]), resolution_ft=10.0)
    with pytest.raises(InputError, match="one instant"):
        fit_course(as_points([3.0] * FEWEST, values), resolution_ft=10.0)


def test_forecast_out_of_range_is_refused() -> None:
    """No tolerance of nothing, and no forecast of the past."""
    course = certain(level_ft=0.0, slope_ft=0.1)
    for tolerance in (0.0, -200.0, math.nan, math.inf):
        with pytest.raises(OutOfRangeError):
            reach(course, tolerance)
    with pytest.raises(OutOfRangeError, match="before the last reading"):
        difference_at(course, START - timedelta(days=1))
