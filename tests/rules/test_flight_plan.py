"""Item 10a and 18: AIM appendix 4 paragraph 22 and 4-6-4; ICAO Doc 4444, read second-hand.

W only when approved and able; REG/ when W is filed; STS/NONRVSM only with a request to fly
non-RVSM in RVSM airspace; the text of item 18 never changes the status.
"""

import pytest

from rvsmlog.flight_plan import flight_plan
from rvsmlog.standards.sources import SOURCES
from tests.rules.conftest import Make, on

ITEM_18 = "Text in item 18 alone never changes the RVSM status: the letter W in item 10a does."


@pytest.mark.parametrize("highest", [290, 310, 410])
def test_approved_and_able_files_w_with_the_registration(make: Make, highest: int) -> None:
    """W and REG/ without hyphen; ask for its removal if the ability is lost."""
    plan = flight_plan(make.facts(), highest)
    assert plan.item_10a_w is True
    assert plan.item_18 == ("REG/QXABC",)
    assert plan.says == (
        "File W in item 10a: approved for RVSM and able to fly it now.",
        "File REG/QXABC in item 18, so that height monitoring finds the aeroplane.",
        "If the ability is lost after filing, ask ATC to remove the W.",
        ITEM_18,
    )
    assert set(plan.sources) <= set(SOURCES)


def test_able_is_not_enough(make: Make) -> None:
    """Without an approval that counts, W is left out, whatever the level."""
    expired = make.approval(40, expires_on=on("2027-03-13"))
    for approvals in ((), (expired,)):
        plan = flight_plan(make.facts(approvals=approvals), 310)
        assert (plan.item_10a_w, plan.item_18) == (False, ())
        assert plan.says[0] == (
            "Leave W out of item 10a: no RVSM approval counts for this flight. Plan below FL290."
        )


@pytest.mark.parametrize("highest", [289, 280, 90])
def test_approved_is_not_enough(make: Make, highest: int) -> None:
    """With RVSM lost for today, W is left out, and removed from a plan that is filed."""
    plan = flight_plan(make.facts(), highest)
    assert (plan.item_10a_w, plan.item_18) == (False, ())
    assert plan.says == (
        "Leave W out of item 10a: not able to fly RVSM now. Plan below FL290.",
        "If a plan with W is filed already, ask ATC to remove the W.",
        "STS/NONRVSM in item 18 belongs only to a request to fly non-RVSM in RVSM airspace.",
        ITEM_18,
    )


def test_a_flight_that_may_not_go_files_nothing(make: Make) -> None:
    """No flight, no plan."""
    plan = flight_plan(make.facts(), None)
    assert (plan.item_10a_w, plan.item_18) == (False, ())
    assert plan.says == (
        "File nothing: the flight may not go. Cancel a plan that is filed already.",
    )


@pytest.mark.parametrize("highest", [280, 125])
def test_oxygen_alone_takes_no_w_away(make: Make, highest: int) -> None:
    """W states approval and ability (item 10a); a level set by oxygen changes neither."""
    plan = flight_plan(make.facts(), highest, 310)
    assert (plan.item_10a_w, plan.item_18) == (True, ("REG/QXABC",))
    assert plan.says == (
        f"Plan at FL{highest} or below: oxygen sets the level, RVSM is not lost.",
        "W in item 10a stands: approved for RVSM and able to fly it, whatever level is filed.",
        "File REG/QXABC in item 18, so that height monitoring finds the aeroplane.",
        "If the ability is lost after filing, ask ATC to remove the W.",
        ITEM_18,
    )


def test_oxygen_and_something_else_leave_w_out(make: Make) -> None:
    """Where RVSM is lost as well, or no approval counts, oxygen makes no difference."""
    assert flight_plan(make.facts(), 125, 280).item_10a_w is False
    assert flight_plan(make.facts(approvals=()), 125, 310).item_10a_w is False
    assert flight_plan(make.facts(), None, 310).item_10a_w is False


@pytest.mark.parametrize(
    ("level", "track", "split", "said"),
    [
        # 14 CFR 91.179 and ICAO Annex 2 appendix 3: odd levels for 000 to 179, even for 180 to 359.
        (310, 95.0, None, None),
        (300, 275.0, None, None),
        (290, 179.9, None, None),
        (300, 95.0, None, "no cruising level of track 095 (FL290 below, FL310 above"),
        (290, 275.0, None, "no cruising level of track 275 (FL280 below, FL300 above"),
        # The national split of Italy, France, Portugal and Spain: odd levels for 090 to 269.
        (290, 275.0, "270-089", None),
        (300, 95.0, "090-269", "no cruising level of track 095 (FL290 below, FL310 above"),
        (300, None, None, None),
        (310, None, None, None),
        (295, None, None, "no cruising level (FL290 below, FL300 above)"),
        (295, 95.0, None, "no cruising level of track 095 (FL290 below, FL310 above"),
    ],
)
def test_a_level_that_may_be_used_and_not_filed(
    make: Make, level: int, track: float | None, split: str | None, said: str | None
) -> None:
    """It is said before anything else, with the levels beside it; others say nothing of it."""
    flight = make.flight_data(track=track, split=split)
    facts = make.facts(question=make.question(level=level, flight=flight))
    plan, plain = flight_plan(facts, 310), flight_plan(make.facts(), 310)
    assert set(plan.sources) <= set(SOURCES)
    if said is None:
        assert plan == plain
    else:
        assert plan.says[0].startswith(f"FL{level} is {said}")
        assert plan.says[1:] == plain.says
        assert "91-179" in plan.sources


def test_of_a_level_that_may_not_be_used_nothing_more_is_said(make: Make) -> None:
    """The level that remains is what the plan speaks of."""
    facts = make.facts(question=make.question(level=295))
    assert flight_plan(facts, 280) == flight_plan(make.facts(), 280)
    assert flight_plan(facts, None) == flight_plan(make.facts(), None)
