"""Work that wants a test: 91.411(a)(2) static system, (a)(3) altitude reporting.

Limits: correspondence 125 ft (Part 43 Appendix E(c)); leak of a pressurised aeroplane 2 % of the
altitude equivalent of its differential (25.1325), 262 ft at 5.75 psi, derived.
"""

from typing import Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.work_untested import altimetry_work_untested, static_system_opened
from tests.rules.conftest import Make, at, on

OPENED = ("static-system-opened",)


def after(make: Make, *tests: Any, **parts: Any) -> Facts:
    """Give facts with further tests after the healthy airframe's own."""
    return make.facts(tests=(*make.tests(), *tests), **parts)


def test_the_healthy_airframe_was_tested_since_its_units_were_fitted(make: Make) -> None:
    """Units of May 2026, tests of June 2026."""
    says = "static system tested since it was last opened on 2026-05-01"
    assert make.rows(static_system_opened, make.facts()) == [("met", says, None, (23,))]
    says = "altimetry tested since the last work on it, 2026-05-01"
    assert make.rows(altimetry_work_untested, make.facts()) == [("met", says, None, (22,))]


def test_nothing_on_record_does_not_apply(make: Make) -> None:
    """Without work and units there is nothing to test after."""
    facts = make.facts(equipment=(), tests=())
    rows = [("not applicable", "no opening of the static system on record", None, ())]
    assert make.rows(static_system_opened, facts) == rows
    rows = [("not applicable", "no work on the altimetry on record", None, ())]
    assert make.rows(altimetry_work_untested, facts) == rows


def test_opening_without_a_leak_check_leaves_no_flight(make: Make) -> None:
    """91.411(a)(2): no flight under IFR until the static system is tested again."""
    facts = make.facts(work=(make.work(200, "2027-03-01", work=OPENED),))
    (finding,) = static_system_opened.findings(facts)
    assert finding.says == "static system opened 2027-03-01: no good leak check since"
    assert (finding.outcome, finding.highest_level) == ("not met", 0)
    assert [ref.entry for ref in finding.evidence] == [200]
    assert finding.values == {"opened_on": "2027-03-01", "openings": 1}
    assert finding.remedy.startswith("Have the static system leak-checked")


@pytest.mark.parametrize(
    ("fields", "outcome"),
    [
        ({"test": "leak-check"}, "met"),
        ({"test": "leak-check", "done_on": on("2027-02-28")}, "not met"),
        ({"test": "altimeter-static"}, "met"),
        ({"test": "altimeter-static", "unit_serial": "S010"}, "not met"),
        ({"test": "transponder"}, "not met"),
        ({"test": "correspondence"}, "not met"),
        ({"test": "leak-check", "position": "1"}, "not met"),
        ({"test": "leak-check", "leak_ft": 262}, "met"),
    ],
)
def test_which_test_closes_an_opening(make: Make, fields: dict[str, Any], outcome: str) -> None:
    """A leak check or an altimeter and static test of both systems, of the day or later."""
    facts = after(
        make,
        make.test(201, **({"done_on": on("2027-03-01")} | fields)),
        work=(make.work(200, "2027-03-01", work=OPENED),),
    )
    assert [row[0] for row in make.rows(static_system_opened, facts)] == [outcome]


def test_a_test_of_the_same_day_counts_when_recorded_after_the_work(make: Make) -> None:
    """The order of the entries decides on one day, by the number first made."""
    check = make.test(199, test="leak-check", done_on=on("2027-03-01"))
    work = (make.work(200, "2027-03-01", work=OPENED),)
    before = after(make, check, work=work)
    assert make.rows(static_system_opened, before)[0][0] == "not met"
    corrected = make.log(check.record, 205, first=199)
    assert make.rows(static_system_opened, after(make, corrected, work=work))[0][0] == "not met"
    later = make.log(check.record, 201)
    assert make.rows(static_system_opened, after(make, later, work=work))[0][0] == "met"


