"""Trends, run lengths and Student's t against published examples and reference libraries."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science.drift_trend import least_squares
from rvsmlog.science.student import t_probability, t_quantile
from tests.benchmarks.run_length import run_length

# NIST Statistical Reference Datasets, linear regression, "Norris" (observed y, x); published.
NORRIS = """
0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5  668.5 666.3  998.5 996.3
449.1 448.6  778.9 777.0  559.2 558.2  0.3 0.4  0.1 0.6  778.1 775.5  668.8 666.9  339.3 338.0
448.9 447.5  10.8 11.6  557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3
0.6 0.3  557.6 556.8  339.3 339.1  888.0 887.2  998.5 999.0  778.9 779.0  10.2 11.1  117.6 118.3
228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
"""
# Its certified values; published.
NORRIS_CERTIFIED = {
    "intercept": -0.262323073774029,
    "intercept_sd": 0.232818234301152,
    "slope": 1.00211681802045,
    "slope_sd": 0.000429796848199937,
    "residual_sd": 0.884796396144373,
    "r_squared": 0.999993745883712,
}
# Average run length of the two-sided tabular sum, k 0.5, h 5, by shift in sigma (Montgomery,
# Introduction to Statistical Quality Control; from memory).
RUN_LENGTHS = {
    0.0: "465",
    0.25: "139",
    0.5: "38.0",
    0.75: "17.0",
    1.0: "10.4",
    1.5: "5.75",
    2.0: "4.01",
    2.5: "3.11",
    3.0: "2.57",
    4.0: "2.01",
}
LINES = st.lists(
    st.tuples(st.integers(0, 40), st.integers(-10, 10)), min_size=5, max_size=40
).filter(lambda rows: len({x for x, _ in rows}) > 2)


def norris() -> tuple[list[float], list[float]]:
    """Give x and y of the Norris data."""
    numbers = [float(word) for word in NORRIS.split()]
    return numbers[1::2], numbers[0::2]


@pytest.mark.parametrize(("name", "certified"), NORRIS_CERTIFIED.items())
def test_line_of_certified_data(name: str, certified: float) -> None:
    """Least squares meet the certified values of NIST's Norris data to nine digits."""
    assert getattr(least_squares(*norris()), name) == pytest.approx(certified, rel=1e-9)


@given(rows=LINES)
@settings(max_examples=40, deadline=None)
def test_line_agrees_with_scipy(rows: list[tuple[int, int]]) -> None:
    """Slope, intercept, their deviations and the interval agree with scipy's regression."""
    from scipy import stats

    x, y = [float(a) for a, _ in rows], [float(b) for _, b in rows]
    ours, theirs = least_squares(x, y), stats.linregress(x, y)
    half = stats.t.ppf(0.95, len(x) - 2) * theirs.stderr
    assert ours.slope == pytest.approx(theirs.slope, abs=1e-9)
    assert ours.intercept == pytest.approx(theirs.intercept, abs=1e-8)
    assert ours.slope_sd == pytest.approx(theirs.stderr, rel=1e-7, abs=1e-9)
    assert ours.intercept_sd == pytest.approx(theirs.intercept_stderr, rel=1e-7, abs=1e-8)
    assert ours.slope_high == pytest.approx(theirs.slope + half, rel=1e-7, abs=1e-8)
    assert ours.slope_low == pytest.approx(theirs.slope - half, rel=1e-7, abs=1e-8)


def test_level_readings_have_no_slope() -> None:
    """Readings that all agree give a slope of zero and take up no variation."""
    line = least_squares([0.0, 1.0, 5.0], [20.0, 20.0, 20.0])
    assert (line.slope, line.r_squared, line.slope_sd) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("x", "y", "says"),
    [
        ([0.0, 1.0], [1.0, 2.0], "too few"),
        ([1.0, 1.0, 1.0], [1.0, 2.0, 3.0], "one instant"),
        ([1.0, 2.0, 3.0], [1.0, 2.0], "differences"),
    ],
)
def test_trend_of_nothing_is_refused(x: list[float], y: list[float], says: str) -> None:
    """Too few readings, readings of one instant, and unequal lists are errors."""
    with pytest.raises(InputError, match=says):
        least_squares(x, y)


