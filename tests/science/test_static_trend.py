"""Several flights together: the estimate, the kind of height, change, limits and power."""

import math
import random
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science.static_error import (
    NOT_HEIGHT_MONITORING,
    FlightResidual,
    HeightKind,
    SignConvention,
)
from rvsmlog.science.static_pool import KindVerdict, height_kind_evidence, pooled_error
from rvsmlog.science.static_trend import (
    ChangeVerdict,
    LimitVerdict,
    compare_periods,
    compare_with_limit,
)
from rvsmlog.science.weather_worth import WeatherSource
from tests.benchmarks import static_error_power as simulation
from tests.benchmarks.static_error_power import flights_needed

Z_99 = 2.5758293035489004  # Standard normal quantile of 0.995, from published tables.


def flight(
    number: int,
    residual_ft: float,
    *,
    sigma_ft: float = 28.0,
    undulation_ft: float = 0.0,
    weather: str = "",
    doubtful: bool = False,
    source: WeatherSource = WeatherSource.ANALYSIS,
) -> FlightResidual:
    """Make one flight's value."""
    return FlightResidual(
        flight=f"flight {number}",
        at=datetime(2027, 1, 1 + number % 28, tzinfo=UTC),
        indicated_ft=31_000,
        residual_ft=residual_ft,
        sigma_ft=sigma_ft,
        samples=5,
        undulation_ft=undulation_ft,
        height_kind=HeightKind.ELLIPSOID,
        kind_doubtful=doubtful,
        source=source,
        weather=(weather or f"weather {number}",),
    )


def season(
    mean_ft: float, count: int = 12, *, source: WeatherSource = WeatherSource.ANALYSIS
) -> tuple[FlightResidual, ...]:
    """Make flights that scatter by 20 ft about a mean, alternately."""
    return tuple(
        flight(number, mean_ft + 20 * (-1) ** number, source=source) for number in range(count)
    )


@settings(max_examples=40)
@given(
    st.lists(
        st.tuples(st.floats(-300, 300), st.sampled_from([28.0, 70.0, 110.0])),
        min_size=1,
        max_size=12,
    )
)
def test_the_weighted_mean_is_numpys(values: list[tuple[float, float]]) -> None:
    """Mean and standard deviation are those of independent values weighted by their variance."""
    pooled = pooled_error([flight(i, x, sigma_ft=s) for i, (x, s) in enumerate(values)])
    weights = np.array([1 / s**2 for _, s in values])
    assert pooled.mean_ft == pytest.approx(
        float(np.average([x for x, _ in values], weights=weights)), abs=1e-9
    )
    sigma = 1 / math.sqrt(weights.sum())
    if pooled.widened:
        assert pooled.spread_ratio is not None
        sigma *= pooled.spread_ratio
    assert pooled.sigma_ft == pytest.approx(sigma)
    assert pooled.high_ft - pooled.mean_ft == pytest.approx(Z_99 * sigma)
    assert pooled.independent == pooled.flights == len(values)
    assert pooled.sign is SignConvention.HIGHER_IS_POSITIVE
    assert pooled.caution == NOT_HEIGHT_MONITORING


@pytest.mark.parametrize("count", [2, 6, 21, 61])
@pytest.mark.parametrize(("factor", "widened"), [(0.97, False), (1.03, True)])
def test_too_much_scatter_widens_the_interval(count: int, factor: float, widened: bool) -> None:
    """Scatter past 99 per cent of scipy's chi-squared widens the interval by the ratio."""
    from scipy import stats

    squares = factor * float(stats.chi2.ppf(0.99, count - 1))
    # Two opposite values carry the whole sum of squares.
    half = 28.0 * math.sqrt(squares / 2)
    values = [half, -half, *[0.0] * (count - 2)]
    pooled = pooled_error([flight(i, value) for i, value in enumerate(values)])
    assert pooled.widened is widened
    assert pooled.spread_ratio == pytest.approx(math.sqrt(squares / (count - 1)))