def test_a_leak_check_of_the_position_is_enough(make: Make) -> None:
    """Where the work names a position, that position must be tested."""
    work = (make.work(200, "2027-03-01", work=OPENED, position="2"),)
    first = make.test(201, test="leak-check", done_on=on("2027-03-02"), position="1")
    second = make.test(202, test="leak-check", done_on=on("2027-03-02"), position="2")
    assert make.rows(static_system_opened, after(make, first, work=work))[0][0] == "not met"
    assert make.rows(static_system_opened, after(make, second, work=work))[0][0] == "met"
    both = (make.work(200, "2027-03-01", work=OPENED, position="left aft drain"),)
    assert make.rows(static_system_opened, after(make, second, work=both))[0][0] == "not met"
    assert make.rows(static_system_opened, after(make, first, second, work=both))[0][0] == "met"


@pytest.mark.parametrize(
    ("leak", "says"),
    [
        ({"leak_ft": 263}, "leak check of 2027-03-02: leak of 263 ft in a minute, limit 262 ft"),
        ({"passed": False}, "leak check of 2027-03-02: failed"),
    ],
)
def test_a_leak_check_beyond_the_limit_or_failed_bars_by_itself(
    make: Make, leak: dict[str, Any], says: str
) -> None:
    """A leak that was found leaves no flight, until a good test came after it."""
    fields: dict[str, Any] = {"test": "leak-check", "done_on": on("2027-03-02")}
    # 5.75 psi are 13,107 ft in the standard atmosphere: 2 % of that are 262 ft (25.1325).
    parts = {"airframe": make.airframe(max_differential_psi=5.75)}
    bad = make.test(201, **(fields | leak))
    rows = make.rows(static_system_opened, after(make, bad, **parts))
    assert rows[0] == ("not met", says, 0, (201,))
    again = make.test(202, **(fields | {"leak_ft": 50}))
    rows = make.rows(static_system_opened, after(make, bad, again, **parts))
    assert [row[0] for row in rows] == ["met"]
    whole = make.test(203, done_on=on("2027-03-03"))
    rows = make.rows(static_system_opened, after(make, bad, whole, **parts))
    assert [row[0] for row in rows] == ["met"]


@pytest.mark.parametrize(("leak_ft", "outcome"), [(100, "met"), (101, "not met")])
def test_without_the_cabin_differential_100_ft_is_the_limit(
    make: Make, leak_ft: int, outcome: str
) -> None:
    """The least limit of any aeroplane (25.1325); a leak of just that passes."""
    leak = make.test(201, test="leak-check", done_on=on("2027-03-02"), leak_ft=leak_ft)
    facts = after(make, leak, airframe=make.airframe(max_differential_psi=None))
    assert make.rows(static_system_opened, facts)[0][0] == outcome


def test_a_rectification_that_opened_the_static_system_counts_on_its_local_day(make: Make) -> None:
    """23:30 UTC on 12 March is 13 March in Auckland; a check of 12 March came before it."""
    fault = make.altimetry_fault(200)
    done = make.rectification(201, 200, touched=OPENED, done_at=at("2027-03-12", "23:30"))
    case = make.case(fault, rectification=done)
    check = make.test(202, test="leak-check", done_on=on("2027-03-12"))
    utc = after(make, check, defects=(case,))
    assert make.rows(static_system_opened, utc)[0][0] == "met"
    auckland = after(make, check, defects=(case,), time_zone="Pacific/Auckland")
    says = "static system opened 2027-03-13: no good leak check since"
    assert make.rows(static_system_opened, auckland) == [("not met", says, 0, (201,))]


def test_fitting_and_removing_a_unit_opens_the_static_system(make: Make) -> None:
    """An altimeter exchanged without a leak check leaves no flight."""
    out = make.unit(200, "altimeter", position="9", removed=make.removal(201, 200, "2027-03-01"))
    fitted = make.unit(202, "standby-altimeter", fitted_on=on("2027-03-01"))
    alerter = make.unit(203, "altitude-alerter", fitted_on=on("2027-03-05"))
    facts = make.facts(equipment=(*make.equipment(), out, fitted, alerter))
    says = "standby altimeter fitted 2027-03-01 and 1 more: no good leak check since"
    assert make.rows(static_system_opened, facts) == [("not met", says, 0, (201, 202))]
    check = make.test(204, test="leak-check", done_on=on("2027-03-02"))
    checked = after(make, check, equipment=facts.equipment)
    assert make.rows(static_system_opened, checked)[0][0] == "met"


