"""Rules on the two independent altimetry systems: 14 CFR Part 91 Appendix G 2(c)(1), published."""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import EquipmentCase
from rvsmlog.rules.altimetry_systems import altimetry_system_inoperative, altimetry_system_missing

if TYPE_CHECKING:
    from tests.rules.conftest import Make

BELOW_RVSM = 280
# The healthy airframe: altimeters 10 and 11, air data computers 12 and 13, static sources 14, 15.
SYSTEMS = (10, 12, 14, 11, 13, 15)


def without(make: "Make", *entries: int) -> tuple[EquipmentCase, ...]:
    """Give the healthy airframe's units without some."""
    return tuple(case for case in make.equipment() if case.equipment.ref.entry not in entries)


@pytest.mark.parametrize(
    ("authority", "source"),
    [
        ("us-91", "appendix-g-2c-1"),
        ("uk-nco", "spa-rvsm-110"),
        ("nz-91", "annex-6-2-2-5-2"),
    ],
)
def test_two_systems_on_record(make: "Make", authority: str, source: str) -> None:
    """Six units at two positions are two systems; the source is the authority's own."""
    facts = make.facts(airframe=make.airframe(authority=authority))
    (finding,) = altimetry_system_missing.findings(facts)
    assert make.outcomes(altimetry_system_missing, facts) == [("met", None, SYSTEMS, None)]
    assert finding.values == {"systems": 2}
    assert finding.limits == {"systems_required": 2}
    assert finding.sources == (source,)


def test_each_system_says_what_it_lacks(make: "Make") -> None:
    """A system without two of its units is one finding; two incomplete systems are two."""
    one = make.facts(equipment=without(make, 13, 15))
    both = make.facts(equipment=without(make, 10, 13))
    none = make.facts(equipment=())
    assert make.outcomes(altimetry_system_missing, one) == [
        ("not on record", BELOW_RVSM, (1,), None)
    ]
    assert make.numbers(altimetry_system_missing, one)[0][0] == {
        "position": "2",
        "missing": "air data computer, static source",
    }
    for facts in (both, none):
        assert (
            make.outcomes(altimetry_system_missing, facts)
            == [("not on record", BELOW_RVSM, (1,), None)] * 2
        )


def test_removed_unit_is_missing(make: "Make") -> None:
    """A unit that was removed is not fitted."""
    removed = make.unit(
        13, "air-data-computer", position="2", removed=make.removal(200, 13, "2027-03-01")
    )
    facts = make.facts(equipment=(*without(make, 13), removed))
    assert make.outcomes(altimetry_system_missing, facts) == [
        ("not on record", BELOW_RVSM, (1,), None)
    ]


@pytest.mark.parametrize("position", ["left", None])
def test_unit_at_another_position_is_named(make: "Make", position: str | None) -> None:
    """A unit on record at neither position is missing there, and the finding points to it."""
    stray = make.unit(200, "static-source", position=position)
    facts = make.facts(equipment=(*without(make, 15), stray))
    assert make.outcomes(altimetry_system_missing, facts) == [
        ("not on record", BELOW_RVSM, (200,), None)
    ]
    assert "fitted at another position" in make.says(altimetry_system_missing, facts)


@pytest.mark.parametrize(
    ("one", "other", "outcome"),
    [
        ({"serial_number": "A7"}, {"serial_number": "a7 "}, "not met"),
        ({"serial_number": "A7"}, {"serial_number": "A8"}, "met"),
        ({"serial_number": None}, {"serial_number": None}, "met"),
        ({"serial_number": "A7"}, {"serial_number": None}, "met"),
        (
            {"serial_number": "A7", "part_number": "P1"},
            {"serial_number": "A7", "part_number": "P2"},
            "met",
        ),
        ({"serial_number": "A7", "part_number": "P1"}, {"serial_number": "A7"}, "not met"),
    ],
)
def test_one_unit_in_both_systems(
    make: "Make", one: dict[str, Any], other: dict[str, Any], outcome: str
) -> None:
    """The same serial number at both positions is one unit, unless the part numbers differ."""
    pair = (
        make.unit(200, "air-data-computer", position="1", **one),
        make.unit(201, "air-data-computer", position="2", **other),
    )
    (finding,) = altimetry_system_missing.findings(
        make.facts(equipment=(*without(make, 12, 13), *pair))
    )
    assert str(finding.outcome) == outcome
    assert {200, 201} <= {ref.entry for ref in finding.evidence}
    assert finding.highest_level == (BELOW_RVSM if outcome == "not met" else None)


def test_no_open_defect(make: "Make") -> None:
    """Without a defect, or with one rectified or of something else, both systems work."""
    rectified = make.case(make.altimetry_fault(200), rectification=make.rectification(201, 200))
    other = make.case(make.defect(202))
    for defects in ((), (rectified,), (other,)):
        facts = make.facts(defects=defects)
        assert make.outcomes(altimetry_system_inoperative, facts) == [
            ("met", None, (10, 11, 12, 13, 14, 15), None)
        ]
    assert make.outcomes(altimetry_system_inoperative, make.facts(equipment=())) == [
        ("met", None, (1,), None)
    ]


@pytest.mark.parametrize("function", ["altimeter", "air-data-computer", "static-source"])
def test_open_defect_of_any_part(make: "Make", function: str) -> None:
    """A defect of any of the three parts costs RVSM."""
    case = make.case(make.defect(200, function=function, position="2"))
    facts = make.facts(defects=(case,))
    assert make.outcomes(altimetry_system_inoperative, facts) == [
        ("not met", BELOW_RVSM, (200,), None)
    ]
    assert make.says(altimetry_system_inoperative, facts).endswith("open, not deferred")


def test_each_open_defect_is_a_finding_and_deferral_does_not_help(make: "Make") -> None:
    """A fault report counts as a defect of a system; a deferred defect still costs RVSM."""
    fault = make.case(make.altimetry_fault(200))
    deferred = make.case(
        make.defect(201, function="air-data-computer", position="1"),
        deferral=make.deferral(202, 201, highest_level=310),
    )
    facts = make.facts(defects=(fault, deferred))
    assert make.outcomes(altimetry_system_inoperative, facts) == [
        ("not met", BELOW_RVSM, (200,), None),
        ("not met", BELOW_RVSM, (201, 202), None),
    ]
    (one, two) = altimetry_system_inoperative.findings(facts)
    assert one.says.startswith("altimetry system: defect #200 open")
    assert two.says.startswith("air data computer 1: defect #201 deferred under item 34-99-1")
    assert two.says.endswith("RVSM is lost while it is open")