def test_shared_flight_and_weather_count_once() -> None:
    """Two segments of a flight, and two flights with one analysis, are one piece of evidence."""
    alone = flight(1, 100.0)
    same_flight = replace(alone, residual_ft=140.0, weather=("other",))
    pooled = pooled_error([alone, same_flight])
    assert (pooled.flights, pooled.independent) == (2, 1)
    assert (pooled.mean_ft, pooled.sigma_ft) == pytest.approx((120.0, 28.0))
    assert pooled.spread_ratio is None
    same_weather = [flight(i, 100.0 + i, weather="00Z analysis") for i in range(6)]
    pooled = pooled_error([*same_weather, flight(9, 90.0)])
    assert (pooled.flights, pooled.independent) == (7, 2)
    assert pooled.sigma_ft == pytest.approx(28 / math.sqrt(2))


def test_chains_of_shared_weather_count_once() -> None:
    """Flights linked by others' soundings are one group, in whatever order they come."""
    chain = [
        replace(flight(1, 0.0), weather=("a", "b")),
        replace(flight(2, 0.0), weather=("c", "d")),
        replace(flight(3, 0.0), weather=("b", "c")),
    ]
    assert pooled_error(chain).independent == 1
    assert pooled_error(list(reversed(chain))).independent == 1
    assert pooled_error(chain[:2]).independent == 2


def test_a_shared_group_has_its_worst_weather() -> None:
    """Averaging what shares its weather never makes it better than its worst member."""
    group = [flight(1, 0.0, weather="x"), flight(2, 0.0, weather="x", sigma_ft=110.0)]
    assert pooled_error(group).sigma_ft == pytest.approx(110.0)


@pytest.mark.parametrize("confidence", [0.0, 1.0, -0.5, math.nan])
def test_impossible_confidence_is_refused(confidence: float) -> None:
    """Confidence lies between 0 and 1, and there is no estimate from no flight."""
    with pytest.raises(OutOfRangeError, match="confidence"):
        pooled_error([flight(1, 0.0)], confidence=confidence)
    with pytest.raises(InputError, match="no flight"):
        pooled_error([])


UNDULATIONS_FT = (-340.0, -150.0, -20.0, 60.0, 110.0, 220.0, 270.0)


def travelled(share: float, error_ft: float = 0.0, noise_ft: float = 0.0) -> list[FlightResidual]:
    """Fly over many undulations, with a share of the undulation in the residual."""
    rng = random.Random(5)
    return [
        flight(i, error_ft - share * n + rng.gauss(0, noise_ft), undulation_ft=n)
        for i, n in enumerate(UNDULATIONS_FT)
    ]


@pytest.mark.parametrize("error", [-150.0, 0.0, 150.0])
def test_the_kind_of_height_shows_over_many_regions(error: float) -> None:
    """Residuals that follow the undulation prove the other kind, whatever the static error."""
    right, wrong = (height_kind_evidence(travelled(share, error)) for share in (0.0, 1.0))
    assert right.share == pytest.approx(0, abs=1e-9)
    assert wrong.share == pytest.approx(1, abs=1e-9)
    assert (right.verdict, wrong.verdict) == (KindVerdict.RIGHT, KindVerdict.WRONG)


def test_the_share_is_scipys_slope() -> None:
    """With equal weights the share is the slope that scipy's regression finds."""
    from scipy import stats

    flown = travelled(0.4, 30.0, noise_ft=28.0)
    slope = stats.linregress([-x.undulation_ft for x in flown], [x.residual_ft for x in flown])
    assert height_kind_evidence(flown).share == pytest.approx(float(slope.slope))


def test_the_share_counts_the_stated_kind() -> None:
    """Stated above mean sea level, the other kind shows with the opposite sign."""
    flown = [
        replace(one, height_kind=HeightKind.MEAN_SEA_LEVEL, residual_ft=-one.residual_ft)
        for one in travelled(1.0)
    ]
    assert height_kind_evidence(flown).verdict is KindVerdict.WRONG


def test_one_region_does_not_tell_the_kind() -> None:
    """Where the undulation is much the same everywhere, the flights do not tell."""
    flown = [flight(i, 100.0, undulation_ft=-100.0 + i) for i in range(9)]
    assert height_kind_evidence(flown).verdict is KindVerdict.CANNOT_TELL
    assert height_kind_evidence(flown).share is None
    assert height_kind_evidence(flown[:1]).verdict is KindVerdict.CANNOT_TELL


