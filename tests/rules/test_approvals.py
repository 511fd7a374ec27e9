"""Which RVSM approval counts (appendix G sections 3, 4 and 9), and which ends soon."""

from dataclasses import replace
from typing import Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.approvals import (
    approval_terms,
    rvsm_approval_lapsing,
    rvsm_approval_missing,
)
from rvsmlog.rules.basis import basis_of, in_use
from rvsmlog.standards.rvsm import Basis
from tests.rules.conftest import Make, on

TODAY = "2027-03-14"


def judged(make: Make, **fields: Any) -> tuple[str, str, int | None, tuple[int, ...]]:
    """Judge one approval with some fields changed."""
    (row,) = make.rows(rvsm_approval_missing, make.facts(approvals=(make.approval(40, **fields),)))
    return row


def test_a_valid_approval_counts(make: Make) -> None:
    """An approval for these marks, this holder and all regions counts."""
    assert make.rows(rvsm_approval_missing, make.facts()) == [
        ("met", "approval #40 of 2026-05-01 counts for NAM, without a last day", None, (40,))
    ]
    assert make.numbers(rvsm_approval_missing, make.facts()) == [
        ({"approval": "rvsm", "region": "NAM"}, {})
    ]


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"expires_on": on("2027-03-13")}, "expired on 2027-03-13"),
        ({"issued_on": on("2027-03-15")}, "not valid before 2027-03-15"),
        ({"registration": "QX-ABD"}, "names registration QX-ABD"),
        ({"holder": "Other Air"}, "names holder Other Air"),
        ({"regions": ("EUR", "NAT")}, "does not cover region NAM"),
        ({"regions": ("US",)}, "does not cover region NAM"),
        (
            {"expires_on": on("2027-03-13"), "holder": "Other Air"},
            "expired on 2027-03-13 and names holder Other Air",
        ),
    ],
)
def test_each_reason_why_it_does_not_count_is_named(
    make: Make, fields: dict[str, Any], reason: str
) -> None:
    """An approval that does not count says why, and RVSM is lost."""
    assert judged(make, **fields) == ("not met", f"no approval counts: #40 {reason}", 280, (40,))


@pytest.mark.parametrize(
    "fields",
    [
        {"expires_on": on(TODAY)},
        {"issued_on": on(TODAY)},
        {"registration": "QXABC"},
        {"holder": "  MERROW   air "},
        {"regions": ("NAM",)},
        {"regions": ("EUR", "ALL")},
    ],
)
def test_first_and_last_day_and_spelling_count(make: Make, fields: dict[str, Any]) -> None:
    """First and last day count; hyphens, case and blanks make no difference."""
    outcome, _, highest, evidence = judged(make, **fields)
    assert (outcome, highest, evidence) == ("met", None, (40,))


@pytest.mark.parametrize(("day", "outcome"), [("2027-03-14", "not met"), ("2027-03-15", "met")])
def test_the_day_of_withdrawal_no_longer_counts(make: Make, day: str, outcome: str) -> None:
    """Withdrawn today it does not count; one that is withdrawn tomorrow still does."""
    case = make.approval(40, withdrawal=make.withdrawal(200, 40, day))
    (row,) = make.rows(rvsm_approval_missing, make.facts(approvals=(case,)))
    assert row[0] == outcome
    if outcome == "not met":
        says = "no approval counts: #40 withdrawn on 2027-03-14"
        assert row == ("not met", says, 280, (40, 200))


def test_today_is_the_day_in_the_operators_zone(make: Make) -> None:
    """At 02:30 UTC on 14 March it is still 13 March where the facts say so."""
    case = make.approval(40, expires_on=on("2027-03-13"))
    facts = make.facts(approvals=(case,), today=on("2027-03-13"), time_zone="America/Denver")
    assert make.rows(rvsm_approval_missing, facts)[0][0] == "met"


@pytest.mark.parametrize(
    ("region", "level", "ceiling", "told"),
    [
        ("ALL", 310, 310, True),
        ("NAT", 284, 310, False),
        ("NAT", 285, 310, True),
        ("NAT", 420, 430, True),
        ("NAT", 421, 430, False),
        ("NAT", None, 310, True),
        ("NAT", None, 284, False),
        ("PAC", 310, 310, False),
    ],
)
def test_the_north_atlantic_asks_for_navigation_too(
    make: Make, region: str, level: int | None, ceiling: int, told: bool
) -> None:
    """14 CFR 91.705 (2014 text); FL285 to FL420 second-hand: advice, for it cannot be recorded."""
    facts = make.facts(
        airframe=make.airframe(highest_level=ceiling),
        question=make.question(region=region, level=level),
    )
    says = f"approval #40 of 2026-05-01 counts for {region}, without a last day"
    rows = [("met", says, None, (40,))]
    if told:
        told_says = (
            "North Atlantic, FL285 to FL420: an authorization for navigation is asked for too, and "
            "not known here"
        )
        rows.append(("advice", told_says, None, (40,)))
    assert make.rows(rvsm_approval_missing, facts) == rows


