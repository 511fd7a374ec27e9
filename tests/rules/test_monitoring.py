"""Height monitoring: Annex 6 Part I 7.2.7 for the days, appendix G sections 2, 6 and 9 for errors.

Two years or 1,000 flight hours, whichever is longer; the first within six months of the approval.
"""

from typing import Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.monitoring import height_monitoring_beyond_limits
from rvsmlog.rules.monitoring_due import height_monitoring_overdue, hours_since, newest_result
from tests.rules.conftest import Make, on


def monitored(make: Make, measured: str, today: str, **parts: Any) -> Facts:
    """Give facts with one result at 1,450 h, an approval of 2023, and 1,600 h now."""
    parts.setdefault("approvals", (make.approval(40, issued_on=on("2023-01-01")),))
    parts.setdefault("monitoring", (make.monitoring(60, measured_on=on(measured)),))
    return make.facts(today=on(today), **parts)


def outcomes(make: Make, facts: Facts) -> list[tuple[str, int | None]]:
    """Judge by the rule of the days; outcome and level only."""
    return [(row[0], row[2]) for row in make.rows(height_monitoring_overdue, facts)]


def test_within_two_years_it_is_met(make: Make) -> None:
    """The healthy airframe was measured half a year ago."""
    assert make.rows(height_monitoring_overdue, make.facts()) == [
        (
            "met",
            "height monitored on 2026-09-01; next due after 2028-09-01: 537 days left",
            None,
            (60,),
        )
    ]
    assert make.numbers(height_monitoring_overdue, make.facts()) == [
        (
            {"measured_on": "2026-09-01", "due_on": "2028-09-01", "hours_since_h": 150.0},
            {"months": 24, "hours_h": 1000},
        )
    ]


@pytest.mark.parametrize(
    ("measured", "today", "outcome"),
    [
        ("2025-03-14", "2027-03-14", "met"),
        ("2025-03-13", "2027-03-14", "not met"),
        ("2024-02-29", "2026-02-28", "met"),
        ("2024-02-29", "2026-03-01", "not met"),
        ("2025-08-31", "2027-08-31", "met"),
        ("2025-08-31", "2027-09-01", "not met"),
    ],
)
def test_without_hours_the_two_years_alone_decide(
    make: Make, measured: str, today: str, outcome: str
) -> None:
    """A missing record of hours never extends the interval; its last day counts."""
    facts = monitored(make, measured, today, flights=(make.flight(70, airframe_hours=None),))
    assert outcomes(make, facts) == [(outcome, None if outcome == "met" else 280)]


@pytest.mark.parametrize(
    ("hours", "outcome"), [(2450.0, "met"), (2450.1, "not met"), (1450.0, "met")]
)
def test_after_two_years_1000_hours_still_count(make: Make, hours: float, outcome: str) -> None:
    """Whichever is longer: up to and at 1,000 h since, the result still counts."""
    facts = monitored(
        make, "2024-03-01", "2027-03-14", flights=(make.flight(70, airframe_hours=hours),)
    )
    assert outcomes(make, facts) == [(outcome, None if outcome == "met" else 280)]


def test_the_message_names_both_intervals(make: Make) -> None:
    """Overdue says when the two years ended and how many hours were flown since."""
    late = monitored(
        make, "2024-03-01", "2027-03-14", flights=(make.flight(70, airframe_hours=2500.0),)
    )
    says = (
        "height monitored on 2024-03-01: two years ended 2026-03-01, 1050 hours since (limit 1000)"
    )
    assert make.rows(height_monitoring_overdue, late) == [("not met", says, 280, (60,))]
    by_hours = monitored(make, "2024-03-01", "2027-03-14")
    says = "height monitored on 2024-03-01: two years ended 2026-03-01, 150 of 1000 hours since"
    assert make.rows(height_monitoring_overdue, by_hours) == [("met", says, None, (60,))]
    (margin,) = make.margins(height_monitoring_overdue, by_hours)
    assert str(margin) == "+850 h"
    unknown = monitored(make, "2024-03-01", "2027-03-14", flights=())
    says = (
        "height monitored on 2024-03-01: two years ended 2026-03-01, "
        "hours since not on record (limit 1000)"
    )
    assert make.rows(height_monitoring_overdue, unknown) == [("not met", says, 280, (60,))]


