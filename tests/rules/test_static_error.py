"""The rule of the error that both altimeters share, both sides of its limit.

Limits of altimetry system error: 14 CFR 91 appendix G section 2 and 9 (published): 200 ft for one
aeroplane whose type certificate was applied for after 9 April 1997, 245 ft before in a group.
"""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import Facts, Logged
from rvsmlog.records.static_errors import StaticError
from rvsmlog.rules.static_error import static_error_suspected
from tests.rules.conftest import at, on

if TYPE_CHECKING:
    from tests.rules.conftest import Make

NONE = [("not applicable", "no estimate of the common error since work on the altimetry", None, ())]


def estimate(make: "Make", entry: int = 200, **fields: Any) -> Logged[StaticError]:
    """Log an estimate of 12 March 2027 from flights since 1 February: +60 ft, 20 to 100 ft."""
    given: dict[str, Any] = {
        "estimated_on": on("2027-03-12"),
        "first_on": on("2027-02-01"),
        "last_on": on("2027-03-10"),
        "flights": 12,
        "weather": "analysis",
        "error_ft": 60.0,
        "low_ft": 20.0,
        "high_ft": 100.0,
    }
    return make.log(StaticError(**(given | fields)), entry, recorded_at=at("2027-03-12", "09:00"))


def with_interval(make: "Make", low_ft: float, high_ft: float, **parts: Any) -> Facts:
    """Give facts with one estimate of that interval."""
    one = estimate(make, error_ft=(low_ft + high_ft) / 2.0, low_ft=low_ft, high_ft=high_ft)
    return make.facts(static_errors=(one,), **parts)


def test_without_an_estimate_nothing_is_missing(make: "Make") -> None:
    """It is no requirement to estimate."""
    assert make.rows(static_error_suspected, make.facts()) == NONE


def test_an_estimate_within_the_limit_is_met(make: "Make") -> None:
    """The finding says estimate, interval, flights and limit, and names the entry."""
    facts = make.facts(static_errors=(estimate(make),))
    says = "common error estimated +60 ft (+20 to +100) in 12 flights, limit 200 ft"
    assert make.rows(static_error_suspected, facts) == [("met", says, None, (200,))]
    assert make.outcomes(static_error_suspected, facts) == [("met", None, (200,), 100.0)]
    values = {"error_ft": 60.0, "low_ft": 20.0, "high_ft": 100.0, "flights": 12}
    assert make.numbers(static_error_suspected, facts) == [(values, {"ase_ft": 200})]


@pytest.mark.parametrize(
    ("low", "high", "outcome", "level", "margin"),
    [
        (0.0, 200.0, "met", None, 0.0),
        (-200.0, 200.0, "met", None, 0.0),
        (0.0, 201.0, "advice", None, -1.0),
        (-201.0, 0.0, "advice", None, -1.0),
        (200.0, 260.0, "advice", None, -60.0),
        (201.0, 260.0, "not met", 280, -60.0),
        (-260.0, -200.0, "advice", None, -60.0),
        (-260.0, -201.0, "not met", 280, -60.0),
    ],
)
def test_both_sides_of_the_limit(
    make: "Make", low: float, high: float, outcome: str, level: int | None, margin: float
) -> None:
    """Wholly within is met, wholly beyond limits the level, across is advice; either sign."""
    facts = with_interval(make, low, high)
    assert make.outcomes(static_error_suspected, facts) == [(outcome, level, (200,), margin)]


@pytest.mark.parametrize(
    ("particulars", "limit"),
    [
        ({"type_certificate": "to-1997-04-09"}, 245),
        ({"type_certificate": "to-1997-04-09", "rvsm_basis": "non-group"}, 200),
        ({"rvsm_basis": "non-group"}, 200),
    ],
)
def test_the_limit_is_that_of_the_basis_of_approval(
    make: "Make", particulars: dict[str, Any], limit: int
) -> None:
    """Full envelope, one aeroplane; both sides."""
    airframe = make.airframe(**particulars)
    for off, outcome in ((0, "advice"), (1, "not met")):
        facts = with_interval(make, limit + off, limit + 100, airframe=airframe)
        assert make.rows(static_error_suspected, facts)[0][0] == outcome
        assert make.numbers(static_error_suspected, facts)[0][1] == {"ase_ft": limit}