def chain_run_length(shift: float, allowance: float, limit: float, states: int = 150) -> float:
    """Give the run length of the two-sided sum by a Markov chain.

    Brook and Evans, Biometrika 59 (1972), from memory: the sum's range is cut into cells, each
    moves by the normal distribution, and the mean time to leave solves a linear system.
    """
    from scipy import stats

    width = 2.0 * limit / (2.0 * states - 1.0)
    inverse = 0.0
    for mean in (shift - allowance, -shift - allowance):
        edges = (np.arange(states)[None, :] + 0.5 - np.arange(states)[:, None]) * width
        upper = stats.norm.cdf(edges - mean)
        moves = np.diff(upper, axis=1, prepend=0.0)
        moves[:, 0] = upper[:, 0]
        inverse += 1.0 / float(np.linalg.solve(np.eye(states) - moves, np.ones(states))[0])
    return 1.0 / inverse


@pytest.mark.parametrize(("shift", "printed"), RUN_LENGTHS.items())
def test_run_length_by_markov_chain_and_by_approximation(shift: float, printed: str) -> None:
    """A Markov chain gives the printed table; the approximation is as close to it as it says."""
    exact = chain_run_length(shift, 0.5, 5.0)
    digits = len(printed.partition(".")[2])
    assert exact == pytest.approx(float(printed), abs=0.51 * 10.0**-digits)
    within = 0.04 if shift <= 2.0 else 0.15
    assert run_length(shift, allowance=0.5, limit=5.0) == pytest.approx(exact, rel=within)


@pytest.mark.parametrize(("length", "limit"), [(370, 4.77), (1000, 5.76), (2000, 6.45)])
def test_limits_for_round_run_lengths(length: float, limit: float) -> None:
    """Limits commonly used with an allowance of 0.5 give their run lengths (from memory)."""
    assert run_length(0.0, allowance=0.5, limit=limit) == pytest.approx(length, rel=0.02)
    assert chain_run_length(0.0, 0.5, limit) == pytest.approx(length, rel=0.02)


def test_run_length_where_shift_equals_allowance() -> None:
    """Where a sum neither climbs nor falls its run length is the square of its way, one side."""
    found = run_length(0.5, allowance=0.5, limit=5.0)
    close = run_length(0.5 + 1e-6, allowance=0.5, limit=5.0)
    assert found == pytest.approx((5.0 + 1.166) ** 2, rel=0.01)
    assert found == pytest.approx(close, rel=1e-4)
    assert math.isfinite(run_length(0.0, allowance=50.0, limit=50.0))


@pytest.mark.parametrize(("allowance", "limit"), [(0.5, 0.0), (-0.1, 5.0), (0.5, math.nan)])
def test_run_length_refuses_what_is_no_scheme(allowance: float, limit: float) -> None:
    """A limit that is not positive and a negative allowance are errors."""
    with pytest.raises(OutOfRangeError):
        run_length(0.0, allowance=allowance, limit=limit)


@given(t=st.floats(-40.0, 40.0), freedom=st.integers(1, 300))
@settings(max_examples=80, deadline=None)
def test_student_agrees_with_scipy(t: float, freedom: int) -> None:
    """Probabilities of Student's t agree with scipy's to twelve digits."""
    from scipy import stats

    assert t_probability(t, freedom) == pytest.approx(stats.t.cdf(t, freedom), rel=1e-9, abs=1e-12)


@given(probability=st.floats(0.001, 0.999), freedom=st.integers(1, 300))
@settings(max_examples=40, deadline=None)
def test_student_quantile_agrees_with_scipy(probability: float, freedom: int) -> None:
    """Quantiles of Student's t agree with scipy's."""
    from scipy import stats

    expected = stats.t.ppf(probability, freedom)
    assert t_quantile(probability, freedom) == pytest.approx(expected, rel=1e-8, abs=1e-9)


def test_student_at_its_ends() -> None:
    """Infinite values are certain; what is no probability or no distribution is refused."""
    assert (t_probability(-math.inf, 5), t_probability(math.inf, 5)) == (0.0, 1.0)
    for probability in (0.0, 1.0, math.nan):
        with pytest.raises(OutOfRangeError):
            t_quantile(probability, 5)
    for freedom in (0.0, -1.0, math.nan):
        with pytest.raises(OutOfRangeError):
            t_probability(1.0, freedom)
