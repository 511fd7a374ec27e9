"""The two primary altimeters against each other in flight.

200 ft: AMC to SPA.RVSM.105(c) and NAT Doc 001 3.5.1(f), published. That a later good reading clears
nothing is common practice, no source.
"""

from typing import TYPE_CHECKING

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.altimetry import altimeters_disagree, ground_check_out_of_limit

if TYPE_CHECKING:
    from tests.rules.conftest import Make

PUBLISHED_CROSSCHECK_FT = 200
BELOW_RVSM = 280


def split(make: "Make", feet: int, **parts: object) -> Facts:
    """Give facts with one cross-check in flight, altimeter 1 so many feet above altimeter 2."""
    reading = make.crosscheck(
        200, "2027-03-12", "02:10", primary_1_ft=31000, primary_2_ft=31000 - feet
    )
    return make.facts(**({"crosschecks": (reading,)} | parts))


@pytest.mark.parametrize(("feet", "left"), [(0, 200), (199, 1), (200, 0), (-200, 0)])
def test_difference_up_to_the_tolerance_is_met(make: "Make", feet: int, left: int) -> None:
    """A difference of exactly the published tolerance passes, with what is left as margin."""
    facts = split(make, feet)
    assert make.outcomes(altimeters_disagree, facts) == [("met", None, (200,), left)]
    assert make.numbers(altimeters_disagree, facts) == [
        (
            {"difference_ft": feet, "level": 310, "taken_at": "2027-03-12T02:10Z"},
            {"tolerance_ft": PUBLISHED_CROSSCHECK_FT},
        )
    ]


@pytest.mark.parametrize("feet", [201, -201])
def test_difference_beyond_the_tolerance_is_not_met(make: "Make", feet: int) -> None:
    """One foot more costs RVSM; the difference keeps its sign, altimeter 1 minus altimeter 2."""
    facts = split(make, feet)
    (finding,) = altimeters_disagree.findings(facts)
    assert make.outcomes(altimeters_disagree, facts) == [("not met", BELOW_RVSM, (200,), -1)]
    assert finding.values["difference_ft"] == feet
    assert "#200" in finding.remedy


def test_no_cross_check_in_flight_is_another_rules_matter(make: "Make") -> None:
    """Ground checks alone leave nothing to compare in flight."""
    ground = make.crosscheck(200, "2027-03-12", "00:10", "ground")
    facts = make.facts(crosschecks=(ground,))
    assert make.outcomes(altimeters_disagree, facts) == [("not applicable", None, (), None)]


@pytest.mark.parametrize(
    ("level", "feet", "outcome", "tolerance"),
    [
        (310, 120, "met", 120),
        (310, 121, "not met", 120),
        (290, 120, "met", 120),
        (350, 150, "met", 150),
        (350, 151, "not met", 150),
    ],
)
def test_own_table_tightens_by_level(
    make: "Make", level: int, feet: int, outcome: str, tolerance: int
) -> None:
    """Between two rows of the airframe's own table the tighter one holds."""
    reading = make.crosscheck(
        200, "2027-03-12", "02:10", level=level, primary_1_ft=31000, primary_2_ft=31000 - feet
    )
    airframe = make.airframe(primary_tolerance=((290, 120), (350, 150)))
    (finding,) = altimeters_disagree.findings(make.facts(crosschecks=(reading,), airframe=airframe))
    assert (str(finding.outcome), finding.limits) == (outcome, {"tolerance_ft": tolerance})


def test_level_not_on_record_is_taken_from_the_altimeter(make: "Make") -> None:
    """A reading accepted before the level was asked for is held at the level it shows."""
    reading = make.crosscheck(200, "2027-03-12", "02:10")
    object.__setattr__(reading.record, "level", None)
    (finding,) = altimeters_disagree.findings(make.facts(crosschecks=(reading,)))
    assert finding.values["level"] == 310


def old_exceedance(make: "Make", **parts: object) -> Facts:
    """Give the healthy facts with a difference of 260 ft on 20 February, entry 200."""
    reading = make.crosscheck(
        200, "2027-02-20", "02:10", primary_1_ft=31260, primary_2_ft=31000, level=310
    )
    return make.facts(**({"exceedances": (reading,)} | parts))


def test_old_reading_stands_whatever_came_after(make: "Make") -> None:
    """Later good readings do not clear a reading beyond tolerance, and the finding says so."""
    facts = old_exceedance(make)
    assert make.outcomes(altimeters_disagree, facts) == [("not met", BELOW_RVSM, (200,), -60)]
    assert "good readings since do not clear it" in make.says(altimeters_disagree, facts)


