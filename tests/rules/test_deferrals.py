"""Rules on open defects and deferrals.

Repair intervals of 3, 10 and 120 consecutive calendar days without the day of discovery: airline
MEL preambles and authority templates, published. Found on 26 January, category B ends with 29
January, C with 5 February, D with 26 May of a year without leap day: the example in FAA Policy
Letter 25, from memory. Extensions: ORO.MLR.105(f), published (B, C and D once, at most the interval
again); FAA B and C once, from memory.
"""

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import DefectCase, Facts
from rvsmlog.rules.deferrals import (
    defect_open,
    deferral_caps_level,
    deferral_not_reviewed,
    deferral_overdue,
)

if TYPE_CHECKING:
    from tests.rules.conftest import Make

NO_FLIGHT = 0


def test_nothing_open(make: "Make") -> None:
    """Without a defect, or with rectified ones only, nothing is open and nothing is deferred."""
    done = make.case(
        make.defect(200),
        deferral=make.deferral(201, 200),
        rectification=make.rectification(202, 200),
    )
    for defects in ((), (done,)):
        facts = make.facts(defects=defects)
        assert make.outcomes(defect_open, facts) == [("met", None, (1,), None)]
        for rule in (deferral_overdue, deferral_caps_level, deferral_not_reviewed):
            assert make.outcomes(rule, facts) == [("not applicable", None, (), None)]


@pytest.mark.parametrize(
    ("authority", "source"), [("us-91", "91-213"), ("us-135", "135-179"), ("uk-cat", "oro-mlr-105")]
)
def test_open_defect_stops_the_flight(make: "Make", authority: str, source: str) -> None:
    """Each defect that is neither rectified nor deferred stops the flight, whatever it is of."""
    cases = (
        make.case(make.defect(200, function="other")),
        make.case(make.altimetry_fault(201)),
        make.case(make.defect(202), deferral=make.deferral(203, 202)),
    )
    facts = make.facts(defects=cases, airframe=make.airframe(authority=authority))
    assert make.outcomes(defect_open, facts) == [
        ("not met", NO_FLIGHT, (200,), None),
        ("not met", NO_FLIGHT, (201,), None),
    ]
    assert {finding.sources for finding in defect_open.findings(facts)} == {(source,)}
    assert all("defect defer" in finding.remedy for finding in defect_open.findings(facts))


def test_deferred_defects_are_counted(make: "Make") -> None:
    """Deferred defects are not open in this sense, and the finding rests on their entries."""
    case = make.case(make.defect(200), deferral=make.deferral(201, 200))
    facts = make.facts(defects=(case,))
    assert make.outcomes(defect_open, facts) == [("met", None, (200, 201), None)]
    assert make.numbers(defect_open, facts) == [({"deferred": 1}, {})]


def carried(make: "Make", today: str, category: str, **fields: Any) -> Facts:
    """Give facts of a day with a defect found on 26 January, 10:00 UTC, and deferred that day."""
    zone = fields.pop("zone", "UTC")
    authority = fields.pop("authority", "us-91")
    days = fields.pop("extensions", ())
    granted = {"granted_on": make.on(fields.pop("granted_on", "2027-01-26"))}
    defect = make.defect(200, found_at=make.at("2027-01-26", "10:00"))
    given = {"deferred_on": make.on("2027-01-26"), "category": category}
    case = make.case(
        defect,
        deferral=make.deferral(201, 200, **(given | fields)),
        extensions=tuple(
            make.extension(202 + number, 201, each, **granted) for number, each in enumerate(days)
        ),
    )
    return make.facts(
        defects=(case,),
        today=make.on(today),
        time_zone=zone,
        airframe=make.airframe(authority=authority),
    )


@pytest.mark.parametrize(
    ("category", "last_day", "day_after", "stated"),
    [
        ("B", "2027-01-29", "2027-01-30", None),
        ("C", "2027-02-05", "2027-02-06", None),
        ("D", "2027-05-26", "2027-05-27", None),
        ("A", "2027-01-28", "2027-01-29", "2027-01-28"),
    ],
)
def test_last_day_counts_and_the_next_does_not(
    make: "Make", category: str, last_day: str, day_after: str, stated: str | None
) -> None:
    """On the last day no day is left and the flight may go; a day later it may not."""
    fields = {} if stated is None else {"due_on": make.on(stated)}
    on_it = carried(make, last_day, category, **fields)
    past_it = carried(make, day_after, category, **fields)
    assert make.outcomes(deferral_overdue, on_it) == [("met", None, (200, 201), 0)]
    assert make.outcomes(deferral_overdue, past_it) == [("not met", NO_FLIGHT, (200, 201), -1)]
    assert make.numbers(deferral_overdue, past_it) == [
        (
            {"category": category, "mel_reference": "34-99-1", "days_left": -1, "extensions": 0},
            {"last_day": last_day},
        )
    ]
    assert make.says(deferral_overdue, past_it).endswith(f"last day {last_day}, 1 day ago")
    assert make.says(deferral_overdue, on_it).endswith(
        f"last day {last_day}, 0 days left: land before {day_after}T00:00Z"
    )


