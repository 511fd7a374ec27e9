"""Two units at one place and one unit at several: what limits, and what is advice.

No published figure is at stake: which unit stands where is a matter of the record alone.
"""

from itertools import combinations
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rvsmlog.frozen import replace
from rvsmlog.rules.altimetry_systems import altimetry_system_missing
from rvsmlog.rules.unit_places import altimetry_unit_unclear, clashes

if TYPE_CHECKING:
    from rvsmlog.facts import EquipmentCase
    from tests.rules.conftest import Make, Row

MET = ("met", "each altimetry unit on record at one place", None, (10, 11, 12, 13, 14, 15))
RULE = altimetry_unit_unclear


def rows(make: "Make", *more: "EquipmentCase") -> "list[Row]":
    """Judge the healthy airframe with more units."""
    return make.rows(RULE, make.facts(equipment=(*make.equipment(), *more)))


def test_a_unit_at_each_place(make: "Make") -> None:
    """The healthy airframe; and one without any altimetry on record, which another rule limits."""
    assert rows(make) == [MET]
    nothing = make.rows(RULE, make.facts(equipment=()))
    assert nothing == [("met", "each altimetry unit on record at one place", None, (1,))]


@pytest.mark.parametrize(
    ("function", "title", "first"),
    [("altimeter", "altimeter", 10), ("air-data-computer", "air data computer", 12)],
)
def test_two_units_at_one_position(make: "Make", function: str, title: str, first: int) -> None:
    """RVSM is lost until one of the two is removed; removed units do not count."""
    says = f"{title} 1: S0{first} (#{first}) and S200 (#200) both on record there; not known "
    says += "which of them it is"
    unit = make.unit(200, function, position="1")
    assert rows(make, unit) == [("not on record", says, 280, (first, 200))]
    gone = make.unit(200, function, position="1", removed=make.removal(201, 200, "2026-06-01"))
    assert rows(make, gone) == [MET]


def test_units_without_serial_numbers_are_named_by_their_entries(make: "Make") -> None:
    """Two at position 2, neither with a number."""
    units = make.equipment()
    bare = [make.unit(200 + at, "altimeter", position="2", serial_number=None) for at in range(2)]
    facts = make.facts(equipment=(units[0], *units[2:], *bare))
    says = "altimeter 2: #200 and #201 both on record there; not known which of them it is"
    assert make.rows(RULE, facts) == [("not on record", says, 280, (200, 201))]


def test_a_swap_that_brings_two_to_one_position(make: "Make") -> None:
    """Where units are now counts, not where they were fitted."""
    extra = make.unit(200, "altimeter")
    swap = make.swap(201, 200, 11, "2027-03-01")
    facts = make.swapped(swap, equipment=(*make.equipment(), extra))
    assert [row[:2] for row in make.rows(RULE, facts)] == [
        (
            "advice",
            "altimeter S011 (#11) has no position on record, and both systems have theirs",
        ),
    ]


def test_one_unit_in_both_systems(make: "Make") -> None:
    """Of one function another rule says it; of two it is said here, where the part is the same."""
    units = make.equipment()
    twice = make.unit(200, "altimeter", position="2", serial_number="s010 ")
    facts = make.facts(equipment=(units[0], *units[2:], twice))
    says = "one unit on record in both systems: altimetry-system-missing says it"
    assert make.rows(RULE, facts) == [("not applicable", says, None, ())]
    assert [row[2] for row in make.rows(altimetry_system_missing, facts)] == [280]

    def joined(part: str | None, position: str) -> "list[Row]":
        one = make.unit(200, "altimeter", position="1", serial_number="J1", part_number="P")
        other = make.unit(
            201, "air-data-computer", position=position, serial_number="J1", part_number=part
        )
        kept = [case for case in units if case.equipment.first not in (10, 11 + int(position))]
        return make.rows(RULE, make.facts(equipment=(*kept, one, other)))

    says = "altimeter 1 J1 (#200) is on record as air data computer 2 J1 (#201) too; not known "
    assert joined("P", "2") == [("not on record", says + "where it is", 280, (200, 201))]
    assert [row[0] for row in joined("P", "1")] == ["met"]
    assert [row[0] for row in joined("Q", "2")] == ["met"]
    assert [row[0] for row in joined(None, "2")] == ["met"]


def test_a_unit_that_was_at_a_third_position(make: "Make") -> None:
    """An older edition took position 3: then the unit is there, and not in system 1."""
    unit = make.unit(200, "altimeter", position="3", serial_number="S010")
    assert [row[0::2] for row in rows(make, unit)] == [("not on record", 280)]
    another = make.unit(200, "altimeter", position="3")
    assert [row[:3] for row in rows(make, another)] == [MET[:3]]