@pytest.mark.parametrize("work", ["altimeter", "air-data-computer", "static-port-area"])
def test_work_on_the_altimetry_wants_an_altimeter_test(make: Make, work: str) -> None:
    """Without it RVSM is lost; a leak check alone does not do."""
    parts: dict[str, Any] = {"work": (make.work(200, "2027-03-01", work=(work,), position="1"),)}
    leak = make.test(201, test="leak-check", done_on=on("2027-03-02"))
    name = work.replace("-", " ")
    says = f"work on {name} 2027-03-01: no good altimeter and static test since"
    rows = [("not met", says, 280, (200,))]
    reported = make.test(205, test="correspondence", done_on=on("2027-03-02"))
    assert make.rows(altimetry_work_untested, after(make, leak, reported, **parts)) == rows
    other = make.test(202, done_on=on("2027-03-02"), position="2")
    assert make.rows(altimetry_work_untested, after(make, other, reported, **parts)) == rows
    good = make.test(203, done_on=on("2027-03-02"), position="1")
    found = make.rows(altimetry_work_untested, after(make, good, reported, **parts))
    assert [row[0] for row in found] == ["met"]


@pytest.mark.parametrize(
    ("fields", "outcome"),
    [
        ({"position": "1"}, "met"),
        ({}, "met"),
        ({"position": "2"}, "not met"),
        ({"position": "1", "correspondence_ft": 126}, "not met"),
        (None, "not met"),
    ],
)
def test_an_air_data_computer_fitted_wants_a_correspondence_test(
    make: Make, fields: dict[str, Any] | None, outcome: str
) -> None:
    """91.411(a)(3): the altitude reported comes from it; a bench test of the unit says nothing."""
    unit = make.unit(200, "air-data-computer", position="1", fitted_on=on("2027-03-01"))
    parts: dict[str, Any] = {"equipment": (*make.equipment(), unit)}
    bench = make.test(201, done_on=on("2027-02-20"), position="1", unit_serial="S200")
    tests = [bench, make.test(202, done_on=on("2027-03-02"))]
    if fields is not None:
        tests.append(make.test(203, test="correspondence", done_on=on("2027-03-02"), **fields))
    found = make.rows(altimetry_work_untested, after(make, *tests, **parts))
    assert {row[0] for row in found} == {outcome}
    if outcome != "met":
        assert found[0][2] == 0


def test_work_on_altitude_reporting_wants_a_correspondence_test(make: Make) -> None:
    """91.411(a)(3): without it no flight under IFR."""
    parts: dict[str, Any] = {"work": (make.work(200, "2027-03-01", work=("altitude-reporting",)),)}
    says = "work on altitude reporting 2027-03-01: no good correspondence test since"
    rows = [("not met", says, 0, (200,))]
    assert make.rows(altimetry_work_untested, after(make, **parts)) == rows
    static = make.test(201, done_on=on("2027-03-02"))
    assert make.rows(altimetry_work_untested, after(make, static, **parts)) == rows
    good = make.test(202, test="correspondence", done_on=on("2027-03-02"), correspondence_ft=-125)
    says = "altimetry tested since the last work on it, 2027-03-01"
    assert make.rows(altimetry_work_untested, after(make, good, **parts)) == [
        ("met", says, None, (200,))
    ]


def test_a_transponder_fitted_wants_a_correspondence_test_of_any_position(make: Make) -> None:
    """A transponder's position is not that of an altimetry system."""
    unit = make.unit(200, "transponder", position="2", fitted_on=on("2027-03-01"))
    parts: dict[str, Any] = {"equipment": (*make.equipment(), unit)}
    says = "transponder fitted 2027-03-01: no good correspondence test since"
    rows = [("not met", says, 0, (200,))]
    assert make.rows(altimetry_work_untested, after(make, **parts)) == rows
    good = make.test(201, test="correspondence", done_on=on("2027-03-01"), position="1")
    assert make.rows(altimetry_work_untested, after(make, good, **parts))[0][0] == "met"


def test_several_works_are_one_finding_for_each_test_wanted(make: Make) -> None:
    """Two works that want the same test are named once; different tests are two findings."""
    works = (
        make.work(200, "2027-02-01"),
        make.work(201, "2027-03-01", work=("air-data-computer", "altitude-reporting")),
    )
    assert make.rows(altimetry_work_untested, make.facts(work=works)) == [
        (
            "not met",
            "work on altitude reporting, air data computer 2027-03-01: no good correspondence test "
            "since",
            0,
            (201,),
        ),
        (
            "not met",
            "work on air data computer 2027-03-01 and 1 more: no good altimeter and static test "
            "since",
            280,
            (200, 201),
        ),
    ]