def flown(
    make: "Make", take_off: str, minutes: int | None, zone: str = "UTC", **asked: Any
) -> Facts:
    """Give facts of a flight on the last day, 29 January, of a deferral of category B."""
    facts = carried(make, "2027-01-29", "B", zone=zone)
    flight = replace(make.flight_data(), cruise_minutes=minutes)
    at = make.at(*take_off.split("T"))
    return replace(facts, question=make.question(at=at, flight=flight, **asked))


@pytest.mark.parametrize(
    ("take_off", "zone", "ends"),
    [
        ("2027-01-29T22:00", "UTC", "2027-01-30T00:00Z"),
        # Auckland is 13 h ahead in January: its 29th ends at 11:00 UTC, and is found so late.
        ("2027-01-29T09:00", "Pacific/Auckland", "2027-01-29T11:00Z"),
    ],
)
def test_a_flight_is_judged_to_its_end(make: "Make", take_off: str, zone: str, ends: str) -> None:
    """Two hours are left of the last day: 119 minutes at the level end on it, 120 after it."""
    within, beyond = (flown(make, take_off, minutes, zone) for minutes in (119, 120))
    assert make.outcomes(deferral_overdue, within) == [("met", None, (200, 201), 0)]
    assert make.says(deferral_overdue, within).endswith(f"0 days left: land before {ends}")
    assert make.outcomes(deferral_overdue, beyond) == [("not met", NO_FLIGHT, (200, 201), -1)]
    assert make.says(deferral_overdue, beyond).endswith(
        f"last day 2027-01-29, which ends {ends}: 120 min at the level go beyond it"
    )
    (finding,) = deferral_overdue.findings(beyond)
    assert finding.remedy.startswith("Plan the flight to end on the last day.")


def test_where_the_end_is_not_known_it_is_said_by_when_to_land(make: "Make") -> None:
    """Without minutes at the level it is the pilot who must see to it; a day before, nobody."""
    unknown = flown(make, "2027-01-29T23:59", None)
    assert make.outcomes(deferral_overdue, unknown) == [("met", None, (200, 201), 0)]
    assert "land before 2027-01-30T00:00Z" in make.says(deferral_overdue, unknown)
    before = replace(flown(make, "2027-01-28T23:59", 120), today=make.on("2027-01-28"))
    assert make.outcomes(deferral_overdue, before) == [("met", None, (200, 201), 1)]
    assert make.says(deferral_overdue, before).endswith("last day 2027-01-29, 1 day left")


def test_a_day_looked_ahead_to_has_no_take_off(make: "Make") -> None:
    """The last minute of a day stands for the day: no flight begins in it."""
    ahead = flown(make, "2027-01-29T23:59", 120, whole_day=True)
    assert make.outcomes(deferral_overdue, ahead) == [("met", None, (200, 201), 0)]
    taking_off = replace(ahead, question=replace(ahead.question, whole_day=False))
    assert make.outcomes(deferral_overdue, taking_off) == [("not met", NO_FLIGHT, (200, 201), -1)]


def test_day_of_discovery(make: "Make") -> None:
    """The day on the deferral goes before that of the defect's entry, in the operator's zone.

    10:00 UTC on 26 January is 27 January at UTC+14, and a deferral of an earlier day shows that the
    defect was found by then.
    """
    stated = carried(make, "2027-01-28", "B", discovered_on=make.on("2027-01-24"))
    later = {"deferred_on": make.on("2027-01-27")}
    line_islands = carried(make, "2027-01-30", "B", zone="Pacific/Kiritimati", **later)
    earlier = carried(make, "2027-01-29", "B", zone="Pacific/Kiritimati")
    assert make.outcomes(deferral_overdue, stated) == [("not met", NO_FLIGHT, (200, 201), -1)]
    assert make.outcomes(deferral_overdue, line_islands) == [("met", None, (200, 201), 0)]
    assert make.outcomes(deferral_overdue, earlier) == [("met", None, (200, 201), 0)]