@pytest.mark.parametrize(
    ("later", "earlier", "said"), [(200, 0, True), (201, 0, False), (201, 200, False)]
)
def test_good_readings_since_are_mentioned_where_there_are_any(
    make: "Make", later: int, earlier: int, said: bool
) -> None:
    """Only a reading within tolerance and later on the newest flight is called good since."""
    readings = (
        make.crosscheck(
            198, "2027-03-12", "01:10", primary_1_ft=31000, primary_2_ft=31000 - earlier
        ),
        make.crosscheck(199, "2027-03-12", "02:10", primary_1_ft=31300, primary_2_ft=31000),
        make.crosscheck(200, "2027-03-12", "03:05", primary_1_ft=31000, primary_2_ft=31000 - later),
    )
    facts = make.facts(crosschecks=readings)
    found = {
        finding.evidence[0].entry: "good readings since" in finding.says
        for finding in altimeters_disagree.findings(facts)
    }
    assert found == ({199: said} if later <= PUBLISHED_CROSSCHECK_FT else {199: said, 200: False})


def test_each_standing_reading_is_a_finding(make: "Make") -> None:
    """Two readings beyond tolerance are two findings; one that stands in both lists is one."""
    first = make.crosscheck(200, "2027-02-20", "02:10", primary_1_ft=31260, primary_2_ft=31000)
    second = make.crosscheck(201, "2027-03-12", "03:06", primary_1_ft=30700, primary_2_ft=31000)
    facts = make.facts(exceedances=(first, second), crosschecks=(second,))
    assert make.outcomes(altimeters_disagree, facts) == [
        ("not met", BELOW_RVSM, (200,), -60),
        ("not met", BELOW_RVSM, (201,), -100),
    ]
    (one, two) = altimeters_disagree.findings(facts)
    assert "good readings" not in one.says + two.says


@pytest.mark.parametrize("word", ["static-system-opened", "altimeter", "static-port-area"])
def test_work_of_a_later_day_clears(make: "Make", word: str) -> None:
    """Work on what the altimeters read through, on a later day, clears the reading."""
    facts = old_exceedance(make, work=(make.work(201, "2027-02-21", work=(word,)),))
    assert make.outcomes(altimeters_disagree, facts) == [("met", None, (91,), 160)]


def test_work_of_the_same_day_does_not_clear(make: "Make") -> None:
    """Work recorded by the day of the reading may have come before it."""
    facts = old_exceedance(make, work=(make.work(201, "2027-02-20"),))
    assert make.outcomes(altimeters_disagree, facts) == [("not met", BELOW_RVSM, (200, 201), -60)]
    assert "work that day may have come first" in make.says(altimeters_disagree, facts)
    twice = old_exceedance(make, work=(make.work(201, "2027-02-20"), make.work(202, "2027-02-20")))
    assert make.outcomes(altimeters_disagree, twice) == [("not met", BELOW_RVSM, (200, 202), -60)]


def test_day_of_work_counts_in_the_operators_zone(make: "Make") -> None:
    """At 12:10 UTC it is the next day in Auckland: work of that day does not clear the reading.

    New Zealand daylight time is UTC+13 in February.
    """
    reading = make.crosscheck(200, "2027-02-20", "12:10", primary_1_ft=31260, primary_2_ft=31000)
    work = (make.work(201, "2027-02-21"),)
    at_home = make.facts(exceedances=(reading,), work=work, time_zone="Pacific/Auckland")
    in_utc = make.facts(exceedances=(reading,), work=work)
    assert make.outcomes(altimeters_disagree, at_home)[0][0] == "not met"
    assert make.outcomes(altimeters_disagree, in_utc)[0][0] == "met"


@pytest.mark.parametrize(
    "fields", [{"work": ("altitude-reporting",)}, {"position": "standby altimeter"}]
)
def test_work_elsewhere_does_not_clear(make: "Make", fields: dict[str, object]) -> None:
    """Work on altitude reporting or on the standby altimeter leaves the primaries as they were."""
    facts = old_exceedance(make, work=(make.work(201, "2027-02-21", **fields),))
    assert make.outcomes(altimeters_disagree, facts) == [("not met", BELOW_RVSM, (200,), -60)]


@pytest.mark.parametrize(
    ("time", "touched", "outcome"),
    [
        ("02:11", ("air-data-computer",), "met"),
        ("02:10", ("air-data-computer",), "not met"),
        ("02:11", None, "not met"),
        ("02:11", ("altitude-reporting",), "not met"),
    ],
)
def test_rectification_clears_by_its_instant(
    make: "Make", time: str, touched: tuple[str, ...] | None, outcome: str
) -> None:
    """A rectification a minute later clears on the same day, if it touched the altimetry."""
    done = make.rectification(202, 201, done_at=make.at("2027-02-20", time), touched=touched)
    case = make.case(make.altimetry_fault(201), rectification=done)
    facts = old_exceedance(make, defects=(case,))
    assert make.outcomes(altimeters_disagree, facts)[0][0] == outcome