def test_none_on_record(make: Make) -> None:
    """A minimum equipment list approval is none for RVSM."""
    facts = make.facts(approvals=(make.approval(41, approval="mel", regions=None),))
    row = ("not on record", "no RVSM approval on record", 280, (1,))
    assert make.rows(rvsm_approval_missing, facts) == [row]
    assert make.rows(rvsm_approval_missing, make.facts(approvals=())) == [row]


def test_without_operator_the_holder_cannot_be_compared(make: Make) -> None:
    """Without an operator on record no approval counts."""
    facts = make.facts(operator=None, question=make.question(region="NAM"))
    says = "no operator on record: whose approval it is cannot be seen"
    assert make.rows(rvsm_approval_missing, facts) == [("not on record", says, 280, (40,))]
    assert in_use(facts) is None


def test_without_region_the_cover_cannot_be_seen(make: Make) -> None:
    """Neither the question nor the operator names a region: no approval counts."""
    facts = make.facts(operator=make.operator(region=None))
    says = "region of the flight not known: whether the approval covers it cannot be seen"
    assert make.rows(rvsm_approval_missing, facts) == [("not on record", says, 280, (40,))]
    assert in_use(facts) is None


def test_the_planned_region_goes_before_the_usual_one(make: Make) -> None:
    """The region asked about decides, not the operator's usual one."""
    facts = make.facts(
        approvals=(make.approval(40, regions=("NAM",)),), question=make.question(region="PAC")
    )
    says = "no approval counts: #40 does not cover region PAC"
    assert make.rows(rvsm_approval_missing, facts) == [("not met", says, 280, (40,))]


def test_an_approval_whose_regions_were_never_recorded_covers_nothing(make: Make) -> None:
    """Missing regions, as an old edition may have stored them, cover nothing."""
    case = make.approval(40)
    object.__setattr__(case.approval.record, "regions", None)
    says = "no approval counts: #40 does not cover region NAM"
    assert make.rows(rvsm_approval_missing, make.facts(approvals=(case,))) == [
        ("not met", says, 280, (40,))
    ]


def test_several_that_do_not_count_are_named_from_the_newest(make: Make) -> None:
    """The two newest say why they do not count; the values give every reason."""
    cases = (
        make.approval(200, expires_on=on("2026-12-31")),
        make.approval(201, registration="QX-OLD"),
        make.approval(202, holder="Other Air"),
    )
    facts = make.facts(approvals=cases)
    says = (
        "no approval counts: #202 names holder Other Air; #201 names registration QX-OLD; "
        "and 1 older"
    )
    assert make.rows(rvsm_approval_missing, facts) == [("not met", says, 280, (202, 201, 200))]
    assert make.numbers(rvsm_approval_missing, facts) == [
        (
            {
                "approval_202": "names holder Other Air",
                "approval_201": "names registration QX-OLD",
                "approval_200": "expired on 2026-12-31",
            },
            {"registration": "QX-ABC", "region": "NAM", "today": TODAY},
        )
    ]


def test_two_that_do_not_count_are_both_named(make: Make) -> None:
    """With two on record none is left over."""
    cases = (make.approval(200, registration="QX-OLD"), make.approval(201, holder="Other Air"))
    says = "no approval counts: #201 names holder Other Air; #200 names registration QX-OLD"
    assert make.rows(rvsm_approval_missing, make.facts(approvals=cases)) == [
        ("not met", says, 280, (201, 200))
    ]


def in_us(make: Make, **parts: Any) -> Facts:
    """Give facts with an ADS-B based authority and a flight in the United States."""
    parts.setdefault("approvals", (make.approval(200, approval="rvsm-ads-b"),))
    return make.facts(question=make.question(region="US"), **parts)


def test_the_ads_b_based_authority_counts_in_the_united_states(make: Make) -> None:
    """Under United States rules and in their airspace it counts, and sets the basis."""
    facts = in_us(make)
    says = "ADS-B based authority #200 of 2026-05-01 counts for US, without a last day"
    assert make.rows(rvsm_approval_missing, facts) == [("met", says, None, (200,))]
    assert basis_of(facts) is Basis.ADS_B


def test_a_specific_approval_goes_before_it(make: Make) -> None:
    """With both on record the flight rests on the specific approval."""
    both = (make.approval(40), make.approval(200, approval="rvsm-ads-b"))
    facts = in_us(make, approvals=both)
    assert make.rows(rvsm_approval_missing, facts)[0][3] == (40,)
    assert basis_of(facts) is Basis.GROUP


