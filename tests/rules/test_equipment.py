"""Rules on alerter, altitude control and transponder.

14 CFR Part 91 Appendix G 2(c)(2) and (3), 91.215 and SPA.RVSM.110, published.
"""

from typing import TYPE_CHECKING

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.base import Rule
from rvsmlog.rules.equipment import (
    altitude_alerter_inoperative,
    altitude_control_inoperative,
    transponder_inoperative,
)

if TYPE_CHECKING:
    from tests.rules.conftest import Make

BELOW_RVSM = 280
RULES = (
    (altitude_alerter_inoperative, "altitude-alerter", 20, "appendix-g-2c-3"),
    (altitude_control_inoperative, "altitude-control", 21, "appendix-g-2c-2"),
    (transponder_inoperative, "transponder", 22, "91-215"),
)


@pytest.mark.parametrize(("rule", "function", "entry", "source"), RULES)
def test_fitted_and_working(
    make: "Make", rule: Rule, function: str, entry: int, source: str
) -> None:
    """A unit on record without an open defect is met, on the authority's own source."""
    facts = make.facts(defects=(make.case(make.defect(200, function="other")),))
    assert make.outcomes(rule, facts) == [("met", None, (entry,), None)]
    assert rule.findings(facts)[0].sources == (source,)
    europe = make.facts(airframe=make.airframe(authority="eu-nco"))
    assert rule.findings(europe)[0].sources == ("spa-rvsm-110",)


@pytest.mark.parametrize(("rule", "function", "entry", "source"), RULES)
def test_not_on_record(make: "Make", rule: Rule, function: str, entry: int, source: str) -> None:
    """Without a unit on record RVSM is lost; an open defect of it is a finding besides."""
    units = tuple(case for case in make.equipment() if case.equipment.ref.entry != entry)
    case = make.case(make.defect(200, function=function))
    missing = ("not on record", BELOW_RVSM, (1,), None)
    assert make.outcomes(rule, make.facts(equipment=units)) == [missing]
    assert make.outcomes(rule, make.facts(equipment=units, defects=(case,))) == [
        missing,
        ("not met", BELOW_RVSM, (200,), None),
    ]


@pytest.mark.parametrize(("rule", "function", "entry", "source"), RULES)
def test_open_defect(make: "Make", rule: Rule, function: str, entry: int, source: str) -> None:
    """An open defect costs RVSM whether deferred or not, and the two are told apart."""
    defect = make.defect(200, function=function)
    open_case = make.case(defect)
    deferred = make.case(defect, deferral=make.deferral(201, 200))
    rectified = make.case(defect, rectification=make.rectification(201, 200))
    first, second = make.facts(defects=(open_case,)), make.facts(defects=(deferred,))
    assert make.outcomes(rule, first) == [("not met", BELOW_RVSM, (200,), None)]
    assert make.outcomes(rule, second) == [("not met", BELOW_RVSM, (200, 201), None)]
    assert "open, not deferred" in make.says(rule, first)
    assert "deferred under item 34-99-1: RVSM is lost while it is open" in make.says(rule, second)
    assert make.outcomes(rule, make.facts(defects=(rectified,))) == [("met", None, (entry,), None)]


def two_transponders(make: "Make", *positions: str | None, fitted: tuple[str | None, ...]) -> Facts:
    """Give facts with two transponders, entries 198 and 199, and a defect at each position."""
    units = tuple(case for case in make.equipment() if case.equipment.ref.entry != 22)
    pair = tuple(
        make.unit(198 + number, "transponder", position=position)
        for number, position in enumerate(fitted)
    )
    defects = tuple(
        make.case(make.defect(200 + number, function="transponder", position=position))
        for number, position in enumerate(positions)
    )
    return make.facts(equipment=(*units, *pair), defects=defects)


def test_two_fitted_and_one_works(make: "Make") -> None:
    """A defect at the position of one of two leaves the other, and the finding says which."""
    facts = two_transponders(make, "1", fitted=("1", "2"))
    assert make.outcomes(transponder_inoperative, facts) == [("met", None, (199, 200), None)]
    assert "altitude-reporting transponder 2 works, use it" in make.says(
        transponder_inoperative, facts
    )
    assert make.outcomes(transponder_inoperative, two_transponders(make, fitted=("1", "2"))) == [
        ("met", None, (198, 199), None)
    ]


@pytest.mark.parametrize(
    ("position", "fitted"), [(None, ("1", "2")), ("3", ("1", "2")), ("1", (None, None))]
)
def test_defect_of_an_unknown_one_counts_against_both(
    make: "Make", position: str | None, fitted: tuple[str | None, ...]
) -> None:
    """Where the entries do not tell which of two is defective, none is known to work."""
    facts = two_transponders(make, position, fitted=fitted)
    (finding,) = transponder_inoperative.findings(facts)
    assert make.outcomes(transponder_inoperative, facts) == [("not met", BELOW_RVSM, (200,), None)]
    assert "no other of 2 is known to work" in finding.says
    assert "name its position" in finding.remedy
    assert (finding.values, finding.limits) == ({"fitted": 2}, {"working": 1})


def test_both_of_two_defective(make: "Make") -> None:
    """A defect at each position leaves none, and each is a finding."""
    facts = two_transponders(make, "1", "2", fitted=("1", "2"))
    assert make.outcomes(transponder_inoperative, facts) == [
        ("not met", BELOW_RVSM, (200,), None),
        ("not met", BELOW_RVSM, (201,), None),
    ]
