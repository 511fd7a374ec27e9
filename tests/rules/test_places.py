"""Units that changed places: where they are, what their tests cover, and what they disturb."""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import with_swaps
from rvsmlog.rules.altimetry_systems import altimetry_system_missing
from rvsmlog.rules.altimetry_work import PRIMARIES, REPORTING, STANDBY, disturbances
from rvsmlog.rules.crosschecks import altimeters_not_compared_since_work
from rvsmlog.rules.equipment import altitude_control_inoperative
from rvsmlog.rules.places import place_at, places_since, swapped
from rvsmlog.rules.tests_due import static_test_overdue
from rvsmlog.rules.transponder import transponder_test_overdue
from tests.rules.conftest import at, on

if TYPE_CHECKING:
    from tests.rules.conftest import Make

ALTIMETERS = ("altimeter",)


def test_swapped_units_stand_at_each_others_place(make: "Make") -> None:
    """A second swap puts them back; the removed unit keeps the place it had last."""
    first, second = (
        make.swap(200, 10, 11, "2027-03-01"),
        make.swap(201, 11, 10, "2027-03-05"),
    )
    once = {case.equipment.first: case for case in with_swaps(make.equipment(), (first,))}
    assert (once[10].position, once[11].position) == ("2", "1")
    assert once[12].moves == ()
    twice = {case.equipment.first: case for case in with_swaps(make.equipment(), (first, second))}
    assert (twice[10].position, twice[11].position) == ("1", "2")
    assert [move.position for move in twice[10].moves] == ["2", "1"]


def test_a_swap_of_units_that_are_not_there_moves_nothing(make: "Make") -> None:
    """An entry that fitted a unit may have been struck out since."""
    facts = make.swapped(make.swap(200, 10, 99, "2027-03-01"))
    assert [case.position for case in facts.fitted("altimeter")] == ["1", "2"]
    assert swapped(facts, ALTIMETERS) == ()


def test_a_place_is_known_for_each_moment(make: "Make") -> None:
    """Of one day the order of the entries decides; by instant the swap itself is the new place."""
    facts = make.swapped(make.swap(200, 10, 11, "2027-03-01"))
    case = facts.fitted("altimeter")[0]
    assert place_at(facts, case, (on("2027-02-28"), 300)) == "1"
    assert place_at(facts, case, (on("2027-03-01"), 199)) == "1"
    assert place_at(facts, case, (on("2027-03-01"), 201)) == "2"
    assert places_since(case, at("2027-03-01", "08:59")) == ("1", "2")
    assert places_since(case, at("2027-03-01", "09:00")) == ("2",)


def test_the_swaps_of_a_function(make: "Make") -> None:
    """Other functions are left out, and positions stand in order."""
    swaps = (make.swap(200, 11, 10, "2027-03-01"), make.swap(201, 12, 13, "2027-03-02"))
    facts = make.swapped(*swaps)
    found = swapped(facts, ALTIMETERS)
    assert [(item.swap.first, item.function, item.positions) for item in found] == [
        (200, "altimeter", ("1", "2"))
    ]
    assert len(swapped(facts, ("altimeter", "air-data-computer"))) == 2


def test_swapped_systems_are_still_two(make: "Make") -> None:
    """Each position still has its altimeter, its computer and its static source."""
    facts = make.swapped(make.swap(200, 10, 11, "2027-03-01"))
    assert [row[0] for row in make.rows(altimetry_system_missing, facts)] == ["met"]


@pytest.mark.parametrize(
    ("scope", "units", "count"),
    [
        (PRIMARIES, (10, 11), 1),
        (STANDBY, (10, 11), 1),
        (REPORTING, (10, 11), 1),
        (PRIMARIES, (22, 201), 0),
        (REPORTING, (22, 201), 1),
    ],
)
def test_a_swap_disturbs_what_it_is_of(
    make: "Make", scope: Any, units: tuple[int, int], count: int
) -> None:
    """Baselines start afresh at its instant: for altimeters all, for a transponder its own."""
    spare = make.unit(201, "transponder", position="2")
    swap = make.swap(202, *units, "2027-03-01")
    facts = make.swapped(swap, equipment=(*make.equipment(), spare))
    found = [item for item in disturbances(facts, scope) if item.ref == swap.ref]
    assert [item.instant for item in found] == [at("2027-03-01", "09:00")] * count


def test_altimeters_are_compared_after_a_swap(make: "Make") -> None:
    """A comparison before the swap says nothing about the systems after it."""
    before = make.swapped(make.swap(200, 10, 11, "2027-03-10"))
    assert make.rows(altimeters_not_compared_since_work, before)[0][0] == "met"
    after = make.swapped(make.swap(200, 10, 11, "2027-03-13"))
    assert make.rows(altimeters_not_compared_since_work, after)[0][0] == "not on record"