def test_deferred_before_the_entrys_day_with_a_stated_day(make: "Make") -> None:
    """A category A item whose stated day precedes the entry's own day is judged, not refused."""
    facts = carried(
        make,
        "2027-01-26",
        "A",
        deferred_on=make.on("2027-01-24"),
        due_on=make.on("2027-01-25"),
    )
    assert make.outcomes(deferral_overdue, facts) == [("not met", NO_FLIGHT, (200, 201), -1)]


@pytest.mark.parametrize(
    ("authority", "category", "days", "last_day", "refused"),
    [
        ("us-135", "B", (3,), "2027-02-01", ""),
        ("us-135", "C", (10,), "2027-02-15", ""),
        ("us-135", "D", (10,), "2027-05-26", "may not be extended"),
        ("us-91", "C", (10,), "2027-02-05", "may not be extended"),
        ("eu-cat", "D", (120,), "2027-09-23", ""),
        ("eu-cat", "C", (11,), "2027-02-05", "out of range"),
        ("eu-cat", "C", (10, 10), "2027-02-15", "extended 1 time(s) already"),
        ("eu-cat", "C", (11, 10), "2027-02-15", "#202 does not count"),
        ("nz-91", "B", (1,), "2027-01-29", "may not be extended"),
        ("eu-nco", "C", (10,), "2027-02-05", "no source was read that allows it"),
        ("uk-nco", "C", (10,), "2027-02-05", "no source was read that allows it"),
        ("au-91", "C", (10,), "2027-02-05", "no source was read that allows it"),
    ],
)
def test_extension_counts_as_far_as_the_policy_allows(
    make: "Make", authority: str, category: str, days: tuple[int, ...], last_day: str, refused: str
) -> None:
    """An extension beyond the authority's policy does not count, and the finding says why."""
    facts = carried(make, last_day, category, authority=authority, extensions=days)
    entries = (200, 201, *range(202, 202 + len(days)))
    (finding,) = deferral_overdue.findings(facts)
    assert make.outcomes(deferral_overdue, facts) == [("met", None, entries, 0)]
    assert finding.limits == {"last_day": last_day}
    assert refused in finding.says
    assert ("does not count" in finding.says) == bool(refused)


@pytest.mark.parametrize(
    ("granted_on", "last_day"), [("2027-01-29", "2027-02-01"), ("2027-01-30", "2027-01-29")]
)
def test_extension_after_the_last_day_does_not_count(
    make: "Make", granted_on: str, last_day: str
) -> None:
    """What has ended cannot be extended (common practice, no source)."""
    facts = carried(
        make, "2027-01-31", "B", authority="eu-cat", extensions=(3,), granted_on=granted_on
    )
    (finding,) = deferral_overdue.findings(facts)
    assert finding.limits == {"last_day": last_day}


@pytest.mark.parametrize("code", ["eu-nco", "uk-nco"])
def test_part_nco_knows_no_extension(make: "Make", code: str) -> None:
    """ORO.MLR.105(f) is of Part-ORO; NCO.GEN.155 has the list notified and extends nothing."""
    facts = carried(make, "2027-02-05", "C", authority=code, extensions=(10,))
    (finding,) = deferral_overdue.findings(facts)
    assert (finding.outcome, finding.limits) == ("met", {"last_day": "2027-02-05"})
    assert "extension #202 does not count" in finding.says
    assert "nco-gen-155" in finding.sources
    facts = carried(make, "2027-02-06", "C", authority=code, extensions=(10,))
    assert make.outcomes(deferral_overdue, facts)[0][:2] == ("not met", NO_FLIGHT)


def test_category_a_is_never_extended(make: "Make") -> None:
    """A category A item ends on its stated day under every authority."""
    facts = carried(
        make, "2027-01-29", "A", authority="eu-cat", extensions=(1,), due_on=make.on("2027-01-28")
    )
    assert make.outcomes(deferral_overdue, facts) == [("not met", NO_FLIGHT, (200, 201, 202), -1)]


def test_each_deferral_is_a_finding(make: "Make") -> None:
    """Two deferrals are two findings; a defect without one is another rule's matter."""
    cases = (
        make.case(make.defect(200), deferral=make.deferral(201, 200)),
        make.case(make.defect(202)),
        make.case(make.defect(203), deferral=make.deferral(204, 203, category="B")),
    )
    # Both found on 12 March: C ends with 22 March, B with 15 March; today is 14 March.
    assert make.outcomes(deferral_overdue, make.facts(defects=cases)) == [
        ("met", None, (200, 201), 8),
        ("met", None, (203, 204), 1),
    ]


