"""Units taken out: what is not there is no better than what does not work (rule of the house 1)."""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.rules.base import Rule
from rvsmlog.rules.cabin import cabin_altitude_too_high
from rvsmlog.rules.listed_equipment import heat_inoperative, standby_altimeter_inoperative
from rvsmlog.rules.oxygen_record import oxygen_equipment_inoperative
from tests.rules.made_records import at

if TYPE_CHECKING:
    from tests.rules.conftest import Make

#: Rule, function, and the level that an open defect of the unit leaves.
RULES = (
    (heat_inoperative, "static-heat", 280),
    (heat_inoperative, "pitot-heat", 280),
    (standby_altimeter_inoperative, "standby-altimeter", 280),
    (oxygen_equipment_inoperative, "oxygen-cylinder", 125),
    (oxygen_equipment_inoperative, "oxygen-regulator", 125),
    (oxygen_equipment_inoperative, "oxygen-mask", 125),
    (cabin_altitude_too_high, "cabin-pressure-control", 100),
)
GONE_ON = "2027-03-01"
EACH = pytest.mark.parametrize(("rule", "function", "level"), RULES)


def limits(make: "Make", rule: Rule, **facts: Any) -> list[tuple[str, int | None]]:
    """Give the outcomes that limit the level, with it."""
    found = rule.findings(make.facts(**facts))
    return [
        (str(each.outcome), each.highest_level)
        for each in found
        if str(each.outcome) in ("not met", "not on record")
    ]


@EACH
def test_a_unit_taken_out_limits_as_its_defect_does(
    make: "Make", rule: Rule, function: str, level: int
) -> None:
    """Neither another place nor an earlier unit answers for it; a defect of it says the same."""
    gone = make.unit(200, function, position="x", removed=make.removal(201, 200, GONE_ON))
    other = make.unit(202, function, position="y", fitted_on=make.on(GONE_ON))
    known = (*make.equipment(), gone, other)
    (finding,) = (
        each
        for each in rule.findings(make.facts(equipment=known))
        if str(each.outcome) == "not on record"
    )
    assert finding.highest_level == level
    assert [ref.entry for ref in finding.evidence] == [200, 201]
    assert f"removed on {GONE_ON}" in finding.says
    assert finding.remedy
    alike = make.unit(202, function, position="x")
    assert limits(make, rule, equipment=(*make.equipment(), gone, alike)) == [
        ("not on record", level)
    ]


@EACH
@pytest.mark.parametrize(
    ("position", "fitted_on", "answers"),
    [
        ("x", "2027-03-01", True),  # the day of the removal
        ("X ", "2027-03-05", True),
        ("x", "2027-02-28", True),  # at a named place it came after the one removed
        (None, "2027-02-28", False),
        (None, "2027-03-01", True),
    ],
)
def test_a_unit_in_its_place_answers(
    make: "Make",
    rule: Rule,
    function: str,
    level: int,
    position: str | None,
    fitted_on: str,
    answers: bool,
) -> None:
    """By place and day; one unit answers for one removal."""
    place = None if position is None else "x"
    removed = make.removal(201, 200, GONE_ON)
    gone = make.unit(200, function, position=place, removed=removed)
    new = make.unit(202, function, position=position, fitted_on=make.on(fitted_on))
    expected = [] if answers else [("not on record", level)]
    assert limits(make, rule, equipment=(*make.equipment(), gone, new)) == expected


@EACH
def test_one_unit_answers_for_one_removal(
    make: "Make", rule: Rule, function: str, level: int
) -> None:
    """Two taken out and one put in: one is missing."""
    gone = [
        make.unit(entry, function, removed=make.removal(entry + 1, entry, GONE_ON))
        for entry in (200, 202)
    ]
    new = make.unit(204, function, fitted_on=make.on(GONE_ON))
    known = (*make.equipment(), *gone, new)
    assert limits(make, rule, equipment=known) == [("not on record", level)]


@EACH
@pytest.mark.parametrize(
    ("place", "done_on", "answers"),
    [
        ("x", "2027-03-01", True),
        (None, "2027-03-02", True),
        ("x", "2027-02-28", False),
        ("y", "2027-03-02", False),
    ],
)
def test_a_release_since_the_removal_answers(
    make: "Make",
    rule: Rule,
    function: str,
    level: int,
    place: str | None,
    done_on: str,
    answers: bool,
) -> None:
    """A rectification of its function and place; an earlier one knew nothing of the removal."""
    gone = make.unit(200, function, position="x", removed=make.removal(201, 200, GONE_ON))
    case = make.case(
        make.defect(210, function=function, position=place, found_at=at("2027-02-20", "08:00")),
        rectification=make.rectification(211, 210, done_at=at(done_on, "12:00")),
    )
    known = (*make.equipment(), gone)
    assert limits(make, rule, equipment=known, defects=(case,)) == (
        [] if answers else [("not on record", level)]
    )


def test_a_deferred_unit_is_judged_by_its_item(make: "Make") -> None:
    """Taken out under the list's item: the level that the item sets is all there is."""
    gone = make.unit(200, "static-heat", position="1", removed=make.removal(201, 200, GONE_ON))
    case = make.case(
        make.defect(210, function="static-heat", position="1"),
        deferral=make.deferral(211, 210, highest_level=250),
    )
    facts = make.facts(equipment=(*make.equipment(), gone), defects=(case,))
    assert make.outcomes(heat_inoperative, facts) == [("advice", None, (210, 211), None)]