def test_fitting_or_removing_a_unit_clears(make: "Make") -> None:
    """An altimeter, air data computer or static source fitted or removed clears; others do not."""
    for function, outcome in (("altimeter", "met"), ("transponder", "not met")):
        fitted = make.unit(201, function, fitted_on=make.on("2027-02-21"))
        removed = make.unit(202, function, removed=make.removal(203, 202, "2027-02-21"))
        for unit in (fitted, removed):
            facts = old_exceedance(make, equipment=(*make.equipment(), unit))
            assert make.outcomes(altimeters_disagree, facts)[0][0] == outcome


def test_swapped_units_clear_nothing(make: "Make") -> None:
    """Two altimeters that changed places are the same two: in flight and on the ground."""
    reading = make.crosscheck(200, "2027-03-10", "02:10", primary_1_ft=31260, primary_2_ft=31000)
    ground = make.crosscheck(201, "2027-03-10", "04:10", "after-flight", primary_1_ft=740)
    facts = make.swapped(make.swap(202, 10, 11, "2027-03-11"), crosschecks=(reading, ground))
    assert make.outcomes(altimeters_disagree, facts) == [("not met", BELOW_RVSM, (200,), -60)]
    assert make.outcomes(ground_check_out_of_limit, facts) == [("not met", BELOW_RVSM, (201,), -25)]


def test_accepting_review_clears(make: "Make") -> None:
    """The controller's review of the reading's entry clears it, one of another entry does not."""
    accepted = old_exceedance(make, reviews=(make.review(201, 200),))
    other = old_exceedance(make, reviews=(make.review(201, 199),))
    assert make.outcomes(altimeters_disagree, accepted) == [("met", None, (91,), 160)]
    assert make.outcomes(altimeters_disagree, other) == [("not met", BELOW_RVSM, (200,), -60)]


def test_newest_review_decides(make: "Make") -> None:
    """A later review that does not accept takes an earlier acceptance back, and is named."""
    later = make.review(202, 200, accepted=False, reviewed_at=make.at("2027-03-13", "11:00"))
    facts = old_exceedance(make, reviews=(make.review(201, 200), later))
    assert make.outcomes(altimeters_disagree, facts) == [("not met", BELOW_RVSM, (200, 202), -60)]
    assert "review does not accept it" in make.says(altimeters_disagree, facts)


def test_review_does_not_outlive_a_correction(make: "Make") -> None:
    """A reading corrected after its review has not been judged, nor one taken after it."""
    corrected = make.crosscheck(205, "2027-02-20", "02:10", primary_1_ft=31400, primary_2_ft=31000)
    corrected = make.log(corrected.record, 205, first=200)
    early = make.review(204, 200, reviewed_at=make.at("2027-02-20", "02:10"))
    assert make.outcomes(
        altimeters_disagree, make.facts(exceedances=(corrected,), reviews=(make.review(201, 200),))
    ) == [("not met", BELOW_RVSM, (205,), -200)]
    assert make.outcomes(altimeters_disagree, old_exceedance(make, reviews=(early,))) == [
        ("not met", BELOW_RVSM, (200,), -60)
    ]


def test_cleared_reading_alone_is_named_with_what_cleared_it(make: "Make") -> None:
    """Where the newest flight has nothing but a cleared reading, the finding shows both entries."""
    facts = split(make, 260, reviews=(make.review(201, 200),))
    assert make.outcomes(altimeters_disagree, facts) == [("met", None, (200, 201), -60)]
    assert "cleared by entry #201" in make.says(altimeters_disagree, facts)


def test_worst_of_the_newest_flight_is_reported(make: "Make") -> None:
    """The worst good reading of the newest flight is given, not the newest nor an older one."""
    readings = (
        make.crosscheck(200, "2027-03-05", "01:10", primary_1_ft=31190, primary_2_ft=31000),
        make.crosscheck(201, "2027-03-12", "01:10", primary_1_ft=31000, primary_2_ft=31110),
        make.crosscheck(202, "2027-03-12", "02:10", primary_1_ft=31000, primary_2_ft=31000),
    )
    assert make.outcomes(altimeters_disagree, make.facts(crosschecks=readings)) == [
        ("met", None, (201,), 90)
    ]
    assert make.outcomes(altimeters_disagree, make.facts(crosschecks=readings, flights=())) == [
        ("met", None, (202,), 200)
    ]
