"""The ADS-B based authority: appendix G section 9, and AC 91-85B 4.3 read second-hand."""

from typing import Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.ads_b import ads_b_route_not_applicable
from rvsmlog.standards.authorities import AUTHORITIES
from tests.rules.conftest import Make, on


def resting(make: Make, *, region: str | None = "US", **parts: Any) -> Facts:
    """Give facts in which the flight rests on the ADS-B based authority."""
    parts.setdefault("approvals", (make.approval(200, approval="rvsm-ads-b"),))
    parts.setdefault("operator", make.operator(region=None))
    return make.facts(question=make.question(region=region), **parts)


def test_every_condition_holds(make: Make) -> None:
    """In the United States, with ADS-B Out fitted and height monitored, it serves."""
    assert make.rows(ads_b_route_not_applicable, resting(make)) == [
        (
            "met",
            "ADS-B based authority #200 serves: US, ADS-B Out fitted, monitored",
            None,
            (200, 24, 60),
        )
    ]


def test_a_specific_approval_takes_its_place(make: Make) -> None:
    """With a specific approval that counts nothing is asked of ADS-B Out."""
    facts = resting(make, approvals=(make.approval(40), make.approval(200, approval="rvsm-ads-b")))
    rows = [("not applicable", "a specific approval goes before it", None, ())]
    assert make.rows(ads_b_route_not_applicable, facts) == rows


@pytest.mark.parametrize(
    "fields", [{"holder": "Other Air"}, {"expires_on": on("2027-03-13")}, {"approval": "rvsm"}]
)
def test_without_good_paper_it_does_not_apply(make: Make, fields: dict[str, Any]) -> None:
    """Where no ADS-B based authority counts as a paper, the rule does not apply."""
    paper: dict[str, Any] = {
        "approval": "rvsm-ads-b",
        "issued_on": on("2026-05-01"),
        "holder": "Merrow Air",
    }
    if fields.get("approval") == "rvsm":
        fields = {**fields, "holder": "Other Air"}
    facts = resting(make, approvals=(make.approval(200, **(paper | fields)),))
    rows = [("not applicable", "no ADS-B based authority that counts is on record", None, ())]
    assert make.rows(ads_b_route_not_applicable, facts) == rows


def test_an_expired_specific_approval_does_not_take_its_place(make: Make) -> None:
    """A specific approval that has expired leaves the flight on the ADS-B based authority."""
    expired = make.approval(40, expires_on=on("2027-03-13"))
    facts = resting(make, approvals=(expired, make.approval(200, approval="rvsm-ads-b")))
    assert make.rows(ads_b_route_not_applicable, facts)[0][0] == "met"


def test_abroad_it_does_not_serve(make: Make) -> None:
    """Outside airspace of the United States a specific approval is needed (AIM 4-6-4)."""
    says = "ADS-B based authority #200: serves in region US only, not in PAC"
    facts = resting(make, region="PAC")
    assert make.rows(ads_b_route_not_applicable, facts) == [("not met", says, 280, (200, 1))]


@pytest.mark.parametrize("code", sorted(set(AUTHORITIES) - {"us-91", "us-135"}))
def test_other_rules_do_not_know_it(make: Make, code: str) -> None:
    """Only the rules of the United States have such a basis."""
    (row,) = make.rows(
        ads_b_route_not_applicable, resting(make, airframe=make.airframe(authority=code))
    )
    assert row[0] == "not met"
    assert row[1].endswith("have no such basis")
    assert row[2] == 280


def test_part_135_knows_it(make: Make) -> None:
    """Section 9 is open to operators under Part 135 as well."""
    facts = resting(make, airframe=make.airframe(authority="us-135"))
    assert make.rows(ads_b_route_not_applicable, facts)[0][0] == "met"


def test_an_unknown_region_is_not_on_record(make: Make) -> None:
    """Without a region nobody sees that the flight stays in the United States."""
    facts = resting(make, region=None)
    says = "region of the flight not known: the ADS-B based authority serves in US only"
    rows = [("not on record", says, 280, (200,))]
    assert make.rows(ads_b_route_not_applicable, facts) == rows


