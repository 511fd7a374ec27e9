"""The rule of drift between the altimeters: alarms, forecasts, reviews, both sides.

The tolerance is 200 ft (SPA.RVSM.105, published) or the airframe's own, tighter one. The number of
flights that the detector wants is its own (found by simulation; see tests/benchmarks).
"""

from collections.abc import Sequence
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.drift import altimeters_drifting
from rvsmlog.science.drift_log import DriftLog, extended
from rvsmlog.science.drift_readings import LoggedReading
from tests.rules.conftest import at

if TYPE_CHECKING:
    from tests.rules.conftest import Make

#: Scatter about a difference, mean zero, in the steps of the altimeters.
NOISE = (0, 20, -20, 0, 20, -20, 0, 0, 20, -20)
LAST = at("2027-03-12", "03:00")


def noisy(*stretches: tuple[int, float]) -> list[float]:
    """Give differences of flights: stretches of so many about so many feet."""
    means = [mean for count, mean in stretches for _ in range(count)]
    return [mean + NOISE[number % len(NOISE)] for number, mean in enumerate(means)]


def drift_log(differences: Sequence[float], *, level: int = 310, first: int = 1000) -> DriftLog:
    """Give the log of one flight a day, the last on 12 March 2027, entries from 1000 on."""
    start = LAST - timedelta(days=len(differences) - 1)
    readings = (
        LoggedReading(
            entry=first + number,
            taken_at=start + timedelta(days=number),
            level=level,
            primary_1_ft=31000.0 + difference,
            primary_2_ft=31000.0,
            mach=0.47,
        )
        for number, difference in enumerate(differences)
    )
    return extended(DriftLog(resolution_ft=20), readings)


def facts_of(make: "Make", *stretches: tuple[int, float], **parts: Any) -> Facts:
    """Give the healthy airframe with such a log."""
    return make.facts(drift=drift_log(noisy(*stretches)), **parts)


@pytest.mark.parametrize("drift", [None, DriftLog(resolution_ft=20)])
def test_without_readings_it_does_not_apply(make: "Make", drift: DriftLog | None) -> None:
    """Other rules ask for cross-checks."""
    says = "no cross-check in flight on record since the altimetry was disturbed"
    facts = make.facts(drift=drift)
    assert make.rows(altimeters_drifting, facts) == [("not applicable", says, None, ())]


@pytest.mark.parametrize(
    ("flights", "outcome"), [(1, "advice"), (19, "advice"), (20, "met"), (60, "met")]
)
def test_twenty_flights_are_wanted(make: "Make", flights: int, outcome: str) -> None:
    """Before, it says how many there are, and limits nothing; from then on it is met."""
    facts = facts_of(make, (flights, 10.0))
    entry = 1000 + flights - 1
    assert make.outcomes(altimeters_drifting, facts) == [(outcome, None, (entry,), None)]
    values, limits = make.numbers(altimeters_drifting, facts)[0]
    assert values == {"flights": flights}
    assert limits == ({"flights": 20} if outcome == "advice" else {})


def test_a_steady_log_is_met(make: "Make") -> None:
    """The one finding says how many flights, and where."""
    facts = facts_of(make, (60, 10.0))
    says = "no drift in 60 flights, 60 of them at FL290-329, Mach 0.5"
    assert make.rows(altimeters_drifting, facts) == [("met", says, None, (1059,))]


@pytest.mark.parametrize("step", [80.0, -80.0])
def test_a_step_raises_an_alarm(make: "Make", step: float) -> None:
    """It limits the level, says size and onset, and names the entry to be reviewed."""
    facts = facts_of(make, (60, 0.0), (15, step))
    (alarm,) = altimeters_drifting.findings(facts)
    assert (alarm.outcome, alarm.highest_level, alarm.margin) == ("not met", 280, None)
    assert alarm.values["shift_ft"] == pytest.approx(step, abs=15)
    assert alarm.values["bands"] == 1
    onset = LAST - timedelta(days=14)
    assert alarm.values["onset"] == onset.isoformat()
    (ref,) = alarm.evidence
    assert 1060 <= ref.entry <= 1066
    assert f"entry #{ref.entry}" in alarm.remedy


