"""The cabin at the planned level: 10,000 ft (the former 23.841(b)(6)), the standard atmosphere."""

from typing import Any

import pytest

from rvsmlog.rules.cabin import cabin_altitude_too_high, cabin_altitude_warning_inoperative
from tests.rules.conftest import Make


@pytest.mark.parametrize(
    ("psi", "level", "outcome", "highest", "cabin_ft"),
    [
        # Derived from the standard atmosphere: 6.5 psi make 8,597 ft at FL310, 5.75 psi 8,947 ft
        # at FL280. 10,000 ft are 10.10647 psi; FL300 is 4.36412, FL310 4.16906: 5.742 psi hold it
        # at FL300, 5.937 at FL310. A foot is 0.00038 psi there.
        (6.5, 310, "met", None, 8598),
        (5.75, 280, "met", 300, 8948),
        (5.938, 310, "met", None, 10000),
        (5.937, 310, "not met", 309, 10002),
        (5.743, 300, "met", 300, 9999),
        (5.742, 301, "not met", 299, None),
    ],
)
def test_10_000_ft_is_the_limit(
    make: Make, psi: float, level: int, outcome: str, highest: int | None, cabin_ft: int | None
) -> None:
    """The level that remains is the highest at which the cabin stays there, and is always said."""
    facts = make.facts(
        airframe=make.airframe(max_differential_psi=psi), question=make.question(level=level)
    )
    (finding,) = cabin_altitude_too_high.findings(facts)
    assert (str(finding.outcome), finding.highest_level) == (outcome, highest)
    if cabin_ft is not None:
        assert abs(int(str(finding.values["cabin_ft"])) - cabin_ft) <= 1


def test_6_2_psi_keep_10_000_ft_up_to_fl310(make: Make) -> None:
    """Common practice, no source; the margin says by how much."""
    (finding,) = cabin_altitude_too_high.findings(make.facts())
    assert str(finding.outcome) == "met"
    assert finding.margin is not None
    assert finding.margin.value == pytest.approx(662, abs=1)
    assert finding.says == "cabin 9,338 ft at FL310 with 6.2 psi (airframe), limit 10,000 ft"


def test_without_a_differential_the_cabin_may_be_as_high_as_the_aeroplane(make: Make) -> None:
    """Not on record: FL100 remains, or nothing where the flight may not go so low."""
    airframe = make.airframe(max_differential_psi=None)
    facts = make.facts(airframe=airframe)
    row = ("not on record", 100, (1,), None)
    assert make.outcomes(cabin_altitude_too_high, facts) == [row]
    flight = make.flight_data(hold_level=140, hold_minutes=10)
    facts = make.facts(airframe=airframe, question=make.question(flight=flight))
    assert make.outcomes(cabin_altitude_too_high, facts)[0][:2] == ("not on record", 0)
    low = make.airframe(max_differential_psi=None, highest_level=100)
    assert make.outcomes(cabin_altitude_too_high, make.facts(airframe=low))[0][0] == (
        "not applicable"
    )


def test_the_lowest_differential_counts(make: Make) -> None:
    """What is said of the day, or a deferral states, lowers the airframe's and never raises it."""
    defect = make.defect(200, function="cabin-pressure-control")
    deferral = make.deferral(201, 200, max_differential_psi=5.0)
    case = make.case(defect, deferral=deferral)

    def ground(day: float | None, *cases: Any) -> tuple[object, tuple[int, ...]]:
        flight = make.flight_data(differential_psi=day)
        facts = make.facts(defects=cases, question=make.question(flight=flight))
        (finding,) = cabin_altitude_too_high.findings(facts)
        return finding.values["differential_psi"], tuple(ref.entry for ref in finding.evidence)

    assert ground(None) == (6.2, (1,))
    assert ground(7.0) == (6.2, (1,))
    assert ground(5.5) == (5.5, (1,))
    assert ground(None, case) == (5.0, (200, 201))
    assert ground(4.5, case) == (4.5, (1,))


@pytest.mark.parametrize(
    ("fields", "day", "outcome"),
    [
        (None, None, "not on record"),
        ({}, None, "not on record"),
        ({"max_differential_psi": 6.0}, None, "met"),
        ({"highest_level": 310}, None, "met"),
        ({}, 6.0, "met"),
    ],
)
def test_a_defect_of_the_pressure_control_leaves_the_differential_unknown(
    make: Make, fields: dict[str, Any] | None, day: float | None, outcome: str
) -> None:
    """Unless the deferral states what remains, or the day's differential is said."""
    defect = make.defect(200, function="cabin-pressure-control")
    deferral = None if fields is None else make.deferral(201, 200, **fields)
    facts = make.facts(
        defects=(make.case(defect, deferral=deferral),),
        question=make.question(flight=make.flight_data(differential_psi=day)),
    )
    assert make.outcomes(cabin_altitude_too_high, facts)[0][0] == outcome


@pytest.mark.parametrize(("ceiling", "outcome"), [(250, "not applicable"), (251, "not on record")])
def test_a_cabin_altitude_warning_above_25_000_ft(make: Make, ceiling: int, outcome: str) -> None:
    """NCO.IDE.A.150(d), CAT.IDE.A.235: above 25,000 ft a warning of loss of pressure."""
    facts = make.facts(equipment=(), airframe=make.airframe(highest_level=ceiling))
    row = make.outcomes(cabin_altitude_warning_inoperative, facts)[0]
    assert row[0] == outcome
    assert row[1] == (250 if outcome == "not on record" else None)


def test_the_warning_with_and_without_a_defect(make: Make) -> None:
    """Fitted and in order it is met; with a defect FL250 remains, or what the item sets."""
    assert make.outcomes(cabin_altitude_warning_inoperative, make.facts())[0][:2] == ("met", None)
    defect = make.defect(200, function="cabin-altitude-warning")
    for deferral, row in (
        (None, ("not met", 250, (200,), None)),
        (make.deferral(201, 200), ("not met", 250, (200, 201), None)),
        (make.deferral(201, 200, highest_level=220), ("advice", None, (200, 201), None)),
    ):
        facts = make.facts(defects=(make.case(defect, deferral=deferral),))
        assert make.outcomes(cabin_altitude_warning_inoperative, facts) == [row]