def test_hours_are_unknown_where_a_record_is_missing(make: Make) -> None:
    """Hours since need both ends; the newest flight counts, and fewer hours than then do not."""
    result = make.monitoring(60)
    no_hours = (make.flight(70, airframe_hours=1500.0), make.flight(71, airframe_hours=None))
    assert hours_since(make.facts(flights=no_hours), result) is None
    assert hours_since(make.facts(flights=()), result) is None
    fewer = (make.flight(70, airframe_hours=1449.9),)
    assert hours_since(make.facts(flights=fewer), result) is None
    unknown_then = make.monitoring(60, airframe_hours=None)
    assert hours_since(make.facts(), unknown_then) is None
    assert hours_since(make.facts(), result) == pytest.approx(150.0)


def test_hours_that_run_back_are_unknown(make: Make) -> None:
    """A newest flight with fewer hours than an earlier one shows that one of them is wrong."""
    result = make.monitoring(60)
    back = (make.flight(70, airframe_hours=2600.0), make.flight(71, airframe_hours=1600.0))
    assert hours_since(make.facts(flights=back), result) is None
    same = (make.flight(70, airframe_hours=1600.0), make.flight(71, airframe_hours=1600.0))
    assert hours_since(make.facts(flights=same), result) == pytest.approx(150.0)


@pytest.mark.parametrize(
    ("day", "expected"), [("2027-03-12", pytest.approx(150.0)), ("2027-03-13", None)]
)
def test_hours_are_unknown_where_flights_are_missing(
    make: Make, day: str, expected: object
) -> None:
    """A cross-check in flight on a day after the newest flight is of a flight not on record."""
    checks = (make.crosscheck(80, day, "23:00"),)
    assert hours_since(make.facts(crosschecks=checks), make.monitoring(60)) == expected
    on_ground = (make.crosscheck(80, "2027-03-13", "23:00", "ground"),)
    assert hours_since(make.facts(crosschecks=on_ground), make.monitoring(60)) == pytest.approx(150)


@pytest.mark.parametrize(
    ("issued", "left", "outcome"),
    [
        ("2026-09-14", 0, "advice"),
        ("2026-09-13", -1, "not on record"),
        ("2026-08-31", -14, "not on record"),
        ("2027-03-14", 184, "advice"),
    ],
)
def test_the_first_result_is_due_within_six_months(
    make: Make, issued: str, left: int, outcome: str
) -> None:
    """Without a result the six months from the issue run; 31 August and six months is 28 February.

    14 March to 14 September are 184 days.
    """
    facts = make.facts(
        approvals=(make.approval(200, issued_on=on(issued)),), monitoring=(), flights=()
    )
    (row,) = make.rows(height_monitoring_overdue, facts)
    assert row[0] == outcome
    assert row[2:] == (None if outcome == "advice" else 280, (200,))
    assert make.numbers(height_monitoring_overdue, facts)[0][0]["days_left"] == left


def test_the_first_result_says_how_many_days_are_left(make: Make) -> None:
    """Both sides of the six months have messages of their own."""
    within = make.facts(approvals=(make.approval(200, issued_on=on("2026-10-01")),), monitoring=())
    says = "no height monitoring on record; the first is due by 2027-04-01: 18 days left"
    assert make.rows(height_monitoring_overdue, within) == [("advice", says, None, (200,))]
    beyond = make.facts(monitoring=())
    says = "no height monitoring on record; the first was due by 2026-11-01"
    assert make.rows(height_monitoring_overdue, beyond) == [("not on record", says, 280, (40,))]


def test_a_renewal_does_not_start_the_six_months_afresh(make: Make) -> None:
    """The six months run from the first approval that was not withdrawn, for marks and holder."""
    renewal = make.approval(200, issued_on=on("2027-03-01"))
    old = make.approval(40, expires_on=on("2027-02-28"))
    facts = make.facts(approvals=(old, renewal), monitoring=())
    assert outcomes(make, facts) == [("not on record", 280)]


@pytest.mark.parametrize("kind", ["withdrawn", "holder", "marks", "mel"])
def test_another_approval_starts_them_afresh(make: Make, kind: str) -> None:
    """After a withdrawal, for another holder or other marks, the six months run anew."""
    old = {
        "withdrawn": make.approval(40, withdrawal=make.withdrawal(201, 40, "2027-02-01")),
        "holder": make.approval(40, holder="Other Air"),
        "marks": make.approval(40, registration="QX-OLD"),
        "mel": make.approval(40, approval="mel", regions=None),
    }[kind]
    renewal = make.approval(200, issued_on=on("2027-03-01"))
    facts = make.facts(approvals=(old, renewal), monitoring=())
    assert outcomes(make, facts) == [("advice", None)]


