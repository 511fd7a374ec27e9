"""Rules on heat, the standby altimeter and the version of TCAS II.

Heat and standby altimeter: common practice, no source. TCAS II of version 7.0 or TSO-C119b: 14 CFR
Part 91 Appendix G 2(g), published. The versions 6.04a and 7.1 exist, from memory.
"""

from typing import TYPE_CHECKING

import pytest

from rvsmlog.rules.base import Rule
from rvsmlog.rules.listed_equipment import (
    acas_version_too_old,
    heat_inoperative,
    standby_altimeter_inoperative,
)

if TYPE_CHECKING:
    from tests.rules.conftest import Make

BELOW_RVSM = 280
RULES = (
    (heat_inoperative, "static-heat", (16, 17, 18, 19)),
    (heat_inoperative, "pitot-heat", (16, 17, 18, 19)),
    (standby_altimeter_inoperative, "standby-altimeter", (23,)),
)


@pytest.mark.parametrize(("rule", "function", "units"), RULES)
def test_no_open_defect(make: "Make", rule: Rule, function: str, units: tuple[int, ...]) -> None:
    """Units on record without an open defect are met; without units there is nothing to judge."""
    done = make.case(
        make.defect(200, function=function), rectification=make.rectification(201, 200)
    )
    assert make.outcomes(rule, make.facts(defects=(done,))) == [("met", None, units, None)]
    assert make.outcomes(rule, make.facts(equipment=())) == [("not applicable", None, (), None)]


@pytest.mark.parametrize(("rule", "function", "units"), RULES)
def test_the_lists_item_decides(
    make: "Make", rule: Rule, function: str, units: tuple[int, ...]
) -> None:
    """Deferred with a level, the item decides; without a level or a deferral RVSM is lost."""
    defect = make.defect(200, function=function, position="1")
    with_level = make.case(defect, deferral=make.deferral(201, 200, highest_level=310))
    without = make.case(defect, deferral=make.deferral(201, 200))
    loose = make.case(defect)
    allowed = make.facts(defects=(with_level,))
    assert make.outcomes(rule, allowed) == [("advice", None, (200, 201), None)]
    assert make.numbers(rule, allowed) == [({"item_level": 310}, {})]
    assert make.outcomes(rule, make.facts(defects=(without,))) == [
        ("not met", BELOW_RVSM, (200, 201), None)
    ]
    assert make.outcomes(rule, make.facts(defects=(loose,))) == [
        ("not met", BELOW_RVSM, (200,), None)
    ]
    remedies = {rule.findings(make.facts(defects=(each,)))[0].remedy for each in (without, loose)}
    assert len(remedies) == 2


def test_several_defects_of_heat(make: "Make") -> None:
    """Each open defect is judged by itself."""
    cases = (
        make.case(
            make.defect(200, function="static-heat", position="1"),
            deferral=make.deferral(201, 200, highest_level=250),
        ),
        make.case(make.defect(202, function="pitot-heat", position="2")),
    )
    assert make.outcomes(heat_inoperative, make.facts(defects=cases)) == [
        ("advice", None, (200, 201), None),
        ("not met", BELOW_RVSM, (202,), None),
    ]


def test_no_collision_avoidance_system(make: "Make") -> None:
    """RVSM does not ask for one."""
    assert make.outcomes(acas_version_too_old, make.facts()) == [("not applicable", None, (), None)]


@pytest.mark.parametrize(
    ("version", "outcome"),
    [
        ("7.0", "met"),
        ("7.1", "met"),
        ("7", "met"),
        ("v7.1", "met"),
        ("TCAS II 7.0", "met"),
        ("TCAS 2 change 7.1", "met"),
        ("10.0", "met"),
        ("TSO-C119b", "met"),
        ("TSO C119c", "met"),
        ("6.04a", "not met"),
        ("6.99", "not met"),
        ("6", "not met"),
        ("TSO-C119a", "not met"),
        ("TSO-C119", "not met"),
        ("DO-185B", "not on record"),
        ("6.04, later 7.1", "not on record"),
        ("", "not on record"),
        (None, "not on record"),
        # What is said of a version that is not fitted proves none.
        ("not 7.1", "not on record"),
        ("7.1 not fitted", "not on record"),
        ("TSO-C119c pending", "not on record"),
        ("below 7.0", "not on record"),
        ("<7.1", "not on record"),
        ("TCAS II 7.1 to be fitted", "not on record"),
        ("upgraded to 7.1", "met"),
        ("TSO-C119b or later", "met"),
        ("DO-185B, 7.1", "met"),
        ("TCAS I removed; TCAS II 6.04a", "not on record"),
        ("TCAS I, TCAS II 6.04a", "not met"),
        ("TCAS I removed", "not on record"),
        ("TCAS I", "not applicable"),
        ("ACAS 1 2.0", "not applicable"),
    ],
)
def test_version_of_tcas(make: "Make", version: str | None, outcome: str) -> None:
    """Version 7.0 or TSO-C119b is enough; an older one, or one not understood, costs RVSM."""
    unit = make.unit(200, "acas", version=version or None)
    facts = make.facts(equipment=(*make.equipment(), unit))
    (finding,) = acas_version_too_old.findings(facts)
    lost = outcome in ("not met", "not on record")
    assert str(finding.outcome) == outcome
    assert finding.highest_level == (BELOW_RVSM if lost else None)
    if outcome != "not applicable":
        assert [ref.entry for ref in finding.evidence] == [200]
        assert finding.values == {"version": version or None}
        assert finding.limits == {"version": "7.0"}
        assert finding.sources == ("appendix-g-2g", "aim-4-6-3")


def test_version_missing_and_not_understood_are_told_apart(make: "Make") -> None:
    """The finding says whether no version is on record, or which one is not understood."""
    missing = make.facts(equipment=(make.unit(200, "acas"),))
    strange = make.facts(equipment=(make.unit(200, "acas", version="DO-185B"),))
    assert "version not on record" in make.says(acas_version_too_old, missing)
    assert "version not understood: DO-185B" in make.says(acas_version_too_old, strange)


def test_each_unit_is_judged(make: "Make") -> None:
    """Two units on record are two findings; one that was removed is none."""
    units = (
        make.unit(200, "acas", version="7.1"),
        make.unit(201, "acas"),
        make.unit(202, "acas", removed=make.removal(203, 202, "2027-01-01")),
    )
    facts = make.facts(equipment=units)
    assert make.outcomes(acas_version_too_old, facts) == [
        ("met", None, (200,), None),
        ("not on record", BELOW_RVSM, (201,), None),
    ]
