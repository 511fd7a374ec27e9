"""What is not said of a flight is assumed, and the answer says so."""

from dataclasses import fields, replace

import pytest

from rvsmlog.facts import NOTHING_SAID, FlightData
from rvsmlog.rules.flight_data import flight_data_missing, level_below_hold
from rvsmlog.rules.oxygen import oxygen_too_little
from rvsmlog.verdict import Answer, judge
from tests.rules.conftest import Make


def assumed(make: Make, flight: FlightData, level: int = 310) -> list[str]:
    """Give what the advice says."""
    facts = make.facts(question=make.question(flight=flight, level=level))
    findings = flight_data_missing.findings(facts)
    assert all(finding.highest_level is None for finding in findings)
    return [finding.says for finding in findings]


def test_everything_said_leaves_nothing_to_assume(make: Make) -> None:
    """The healthy airframe's question says all."""
    assert assumed(make, make.flight_data()) == ["nothing was assumed of the flight"]


@pytest.mark.parametrize(
    ("field", "says"),
    [
        ("crew", "every mask in use: 2 crew, 3 passengers"),
        ("passengers", "every mask in use: 1 crew, 4 passengers"),
        ("recognition_s", "descent begins 17 s after the loss of pressure"),
        # Ten minutes from 31,000 to 10,000 ft (AMC to CAT.IDE.A.235(f)).
        ("descent_fpm", "emergency descent at 2,100 ft/min"),
        ("contaminated_minutes", "contaminated air not counted"),
    ],
)
def test_each_gap_is_named(make: Make, field: str, says: str) -> None:
    """One line for each, with the option that says better."""
    flight = replace(make.flight_data(), **{field: None})
    assert assumed(make, flight) == [f"assumed: {says}"]


def test_without_a_hold_nothing_is_taken_to_forbid_a_descent(make: Make) -> None:
    """An assumption on the other side, so it is said; with a hold the final descent is needed."""
    flight = make.flight_data(hold_level=None, hold_minutes=None)
    assert assumed(make, flight) == ["assumed: nothing forbids a descent to 10,000 ft at once"]
    flight = make.flight_data(hold_level=140, hold_minutes=10, final_descent_fpm=None)
    assert assumed(make, flight) == ["assumed: descent from the hold at 500 ft/min"]


def test_nothing_said_names_all_but_what_does_not_matter(make: Make) -> None:
    """Time at the level matters only where the cabin needs oxygen in normal flight."""
    assert len(assumed(make, NOTHING_SAID)) == 5
    low = make.flight_data(differential_psi=3.0)
    assert assumed(make, low) == ["assumed: a whole day at the planned level"]
    said = make.flight_data(differential_psi=3.0, cruise_minutes=60)
    assert assumed(make, said) == ["nothing was assumed of the flight"]


def test_the_cylinder_in_flight_is_taken_as_cold_as_the_air_at_the_ceiling(make: Make) -> None:
    """The standard atmosphere at FL310 has -46.4 C."""
    facts = make.facts(oxygen=(make.oxygen_fitted(in_use_c=None),))
    (finding,) = flight_data_missing.findings(facts)
    assert (
        finding.says == "assumed: oxygen cylinder (main) as cold as the air at the ceiling, -46 C"
    )
    warm = make.facts(
        oxygen=(make.oxygen_fitted(in_use_c=None),),
        oxygen_readings=(make.oxygen_reading(in_use_c=5.0),),
    )
    assert [str(each.outcome) for each in flight_data_missing.findings(warm)] == ["met"]


def test_nothing_is_assumed_where_no_oxygen_is_counted(make: Make) -> None:
    """Up to 12,500 ft, and below the hold."""
    assert assumed(make, NOTHING_SAID, level=125) == ["no oxygen is counted"]
    held = FlightData(hold_level=140, hold_minutes=10)
    assert assumed(make, held, level=130) == ["no oxygen is counted"]


def test_what_is_assumed_never_needs_less_than_what_might_be_said(make: Make) -> None:
    """People assumed are the most that have masks: the answer is no better than with fewer."""
    facts = make.facts(
        oxygen_readings=(make.oxygen_reading(gauge_psi=450.0),),
        question=make.question(flight=make.flight_data(crew=None, passengers=None)),
    )
    fewer = replace(facts, question=make.question(flight=make.flight_data(crew=1, passengers=1)))
    (assumed_people,) = oxygen_too_little.findings(facts)
    (said_people,) = oxygen_too_little.findings(fewer)
    assert str(assumed_people.outcome) == "not met"
    assert (assumed_people.highest_level or 0) <= (said_people.highest_level or 310)


@pytest.mark.parametrize(
    ("level", "minutes", "outcome", "highest"),
    [
        (140, 30, "met", None),
        (139, 30, "not met", 0),
        (139, 0, "not applicable", None),
    ],
)
def test_a_level_below_the_hold_is_no_plan(
    make: Make, level: int, minutes: int, outcome: str, highest: int | None
) -> None:
    """A hold of no minutes forbids nothing."""
    flight = make.flight_data(hold_level=140, hold_minutes=minutes)
    facts = make.facts(question=make.question(level=level, flight=flight))
    assert make.outcomes(level_below_hold, facts)[0][:2] == (outcome, highest)


def test_a_hold_above_all_that_remains_leaves_no_flight(make: Make) -> None:
    """RVSM lost leaves FL280; a hold at FL290 forbids that."""
    withdrawn = make.approval(40, withdrawal=make.withdrawal(200, 40, "2027-03-01"))
    for hold, highest in ((280, 280), (290, None)):
        flight = make.flight_data(hold_level=hold, hold_minutes=5)
        question = make.question(level=None, flight=flight)
        verdict = judge(make.facts(approvals=(withdrawn,), question=question))
        assert verdict.highest_level == highest
    assert verdict.answer is Answer.NO_GO
    assert [finding.rule for finding in verdict.limiting] == ["level-below-hold"]
    assert verdict.limiting[0].says == "FL280 at most remains, the hold is at FL290"


def test_data_are_filled_in_without_losing_what_is_said() -> None:
    """What is said goes before what fills the gaps; a zero is said."""
    said = FlightData(crew=1, hold_minutes=0, route="RIDGE")
    other = FlightData(crew=2, passengers=3, hold_level=140, hold_minutes=60)
    filled = said.filled_from(other)
    assert filled == FlightData(crew=1, passengers=3, hold_level=140, hold_minutes=0, route="RIDGE")
    assert NOTHING_SAID.said() == {}
    assert set(filled.said()) < {each.name for each in fields(FlightData)}


def test_a_hold_of_no_minutes_is_said_to_be_none(make: Make) -> None:
    """It was given, and is not said to be missing."""
    assert make.says(level_below_hold, make.facts()) == "hold at FL100 for 0 min: none"
    nothing = make.question(flight=make.flight_data(hold_level=None, hold_minutes=None))
    assert make.says(level_below_hold, make.facts(question=nothing)) == "no hold is given"
