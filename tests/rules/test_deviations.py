"""Large deviations: appendix G section 6 and SPA.RVSM.115: 300, 245 and 300 ft; 72 h in Europe.

The limit of one aeroplane's altimetry system error: appendix G sections 2(e), 2(f) and 9(b), 200
ft, and 2(d), 245 ft for a group applied for by 9 April 1997. All published.
"""

from typing import Any

import pytest

from rvsmlog.rules.deviations import deviation_open
from tests.rules.conftest import Make, at

NO_SIZE: dict[str, Any] = {"aad_ft": None}


@pytest.mark.parametrize(
    ("sizes", "large"),
    [
        ({"tve_ft": 299}, ""),
        ({"tve_ft": 300}, "total vertical error +300 ft, limit 300 ft"),
        ({"tve_ft": -300}, "total vertical error -300 ft, limit 300 ft"),
        ({"ase_ft": -244}, ""),
        ({"ase_ft": 245}, "altimetry system error +245 ft, limit 245 ft"),
        ({"aad_ft": -299}, ""),
        ({"aad_ft": -300}, "off the level -300 ft, limit 300 ft"),
        ({"cleared_level": 310, "observed_level": 312}, ""),
        (
            {"cleared_level": 310, "observed_level": 307},
            "off the level -300 ft, limit 300 ft",
        ),
        (
            {"aad_ft": 250, "cleared_level": 310, "observed_level": 314},
            "off the level +400 ft, limit 300 ft",
        ),
        ({"aad_ft": 350, "cleared_level": 310}, "off the level +350 ft, limit 300 ft"),
    ],
)
def test_both_sides_of_each_limit(make: Make, sizes: dict[str, Any], large: str) -> None:
    """At the limit an open deviation bars RVSM; one foot below it is advice."""
    earlier = make.airframe(type_certificate="to-1997-04-09")
    deviation = make.deviation(200, **(NO_SIZE | sizes))
    facts = make.facts(airframe=earlier, deviations=(deviation,))
    (row,) = make.rows(deviation_open, facts)
    if large:
        says = f"#200 open: {large}; not reported, no time limit set"
        assert row == ("not met", says, 280, (200,))
    else:
        assert row[::2] == ("advice", None)
        assert row[1].startswith("deviation #200 is open, below each limit: ")


ADS_B = {
    "airframe": {"type_certificate": "to-1997-04-09"},
    "approval": "rvsm-ads-b",
    "key": "appendix-g-9b",
}


@pytest.mark.parametrize(
    ("sizes", "beyond"),
    [
        ({"ase_ft": 200}, 0),
        ({"ase_ft": -200}, 0),
        ({"ase_ft": 201}, 201),
        ({"ase_ft": -244}, -244),
        # The total less what the aeroplane was off its level: 290 - 90, 290 - 89.
        ({"tve_ft": 290, "aad_ft": 90}, 0),
        ({"tve_ft": 290, "aad_ft": 89}, 201),
        ({"aad_ft": 201}, 0),
        ({"tve_ft": 201}, 0),
    ],
)
@pytest.mark.parametrize(
    "basis",
    [
        {"airframe": {}, "approval": "rvsm", "key": "appendix-g-2e"},
        {"airframe": {"rvsm_basis": "non-group"}, "approval": "rvsm", "key": "appendix-g-2f"},
        ADS_B,
    ],
)
def test_an_error_beyond_the_airframes_limit_bars_too(
    make: Make, sizes: dict[str, Any], beyond: int, basis: dict[str, Any]
) -> None:
    """200 ft pass, 201 ft do not, though nothing below 245 ft is reported."""
    facts = make.facts(
        airframe=make.airframe(**basis["airframe"]),
        approvals=(make.approval(40, approval=basis["approval"], regions=("US",)),),
        question=make.question(region="US"),
        deviations=(make.deviation(200, **(NO_SIZE | sizes)),),
    )
    (row,) = make.rows(deviation_open, facts)
    if not beyond:
        assert (row[0], row[2]) == ("advice", None)
        return
    says = (
        f"#200 open: altimetry system error {beyond:+d} ft, limit 200 ft: "
        "not reportable, yet barred"
    )
    assert row == ("not met", says, 280, (200,))
    (found,) = deviation_open.findings(facts)
    assert (found.sources, found.limits["own_ase_ft"]) == ((basis["key"],), 200)
    assert found.margin is not None
    assert found.margin.value == 200 - abs(beyond)


def test_a_small_one_names_its_sizes(make: Make) -> None:
    """Every size that was recorded is named, and the total of the two: 200 - 40 = 160."""
    facts = make.facts(deviations=(make.deviation(200, aad_ft=200, ase_ft=-40),))
    says = (
        "deviation #200 is open, below each limit: total vertical error +160 ft, "
        "altimetry system error -40 ft, off the level +200 ft"
    )
    assert make.rows(deviation_open, facts) == [("advice", says, None, (200,))]