def capped(make: "Make", level: int | None, planned: int | None = 310) -> Facts:
    """Give facts with a deferral whose item sets a level, and a planned level."""
    case = make.case(make.defect(200), deferral=make.deferral(201, 200, highest_level=level))
    return make.facts(defects=(case,), question=make.question(level=planned))


@pytest.mark.parametrize(
    ("level", "planned", "expected"),
    [
        (250, 310, ("not met", 250, (200, 201), -60)),
        (300, 310, ("not met", 300, (200, 201), -10)),
        (310, 310, ("met", 310, (200, 201), 0)),
        (250, 240, ("met", 250, (200, 201), 10)),
        (250, None, ("not met", 250, (200, 201), -60)),
        (310, None, ("met", 310, (200, 201), 0)),
    ],
)
def test_items_level_always_limits(
    make: "Make",
    level: int,
    planned: int | None,
    expected: tuple[str, int, tuple[int, ...], int],
) -> None:
    """The item's level limits the flight, and fails where more is planned."""
    facts = capped(make, level, planned)
    (finding,) = deferral_caps_level.findings(facts)
    assert make.outcomes(deferral_caps_level, facts) == [expected]
    assert finding.limits == {"highest_level": level}
    assert bool(finding.remedy) == (expected[0] == "not met")


def test_item_without_level_sets_none(make: "Make") -> None:
    """A deferral without a level on record does not limit the level here."""
    assert make.outcomes(deferral_caps_level, capped(make, None)) == [
        ("not applicable", None, (), None)
    ]


def reviewed(make: "Make", *parts: dict[str, Any]) -> DefectCase:
    """Give a deferred defect with reviews, entries 202 and up."""
    reviews = tuple(make.review(202 + number, 200, **part) for number, part in enumerate(parts))
    return make.case(make.defect(200), deferral=make.deferral(201, 200), reviews=reviews)


def test_deferral_without_review_is_advice(make: "Make") -> None:
    """A deferral that nobody reviewed is advice and limits nothing."""
    facts = make.facts(defects=(reviewed(make),))
    assert make.outcomes(deferral_not_reviewed, facts) == [("advice", None, (200, 201), None)]


def test_newest_review_is_shown(make: "Make") -> None:
    """The newest review of the deferral or the defect is given with its conclusion."""
    case = reviewed(
        make,
        {"reviewed_at": make.at("2027-03-13", "12:00"), "conclusion": "part ordered"},
        {"reviewed_at": make.at("2027-03-12", "12:00"), "conclusion": "looked at"},
    )
    facts = make.facts(defects=(case,))
    assert make.outcomes(deferral_not_reviewed, facts) == [("met", None, (200, 201, 202), None)]
    assert make.numbers(deferral_not_reviewed, facts) == [
        ({"reviewed_at": "2027-03-13T12:00Z", "conclusion": "part ordered"}, {})
    ]


@pytest.mark.parametrize(
    ("stated", "last_day"),
    [("2027-01-24", "2027-02-03"), ("2027-01-26", "2027-02-05"), ("2027-02-04", "2027-02-05")],
)
def test_a_later_day_of_discovery_never_starts_the_interval_anew(
    make: "Make", stated: str, last_day: str
) -> None:
    """Found on 26 January, ten days end by 5 February whatever later day the deferral states."""
    fields = {"deferred_on": make.on("2027-02-04"), "discovered_on": make.on(stated)}
    facts = carried(make, "2027-02-06", "C", **fields)
    ((_, limits),) = make.numbers(deferral_overdue, facts)
    assert limits == {"last_day": last_day}
    assert make.outcomes(deferral_overdue, facts)[0][:2] == ("not met", NO_FLIGHT)


@pytest.mark.parametrize(
    ("done", "outcome"), [("03:59", "not met"), ("04:00", "met"), ("09:00", "met")]
)
def test_work_from_before_a_defect_rectified_nothing(make: "Make", done: str, outcome: str) -> None:
    """Found at 04:00, a defect is not closed by a rectification dated a minute earlier."""
    done_at = make.at("2027-03-12", done)
    case = make.case(make.defect(200), rectification=make.rectification(201, 200, done_at=done_at))
    facts = make.facts(defects=(case,))
    assert make.outcomes(defect_open, facts)[0][0] == outcome
    if outcome == "not met":
        assert "found after its rectification #201" in make.says(defect_open, facts)