def test_ads_b_out_must_be_on_record(make: Make) -> None:
    """Without ADS-B Out on record, or with it removed, the authority does not serve."""
    without = make.equipment_without("ads-b-out")
    rows = [
        (
            "not on record",
            "ADS-B based authority #200: no ADS-B Out on record as fitted",
            280,
            (1,),
        )
    ]
    assert make.rows(ads_b_route_not_applicable, resting(make, equipment=without)) == rows
    removed = make.unit(24, "ads-b-out", removed=make.removal(200, 24, "2027-03-01"))
    facts = resting(make, equipment=(*without, removed))
    assert make.rows(ads_b_route_not_applicable, facts) == rows


def test_an_open_defect_of_it_bars_deferred_or_not(make: Make) -> None:
    """A deferred ADS-B Out does not transmit either; once rectified it counts again."""
    defect = make.defect(200, function="ads-b-out")
    facts = resting(make, defects=(make.case(defect),))
    says = "ADS-B based authority #200: ADS-B Out: defect #200 open, not deferred"
    assert make.rows(ads_b_route_not_applicable, facts) == [("not met", says, 280, (200,))]
    facts = resting(make, defects=(make.case(defect, deferral=make.deferral(201, 200)),))
    says = "ADS-B based authority #200: ADS-B Out: defect #200 deferred under item 34-99-1"
    assert make.rows(ads_b_route_not_applicable, facts) == [("not met", says, 280, (200, 201))]
    mended = make.case(defect, rectification=make.rectification(202, 200))
    other = (make.case(make.defect(203)), make.case(make.altimetry_fault(204)))
    facts = resting(make, defects=(mended, *other))
    assert make.rows(ads_b_route_not_applicable, facts)[0][0] == "met"


@pytest.mark.parametrize(
    ("measured", "today", "outcome"),
    [
        ("2025-03-14", "2027-03-14", "met"),
        ("2025-03-13", "2027-03-14", "not met"),
        ("2024-02-29", "2026-02-28", "met"),
        ("2024-02-29", "2026-03-01", "not met"),
    ],
)
def test_monitoring_serves_24_months_to_the_day(
    make: Make, measured: str, today: str, outcome: str
) -> None:
    """The previous 24 months (AC 91-85B 4.3, second-hand) end on the same day of the month."""
    approval = make.approval(200, approval="rvsm-ads-b", issued_on=on("2024-01-01"))
    facts = resting(
        make,
        approvals=(approval,),
        today=on(today),
        monitoring=(make.monitoring(60, measured_on=on(measured)),),
    )
    (row,) = make.rows(ads_b_route_not_applicable, facts)
    assert row[0] == outcome
    if outcome == "not met":
        assert row[2:] == (280, (60,))
        assert row[1].startswith(f"height last monitored on {measured}, which served until ")


@pytest.mark.parametrize(
    ("ase_ft", "outcome"), [(200, "met"), (-200, "met"), (201, "not met"), (-201, "not met")]
)
def test_the_error_is_at_most_200_ft(make: Make, ase_ft: int, outcome: str) -> None:
    """Section 9(b): the altimetry system error must not exceed 200 ft."""
    facts = resting(make, monitoring=(make.monitoring(60, ase_ft=ase_ft),))
    (row,) = make.rows(ads_b_route_not_applicable, facts)
    assert row[0] == outcome
    if outcome == "not met":
        says = f"altimetry system error {ase_ft:+d} ft, limit 200 ft"
        assert row == ("not met", says, 280, (60,))
        assert make.margins(ads_b_route_not_applicable, facts)[0] is not None


def test_never_monitored_is_not_on_record(make: Make) -> None:
    """Without a result the authority does not serve."""
    rows = [("not on record", "no height monitoring on record", 280, (1,))]
    assert make.rows(ads_b_route_not_applicable, resting(make, monitoring=())) == rows


def test_each_condition_that_fails_is_a_finding(make: Make) -> None:
    """Wrong region, no transmitter and an old result beyond 200 ft are four findings."""
    facts = resting(
        make,
        region="EUR",
        equipment=(),
        monitoring=(make.monitoring(60, measured_on=on("2024-01-01"), ase_ft=260),),
    )
    outcomes = [row[0] for row in make.rows(ads_b_route_not_applicable, facts)]
    assert outcomes == ["not met", "not on record", "not met", "not met"]
