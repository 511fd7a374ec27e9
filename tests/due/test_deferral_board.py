"""The board of open deferrals.

Intervals as in MMEL Policy Letter 25 (read second-hand); extension policies as published in
ORO.MLR.105(f): B, C and D once, by the interval again at the most. Under 14 CFR Part 91 none is
taken to be allowed. Days come from the calendar.
"""

from dataclasses import replace

import pytest

from rvsmlog.answers.deferral_board import DeferralRow, deferral_rows
from rvsmlog.facts import DefectCase, Facts
from rvsmlog.reports.deferral_board import deferral_board_lines, deferral_board_rows
from rvsmlog.reports.text import WIDTH
from tests.rules.conftest import Make, on

EU, US = "eu-cat", "us-91"


def deferred(make: Make, *cases: DefectCase, authority: str = EU, today: str = "") -> Facts:
    """Give facts with deferred defects, under an authority."""
    facts = make.facts(airframe=make.airframe(authority=authority), defects=cases)
    return replace(facts, today=on(today)) if today else facts


def only(facts: Facts) -> DeferralRow:
    """Give the one row."""
    (row,) = deferral_rows((facts,))
    return row


def test_open_deferrals_by_last_day_over_the_fleet(make: Make) -> None:
    """Those that end first stand first, of whichever airframe; closed ones are left out."""
    late = make.case(make.defect(210), deferral=make.deferral(211, 210, category="D"))
    soon = make.case(
        make.defect(212, function="static-heat", position="2"),
        deferral=make.deferral(213, 212, category="B", highest_level=280),
    )
    done = make.case(
        make.defect(214),
        deferral=make.deferral(215, 214),
        rectification=make.rectification(216, 214),
    )
    loose = make.case(make.defect(217))
    other = make.facts(airframe=make.airframe(registration="QX-XYZ"), defects=(soon, done))
    rows = deferral_rows((deferred(make, late, loose), other))
    assert [(row.airframe, row.deferral, row.category, row.due_on) for row in rows] == [
        ("QX-XYZ", 213, "B", on("2027-03-15")),
        ("QX-ABC", 211, "D", on("2027-07-10")),
    ]
    assert (rows[0].what, rows[0].defect, rows[0].mel_reference) == (
        "static port heat 2",
        212,
        "34-99-1",
    )


@pytest.mark.parametrize(
    ("function", "level", "rvsm", "highest"),
    [
        # The alerter is of the minimum set: no list lets RVSM be flown without it.
        ("altitude-alerter", None, "lost", 280),
        ("altitude-alerter", 250, "lost", 250),
        ("cabin-pressure-control", 300, "capped", 300),
        # A level of the item at or above the certificated one costs nothing.
        ("static-heat", 310, "kept", 310),
        ("pitot-heat", 280, "lost", 280),
    ],
)
def test_what_a_deferral_means_for_rvsm(
    make: Make, function: str, level: int | None, rvsm: str, highest: int
) -> None:
    """The lowest level that any rule leaves because of it, and the level that the item sets."""
    case = make.case(
        make.defect(210, function=function),
        deferral=make.deferral(211, 210, highest_level=level, max_differential_psi=6.2),
    )
    row = only(deferred(make, case))
    assert (row.rvsm, row.highest_level, row.item_level) == (rvsm, highest, level)
    assert row.set_by


def test_an_overdue_deferral_costs_the_flight(make: Make) -> None:
    """Category C of 12 March is open up to the 22nd: then nothing may fly with it."""
    case = make.case(
        make.defect(210, function="static-heat"),
        deferral=make.deferral(211, 210, highest_level=280),
    )
    for today, left, rvsm in (("2027-03-22", 0, "lost"), ("2027-03-23", -1, "no flight")):
        row = only(deferred(make, case, today=today))
        assert (row.days_left, row.rvsm) == (left, rvsm)
    assert (row.highest_level, row.set_by, row.item_level) == (0, ("deferral-overdue",), 280)


