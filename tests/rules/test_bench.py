"""Readings behind tests: beyond Appendix E, beyond the airframe's own limit, and made otherwise."""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import Facts, Logged
from rvsmlog.records.readings import Readings
from rvsmlog.rules.bench import altimeter_beyond_rvsm_limit, appendix_e_not_followed
from rvsmlog.rules.judged_readings import own_limits, proved_to_ft, sheet_of
from rvsmlog.rules.reporting_due import altitude_reporting_test_overdue
from rvsmlog.rules.tests_due import static_test_overdue, tested_too_low
from rvsmlog.rules.work_untested import altimetry_work_untested, static_system_opened
from rvsmlog.science.bench_judgement import Sheet
from tests.rules.conftest import on

if TYPE_CHECKING:
    from tests.rules.conftest import Make

#: An invented limit: 60 ft at FL290, 80 ft at FL350.
OWN = ((290, 60), (350, 80))


def benched(make: "Make", *readings: Logged[Readings], own: Any = OWN, **parts: Any) -> Facts:
    """Give facts with a test of each altimeter, entries 54 to 56, and readings of tests."""
    tested = (
        make.test(54, position="1"),
        make.test(55, position="2"),
        make.test(56, position="standby"),
    )
    tests = (*make.tests()[1:], *tested)
    airframe = make.airframe(altimeter_scale_limit=own, max_differential_psi=5.75)
    given: dict[str, Any] = {"tests": tests, "readings": readings, "airframe": airframe}
    return make.facts(**(given | parts))


def scale(make: "Make", entry: int, test: int, *points: tuple[int, int]) -> Logged[Readings]:
    """Log readings of the scale."""
    return make.readings(entry, test, scale_error=points)


@pytest.mark.parametrize("error", [180, -180])
def test_a_passed_test_within_table_i_counts(make: "Make", error: int) -> None:
    """43 Appendix E Table I: 180 ft at 30,000 ft."""
    facts = benched(make, scale(make, 200, 54, (30_000, error)))
    assert [row[0] for row in make.rows(static_test_overdue, facts)] == ["met"] * 3


@pytest.mark.parametrize("error", [181, -181])
def test_readings_beyond_table_i_cannot_stand_behind_a_passed_test(
    make: "Make", error: int
) -> None:
    """One foot beyond Table I: the test is none, and no flight under IFR remains."""
    facts = benched(make, scale(make, 200, 54, (30_000, error)))
    says = (
        "altimeter 1: test of 2026-06-10: passed on record, yet scale error "
        f"{error:+d} ft at 30,000 ft, limit 180 ft"
    )
    rows = make.rows(static_test_overdue, facts)
    assert rows[0] == ("not met", says, 0, (54,))
    assert rows[1][0] == "met"


def test_readings_beyond_the_leak_limit_are_no_leak_check(make: "Make") -> None:
    """25.1325: 262 ft at 5.75 psi (13,107 ft in the standard atmosphere)."""
    work = (make.work(201, "2027-03-01", work=("static-system-opened",)),)
    check = make.test(202, test="leak-check", done_on=on("2027-03-02"))
    tests = (*make.tests(), check)
    for loss, outcome in ((262, "met"), (263, "not met")):
        readings = make.readings(203, 202, static_leak=((575, loss),))
        facts = benched(make, readings, tests=tests, work=work)
        assert make.rows(static_system_opened, facts)[0][0] == outcome


def test_readings_beyond_125_ft_are_no_correspondence_test(make: "Make") -> None:
    """Appendix E(c), at any of its points."""
    for error, outcome in ((-125, "met"), (-126, "not met")):
        readings = make.readings(203, 53, correspondence=((0, 10), (30_000, error)))
        facts = benched(make, readings)
        assert make.rows(altitude_reporting_test_overdue, facts)[0][0] == outcome
        assert make.rows(altimetry_work_untested, facts)[0][0] == outcome


def test_readings_that_end_low_cap_the_level(make: "Make") -> None:
    """91.411(d): stated to 35,000 ft, but read to 28,000 ft only."""
    facts = benched(make, scale(make, 200, 54, (0, 0), (28_000, 20)))
    assert proved_to_ft(facts, facts.tests[-3]) == 28_000
    assert make.rows(tested_too_low, facts) == [
        ("not met", "altimeters tested to 28,000 ft only, FL310 wanted", 280, (54,))
    ]
    higher = benched(make, scale(make, 200, 54, (0, 0), (40_000, 20)))
    assert proved_to_ft(higher, higher.tests[-3]) == 35_000


@pytest.mark.parametrize(
    ("point", "limit"),
    [(29_000, 60), (30_000, 60), (35_000, 80), (41_000, 80), (34_950, 60), (28_999, None)],
)
def test_the_own_limit_at_a_point(make: "Make", point: int, limit: int | None) -> None:
    """Between two levels the tighter limit holds; below RVSM airspace and the table none does."""
    airframe = make.airframe(altimeter_scale_limit=OWN).record
    found = own_limits(airframe, Sheet(scale_error_ft=((point, 10),)))
    assert [each.limit_ft for each in found] == ([] if limit is None else [limit])


