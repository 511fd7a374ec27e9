"""The rule on hourly comparison in RVSM airspace.

About one hour: NAT Doc 001 3.5.1(f), published; the quarter of an hour beyond it is common
practice, no source.
"""

from typing import TYPE_CHECKING

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.hourly_checks import hourly_checks_missed

if TYPE_CHECKING:
    from tests.rules.conftest import Make

BELOW_RVSM = 280
DAY = "2027-03-12"


def flown(make: "Make", *times: str, bad: str = "", **parts: object) -> Facts:
    """Give facts with a flight in RVSM airspace from 01:00 to 03:10, entry 199.

    Its cross-checks have entries 200 and up; the one at ``bad`` is 300 ft out.
    """
    readings = tuple(
        make.crosscheck(
            200 + number,
            DAY,
            time,
            primary_1_ft=31000,
            primary_2_ft=30700 if time == bad else 31000,
        )
        for number, time in enumerate(times)
    )
    return make.facts(**({"flights": (make.flight(199, DAY),), "crosschecks": readings} | parts))


@pytest.mark.parametrize(
    ("times", "longest", "expected"),
    [
        (("00:50", "02:05", "03:00"), 75, ("met", None, (199, 200, 201, 202), 0)),
        (("00:49", "02:05", "03:00"), 76, ("advice", None, (199, 200, 201, 202), -1)),
        (("02:10",), 70, ("met", None, (199, 200), 5)),
        (("00:50", "01:54"), 76, ("advice", None, (199, 200, 201), -1)),
        (("01:00", "01:55"), 75, ("met", None, (199, 200, 201), 0)),
        (("00:40", "00:50", "02:00", "03:10"), 70, ("met", None, (199, 200, 201, 202, 203), 5)),
    ],
)
def test_gap_from_entry_to_exit(
    make: "Make",
    times: tuple[str, ...],
    longest: int,
    expected: tuple[str, int | None, tuple[int, ...], int],
) -> None:
    """Up to 75 minutes between checks is met; a longer gap after a good check is advice."""
    facts = flown(make, *times)
    (finding,) = hourly_checks_missed.findings(facts)
    assert make.outcomes(hourly_checks_missed, facts) == [expected]
    assert finding.values["longest_gap_minutes"] == longest
    assert finding.limits == {"gap_minutes": 75}
    assert f"{longest} min" in finding.says


def test_a_second_over_the_limit_shows_as_over_it(make: "Make") -> None:
    """Parts of a minute count up: 75 minutes and a second are no pass with no margin."""
    assert make.outcomes(hourly_checks_missed, flown(make, "00:50", "02:05:01", "03:00")) == [
        ("advice", None, (199, 200, 201, 202), -1)
    ]


def test_gap_times_are_named(make: "Make") -> None:
    """The longest gap is said with its times, and how many more there are."""
    facts = flown(make, "01:01", "02:20")
    assert make.says(hourly_checks_missed, facts).endswith("from 01:01Z to 02:20Z (79 min)")
    early = make.flight(199, DAY, off_at=make.at(DAY, "00:10"), rvsm_from=make.at(DAY, "00:20"))
    two = flown(make, "01:40", flights=(early,))
    (finding,) = hourly_checks_missed.findings(two)
    assert "from 01:40Z to 03:10Z (90 min), and 1 gap more" in finding.says
    assert finding.values["missed"] == "00:20Z to 01:40Z; 01:40Z to 03:10Z"


@pytest.mark.parametrize(
    ("times", "bad", "evidence"),
    [
        ((), "", (199,)),
        (("00:50",), "", (199, 200)),
        (("00:50", "02:10"), "02:10", (199, 200, 201)),
    ],
)
def test_no_good_check_is_missing_evidence(
    make: "Make", times: tuple[str, ...], bad: str, evidence: tuple[int, ...]
) -> None:
    """Without a good check in RVSM airspace and with a gap, RVSM is lost until a review."""
    long = make.flight(199, DAY, on_at=make.at(DAY, "04:00"), rvsm_to=make.at(DAY, "03:40"))
    facts = flown(make, *times, bad=bad, flights=(long,))
    (finding,) = hourly_checks_missed.findings(facts)
    assert str(finding.outcome) == "not on record"
    assert finding.highest_level == BELOW_RVSM
    assert tuple(ref.entry for ref in finding.evidence) == evidence
    assert "#199" in finding.remedy


@pytest.mark.parametrize(
    ("feet", "outcome"),
    [(200, "advice"), (-200, "advice"), (201, "not on record"), (-201, "not on record")],
)
def test_good_means_within_tolerance(make: "Make", feet: int, outcome: str) -> None:
    """A cross-check of exactly 200 ft is good, one beyond it either way is not."""
    reading = make.crosscheck(200, DAY, "01:10", primary_1_ft=31000 + feet, primary_2_ft=31000)
    (finding,) = hourly_checks_missed.findings(flown(make, crosschecks=(reading,)))
    assert str(finding.outcome) == outcome


@pytest.mark.parametrize(("time", "outcome"), [("01:00", "advice"), ("00:59", "not on record")])
def test_check_at_the_moment_of_entry_is_one_in_rvsm_airspace(
    make: "Make", time: str, outcome: str
) -> None:
    """A check at the very moment of entry counts as made there; one before it does not."""
    (finding,) = hourly_checks_missed.findings(flown(make, time))
    assert str(finding.outcome) == outcome


def test_no_check_at_all_on_a_short_visit(make: "Make") -> None:
    """A flight of half an hour in RVSM airspace needs a cross-check as well."""
    short = make.flight(199, DAY, rvsm_to=make.at(DAY, "01:30"))
    assert make.outcomes(hourly_checks_missed, flown(make, flights=(short,))) == [
        ("not on record", BELOW_RVSM, (199,), None)
    ]
    assert make.outcomes(hourly_checks_missed, flown(make, "00:50", flights=(short,))) == [
        ("met", None, (199, 200), 35)
    ]


def test_review_of_the_flight_accepts(make: "Make") -> None:
    """The controller's review that accepts the flight's entry lifts the limit; others do not."""
    accepted = flown(make, reviews=(make.review(201, 199),))
    refused = flown(make, reviews=(make.review(201, 199, accepted=False),))
    assert make.outcomes(hourly_checks_missed, accepted) == [("advice", None, (199, 201), None)]
    assert make.outcomes(hourly_checks_missed, refused) == [
        ("not on record", BELOW_RVSM, (199,), None)
    ]


def test_newest_flight_in_rvsm_airspace_is_judged(make: "Make") -> None:
    """A later flight below RVSM airspace is passed over, an earlier one is not asked for."""
    below = make.flight(198, "2027-03-13", rvsm_from=None, rvsm_to=None, highest_level=240)
    earlier = make.flight(197, "2027-03-05")
    facts = flown(make, "02:10", flights=(earlier, make.flight(199, DAY), below))
    assert make.outcomes(hourly_checks_missed, facts) == [("met", None, (199, 200), 5)]


def test_no_flight_in_rvsm_airspace(make: "Make") -> None:
    """Without a flight in RVSM airspace there is nothing to ask."""
    assert make.outcomes(hourly_checks_missed, flown(make, flights=())) == [
        ("not applicable", None, (), None)
    ]
