"""Rules on whether the altimeters were compared at all, lately, and since they were worked on.

Two cross-checks wanted and 90 days at most are common practice, no source.
"""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.rules.crosschecks import (
    altimeters_not_compared_since_work,
    crosschecks_missing,
    crosschecks_too_old,
)

if TYPE_CHECKING:
    from tests.rules.conftest import Make

BELOW_RVSM = 280
MAX_AGE_DAYS = 90


def test_two_cross_checks_are_enough(make: "Make") -> None:
    """Two in flight are met, one and none are missing evidence; ground checks do not count."""
    ground = make.crosscheck(199, "2027-03-12", "00:10", "ground")
    one = make.crosscheck(200, "2027-03-12", "01:10")
    two = make.crosscheck(201, "2027-03-12", "02:10")
    expected = {
        (ground, one, two): ("met", None, (200, 201), None),
        (ground, two): ("not on record", BELOW_RVSM, (201,), None),
        (ground,): ("not on record", BELOW_RVSM, (1,), None),
    }
    for readings, outcome in expected.items():
        facts = make.facts(crosschecks=readings)
        assert make.outcomes(crosschecks_missing, facts) == [outcome]
        assert make.numbers(crosschecks_missing, facts) == [
            ({"crosschecks": len(readings) - 1}, {"crosschecks_wanted": 2})
        ]


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        # 14 March 2027 less 90 days: 17 days of December, January 31, February 28, March 14.
        ("2026-12-14", ("met", None, (200,), 0)),
        ("2026-12-13", ("not met", BELOW_RVSM, (200,), -1)),
        ("2027-03-14", ("met", None, (200,), MAX_AGE_DAYS)),
    ],
)
def test_age_of_the_newest_cross_check(
    make: "Make", day: str, expected: tuple[str, int | None, tuple[int, ...], int]
) -> None:
    """The ninetieth day still counts, the next does not; a later ground check changes nothing."""
    ground = make.crosscheck(201, "2027-03-14", "02:00", "ground")
    facts = make.facts(crosschecks=(make.crosscheck(200, day, "01:10"), ground))
    assert make.outcomes(crosschecks_too_old, facts) == [expected]
    assert make.numbers(crosschecks_too_old, facts) == [
        (
            {"age_days": MAX_AGE_DAYS - expected[3], "taken_at": f"{day}T01:10Z"},
            {"max_age_days": MAX_AGE_DAYS},
        )
    ]


@pytest.mark.parametrize(("own", "outcome"), [(2, "met"), (1, "not met")])
def test_operators_own_age_is_shorter(make: "Make", own: int, outcome: str) -> None:
    """The operator's own limit holds where it is on record."""
    facts = make.facts(operator=make.operator(crosscheck_max_age_days=own))
    (finding,) = crosschecks_too_old.findings(facts)
    assert (str(finding.outcome), finding.limits) == (outcome, {"max_age_days": own})


def test_age_without_operator_or_cross_check(make: "Make") -> None:
    """Common practice holds without an operator; without a cross-check there is no age."""
    assert make.outcomes(crosschecks_too_old, make.facts(operator=None)) == [
        ("met", None, (94,), 88)
    ]
    assert make.outcomes(crosschecks_too_old, make.facts(crosschecks=())) == [
        ("not applicable", None, (), None)
    ]


def test_age_counts_in_the_operators_zone(make: "Make") -> None:
    """A check of 12:10 UTC is of the next day in Auckland (UTC+13 in December)."""
    reading = make.crosscheck(200, "2026-12-13", "12:10")
    facts = make.facts(crosschecks=(reading,), time_zone="Pacific/Auckland")
    assert make.outcomes(crosschecks_too_old, facts) == [("met", None, (200,), 0)]


def test_no_work_on_record(make: "Make") -> None:
    """Without any work or unit on record nothing has to be compared since."""
    facts = make.facts(equipment=())
    assert make.outcomes(altimeters_not_compared_since_work, facts) == [
        ("not applicable", None, (), None)
    ]


@pytest.mark.parametrize("phase", ["ground", "hourly"])
def test_compared_on_a_later_day(make: "Make", phase: str) -> None:
    """A cross-check of a later day, in flight or on the ground, is after the work."""
    reading = make.crosscheck(200, "2027-03-14", "01:00", phase)
    facts = make.facts(work=(make.work(201, "2027-03-13"),), crosschecks=(reading,))
    assert make.outcomes(altimeters_not_compared_since_work, facts) == [
        ("met", None, (201, 200), None)
    ]