def test_a_table_that_reaches_lower_is_held_there_too(make: "Make") -> None:
    """A limit from FL200 on holds at 20,000 ft and not at 19,900 ft; above FL410 nothing does."""
    airframe = make.airframe(altimeter_scale_limit=((200, 50), (290, 60))).record
    sheet = Sheet(scale_error_ft=((19_900, 99), (20_000, 10), (41_000, 10), (41_001, 99)))
    assert [each.altitude_ft for each in own_limits(airframe, sheet)] == [20_000, 41_000]


@pytest.mark.parametrize(("error", "outcome", "level"), [(60, "met", None), (-61, "not met", 280)])
def test_both_sides_of_the_own_limit(
    make: "Make", error: int, outcome: str, level: int | None
) -> None:
    """61 ft pass Table I (180 ft at 30,000 ft) and fail the aeroplane's own 60 ft: no RVSM."""
    facts = benched(
        make,
        scale(make, 200, 54, (0, 5), (30_000, error)),
        scale(make, 201, 55, (30_000, 10)),
    )
    assert make.rows(altimeter_beyond_rvsm_limit, facts) == [
        (
            outcome,
            f"altimeter 1: scale error {error:+d} ft at 30,000 ft, own limit 60 ft, "
            "test of 2026-06-10",
            level,
            (54, 200),
        ),
        (
            "met",
            "altimeter 2: scale error +10 ft at 30,000 ft, own limit 60 ft, test of 2026-06-10",
            None,
            (55, 201),
        ),
    ]
    assert [row[0] for row in make.rows(static_test_overdue, facts)][:2] == ["met", "met"]


def test_without_an_own_limit_it_is_advice(make: "Make") -> None:
    """Nothing to hold the readings against: the advice says what Table I is worth."""
    facts = benched(make, scale(make, 200, 54, (30_000, 180)), own=None)
    (finding,) = altimeter_beyond_rvsm_limit.findings(facts)
    assert (finding.outcome, finding.highest_level) == ("advice", None)
    assert finding.says == "the altimeters' own limit of scale error for RVSM is not on record"
    assert "±175 to ±235 ft" in finding.remedy


def test_with_an_own_limit_missing_readings_are_no_pass(make: "Make") -> None:
    """No readings, readings below RVSM levels only, readings of nobody knows which altimeter."""
    says = "altimeter {}: no scale error at RVSM levels on record for the own limit"
    nothing = [("not on record", says.format(number), 280, (1,)) for number in (1, 2)]
    assert make.rows(altimeter_beyond_rvsm_limit, benched(make)) == nothing
    low = benched(make, scale(make, 200, 54, (25_000, 10)), scale(make, 201, 55, (25_000, 10)))
    assert make.rows(altimeter_beyond_rvsm_limit, low) == nothing
    whole = benched(make, scale(make, 200, 50, (30_000, 10)), tests=make.tests())
    nameless = "altimeter {}: scale errors on record name neither position nor unit"
    assert make.rows(altimeter_beyond_rvsm_limit, whole) == [
        ("not on record", nameless.format(number), 280, (200,)) for number in (1, 2)
    ]
    (remedy, _) = (each.remedy for each in altimeter_beyond_rvsm_limit.findings(whole))
    assert remedy.startswith("Correct the test #50 to the position or the serial number")
    bad = benched(make, scale(make, 200, 50, (30_000, 70)), tests=make.tests())
    assert [row[0] for row in make.rows(altimeter_beyond_rvsm_limit, bad)] == ["not met"] * 2


def test_a_bench_test_is_held_against_the_own_limit_where_its_unit_is(make: "Make") -> None:
    """The unit benched for position 1 is at position 2 since the swap."""
    tests = (*make.tests(), make.test(54, unit_serial="S010", done_on=on("2027-02-01")))
    facts = make.swapped(
        make.swap(202, 10, 11, "2027-03-01"),
        tests=tests,
        readings=(scale(make, 200, 54, (30_000, 70)),),
        airframe=make.airframe(altimeter_scale_limit=OWN),
    )
    rows = make.rows(altimeter_beyond_rvsm_limit, facts)
    assert [(row[0], row[1][:11]) for row in rows] == [
        ("not on record", "altimeter 1"),
        ("not met", "altimeter 2"),
    ]