def test_units_bring_the_test_of_their_earlier_place(make: "Make") -> None:
    """Tested at 2 in June and at 1 in August: since the swap both tests count, the older limits."""
    tests = (
        make.test(50, position="1", done_on=on("2026-08-10")),
        make.test(51, position="2", done_on=on("2026-06-10")),
    )
    swap = make.swap(200, 10, 11, "2027-03-01")
    facts = make.swapped(swap, tests=tests)
    rows = make.rows(static_test_overdue, facts)
    # 10 June 2026 and 24 calendar months: 30 June 2028 (91.411(a)(1)).
    older = "counts until 2028-06-30: 474 days left"
    assert [(row[0], row[1], row[3]) for row in rows[:2]] == [
        ("met", f"altimeter 1: tested 2026-08-10, a unit there only 2026-06-10, {older}", (50, 51)),
        ("met", f"altimeter 2: tested 2026-06-10, {older}", (51, 50)),
    ]


def test_a_unit_swapped_in_without_a_test_is_untested(make: "Make") -> None:
    """The test of position 1 found another unit there, and position 2 was never tested since."""
    spare = make.unit(200, "altimeter", position="2", fitted_on=on("2027-02-01"))
    units = (*(case for case in make.equipment() if case.equipment.first != 11), spare)
    facts = make.swapped(make.swap(201, 10, 200, "2027-03-01"), equipment=units)
    rows = make.rows(static_test_overdue, facts)
    unit = "altimeter S200 fitted 2027-02-01"
    says = f"altimeter 1: {unit}, after the test of 2026-06-10: no test of it"
    assert rows[0][:3] == ("not on record", says, 0)
    bench = make.test(202, done_on=on("2027-01-20"), unit_serial=" s200 ", position="1")
    facts = make.swapped(
        make.swap(201, 10, 200, "2027-03-01"), equipment=units, tests=(*make.tests(), bench)
    )
    assert [row[0] for row in make.rows(static_test_overdue, facts)][:1] == ["met"]


def test_a_bench_test_goes_with_its_unit(make: "Make") -> None:
    """Bench-tested for position 1, the altimeter was swapped to position 2: so was its test."""
    tests = (
        *make.tests(),
        make.test(201, done_on=on("2027-02-01"), unit_serial="S010", position="1"),
    )
    facts = make.swapped(make.swap(202, 10, 11, "2027-03-01"), tests=tests)
    rows = make.rows(static_test_overdue, facts)
    assert [(row[0], row[1][:11], row[3]) for row in rows[:2]] == [
        ("met", "altimeters ", (50,)),
        ("met", "altimeter 2", (201, 50, 51)),
    ]


def test_a_transponder_test_counts_for_the_unit_that_was_there(make: "Make") -> None:
    """The transponder tested at position 1 is at 2 since the swap; the other was never tested."""
    units = tuple(case for case in make.equipment() if case.equipment.first != 22)
    units += (
        make.unit(201, "transponder", position="1"),
        make.unit(202, "transponder", position="2"),
    )
    tests = (make.test(203, test="transponder", position="1"),)
    facts = make.swapped(make.swap(204, 201, 202, "2027-03-01"), equipment=units, tests=tests)
    assert [row[:2] for row in make.rows(transponder_test_overdue, facts)] == [
        ("met", "transponder 2: tested 2026-06-10, counts until 2028-06-30: 474 days left"),
        ("advice", "transponder 1: no test on record"),
    ]


def test_a_fault_may_go_with_either_unit(make: "Make") -> None:
    """A defect at position 2 from before the swap may be of the unit or of its place."""
    units = tuple(case for case in make.equipment() if case.equipment.first != 21)
    units += (
        make.unit(201, "altitude-control", position="1"),
        make.unit(202, "altitude-control", position="2"),
    )
    defect = make.defect(203, function="altitude-control", position="2")
    parts: dict[str, Any] = {"equipment": units, "defects": (make.case(defect),)}
    assert make.rows(altitude_control_inoperative, make.facts(**parts))[0][0] == "met"
    later = make.swap(204, 201, 202, "2027-03-13")
    assert make.rows(altitude_control_inoperative, make.swapped(later, **parts))[0][0] == "not met"
    earlier = make.swap(204, 201, 202, "2027-03-11")
    assert make.rows(altitude_control_inoperative, make.swapped(earlier, **parts))[0][0] == "met"