def test_the_earliest_alarm_leads_and_the_others_are_counted(make: "Make") -> None:
    """Two bands of levels: one finding, both entries."""
    high = drift_log(noisy((60, 0.0), (20, 80.0)), level=310)
    both = [
        LoggedReading(
            entry=3000 + 2 * number + low,
            taken_at=point.at + timedelta(minutes=60 * low),
            level=280 if low else 310,
            primary_1_ft=31000.0 + point.difference_ft,
            primary_2_ft=31000.0,
        )
        for number, point in enumerate(high.bands[0].points)
        for low in (0, 1)
    ]
    facts = make.facts(drift=extended(DriftLog(resolution_ft=20), both))
    (alarm,) = altimeters_drifting.findings(facts)
    assert alarm.highest_level == 280
    assert "2 bands in all" in alarm.says
    assert (alarm.values["bands"], len(alarm.evidence)) == (2, 2)


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(
    ("stands", "outcome", "level"),
    [(60.0, "met", None), (120.0, "met", None), (195.0, "advice", None), (210.0, "not met", 280)],
)
def test_a_forecast_beyond_the_tolerance(
    make: "Make", side: float, stands: float, outcome: str, level: int | None
) -> None:
    """No change and so no alarm, but near or beyond 200 ft: advice, or a limited level."""
    facts = facts_of(make, (60, side * stands))
    (found,) = altimeters_drifting.findings(facts)
    assert (found.outcome, found.highest_level) == (outcome, level)
    if outcome != "met":
        assert found.limits == {"tolerance_ft": 200}
        assert found.values["forecast_ft"] == pytest.approx(side * stands, abs=15)
        assert found.margin is not None
        assert found.margin.value < 0
        assert [ref.entry for ref in found.evidence] == [1059]


def test_the_airframes_own_tolerance_is_the_limit(make: "Make") -> None:
    """Of its table the tightest value within the band counts: 130 ft, and 140 ft is beyond."""
    airframe = make.airframe(primary_tolerance=((290, 130), (350, 200)))
    facts = facts_of(make, (60, 145.0), airframe=airframe)
    (found,) = altimeters_drifting.findings(facts)
    assert (found.outcome, found.highest_level) == ("not met", 280)
    assert found.limits == {"tolerance_ft": 130}


def test_a_trend_is_carried_to_the_day_of_flight(make: "Make") -> None:
    """6 ft a day for 40 days end at 150 ft: within today, beyond a month ahead."""
    rising = [noise / 4 - 90 + 6.0 * number for number, noise in enumerate(NOISE * 4)]
    log = drift_log(rising)
    limits = {}
    for days in (0, 30):
        question = make.question(at=LAST + timedelta(days=days, hours=1))
        findings = altimeters_drifting.findings(make.facts(drift=log, question=question))
        limits[days] = [each.limits.get("tolerance_ft") for each in findings if each.highest_level]
        assert "shift_ft" in findings[0].values
    assert limits[0] == [None]
    assert limits[30] == [None, 200]


def test_readings_after_the_instant_give_no_forecast(make: "Make") -> None:
    """Asked about an earlier instant, nothing is carried backwards."""
    question = make.question(at=LAST - timedelta(days=3))
    facts = make.facts(drift=drift_log(noisy((60, 210.0))), question=question)
    assert [each.outcome for each in altimeters_drifting.findings(facts)] == ["met"]


def since_review(make: "Make", differences: Sequence[float], *, accepted: bool = True) -> Facts:
    """Give facts whose log starts at a review."""
    log = drift_log(differences)
    reviewed_at = LAST - timedelta(days=len(differences))
    review = make.review(201, 1070, reviewed_at=reviewed_at, accepted=accepted)
    started = DriftLog(
        resolution_ft=20,
        since=reviewed_at,
        bands=log.bands,
        open_flight=log.open_flight,
        flights=log.flights,
    )
    return make.facts(drift=started, reviews=(review,))


def test_a_review_stands_as_advice_until_new_evidence_comes(make: "Make") -> None:
    """The accepted alarm is named with its reason; a new alarm after it limits the level again."""
    quiet = altimeters_drifting.findings(since_review(make, noisy((30, 60.0))))
    assert [(each.outcome, each.highest_level) for each in quiet] == [
        ("advice", None),
        ("met", None),
    ]
    assert quiet[0].says == "drift accepted by review #201: misread in turbulence"
    assert [ref.entry for ref in quiet[0].evidence] == [201]
    again = altimeters_drifting.findings(since_review(make, noisy((40, 60.0), (15, 150.0))))
    assert [(each.outcome, each.highest_level) for each in again][:2] == [
        ("advice", None),
        ("not met", 280),
    ]


def test_a_review_that_does_not_accept_is_no_advice(make: "Make") -> None:
    """It is not named among the findings."""
    found = altimeters_drifting.findings(since_review(make, noisy((30, 0.0)), accepted=False))
    assert [each.outcome for each in found] == ["met"]