def test_the_newest_readings_of_the_unit_decide(make: "Make") -> None:
    """A bench test before the fitting counts; a newer one, of the position too, takes its place."""
    bench = make.test(54, unit_serial="S010", done_on=on("2026-04-01"))
    own = {"airframe": make.airframe(altimeter_scale_limit=OWN)}
    tests = (bench, *make.tests())
    facts = make.facts(tests=tests, readings=(scale(make, 200, 54, (30_000, 60)),), **own)
    assert make.rows(altimeter_beyond_rvsm_limit, facts)[0][0] == "met"
    later = make.test(55, position="1", done_on=on("2027-02-01"))
    readings = (*facts.readings, scale(make, 201, 55, (30_000, 61)))
    facts = make.facts(tests=(*tests, later), readings=readings, **own)
    assert make.rows(altimeter_beyond_rvsm_limit, facts)[0][::3] == ("not met", (55, 201))
    mended = make.test(56, position="1", done_on=on("2027-02-10"))
    readings = (*readings, scale(make, 202, 56, (30_000, 20)))
    facts = make.facts(tests=(*tests, later, mended), readings=readings, **own)
    assert make.rows(altimeter_beyond_rvsm_limit, facts)[0][::3] == ("met", (56, 202))


@pytest.mark.parametrize(
    ("work", "outcome"),
    [
        ({"position": "1"}, "not on record"),
        ({}, "not on record"),
        ({"position": "2"}, "met"),
        ({"position": "1", "work": ("static-port-area",)}, "met"),
    ],
)
def test_work_on_the_altimeter_wants_new_readings(
    make: "Make", work: dict[str, Any], outcome: str
) -> None:
    """What was read before says nothing about the altimeter after it."""
    tests = (
        *make.tests(),
        make.test(54, position="1", done_on=on("2027-01-10")),
        make.test(55, done_on=on("2027-03-02")),
    )
    done = (make.work(202, "2027-03-01", **work),)
    facts = benched(make, scale(make, 200, 54, (30_000, 20)), tests=tests, work=done)
    assert make.rows(altimeter_beyond_rvsm_limit, facts)[0][0] == outcome


def test_a_test_made_as_wanted_is_met(make: "Make") -> None:
    """Only what is recorded is looked at: a correspondence test has no steps."""
    facts = benched(make, make.readings(200, 53, correspondence=((0, 10),)))
    says = "tests made as appendix E wants, as far as recorded: 1"
    assert make.rows(appendix_e_not_followed, facts) == [("met", says, None, (53, 200))]


def test_a_dwell_too_short_is_advice(make: "Make") -> None:
    """Appendix E(b)(1)(i): at least one minute at each point; the signature is not overruled."""
    readings = make.readings(
        200, 51, static_leak=((400, 40),), scale_error=((0, 0),), scale_dwell_s=((0, 59),)
    )
    (row,) = make.rows(appendix_e_not_followed, benched(make, readings))
    assert row == (
        "advice",
        "test #51 of 2026-06-10: scale error: 0 ft kept 59 s, wanted 60 to 600, and 6 more",
        None,
        (51, 200),
    )


def test_without_readings_there_are_no_steps(make: "Make") -> None:
    """Readings of a test that no longer counts are left out as well."""
    nothing = [("not applicable", "no readings of a test on record", None, ())]
    assert make.rows(appendix_e_not_followed, benched(make)) == nothing
    old = make.test(57, position="1", done_on=on("2025-06-10"))
    tests = (old, *benched(make).tests)
    facts = benched(make, scale(make, 200, 57, (0, 0)), tests=tests)
    assert make.rows(appendix_e_not_followed, facts) == nothing


def test_every_reading_of_a_record_is_judged() -> None:
    """A sheet carries every measurement of its record, hundredths as numbers of their unit."""
    texts: dict[str, str | None] = {
        "test": "1",
        "specification": "maker",
        "scale_error": "0:5",
        "scale_dwell_s": "0:60",
        "scale_rate_ft_min": "1",
        "hysteresis": "15000:4,12000:3",
        "hysteresis_start_s": "2",
        "hysteresis_dwell_s": "12000:70",
        "hysteresis_rate_ft_min": "3",
        "after_effect_ft": "4",
        "after_effect_s": "5",
        "friction": "1000:6",
        "case_leak_ft": "7",
        "barometric": "28.10:-8",
        "static_leak": "5.75:9",
        "correspondence": "0:-10",
    }
    record = Readings.kind.parse(texts)
    assert isinstance(record, Readings)
    assert sheet_of(record) == Sheet(
        to_appendix_e=False,
        scale_error_ft=((0, 5),),
        scale_dwell_s=((0, 60),),
        scale_rate_ft_min=1,
        hysteresis_ft=((15_000, 4), (12_000, 3)),
        hysteresis_start_s=2,
        hysteresis_dwell_s=((12_000, 70),),
        hysteresis_rate_ft_min=3,
        after_effect_ft=4,
        after_effect_s=5,
        friction_ft=((1_000, 6),),
        case_leak_ft=7,
        barometric_ft=((28.10, -8),),
        static_leak_ft=((5.75, 9),),
        correspondence_ft=((0, -10),),
    )