@pytest.mark.parametrize(
    ("code", "now", "reported", "ending"),
    [
        ("us-91", "2027-03-14", None, "not reported, no time limit set"),
        ("us-91", "2027-03-14", at("2027-03-13"), "reported"),
        ("eu-nco", "2027-03-14", None, "report due 2027-03-15T02:00Z"),
        ("eu-nco", "2027-03-16", None, "report overdue, due 2027-03-15T02:00Z"),
        ("uk-cat", "2027-03-16", at("2027-03-15", "02:00"), "reported in time"),
        ("uk-cat", "2027-03-16", at("2027-03-15", "02:01"), "reported late, due 2027-03-15T02:00Z"),
    ],
)
def test_the_report_and_its_time(
    make: Make, code: str, now: str, reported: Any, ending: str
) -> None:
    """72 hours from 12 March 02:00 are 15 March 02:00 (SPA.RVSM.115); appendix G sets no time."""
    facts = make.facts(
        airframe=make.airframe(authority=code),
        question=make.question(at=at(now, "02:30")),
        deviations=(make.deviation(200, reported_at=reported),),
    )
    says = f"#200 open: off the level +300 ft, limit 300 ft; {ending}"
    assert make.rows(deviation_open, facts) == [("not met", says, 280, (200,))]
    values, limits = make.numbers(deviation_open, facts)[0]
    assert values == {"aad_ft": 300, "occurred_at": "2027-03-12T02:00Z"}
    due = None if code == "us-91" else "2027-03-15T02:00Z"
    assert limits == {"tve_ft": 300, "ase_ft": 245, "aad_ft": 300, "report_due_at": due}


def test_closed_and_reported_is_met(make: Make) -> None:
    """A deviation that is closed limits nothing."""
    cases = (
        make.deviation(200, closure=make.closure(201, 200), reported_at=at("2027-03-12", "09:00")),
        make.deviation(202, aad_ft=100, closure=make.closure(203, 202)),
    )
    says = "each altitude deviation on record is closed: 2"
    rows = [("met", says, None, (201, 203))]
    assert make.rows(deviation_open, make.facts(deviations=cases)) == rows


def test_closed_but_not_reported_is_advice(make: Make) -> None:
    """A large one that is closed without a report on record is noted."""
    case = make.deviation(200, closure=make.closure(201, 200))
    says = "deviation #200 is closed, but no report of it is on record"
    rows = [("advice", says, None, (200,))]
    assert make.rows(deviation_open, make.facts(deviations=(case,))) == rows


def test_none_on_record(make: Make) -> None:
    """Without deviations the rule does not apply."""
    rows = [("not applicable", "no altitude deviation on record", None, ())]
    assert make.rows(deviation_open, make.facts()) == rows


def test_each_open_one_is_a_finding(make: Make) -> None:
    """An open large one, an open small one and a closed one: two findings."""
    cases = (
        make.deviation(200, closure=make.closure(201, 200), reported_at=at("2027-03-12")),
        make.deviation(202, aad_ft=-450),
        make.deviation(203, aad_ft=90),
    )
    rows = make.rows(deviation_open, make.facts(deviations=cases))
    assert [(row[0], row[2], row[3]) for row in rows] == [
        ("not met", 280, (202,)),
        ("advice", None, (203,)),
    ]


@pytest.mark.parametrize(("day", "outcome"), [("2027-03-11", "not met"), ("2027-03-12", "met")])
def test_a_closure_from_before_the_deviation_closes_nothing(
    make: Make, day: str, outcome: str
) -> None:
    """A deviation of 12 March is open while its closure bears an earlier day."""
    closing = make.closure(201, 200, closed_on=make.on(day))
    case = make.deviation(200, closure=closing, reported_at=at("2027-03-13"))
    facts = make.facts(deviations=(case,), closures=(closing,))
    assert make.outcomes(deviation_open, facts)[0][0] == outcome


@pytest.mark.parametrize(
    ("sizes", "says"),
    [
        (
            {"tve_ft": 100, "ase_ft": 200, "aad_ft": 150},
            "total vertical error +350 ft, limit 300 ft; total stated +100 ft, parts make +350 ft: "
            "the greater counts",
        ),
        (
            {"tve_ft": -320, "ase_ft": 200, "aad_ft": -150},
            "total vertical error -320 ft, limit 300 ft; total stated -320 ft, parts make +50 ft: "
            "the greater counts",
        ),
        ({"ase_ft": -150, "aad_ft": -150}, "total vertical error -300 ft, limit 300 ft"),
        ({"ase_ft": 150, "aad_ft": 150}, "total vertical error +300 ft, limit 300 ft"),
    ],
)
def test_the_greater_of_the_stated_total_and_the_sum_counts(
    make: Make, sizes: dict[str, Any], says: str
) -> None:
    """Total vertical error is the algebraic sum of the other two; a contradiction is said."""
    facts = make.facts(deviations=(make.deviation(200, **sizes),))
    assert make.rows(deviation_open, facts) == [
        ("not met", f"#200 open: {says}; not reported, no time limit set", 280, (200,))
    ]


def test_a_small_contradiction_is_said_too(make: Make) -> None:
    """Below each limit it is advice, with both totals."""
    facts = make.facts(deviations=(make.deviation(200, tve_ft=10, ase_ft=100, aad_ft=199),))
    (row,) = make.rows(deviation_open, facts)
    assert row[0] == "advice"
    assert row[1].endswith("total stated +10 ft, parts make +299 ft: the greater counts")
