"""Rules on the standby altimeter and the transponder's altitude.

125 ft of correspondence: 14 CFR Part 43 Appendix E(c) and 91.217(a)(2), published. For the standby
altimeter there is no published figure; the airframe's own table of 400 ft at FL290 and 500 ft at
FL350 is invented.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.witnesses import standby_disagrees, transponder_altitude_disagrees

if TYPE_CHECKING:
    from tests.rules.conftest import Make

PUBLISHED_CORRESPONDENCE_FT = 125
BELOW_RVSM = 280
TESTS_WITHOUT_CORRESPONDENCE = 3


def showing(make: "Make", fields: Mapping[str, Any], **parts: object) -> Facts:
    """Give facts with one cross-check in flight, entry 200, both primaries at 31,000 ft."""
    given: dict[str, Any] = {"primary_1_ft": 31000, "primary_2_ft": 31000}
    reading = make.crosscheck(200, "2027-03-12", "02:10", **(given | dict(fields)))
    return make.facts(**({"crosschecks": (reading,)} | parts))


@pytest.mark.parametrize(
    ("standby", "expected"),
    [
        (31400, ("met", None, (200,), 0)),
        (30600, ("met", None, (200,), 0)),
        (31401, ("not met", BELOW_RVSM, (200,), -1)),
        (30599, ("not met", BELOW_RVSM, (200,), -1)),
    ],
)
def test_standby_against_the_own_table(
    make: "Make", standby: int, expected: tuple[str, int | None, tuple[int, ...], int]
) -> None:
    """Exactly the own tolerance passes, one foot more costs RVSM."""
    facts = showing(make, {"standby_ft": standby})
    assert make.outcomes(standby_disagrees, facts) == [expected]
    assert make.numbers(standby_disagrees, facts) == [
        (
            {
                "difference_ft": standby - 31000,
                "primary": 1,
                "level": 310,
                "taken_at": "2027-03-12T02:10Z",
            },
            {"tolerance_ft": 400},
        )
    ]


def test_standby_is_held_against_the_farther_primary(make: "Make") -> None:
    """Each primary is compared; the one farther from the standby decides."""
    facts = showing(make, {"standby_ft": 31300, "primary_2_ft": 30850})
    (finding,) = standby_disagrees.findings(facts)
    assert (str(finding.outcome), finding.values["primary"]) == ("not met", 2)
    assert finding.values["difference_ft"] == 450
    below = showing(make, {"standby_ft": 30500, "primary_2_ft": 30900})
    (finding,) = standby_disagrees.findings(below)
    assert (finding.values["primary"], finding.values["difference_ft"]) == (1, -500)


def test_standby_without_own_table_is_advice(make: "Make") -> None:
    """With no figure to hold it against the difference is given, and limits nothing."""
    facts = showing(make, {"standby_ft": 31900}, airframe=make.airframe(standby_tolerance=None))
    (finding,) = standby_disagrees.findings(facts)
    assert make.outcomes(standby_disagrees, facts) == [("advice", None, (200,), None)]
    assert finding.values["difference_ft"] == 900
    assert finding.limits == {}
    assert finding.remedy


def test_newest_reading_of_the_standby_counts(make: "Make") -> None:
    """Later cross-checks that do not read the standby leave the newest one that does."""
    readings = (
        make.crosscheck(200, "2027-03-12", "01:10", standby_ft=31900),
        make.crosscheck(201, "2027-03-12", "02:10", standby_ft=31200),
        make.crosscheck(202, "2027-03-12", "03:05", standby_ft=None),
    )
    # The healthy altimeters read 31,000 and 30,960 ft.
    assert make.outcomes(standby_disagrees, make.facts(crosschecks=readings)) == [
        ("met", None, (201,), 160)
    ]


def test_standby_never_read(make: "Make") -> None:
    """A standby altimeter on record that no cross-check reads is advice; none fitted is not."""
    facts = showing(make, {"standby_ft": None})
    without = showing(make, {"standby_ft": None}, equipment=())
    assert make.outcomes(standby_disagrees, facts) == [("advice", None, (1,), None)]
    assert make.outcomes(standby_disagrees, without) == [("not applicable", None, (), None)]


def test_later_work_sets_a_standby_reading_aside(make: "Make") -> None:
    """After work on the standby altimeter the reading says nothing; on that very day it stands."""
    fields = {"standby_ft": 31900}
    by_work = showing(make, fields, work=(make.work(201, "2027-03-13", position="standby"),))
    unit = make.unit(201, "standby-altimeter", fitted_on=make.on("2027-03-13"))
    by_exchange = showing(make, fields, equipment=(*make.equipment(), unit))
    same_day = showing(make, fields, work=(make.work(201, "2027-03-12"),))
    twice = (make.work(201, "2027-03-13"), make.work(202, "2027-03-14"))
    assert make.outcomes(standby_disagrees, showing(make, fields, work=twice)) == [
        ("advice", None, (200, 202), None)
    ]
    assert make.outcomes(standby_disagrees, by_work) == [("advice", None, (200, 201), None)]
    assert make.outcomes(standby_disagrees, by_exchange) == [("advice", None, (200, 201), None)]
    assert make.outcomes(standby_disagrees, same_day) == [("not met", BELOW_RVSM, (200,), -500)]


def test_review_accepts_a_standby_reading(make: "Make") -> None:
    """An accepting review turns a failure into advice with its numbers; a refusal does not."""
    fields = {"standby_ft": 31900}
    accepted = showing(make, fields, reviews=(make.review(201, 200),))
    refused = showing(make, fields, reviews=(make.review(201, 200, accepted=False),))
    assert make.outcomes(standby_disagrees, accepted) == [("advice", None, (200, 201), -500)]
    assert make.outcomes(standby_disagrees, refused) == [("not met", BELOW_RVSM, (200,), -500)]


def test_review_of_a_good_reading_changes_nothing(make: "Make") -> None:
    """A reading within its limit stays met, reviewed or not."""
    facts = showing(make, {"standby_ft": 31000}, reviews=(make.review(201, 200),))
    assert make.outcomes(standby_disagrees, facts) == [("met", None, (200,), 400)]


@pytest.mark.parametrize(
    ("transponder", "expected"),
    [
        (31125, ("met", None, (200,), 0)),
        (30875, ("met", None, (200,), 0)),
        (31126, ("not met", BELOW_RVSM, (200,), -1)),
        (30874, ("not met", BELOW_RVSM, (200,), -1)),
    ],
)
def test_transponder_against_the_published_correspondence(
    make: "Make", transponder: int, expected: tuple[str, int | None, tuple[int, ...], int]
) -> None:
    """Exactly 125 ft passes, one foot more costs RVSM."""
    facts = showing(make, {"transponder_ft": transponder})
    assert make.outcomes(transponder_altitude_disagrees, facts) == [expected]
    assert make.numbers(transponder_altitude_disagrees, facts) == [
        (
            {
                "difference_ft": transponder - 31000,
                "primary": 1,
                "level": 310,
                "taken_at": "2027-03-12T02:10Z",
            },
            {"tolerance_ft": PUBLISHED_CORRESPONDENCE_FT},
        )
    ]


def test_transponder_is_held_against_the_nearer_primary(make: "Make") -> None:
    """Either system may feed the transponder, so that the nearer primary decides."""
    facts = showing(make, {"transponder_ft": 31300, "primary_2_ft": 31180})
    (finding,) = transponder_altitude_disagrees.findings(facts)
    assert (str(finding.outcome), finding.values["primary"]) == ("met", 2)
    assert finding.values["difference_ft"] == 120
    between = showing(make, {"transponder_ft": 31100, "primary_2_ft": 31300})
    (finding,) = transponder_altitude_disagrees.findings(between)
    assert (finding.values["primary"], finding.values["difference_ft"]) == (1, 100)


def test_newest_reading_of_the_transponder_counts(make: "Make") -> None:
    """An earlier reading that corresponds does not help against a later one that does not."""
    readings = (
        make.crosscheck(200, "2027-03-12", "01:10", transponder_ft=31000),
        make.crosscheck(201, "2027-03-12", "02:10", transponder_ft=31400),
        make.crosscheck(202, "2027-03-12", "03:05", transponder_ft=None),
    )
    assert make.outcomes(transponder_altitude_disagrees, make.facts(crosschecks=readings)) == [
        ("not met", BELOW_RVSM, (201,), -275)
    ]


def test_transponder_never_read(make: "Make") -> None:
    """A passed correspondence test stands in; without one the finding is advice."""
    fields = {"transponder_ft": None}
    older = make.test(54, test="correspondence", done_on=make.on("2025-01-10"))
    tested = showing(make, fields, tests=(older, *make.tests()))
    untested = showing(make, fields, tests=make.tests()[:TESTS_WITHOUT_CORRESPONDENCE])
    failed = showing(make, fields, tests=(make.test(53, test="correspondence", passed=False),))
    assert make.outcomes(transponder_altitude_disagrees, tested) == [
        ("not applicable", None, (), None)
    ]
    assert "2026-06-10" in make.says(transponder_altitude_disagrees, tested)
    for facts in (untested, failed):
        assert make.outcomes(transponder_altitude_disagrees, facts) == [
            ("advice", None, (1,), None)
        ]


@pytest.mark.parametrize("kind", ["work", "transponder", "review"])
def test_transponder_reading_set_aside(make: "Make", kind: str) -> None:
    """Work on altitude reporting, another transponder or an accepting review set it aside."""
    fields = {"transponder_ft": 31400}
    unit = make.unit(201, "transponder", fitted_on=make.on("2027-03-13"))
    parts: dict[str, dict[str, object]] = {
        "work": {"work": (make.work(201, "2027-03-13", work=("altitude-reporting",)),)},
        "transponder": {"equipment": (*make.equipment(), unit)},
        "review": {"reviews": (make.review(201, 200),)},
    }
    (finding,) = transponder_altitude_disagrees.findings(showing(make, fields, **parts[kind]))
    assert str(finding.outcome) == "advice"
    assert [ref.entry for ref in finding.evidence] == [200, 201]