@pytest.mark.parametrize("share", [-2.0, 0.5, 3.0])
def test_a_share_that_is_neither_does_not_tell(share: float) -> None:
    """Residuals that follow the undulation as neither kind would leave the kind open."""
    evidence = height_kind_evidence(travelled(share))
    assert evidence.share == pytest.approx(share)
    assert evidence.verdict is KindVerdict.CANNOT_TELL


def test_a_doubtful_kind_is_no_pass() -> None:
    """With the kind of height in doubt, neither limit nor change is answered."""
    doubtful = [flight(i, 100.0, undulation_ft=-100.0, doubtful=True) for i in range(9)]
    pooled = pooled_error(doubtful)
    assert pooled.doubtful == tuple(f"flight {i}" for i in range(9))
    assert not pooled.kind_settled
    for limit in (50, 200):
        compared = compare_with_limit(pooled, limit)
        assert compared.verdict is LimitVerdict.CANNOT_TELL
        assert "other kind" in compared.reason
    assert compare_periods(season(0), doubtful).verdict is ChangeVerdict.CANNOT_TELL
    assert compare_periods(doubtful, season(0)).verdict is ChangeVerdict.CANNOT_TELL


def test_a_proven_kind_settles_doubts() -> None:
    """Where many regions prove the stated kind, one doubtful flight does not stop the answer."""
    flown = [replace(one, kind_doubtful=i == 0) for i, one in enumerate(travelled(0.0))]
    pooled = pooled_error(flown)
    assert pooled.kind_settled
    assert compare_with_limit(pooled, 200).verdict is LimitVerdict.WITHIN
    wrong = pooled_error(travelled(1.0))
    assert wrong.doubtful == ()
    assert compare_with_limit(wrong, 200).verdict is LimitVerdict.CANNOT_TELL


@pytest.mark.parametrize(
    ("mean", "limit", "verdict"),
    [
        (0, 200, LimitVerdict.WITHIN),
        (150, 200, LimitVerdict.WITHIN),
        (-150, 200, LimitVerdict.WITHIN),
        (190, 200, LimitVerdict.CANNOT_TELL),
        (-210, 200, LimitVerdict.CANNOT_TELL),
        (230, 200, LimitVerdict.BEYOND),
        (-230, 200, LimitVerdict.BEYOND),
        (230, 245, LimitVerdict.CANNOT_TELL),
        (0, 10, LimitVerdict.CANNOT_TELL),
    ],
)
def test_a_limit_is_met_by_the_whole_interval(
    mean: float, limit: float, verdict: LimitVerdict
) -> None:
    """Within or beyond is said only where the whole interval lies there (200 and 245 ft: App G)."""
    compared = compare_with_limit(pooled_error(season(mean)), limit)
    # Twelve analyses: 28/sqrt(12) times 2.576 is 20.8 ft either way.
    assert compared.verdict is verdict
    assert bool(compared.reason) is (verdict is LimitVerdict.CANNOT_TELL)


@pytest.mark.parametrize("bad", [0.0, -200.0, math.nan, math.inf])
def test_an_impossible_limit_is_refused(bad: float) -> None:
    """A limit is a positive number of feet."""
    with pytest.raises(OutOfRangeError, match="limit"):
        compare_with_limit(pooled_error(season(0)), bad)


@pytest.mark.parametrize(
    ("later", "verdict"),
    [(40, ChangeVerdict.CHANGED), (-40, ChangeVerdict.CHANGED), (25, ChangeVerdict.NOT_SEEN)],
)
def test_a_change_between_two_periods(later: float, verdict: ChangeVerdict) -> None:
    """A change, later less before, is called past 2.576 standard deviations of the difference."""
    change = compare_periods(season(10), season(10 + later))
    sigma = 28 * math.sqrt(2 / 12)
    assert change.change_ft == pytest.approx(later)
    assert change.sigma_ft == pytest.approx(sigma)
    assert (change.low_ft, change.high_ft) == pytest.approx(
        (later - Z_99 * sigma, later + Z_99 * sigma)
    )
    # The quantiles of 99.5 and 95 per cent, from published tables.
    assert change.visible_ft == pytest.approx((Z_99 + 1.6448536269514722) * sigma)
    assert change.verdict is verdict