def test_the_newest_estimate_counts(make: "Make") -> None:
    """A later one replaces an earlier one, better or worse."""
    bad = estimate(make, 200, error_ft=300.0, low_ft=250.0, high_ft=350.0)
    good = estimate(make, 201)
    for pair, row in (
        ((bad, good), ("met", None, (201,))),
        ((good, bad), ("not met", 280, (200,))),
    ):
        found = make.outcomes(static_error_suspected, make.facts(static_errors=pair))
        assert [each[:3] for each in found] == [row]


@pytest.mark.parametrize(
    ("day", "rows"),
    [
        ("2027-01-31", ["not met"]),
        ("2027-02-01", ["not met"]),
        ("2027-02-02", ["not applicable"]),
    ],
)
def test_work_on_the_altimetry_supersedes_an_estimate(
    make: "Make", day: str, rows: list[str]
) -> None:
    """The first flight was on 1 February: work of the day after makes it say nothing."""
    work = (make.work(190, day),)
    facts = with_interval(make, 250.0, 350.0, work=work)
    assert [row[0] for row in make.rows(static_error_suspected, facts)] == rows
    if rows == ["not applicable"]:
        assert make.rows(static_error_suspected, facts) == NONE


def test_work_elsewhere_leaves_it_standing(make: "Make") -> None:
    """Altitude reporting is not what both altimeters share."""
    facts = with_interval(
        make, 250.0, 350.0, work=(make.work(190, "2027-03-11", work=("altitude-reporting",)),)
    )
    assert [row[0] for row in make.rows(static_error_suspected, facts)] == ["not met"]


@pytest.mark.parametrize(
    ("review", "outcome", "level", "evidence"),
    [
        ({}, "advice", None, (200, 201)),
        ({"accepted": False}, "not met", 280, (200,)),
        ({"subject": 60}, "not met", 280, (200,)),
        ({"reviewed_at": at("2027-03-12", "09:00")}, "not met", 280, (200,)),
        ({"reviewed_at": at("2027-03-12", "09:01")}, "advice", None, (200, 201)),
    ],
)
def test_an_accepting_review_makes_it_advice(
    make: "Make",
    review: dict[str, Any],
    outcome: str,
    level: int | None,
    evidence: tuple[int, ...],
) -> None:
    """Of this estimate, after it was entered, and accepting; otherwise the level stays limited."""
    fields = dict(review)
    made = make.review(201, fields.pop("subject", 200), **fields)
    facts = with_interval(make, 250.0, 350.0, reviews=(made,))
    assert make.outcomes(static_error_suspected, facts) == [(outcome, level, evidence, -150.0)]


def test_a_review_does_not_cover_the_next_estimate(make: "Make") -> None:
    """New evidence is looked at anew."""
    first = estimate(make, 200, error_ft=300.0, low_ft=250.0, high_ft=350.0)
    second = estimate(make, 202, error_ft=310.0, low_ft=260.0, high_ft=360.0)
    facts = make.facts(static_errors=(first, second), reviews=(make.review(201, 200),))
    assert [row[0] for row in make.rows(static_error_suspected, facts)] == ["not met"]


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (-400.0, 600.0, ("not met", 280, (200,))),
        (-200.0, 201.0, ("not met", 280, (200,))),
        (-200.0, 200.0, ("met", None, (201,))),
        (201.0, 300.0, ("not met", 280, (201,))),
    ],
)
def test_an_estimate_that_tells_nothing_sets_no_other_aside(
    make: "Make", low: float, high: float, expected: tuple[str, int | None, tuple[int, ...]]
) -> None:
    """An error found beyond the limit stands until a later estimate is wholly within it."""
    bad = estimate(make, error_ft=280.0, low_ft=230.0, high_ft=330.0)
    later = estimate(make, 201, error_ft=(low + high) / 2.0, low_ft=low, high_ft=high)
    facts = make.facts(static_errors=(bad, later))
    assert make.outcomes(static_error_suspected, facts)[0][:3] == expected
    review = make.review(202, 200)
    accepted = make.facts(static_errors=(bad, later), reviews=(review,))
    assert make.outcomes(static_error_suspected, accepted)[0][2] == (201,)