def test_a_unit_entered_twice_is_advice(make: "Make") -> None:
    """At one place it is clear which unit it is; a transponder says nothing of the altimetry."""
    again = make.unit(200, "altimeter", position="1", serial_number="S010")
    assert rows(make, again) == [
        ("advice", "altimeter 1 S010 on record twice: #10 and #200", None, (10, 200)),
    ]
    pair = [make.unit(200 + at, "transponder", position="1") for at in range(2)]
    assert rows(make, *pair) == [
        MET,
        (
            "advice",
            "altitude-reporting transponder 1: S200 (#200) and S201 (#201) both on record there",
            None,
            (200, 201),
        ),
    ]


def test_static_sources_may_be_ports_of_one_system(make: "Make") -> None:
    """Two at one position are advice; without a position they are nobody's business."""
    port = make.unit(200, "static-source", position="1")
    found = rows(make, port)
    assert [row[:3] for row in found] == [
        ("advice", "static source 1: 2 on record there", None),
    ]
    loose = [make.unit(200 + at, "static-source") for at in range(2)]
    assert [row[0] for row in rows(make, *loose)] == ["met"]


def test_a_third_altimeter_without_position(make: "Make") -> None:
    """Advice where both systems are complete; else a system is missing, which limits by itself."""
    unit = make.unit(200, "altimeter")
    assert [row[:3] for row in rows(make, unit)] == [
        (
            "advice",
            "altimeter S200 (#200) has no position on record, and both systems have theirs",
            None,
        ),
    ]
    units = make.equipment()
    facts = make.facts(equipment=(*units[1:], unit))
    assert [row[0] for row in make.rows(RULE, facts)] == ["met"]
    assert [row[2] for row in make.rows(altimetry_system_missing, facts)] == [280]


@pytest.mark.parametrize(
    ("function", "place", "part", "named"),
    [
        ("altimeter", "1", "P", True),
        ("air-data-computer", "2", "P", True),
        ("altimeter", "1", "Q", False),
        ("altimeter", "1", None, False),
        # A standby with its own air data computer is one unit of two functions.
        ("air-data-computer", None, "P", False),
    ],
)
def test_a_unit_of_a_system_that_is_the_standby_too(
    make: "Make", function: str, place: str | None, part: str | None, named: bool
) -> None:
    """One instrument, by part and serial number, cannot witness against itself: advice."""
    kept = [
        case
        for case in make.equipment()
        if (case.equipment.record.function, case.position)
        not in ((function, place), ("standby-altimeter", None))
    ]
    one = make.unit(200, function, position=place, serial_number="J1", part_number=part)
    standby = make.unit(201, "standby-altimeter", serial_number="j1", part_number="P")
    found = make.rows(RULE, make.facts(equipment=(*kept, one, standby)))
    title = function.replace("-", " ")
    says = f"{title} {place} J1 on record twice: #200 and #201"
    assert (("advice", says, None, (200, 201)) in found) is named
    assert (found[0][0] == "met") is (not named and place is not None)


def test_the_remedy_names_the_entries_that_stand(make: "Make") -> None:
    """What was corrected since is corrected by its newest entry."""
    again = make.unit(200, "altimeter", position="1", serial_number="S010")
    ref = replace(again.equipment.ref, entry=1077)
    again = replace(again, equipment=replace(again.equipment, ref=ref))
    facts = make.facts(equipment=(*make.equipment(), again))
    (finding,) = RULE.findings(facts)
    assert finding.remedy.startswith("Correct the serial number or position of entry #10 or #1077")


UNITS = st.lists(
    st.tuples(
        st.sampled_from(["altimeter", "static-source", "transponder", "standby-altimeter"]),
        st.sampled_from(["1", "2", None]),
        st.sampled_from(["S1", "s1", "S2", None]),
    ),
    max_size=6,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(units=UNITS)
def test_many_units_clash_as_each_two_of_them_do(
    make: "Make", units: list[tuple[str, str | None, str | None]]
) -> None:
    """However many are fitted, each two contradict each other as they do alone, in their order."""
    cases = [
        make.unit(200 + number, function, position=position, serial_number=serial)
        for number, (function, position, serial) in enumerate(units)
    ]
    alone = [clash for pair in combinations(cases, 2) for clash in clashes(pair)]
    assert list(clashes(cases)) == alone