def test_an_old_result_before_a_new_approval_is_due_within_six_months(make: Make) -> None:
    """A result older than both intervals leaves the six months of the new approval."""
    new = (make.approval(200, issued_on=on("2027-01-15")),)
    flown = (make.flight(70, airframe_hours=2600.0),)
    facts = monitored(make, "2024-01-10", "2027-03-14", approvals=new, flights=flown)
    says = "height monitored on 2024-01-10, too long ago; due under this approval by 2027-07-15"
    assert make.rows(height_monitoring_overdue, facts) == [("advice", says, None, (60,))]
    last_day = monitored(make, "2024-01-10", "2027-07-15", approvals=new, flights=flown)
    assert outcomes(make, last_day) == [("advice", None)]
    after = monitored(make, "2024-01-10", "2027-07-16", approvals=new, flights=flown)
    assert outcomes(make, after) == [("not met", 280)]


def test_without_an_approval_nothing_is_due(make: Make) -> None:
    """Where no approval counts the rule does not apply: RVSM is lost anyway."""
    rows = [("not applicable", "no RVSM approval counts for this flight", None, ())]
    assert make.rows(height_monitoring_overdue, make.facts(approvals=())) == rows


@pytest.mark.parametrize(
    ("measured", "outcome"), [("2025-03-14", "met"), ("2025-03-13", "not met"), (None, "none")]
)
def test_the_ads_b_based_authority_has_24_months_and_no_hours(
    make: Make, measured: str | None, outcome: str
) -> None:
    """Without hours and without six months of grace (AC 91-85B 4.3, second-hand)."""
    results = () if measured is None else (make.monitoring(60, measured_on=on(measured)),)
    facts = make.facts(
        approvals=(make.approval(200, approval="rvsm-ads-b", issued_on=on("2027-03-01")),),
        question=make.question(region="US"),
        monitoring=results,
    )
    expected = {
        "met": (
            "met",
            "height monitored on 2025-03-14; serves until 2027-03-14: 0 days left",
            None,
            (60,),
        ),
        "not met": (
            "not met",
            "height monitored on 2025-03-13: its 24 months ended 2027-03-13",
            280,
            (60,),
        ),
        "none": (
            "not on record",
            "no height monitoring on record; the ADS-B based authority wants one",
            280,
            (1,),
        ),
    }[outcome]
    assert make.rows(height_monitoring_overdue, facts) == [expected]


GROUP_NEW: dict[str, Any] = {"rvsm_basis": "group", "type_certificate": "after-1997-04-09"}
GROUP_OLD: dict[str, Any] = {"rvsm_basis": "group", "type_certificate": "to-1997-04-09"}
SINGLE: dict[str, Any] = {"rvsm_basis": "non-group", "type_certificate": "to-1997-04-09"}


@pytest.mark.parametrize(
    ("basis", "ase_ft", "outcome"),
    [
        # Appendix G 2(e): 200 ft; holding one aeroplane to the group's limit is practice.
        (GROUP_NEW, 200, "met"),
        (GROUP_NEW, -200, "met"),
        (GROUP_NEW, 201, "not met"),
        # 2(d): 200 ft over the basic envelope, 245 ft over the full one, the very size that
        # section 6 wants reported.
        (GROUP_OLD, -200, "met"),
        (GROUP_OLD, 201, "advice"),
        (GROUP_OLD, 244, "advice"),
        (GROUP_OLD, 245, "advice"),
        (GROUP_OLD, -246, "not met"),
        # 2(f): 160 ft over the basic envelope, 200 ft over the full one.
        (SINGLE, 160, "met"),
        (SINGLE, -161, "advice"),
        (SINGLE, 200, "advice"),
        (SINGLE, -201, "not met"),
    ],
)
def test_both_sides_of_each_limit(
    make: Make, basis: dict[str, Any], ase_ft: int, outcome: str
) -> None:
    """At the limit it is met, one foot beyond it is not; between two envelopes it is advice."""
    facts = make.facts(
        airframe=make.airframe(**basis), monitoring=(make.monitoring(60, ase_ft=ase_ft),)
    )
    (row,) = make.rows(height_monitoring_beyond_limits, facts)
    assert (row[0], row[2]) == (outcome, 280 if outcome == "not met" else None)