def test_the_ads_b_based_authority_does_not_count_elsewhere(make: Make) -> None:
    """Neither in the rest of North America nor under other rules does it count."""
    facts = make.facts(approvals=(make.approval(200, approval="rvsm-ads-b"),))
    says = "no approval counts: #200 serves in region US only, not in NAM"
    assert make.rows(rvsm_approval_missing, facts) == [("not met", says, 280, (200,))]
    abroad = in_us(make, airframe=make.airframe(authority="eu-nco"))
    (row,) = make.rows(rvsm_approval_missing, abroad)
    assert row[:3] == (
        "not met",
        "no approval counts: #200 the eu-nco rules have no such basis",
        280,
    )


@pytest.mark.parametrize(
    ("last", "left", "outcome"),
    [
        ("2027-03-14", 0, "advice"),
        ("2027-04-13", 30, "advice"),
        ("2027-04-14", 31, "met"),
    ],
)
def test_an_approval_that_ends_within_30_days_is_advice(
    make: Make, last: str, left: int, outcome: str
) -> None:
    """Thirty days before its last day (common practice, no source) the advice begins."""
    facts = make.facts(approvals=(make.approval(40, expires_on=on(last)),))
    says = f"approval #40 ends with {last}: {left} days left"
    assert make.rows(rvsm_approval_lapsing, facts) == [(outcome, says, None, (40,))]
    assert make.numbers(rvsm_approval_lapsing, facts) == [
        ({"days_left": left}, {"warning_days": 30})
    ]


def test_an_approval_without_a_last_day_does_not_lapse(make: Make) -> None:
    """Without a last day there is nothing to renew."""
    says = "approval #40 has no last day"
    assert make.rows(rvsm_approval_lapsing, make.facts()) == [("met", says, None, (40,))]


def test_of_two_that_count_the_longer_one_is_taken(make: Make) -> None:
    """A renewal on record ends the warning."""
    cases = (
        make.approval(40, expires_on=on("2027-03-20")),
        make.approval(200, issued_on=on("2027-03-01"), expires_on=on("2029-03-31")),
    )
    rows = make.rows(rvsm_approval_lapsing, make.facts(approvals=cases))
    says = "approval #200 ends with 2029-03-31: 748 days left"
    assert rows == [("met", says, None, (200,))]


def test_without_an_approval_none_lapses(make: Make) -> None:
    """Where none counts the rule does not apply."""
    rows = make.rows(rvsm_approval_lapsing, make.facts(approvals=()))
    assert rows == [("not applicable", "no RVSM approval counts for this flight", None, ())]


def test_another_kind_of_operation_wants_its_own(make: Make) -> None:
    """Appendix G section 3(a): letter or specifications as fits. Entered again, it counts."""
    old = make.approval(40)
    case = replace(old, entered_under="us-91")
    facts = make.facts(approvals=(case,), airframe=make.airframe(authority="us-135"))
    says = "no RVSM approval under us-135: #40 entered under us-91, us-135 on record now"
    rows = [("not on record", says, 280, (1, 40))]
    assert make.rows(rvsm_approval_missing, facts) == rows
    assert in_use(facts) is None
    again = replace(make.approval(200), entered_under="us-135")
    facts = make.facts(approvals=(case, again), airframe=make.airframe(authority="us-135"))
    assert make.rows(rvsm_approval_missing, facts)[0][::3] == ("met", (200,))
    # Something else is wrong with the other one: still none is on record under these rules.
    wrong = replace(make.approval(200, holder="Other Air"), entered_under="us-135")
    facts = make.facts(approvals=(case, wrong), airframe=make.airframe(authority="us-135"))
    assert make.rows(rvsm_approval_missing, facts)[0][0] == "not on record"
    # Expired as well, it is no approval at all.
    expired = replace(make.approval(40, expires_on=on("2027-03-13")), entered_under="us-91")
    facts = make.facts(approvals=(expired,), airframe=make.airframe(authority="us-135"))
    assert make.rows(rvsm_approval_missing, facts)[0][0] == "not met"


def test_the_ads_b_based_authority_is_no_paper(make: Make) -> None:
    """Section 9 takes the place of an approval for operators under either part."""
    case = replace(make.approval(200, approval="rvsm-ads-b"), entered_under="us-91")
    facts = in_us(make, approvals=(case,), airframe=make.airframe(authority="us-135"))
    assert make.rows(rvsm_approval_missing, facts)[0][0] == "met"


def test_one_of_another_operation_ends_on_no_day(make: Make) -> None:
    """The due list does not name the last day of a paper that does not count."""
    paper = make.approval(40, expires_on=on("2027-06-30"))
    facts = make.facts(approvals=(paper,))
    assert [term.last_day for term in approval_terms(facts)] == [on("2027-06-30")]
    other = replace(paper, entered_under="eu-nco")
    assert list(approval_terms(make.facts(approvals=(other,)))) == []
