"""Air that is contaminated: what the crew's oxygen must last for, and at which setting."""

from typing import Any

import pytest

from rvsmlog.rules.oxygen_contaminated import contaminated_air_oxygen_short
from tests.rules.test_oxygen import MAKE, facts


@pytest.mark.parametrize(
    ("litres", "outcome", "highest", "margin"),
    [(160.0, "met", None, 0), (159.0, "not met", 0, -1)],
)
def test_contaminated_air_is_counted_at_100_per_cent_whatever_the_level(
    litres: float, outcome: str, highest: int | None, margin: int
) -> None:
    """Twenty minutes at 8 l/min; no level helps."""
    known = facts(litres, flight={"contaminated_minutes": 20, "passengers": 0}, level=100)
    assert MAKE.outcomes(contaminated_air_oxygen_short, known) == [
        (outcome, highest, (62, 63), margin)
    ]


EMERGENCY = {"contaminated_minutes": 20, "contaminated_mode": "emergency", "passengers": 0}


MODES = ("normal", "100-percent", "emergency")


@pytest.mark.parametrize(
    ("litres", "fitted", "outcome", "says"),
    [
        (
            200.0,
            {"crew_modes": MODES, "crew_emergency_flow": ((50, 10000), (410, 10000))},
            "met",
            "200 l needed",
        ),
        (
            199.0,
            {"crew_modes": MODES, "crew_emergency_flow": ((50, 10000), (410, 10000))},
            "not met",
            "200 l needed",
        ),
        (9_000.0, {"crew_modes": MODES}, "not on record", "no rule states the oxygen flow"),
        (9_000.0, {}, "not met", "no emergency position"),
    ],
)
def test_contaminated_air_in_the_emergency_position(
    litres: float, fitted: dict[str, Any], outcome: str, says: str
) -> None:
    """Twenty minutes at 10 l/min; no rule states that flow, so it must be on record."""
    (finding,) = contaminated_air_oxygen_short.findings(
        facts(litres, fitted=fitted, flight=EMERGENCY)
    )
    assert str(finding.outcome) == outcome
    assert finding.highest_level == (None if outcome == "met" else 0)
    assert says in finding.says


@pytest.mark.parametrize(
    ("parts", "outcome", "says"),
    [
        ({"oxygen": ()}, "not on record", "no oxygen for the crew on record"),
        ({"oxygen_readings": ()}, "not on record", "no oxygen for the crew on record"),
        (
            {"oxygen": (MAKE.oxygen_fitted(crew_modes=("normal",)),)},
            "not met",
            "no 100 % position",
        ),
        (
            {"oxygen": (MAKE.oxygen_fitted(crew_full_flow=((100, 8000), (410, 8000))),)},
            "not on record",
            "no oxygen flow at 8,000 ft",
        ),
        (
            {"oxygen": (MAKE.oxygen_fitted(crew_full_flow=((50, 8), (410, 8))),)},
            "not on record",
            "0.008 l/min at 8,000 ft for crew, 100 %, is less than the 0.322 l/min",
        ),
    ],
)
def test_contaminated_air_without_evidence_leaves_no_flight(
    parts: dict[str, Any], outcome: str, says: str
) -> None:
    """What is asked and cannot be shown is not met; a table must reach down to 8,000 ft."""
    question = MAKE.question(flight=MAKE.flight_data(contaminated_minutes=20))
    (finding,) = contaminated_air_oxygen_short.findings(MAKE.facts(question=question, **parts))
    assert (str(finding.outcome), finding.highest_level) == (outcome, 0)
    assert says in finding.says


def test_contaminated_air_that_nobody_asks_does_not_apply() -> None:
    """No minutes, no question."""
    assert MAKE.outcomes(contaminated_air_oxygen_short, MAKE.facts()) == [
        ("not applicable", None, (), None)
    ]