def test_newest_comparison_is_named(make: "Make") -> None:
    """Of several cross-checks since the work, and of several of its day, the newest is evidence."""
    work = (make.work(201, "2027-03-13"),)
    later = tuple(make.crosscheck(202 + each, "2027-03-14", f"0{each}:00") for each in range(2))
    same = tuple(make.crosscheck(204 + each, "2027-03-13", f"0{each}:00") for each in range(2))
    done = make.rectification(
        208, 207, done_at=make.at("2027-03-13", "00:30"), touched=("altimeter",)
    )
    case = make.case(make.altimetry_fault(207), rectification=done)
    assert make.outcomes(
        altimeters_not_compared_since_work, make.facts(work=work, crosschecks=(*same, *later))
    ) == [("met", None, (201, 203), None)]
    assert make.outcomes(
        altimeters_not_compared_since_work, make.facts(work=work, crosschecks=same)
    ) == [("not on record", BELOW_RVSM, (201, 205), None)]
    # The check of 01:00 came after the release of 00:30: only the work without a time bars it.
    assert make.outcomes(
        altimeters_not_compared_since_work,
        make.facts(work=work, defects=(case,), crosschecks=same),
    ) == [("not on record", BELOW_RVSM, (201, 205), None)]


def test_not_compared_since_work(make: "Make") -> None:
    """Where every cross-check is from before the work, or there is none, RVSM is lost."""
    facts = make.facts(work=(make.work(201, "2027-03-13"),))
    none = make.facts(work=(make.work(201, "2027-03-13"),), crosschecks=())
    for each in (facts, none):
        assert make.outcomes(altimeters_not_compared_since_work, each) == [
            ("not on record", BELOW_RVSM, (201,), None)
        ]


def test_compared_on_the_day_of_the_work(make: "Make") -> None:
    """On the same day which came first is not known, until a review accepts the work's entry."""
    reading = make.crosscheck(200, "2027-03-13", "11:00", "ground")
    parts = {"work": (make.work(201, "2027-03-13"),), "crosschecks": (reading,)}
    facts = make.facts(**parts)
    reviewed = make.facts(**parts, reviews=(make.review(202, 201),))
    refused = make.facts(**parts, reviews=(make.review(202, 201, accepted=False),))
    for each in (facts, refused):
        assert make.outcomes(altimeters_not_compared_since_work, each) == [
            ("not on record", BELOW_RVSM, (201, 200), None)
        ]
        assert "which was first is not known" in make.says(altimeters_not_compared_since_work, each)
    assert make.outcomes(altimeters_not_compared_since_work, reviewed) == [
        ("met", None, (201, 200), None)
    ]


def test_each_work_of_the_day_is_accepted_by_itself(make: "Make") -> None:
    """The finding names the work that bars the comparison, not work whose time is known."""
    done = make.rectification(
        203, 202, done_at=make.at("2027-03-13", "10:00"), touched=("altimeter",)
    )
    parts: dict[str, Any] = {
        "work": (make.work(200, "2027-03-13"), make.work(201, "2027-03-13")),
        "defects": (make.case(make.altimetry_fault(202), rectification=done),),
        "crosschecks": (make.crosscheck(204, "2027-03-13", "11:00", "ground"),),
    }
    both, one = make.review(205, 200), make.review(206, 201)
    expected = {
        (): ("not on record", BELOW_RVSM, (200, 201, 204), None),
        (both,): ("not on record", BELOW_RVSM, (201, 204), None),
        (both, one): ("met", None, (203, 204), None),
    }
    for reviews, outcome in expected.items():
        facts = make.facts(**parts, reviews=reviews)
        assert make.outcomes(altimeters_not_compared_since_work, facts) == [outcome]
    (finding,) = altimeters_not_compared_since_work.findings(make.facts(**parts))
    assert "(#200, #201)" in finding.remedy


@pytest.mark.parametrize(
    ("time", "outcome"),
    [("11:01", "met"), ("11:00", "not on record"), ("10:59", "not on record")],
)
def test_rectification_is_judged_by_its_instant(make: "Make", time: str, outcome: str) -> None:
    """A check minutes after the release of work that touched the altimetry is after it."""
    done = make.rectification(
        202, 201, done_at=make.at("2027-03-13", "11:00"), touched=("altimeter",)
    )
    reading = make.crosscheck(200, "2027-03-13", time, "ground")
    facts = make.facts(
        defects=(make.case(make.altimetry_fault(201), rectification=done),), crosschecks=(reading,)
    )
    assert [row[0] for row in make.outcomes(altimeters_not_compared_since_work, facts)] == [outcome]


def test_review_of_work_does_not_stand_in_for_a_comparison(make: "Make") -> None:
    """A review helps on the day of the work only: without a comparison since, none was made."""
    facts = make.facts(work=(make.work(201, "2027-03-13"),), reviews=(make.review(202, 201),))
    assert make.outcomes(altimeters_not_compared_since_work, facts) == [
        ("not on record", BELOW_RVSM, (201,), None)
    ]