def test_own_climbs_show_change_only() -> None:
    """The probe's own error cancels between own climbs, and nowhere else."""
    own = WeatherSource.OWN_CLIMB
    compared = compare_with_limit(pooled_error(season(0, source=own)), 200)
    assert compared.verdict is LimitVerdict.CANNOT_TELL
    assert "probe" in compared.reason
    alike = compare_periods(season(0, source=own), season(100, source=own))
    assert alike.verdict is ChangeVerdict.CHANGED
    for mixed in (
        compare_periods(season(0, source=own), season(100)),
        compare_periods(season(0), season(100, source=own)),
    ):
        assert mixed.verdict is ChangeVerdict.CANNOT_TELL
        assert "mixed" in mixed.reason


# Flights that show 100 ft (two-sided 1 %, power 95 %, known baseline): working figures, common
# practice, no source.
@pytest.mark.parametrize(("sigma_ft", "flights"), [(28, 2), (50, 5), (70, 9), (90, 15), (110, 22)])
def test_flights_that_show_100_ft(sigma_ft: float, flights: int) -> None:
    """The benchmark flies as many as the working figures say."""
    assert flights_needed(sigma_ft, 100) == flights


def test_an_uncertain_baseline_needs_more_flights() -> None:
    """With the mean before the shift uncertain, more flights are needed, or none suffice."""
    known, twenty = (
        flights_needed(70, 100, baseline_sigma_ft=b) for b in (0.0, 70 / math.sqrt(20))
    )
    assert known == 9
    # 1/n = (100 / (4.2207 * 70))^2 - 1/20, so n = 15.5 (derived).
    assert twenty == 16
    assert flights_needed(110, 100, baseline_sigma_ft=110 / math.sqrt(20)) is None


@pytest.mark.parametrize("sigma", [28, 50, 70, 90, 110])
@pytest.mark.parametrize("shift", [50, 100, 200])
@pytest.mark.parametrize(("false_alarm", "power"), [(0.01, 0.95), (0.05, 0.8), (0.001, 0.9)])
def test_flights_needed_agree_with_statsmodels(
    sigma: float, shift: float, false_alarm: float, power: float
) -> None:
    """By the reference library that many flights reach the power, and one fewer does not."""
    from statsmodels.stats.power import NormalIndPower

    count = flights_needed(sigma, shift, false_alarm=false_alarm, power=power)
    assert count is not None
    reached, short = (
        NormalIndPower().power(shift / sigma, flights, false_alarm, ratio=0)
        for flights in (count, max(count - 1, 0.01))
    )
    assert short < power <= reached


@pytest.mark.parametrize(
    ("source", "error", "count"),
    [
        (WeatherSource.ANALYSIS, 50, 6),
        (WeatherSource.ANALYSIS, 100, 2),
        (WeatherSource.SOUNDING, 100, 9),
        (WeatherSource.SOUNDING, 200, 3),
        (WeatherSource.FORECAST, 200, 6),
    ],
)
def test_injected_errors_are_found(source: WeatherSource, error: float, count: int) -> None:
    """Errors injected into simulated flights are seen in the flights that power calls for.

    Two hundred repetitions: 95 per cent wanted, of which chance takes at most 5 (three standard
    deviations); one false alarm in a hundred, of which chance makes at most 7 in 200.
    """
    assert simulation.seen_share(source, error, count, 200, seed=11) >= 0.90
    assert simulation.seen_share(source, -error, count, 200, seed=12) >= 0.90
    assert simulation.seen_share(source, 0.0, count, 200, seed=13) <= 0.035


def test_too_few_flights_miss_it() -> None:
    """With a third of the flights, an error is missed more often than not."""
    assert simulation.seen_share(WeatherSource.SOUNDING, 100.0, 3, 200, seed=14) < 0.5
    # By the normal distribution: 100 sqrt(3) / 70 = 2.47, below 2.576.


def test_a_change_is_found_after_an_unknown_error() -> None:
    """A change of 100 ft is seen after twenty flights with a constant error of unknown size."""
    counts = (20, 16)
    assert simulation.change_share(WeatherSource.SOUNDING, 100.0, counts, 100, seed=15) >= 0.88
    assert simulation.change_share(WeatherSource.SOUNDING, 0.0, counts, 100, seed=16) <= 0.04
