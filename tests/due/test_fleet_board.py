"""The fleet board: the same answers as the check and the due list, in one line each."""

from dataclasses import replace
from datetime import timedelta

import pytest

from rvsmlog.answers.fleet_board import BoardRow, board_rows
from rvsmlog.facts import Facts
from rvsmlog.reports.fleet_board import board_lines, board_objects
from rvsmlog.reports.text import WIDTH
from rvsmlog.science.drift_log import DriftLog, extended
from rvsmlog.science.drift_readings import LoggedReading
from tests.rules.conftest import Make, on


def row(facts: Facts) -> BoardRow:
    """Give the row of one airframe."""
    (found,) = board_rows((facts,))
    return found


def unasked(make: Make, **parts: object) -> Facts:
    """Give the healthy airframe's facts without a planned level."""
    return make.facts(question=make.question(level=None), **parts)


def test_a_healthy_airframe(make: Make) -> None:
    """Its certificated level, the next thing to arrange, and the newest comparison in flight."""
    found = row(unasked(make))
    assert (found.airframe, found.highest_level) == ("QX-ABC", 310)
    assert found.set_by == ("level-above-certificated",)
    assert found.next_due is not None
    assert (found.next_due.rule, found.next_due.days_left) == ("pilot-knowledge-missing", 323)
    check = found.crosscheck
    assert check is not None
    assert (check.day, check.age_days, check.difference_ft) == (on("2027-03-12"), 2, 40)
    assert (found.drift, found.pilot_judged) == (None, True)


def test_what_limits_and_what_is_overdue(make: Make) -> None:
    """An overdue deferral sets the level and comes first; without a cross-check none is shown."""
    case = make.case(make.defect(210), deferral=make.deferral(211, 210, category="B"))
    facts = replace(unasked(make, defects=(case,), crosschecks=()), today=on("2027-03-16"))
    found = row(facts)
    assert (found.highest_level, found.set_by) == (None, ("deferral-overdue",))
    assert found.next_due is not None
    assert (found.next_due.key, found.next_due.days_left) == ("deferral-overdue.211", -1)
    assert found.crosscheck is None


def test_several_pilots_are_not_judged(make: Make) -> None:
    """Who flies is not known to a board: neither level nor next thing is the pilot's."""
    pilots = (make.pilot(2), make.pilot(5, code="TQU"))
    found = row(unasked(make, pilots=pilots))
    assert (found.highest_level, found.pilot_judged) == (310, False)
    assert found.next_due is not None
    assert found.next_due.rule == "altitude-reporting-test-overdue"


def flown(make: Make, *differences_ft: int) -> DriftLog:
    """Give the drift log of flights a day apart, each with one comparison at FL310."""
    start = make.NOW - timedelta(days=len(differences_ft))
    readings = [
        LoggedReading(
            entry=300 + number,
            taken_at=start + timedelta(days=number),
            level=310,
            primary_1_ft=31000 + difference,
            primary_2_ft=31000,
        )
        for number, difference in enumerate(differences_ft)
    ]
    return extended(DriftLog(resolution_ft=20), readings)


@pytest.mark.parametrize(
    ("differences_ft", "word"),
    [
        ((), None),
        ((0, 20, 0, -20), "4/20"),
        ((0, 20, 0, -20) * 8, "none"),
        # A step of 160 ft after 32 flights, as plain as can be.
        ((0, 20, 0, -20) * 8 + (160, 180, 160, 140) * 3, "alarm"),
    ],
)
def test_the_state_of_drift(make: Make, differences_ft: tuple[int, ...], word: str | None) -> None:
    """An alarm in any band, none, or how many flights there are of the 20 that a band needs."""
    assert row(unasked(make, drift=flown(make, *differences_ft))).drift == word


def test_the_board_on_a_screen(make: Make) -> None:
    """One line for each airframe within 80 columns, however long the names."""
    long = make.facts(
        question=make.question(level=None),
        airframe=make.airframe(registration="QX-LONGNAME"),
        approvals=(),
        equipment=(make.unit(24, "ads-b-out", version="TSO-C166b"),),
    )
    rows = board_rows((unasked(make), long))
    lines = [line.text for line in board_lines(rows, make.NOW)]
    assert lines[:2] == [
        "Fleet  1 at the certificated level, 1 held below it, 0 no flight",
        "  for 2027-03-14T02:30Z",
    ]
    assert lines[4].split() == [
        *("QX-ABC", "FL310", "certificated", "level", "323", "d", "training"),
        *("2", "d", "+40", "ft", "-"),
    ]
    # Without a cabin altitude warning on record FL250 remains.
    assert lines[5].startswith("QX-LONGNAME  FL250")
    assert max(len(line) for line in lines) <= WIDTH
    assert "An aid, not a release" in " ".join(lines)
    # The +40 ft tells nothing of units that came later: said in words, as on the page.
    since = "no cross-check in flight since the altimetry was worked on."
    assert f"QX-ABC, QX-LONGNAME: {since}" in " ".join(" ".join(lines).split())
    objects = board_objects(rows, make.NOW)
    assert [each["registration"] for each in objects] == ["QX-ABC", "QX-LONGNAME"]
    assert objects[0]["crosscheck"] == {
        "day": on("2027-03-12"),
        "age_days": 2,
        "difference_ft": 40,
    }


def test_a_cross_check_since_the_work_is_not_doubted(make: Make) -> None:
    """With a flight in the drift log the newest cross-check speaks of the units now fitted."""
    rows = board_rows((unasked(make, drift=flown(make, 0)),))
    assert not any("worked on" in line.text for line in board_lines(rows, make.NOW))


def test_an_empty_fleet_is_told_how_to_begin(make: Make) -> None:
    """Without an airframe the board says how to enter one."""
    (line,) = board_lines((), make.NOW)
    assert "rvsmlog airframe add" in line.text