def test_a_rectification_that_names_what_it_touched_wants_its_test(make: Make) -> None:
    """The position is that of the defect."""
    defect = make.defect(200, function="altimeter", position="2")
    done = make.rectification(201, 200, touched=("altimeter",))
    parts: dict[str, Any] = {"defects": (make.case(defect, rectification=done),)}
    says = "work on altimeter 2027-03-13: no good altimeter and static test since"
    rows = [("not met", says, 280, (201,))]
    assert make.rows(altimetry_work_untested, after(make, **parts)) == rows
    good = make.test(202, done_on=on("2027-03-13"), position="2")
    assert make.rows(altimetry_work_untested, after(make, good, **parts))[0][0] == "met"


UNSAID = "altimetry fault rectified 2027-03-13: not said what was touched, and no test since"


@pytest.mark.parametrize("function", ["altimeter", "air-data-computer", "static-source", "fault"])
def test_a_rectification_that_does_not_say_what_it_touched(make: Make, function: str) -> None:
    """Of the altimetry it is not on record what wants testing: RVSM is lost."""
    if function == "fault":
        found = make.case(make.altimetry_fault(200), rectification=make.rectification(201, 200))
    else:
        defect = make.defect(200, function=function)
        found = make.case(defect, rectification=make.rectification(201, 200))
    rows = [("not on record", UNSAID, 280, (201,))]
    assert make.rows(altimetry_work_untested, make.facts(defects=(found,))) == rows
    good = make.test(202, done_on=on("2027-03-13"))
    assert make.rows(altimetry_work_untested, after(make, good, defects=(found,)))[0][0] == "met"


def test_other_rectifications_need_not_say_it(make: Make) -> None:
    """An alerter and an open fault are not of the altimetry systems."""
    cases = (
        make.case(make.defect(200), rectification=make.rectification(201, 200)),
        make.case(make.altimetry_fault(202)),
    )
    assert make.rows(altimetry_work_untested, make.facts(defects=cases))[0][0] == "met"


def test_a_transponder_rectification_that_does_not_say_what_it_touched(make: Make) -> None:
    """Reported and indicated altitude may differ since: a correspondence test or a review."""
    defect = make.defect(200, function="transponder", position="2")
    case = make.case(defect, rectification=make.rectification(201, 200))
    parts: dict[str, Any] = {"defects": (case,)}
    says = "transponder fault rectified 2027-03-13: not said what was touched, and no test since"
    rows = [("not on record", says, 280, (201,))]
    assert make.rows(altimetry_work_untested, after(make, **parts)) == rows
    static = make.test(202, done_on=on("2027-03-13"))
    assert make.rows(altimetry_work_untested, after(make, static, **parts)) == rows
    good = make.test(203, test="correspondence", done_on=on("2027-03-13"))
    assert make.rows(altimetry_work_untested, after(make, good, **parts))[0][0] == "met"
    reviewed = after(make, reviews=(make.review(205, 201),), **parts)
    assert make.rows(altimetry_work_untested, reviewed)[0][0] == "met"


@pytest.mark.parametrize(
    ("subject", "fields", "outcome"),
    [
        (200, {}, "met"),
        (201, {}, "met"),
        (201, {"accepted": False}, "not on record"),
        (201, {"reviewed_at": at("2027-03-13", "08:59")}, "not on record"),
        (201, {"reviewed_at": at("2027-03-13", "09:00")}, "met"),
        (199, {}, "not on record"),
    ],
)
def test_the_controllers_review_stands_in(
    make: Make, subject: int, fields: dict[str, Any], outcome: str
) -> None:
    """An accepting review of fault or rectification, made after the work, settles it."""
    case = make.case(make.altimetry_fault(200), rectification=make.rectification(201, 200))
    facts = make.facts(defects=(case,), reviews=(make.review(205, subject, **fields),))
    assert [row[0] for row in make.rows(altimetry_work_untested, facts)] == [outcome]


def test_a_later_review_that_does_not_accept_takes_it_back(make: Make) -> None:
    """The newest review decides."""
    case = make.case(make.altimetry_fault(200), rectification=make.rectification(201, 200))
    reviews = (
        make.review(205, 201),
        make.review(206, 200, reviewed_at=at("2027-03-13", "18:00"), accepted=False),
    )
    facts = make.facts(defects=(case,), reviews=reviews)
    assert make.rows(altimetry_work_untested, facts) == [("not on record", UNSAID, 280, (201,))]