def test_between_the_envelopes_the_advice_names_both_limits(make: Make) -> None:
    """Appendix G 2(f), published: 160 ft for the basic envelope, 200 ft for the full one."""
    facts = make.facts(
        airframe=make.airframe(**SINGLE), monitoring=(make.monitoring(60, ase_ft=-180),)
    )
    says = (
        "altimetry system error -180 ft on 2026-09-01, limit 200 ft of the full envelope, "
        "160 ft of the basic one"
    )
    assert make.rows(height_monitoring_beyond_limits, facts) == [("advice", says, None, (60,))]
    limits = {"ase_ft": 200, "report_ft": 245, "basic_ase_ft": 160}
    assert make.numbers(height_monitoring_beyond_limits, facts)[0][1] == limits


def test_the_ads_b_based_authority_has_200_ft(make: Make) -> None:
    """An earlier group type that would have 245 ft has 200 ft under section 9(b)."""
    facts = make.facts(
        airframe=make.airframe(**GROUP_OLD),
        approvals=(make.approval(200, approval="rvsm-ads-b"),),
        question=make.question(region="US"),
        monitoring=(make.monitoring(60, ase_ft=201),),
    )
    says = "altimetry system error +201 ft on 2026-09-01, limit 200 ft: not reportable, yet barred"
    rows = [("not met", says, 280, (60,))]
    assert make.rows(height_monitoring_beyond_limits, facts) == rows
    assert make.numbers(height_monitoring_beyond_limits, facts) == [
        (
            {"ase_ft": 201, "measured_on": "2026-09-01", "basis": "ads-b"},
            {"ase_ft": 200, "report_ft": 245},
        )
    ]


@pytest.mark.parametrize(
    ("ase_ft", "ending"), [(244, "not reportable, yet barred"), (245, "must be reported")]
)
def test_from_245_ft_on_it_must_be_reported(make: Make, ase_ft: int, ending: str) -> None:
    """Between 200 and 244 ft an aeroplane is barred but not reportable (section 6: 245 ft)."""
    facts = make.facts(monitoring=(make.monitoring(60, ase_ft=-ase_ft),))
    says = f"altimetry system error -{ase_ft} ft on 2026-09-01, limit 200 ft: {ending}"
    (finding,) = height_monitoring_beyond_limits.findings(facts)
    assert (finding.says, finding.highest_level) == (says, 280)
    assert finding.remedy.startswith("Report it" if ending.startswith("must") else "Have the")
    assert str(finding.margin) == f"{200 - ase_ft:+d} ft"


@pytest.mark.parametrize(("tve_ft", "beyond"), [(299, False), (-299, False), (300, True)])
def test_total_vertical_error_from_300_ft_on_is_not_met(
    make: Make, tve_ft: int, beyond: bool
) -> None:
    """Section 6: 300 ft and more must be reported."""
    facts = make.facts(monitoring=(make.monitoring(60, tve_ft=tve_ft),))
    first, *rest = make.rows(height_monitoring_beyond_limits, facts)
    assert first[0] == "met"
    says = "total vertical error +300 ft on 2026-09-01, limit 300 ft: must be reported"
    assert rest == ([("not met", says, 280, (60,))] if beyond else [])


def test_without_a_result_there_is_no_error(make: Make) -> None:
    """Whether a result is due is another rule's question."""
    rows = [("not applicable", "no height monitoring on record", None, ())]
    assert make.rows(height_monitoring_beyond_limits, make.facts(monitoring=())) == rows


def test_the_newest_result_decides(make: Make) -> None:
    """A newer good result clears an older bad one; of one day the worse one counts."""
    old = make.monitoring(200, measured_on=on("2026-08-31"), ase_ft=260)
    good = make.monitoring(201, ase_ft=20)
    worse = make.monitoring(202, ase_ft=-230)
    facts = make.facts(monitoring=(old, good))
    assert [row[0] for row in make.rows(height_monitoring_beyond_limits, facts)] == ["met"]
    same_day = make.facts(monitoring=(old, worse, good))
    newest = newest_result(same_day)
    assert newest is not None
    assert newest.first == 202
    assert newest_result(make.facts(monitoring=())) is None