@pytest.mark.parametrize(
    ("category", "authority", "days", "until"),
    [
        ("B", EU, 3, "2027-03-18"),
        ("C", EU, 10, "2027-04-01"),
        ("D", EU, 120, "2027-11-07"),
        ("C", "us-135", 10, "2027-04-01"),
    ],
)
def test_an_extension_still_possible(
    make: Make, category: str, authority: str, days: int, until: str
) -> None:
    """Once, by the interval again at the most, where the authority's policy has the category."""
    case = make.case(make.defect(210), deferral=make.deferral(211, 210, category=category))
    answer = only(deferred(make, case, authority=authority)).extension
    assert (answer.possible, answer.days, answer.until) == (True, days, on(until))
    assert answer.granted == 0


@pytest.mark.parametrize(
    ("category", "authority", "today", "says"),
    [
        ("C", US, "2027-03-14", "category C may not be extended"),
        ("D", "us-135", "2027-03-14", "category D may not be extended"),
        ("A", EU, "2027-03-14", "category A may not be extended"),
        ("C", EU, "2027-03-23", "the interval ended on 2027-03-22"),
    ],
)
def test_no_extension(make: Make, category: str, authority: str, today: str, says: str) -> None:
    """Not beyond the policy, and not once the interval has ended."""
    last = on("2027-04-01") if category == "A" else None
    deferral = make.deferral(211, 210, category=category, due_on=last)
    answer = only(
        deferred(
            make, make.case(make.defect(210), deferral=deferral), authority=authority, today=today
        )
    ).extension
    assert (answer.possible, answer.says, answer.until) == (False, says, None)


def test_an_extension_is_possible_on_the_last_day_and_once_only(make: Make) -> None:
    """On 22 March it may still be granted; one that was moves the last day and ends it."""
    deferral = make.deferral(211, 210)
    fresh = make.case(make.defect(210), deferral=deferral)
    assert only(deferred(make, fresh, today="2027-03-22")).extension.possible
    extended = make.case(
        make.defect(210), deferral=deferral, extensions=(make.extension(212, 211, 10),)
    )
    row = only(deferred(make, extended))
    assert (row.due_on, row.extension.possible, row.extension.granted) == (
        on("2027-04-01"),
        False,
        1,
    )


def test_the_last_review_of_defect_or_deferral(make: Make) -> None:
    """The newest counts, by when it was made, and stands among the evidence."""
    reviews = (
        make.review(220, 211, reviewed_at=make.at("2027-03-13", "12:00"), conclusion="parts due"),
        make.review(221, 210, reviewed_at=make.at("2027-03-13", "10:00")),
    )
    case = make.case(make.defect(210), deferral=make.deferral(211, 210), reviews=reviews)
    row = only(deferred(make, case))
    assert (row.reviewed_at, row.review) == (make.at("2027-03-13", "12:00"), "parts due")
    assert [ref.entry for ref in row.evidence] == [210, 211, 220]
    bare = make.case(make.defect(210), deferral=make.deferral(211, 210))
    assert only(deferred(make, bare)).reviewed_at is None


def test_the_board_on_a_screen(make: Make) -> None:
    """It says in words what is overdue, what it costs, whether it may be extended, the review."""
    case = make.case(
        make.defect(210, function="static-heat", position="2"),
        deferral=make.deferral(
            211, 210, highest_level=280, limitation="not into known icing conditions, " * 3
        ),
        reviews=(make.review(220, 211, conclusion="heater on order"),),
    )
    lines = [
        line.text
        for line in deferral_board_lines(
            deferral_rows((deferred(make, case, today="2027-03-24"),)),
            "Fleet",
            make.on("2027-03-24"),
        )
    ]
    page = " ".join(" ".join(lines).split())
    assert lines[:2] == ["Fleet  1 deferral open, 1 overdue", "  for 2027-03-24"]
    for said in (
        "QX-ABC static port heat 2: C, last day 2027-03-22, OVERDUE by 2 days",
        "#211 of #210, item 34-99-1",
        "RVSM: no flight (deferral-overdue)",
        "the item allows FL280 at most",
        "limitation: not into known icing conditions",
        "extension: no, the interval ended on 2027-03-22",
        "last review: 2027-03-13T10:00Z: heater on order",
        "An aid, not a release",
    ):
        assert said in page
    assert max(len(line) for line in lines) <= WIDTH


def test_no_deferral_is_said(make: Make) -> None:
    """Without any the board says so, and answers an empty list."""
    assert next(line.text for line in deferral_board_lines((), "Fleet", None)) == (
        "Fleet  no deferral open"
    )
    assert deferral_board_rows(deferral_rows((make.facts(),))) == []
