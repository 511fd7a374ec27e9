"""Which functional checks work calls for, as its entry is made.

Opening the static system: 14 CFR 91.411(a)(2); altitude reporting: 91.411(a)(3); a transponder
fitted: 91.413; an altimeter fitted: 91.411(a)(1) (all published). Work on altimeter, air data
computer and skin near the ports: RVSM maintenance guidance, read second-hand.
"""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.findings import NO_FLIGHT
from rvsmlog.records.airframe import ALTIMETRY_WORK
from rvsmlog.rules import RULES
from rvsmlog.rules.work_calls import calls_of
from tests.rules.conftest import on

if TYPE_CHECKING:
    from rvsmlog.facts import Facts
    from tests.rules.conftest import Make

BELOW = 280
LEAK = ("leak-check", NO_FLIGHT)
STATIC = ("altimeter-static", BELOW)
REPORTED = ("correspondence", NO_FLIGHT)
CALLED = {
    "static-system-opened": LEAK,
    "altimeter": STATIC,
    "static-port-area": STATIC,
    "altitude-reporting": REPORTED,
}
# 91.411(a)(3), read in the 2024 print: after installation or maintenance where an error of data
# correspondence could be introduced. The computer is where the altitude reported comes from.
CALLED_TWICE = {"air-data-computer": (STATIC, REPORTED)}


def called(make: "Make", facts: "Facts", entry: int) -> list[tuple[str, int, tuple[str, ...]]]:
    """Give the calls of an entry as test, level until then, positions."""
    calls = calls_of(facts, make.ref(entry))
    return [(call.test, call.highest_level, call.positions) for call in calls]


def test_every_word_of_work_is_tested_here() -> None:
    """The table above covers all that work can touch."""
    assert {*CALLED, *CALLED_TWICE} == set(ALTIMETRY_WORK)


@pytest.mark.parametrize("word", ALTIMETRY_WORK)
@pytest.mark.parametrize("position", ["2", None])
def test_work_and_rectification_call_for_the_same(
    make: "Make", word: str, position: str | None
) -> None:
    """Each part touched calls for its test, at the position named or at both."""
    positions = ("1", "2") if position is None else (position,)
    tests = CALLED_TWICE[word] if word in CALLED_TWICE else (CALLED[word],)
    wanted = [(*each, positions) for each in tests]
    work = make.facts(work=(make.work(200, "2027-03-13", work=(word,), position=position),))
    assert called(make, work, 200) == wanted
    defect = make.defect(201, function="static-source", position=position)
    done = make.rectification(202, 201, touched=(word,))
    rectified = make.facts(defects=(make.case(defect, rectification=done),))
    assert called(make, rectified, 202) == wanted
    assert called(make, rectified, 201) == []


def test_work_on_several_parts_calls_for_each_test(make: "Make") -> None:
    """One test each, in the order of what they cost."""
    work = (make.work(200, "2027-03-13", work=ALTIMETRY_WORK, position="1"),)
    facts = make.facts(work=work)
    assert called(make, facts, 200) == [(*each, ("1",)) for each in (LEAK, STATIC, REPORTED)]


def test_a_test_on_record_is_not_called_for(make: "Make") -> None:
    """Work recorded late, after its tests were made."""
    work = (make.work(200, "2027-03-01", work=("static-system-opened", "altimeter")),)
    leak = make.test(201, test="leak-check", done_on=on("2027-03-02"))
    facts = make.facts(work=work, tests=(*make.tests(), leak))
    assert called(make, facts, 200) == [(*STATIC, ("1", "2"))]


def test_what_is_not_said_calls_for_the_test_or_a_word(make: "Make") -> None:
    """An altimetry fault put right without saying what was touched."""
    case = make.case(make.altimetry_fault(200), rectification=make.rectification(201, 200))
    facts = make.facts(defects=(case,))
    assert called(make, facts, 201) == [(*STATIC, ("1", "2"))]
    (call,) = calls_of(facts, make.ref(201))
    assert call.instead == "say what was touched (--touched), or have the controller accept it"
    transponder = make.defect(202, function="transponder")
    case = make.case(transponder, rectification=make.rectification(203, 202))
    assert called(make, make.facts(defects=(case,)), 203) == [("correspondence", BELOW, ())]
    alerter = make.case(make.defect(204), rectification=make.rectification(205, 204))
    assert called(make, make.facts(defects=(alerter,)), 205) == []


@pytest.mark.parametrize(
    ("function", "wanted"),
    [
        ("altimeter", [(*LEAK, ("1",)), ("altimeter-static", NO_FLIGHT, ("1",))]),
        (
            "air-data-computer",
            [(*LEAK, ("1",)), (*REPORTED, ("1",)), ("altimeter-static", NO_FLIGHT, ("1",))],
        ),
        ("static-source", [(*LEAK, ("1",)), (*STATIC, ("1",))]),
        ("standby-altimeter", [(*LEAK, ("standby",))]),
        ("transponder", [(*REPORTED, ()), ("transponder", 90, ())]),
        ("altitude-alerter", []),
    ],
)
def test_a_unit_fitted(make: "Make", function: str, wanted: list[Any]) -> None:
    """A bench test that names the unit's serial number is its own test; the leak check stays."""
    unit = make.unit(200, function, position="1", fitted_on=on("2027-03-13"))
    equipment = (*make.equipment(), unit)
    assert called(make, make.facts(equipment=equipment), 200) == wanted
    kind = "transponder" if function == "transponder" else "altimeter-static"
    bench = make.test(201, test=kind, unit_serial="S200", done_on=on("2027-02-01"))
    facts = make.facts(equipment=equipment, tests=(*make.tests(), bench))
    own = ("altimeter-static", NO_FLIGHT, ("1",)), ("transponder", 90, ())
    assert called(make, facts, 200) == [each for each in wanted if each not in own]


def test_an_altimeter_fitted_where_nothing_was_tested_yet(make: "Make") -> None:
    """A new log without any test calls for it too."""
    facts = make.facts(tests=())
    assert called(make, facts, 10) == [(*LEAK, ("1",)), ("altimeter-static", NO_FLIGHT, ("1",))]


def test_a_removal_and_a_swap(make: "Make") -> None:
    """Either opens the static system; a swap disturbs both indications."""
    out = make.unit(200, "altimeter", position="2", removed=make.removal(201, 200, "2027-03-13"))
    facts = make.facts(equipment=(*make.equipment(), out))
    assert called(make, facts, 201) == [(*LEAK, ("2",))]
    swapped = make.swapped(make.swap(202, 10, 11, "2027-03-13"))
    assert called(make, swapped, 202) == [(*LEAK, ("1", "2")), (*STATIC, ("1", "2"))]


def test_the_level_lasts_until_the_check_is_on_record(make: "Make") -> None:
    """What is told at once is what the rules then hold: each call has its limiting finding."""
    work = make.work(200, "2027-03-13", work=ALTIMETRY_WORK)
    facts = make.facts(work=(work,))
    found = {
        finding.highest_level
        for rule in RULES
        for finding in rule.findings(facts)
        if work.ref in finding.evidence and finding.highest_level is not None
    }
    assert {call.highest_level for call in calls_of(facts, work.ref)} <= found


def test_a_call_reads_as_the_trade_says_it(make: "Make") -> None:
    """One position, several, or none."""
    facts = make.swapped(make.swap(202, 10, 11, "2027-03-13"))
    titles = [call.title for call in calls_of(facts, make.ref(202))]
    assert titles == [
        "leak check of the static system, positions 1 and 2",
        "altimeter and static test, positions 1 and 2",
    ]