def test_work_on_the_ports_wants_the_aeroplane_tested(make: Make) -> None:
    """A bench test of the altimeter says nothing about ports and skin; of the altimeter it does."""
    bench = make.test(202, done_on=on("2027-03-02"), position="1", unit_serial="S010")
    for word, expected in (("static-port-area", "not met"), ("altimeter", "met")):
        work = (make.work(200, "2027-03-01", work=(word,), position="1"),)
        rows = make.rows(altimetry_work_untested, after(make, bench, work=work))
        assert [row[0] for row in rows] == [expected]
    work = (make.work(200, "2027-03-01", work=("static-port-area",), position="1"),)
    ramp = make.test(203, done_on=on("2027-03-02"), position="1")
    rows = make.rows(altimetry_work_untested, after(make, ramp, work=work))
    assert [row[0] for row in rows] == ["met"]


def test_a_static_source_fitted_wants_the_aeroplane_tested(make: Make) -> None:
    """A port plate exchanged is work on the port; a leak check alone does not do."""
    unit = make.unit(200, "static-source", position="1", fitted_on=on("2027-03-01"))
    parts: dict[str, Any] = {"equipment": (*make.equipment(), unit)}
    leak = make.test(201, test="leak-check", done_on=on("2027-03-02"))
    says = "static source 1 fitted 2027-03-01: no good altimeter and static test since"
    assert make.rows(static_system_opened, after(make, leak, **parts))[0][0] == "met"
    rows = make.rows(altimetry_work_untested, after(make, leak, **parts))
    assert rows == [("not met", says, 280, (200,))]
    good = make.test(203, done_on=on("2027-03-02"), position="1")
    rows = make.rows(altimetry_work_untested, after(make, leak, good, **parts))
    assert [row[0] for row in rows] == ["met"]


@pytest.mark.parametrize("units", [(10, 11, "altimeters"), (12, 13, "air-data-computers")])
def test_a_swap_wants_leak_check_and_both_systems_tested(
    make: Make, units: tuple[int, int, str]
) -> None:
    """Swapped altimeters open the static system and disturb both indications."""
    one, other, name = units
    swap = make.swap(200, one, other, "2027-03-01")
    reported = make.test(203, test="correspondence", done_on=on("2027-03-01"))
    kept = (*make.tests(), reported)
    facts = make.swapped(swap, tests=kept)
    says = f"{name} 1 and 2 swapped 2027-03-01: no good leak check since"
    assert make.rows(static_system_opened, facts) == [("not met", says, 0, (200,))]
    says = f"{name} 1 and 2 swapped 2027-03-01: no good altimeter and static test since"
    assert make.rows(altimetry_work_untested, facts) == [("not met", says, 280, (200,))]
    half = make.test(201, done_on=on("2027-03-01"), position="1")
    facts = make.swapped(swap, tests=(*kept, half))
    assert make.rows(altimetry_work_untested, facts)[0][0] == "not met"
    both = make.test(202, done_on=on("2027-03-01"))
    facts = make.swapped(swap, tests=(*kept, both))
    assert make.rows(static_system_opened, facts)[0][0] == "met"
    assert make.rows(altimetry_work_untested, facts)[0][0] == "met"


def test_swapped_transponders_want_a_correspondence_test(make: Make) -> None:
    """91.411(a)(3): the altitude reported may differ since; the static system was not opened."""
    second = make.unit(201, "transponder", position="2", fitted_on=on("2026-05-01"))
    units = (*make.equipment(), second)
    swap = make.swap(202, 22, 201, "2027-03-01")
    facts = make.swapped(swap, equipment=units)
    says = "transponders 2 swapped 2027-03-01: no good correspondence test since"
    assert make.rows(altimetry_work_untested, facts) == [("not met", says, 0, (202,))]
    assert make.rows(static_system_opened, facts)[0][0] == "met"
    good = make.test(203, test="correspondence", done_on=on("2027-03-01"))
    facts = make.swapped(swap, equipment=units, tests=(*make.tests(), good))
    assert make.rows(altimetry_work_untested, facts)[0][0] == "met"
