"""What falls due, the boards and the plan, as commands on the invented demo."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from icalendar import Calendar

from rvsmlog.dates import now
from rvsmlog.reports.text import WIDTH
from tests.cli.conftest import REG, Cli, Ran

AT = ("--at", "2026-11-24T08:00Z")
FLEET = ["QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN", "QX-ESK"]
ITEM_KEYS = {
    *("key", "logbook", "airframe", "what", "due_on", "due_hours", "forecast_on", "assumption"),
    *("days_left", "highest_level_after", "lowers", "then", "rule", "evidence", "sources"),
    *("remedy", "routine", "not_judged"),
}
Check = Callable[[Ran, int], None]


def narrow(ran: Ran) -> bool:
    """Say whether every line fits on a terminal."""
    return max(len(line) for line in ran.out.splitlines()) <= WIDTH


def test_due_lists_the_fleet_by_day(demo: Cli) -> None:
    """Every airframe's items, overdue ones first; the screen shows the same as JSON."""
    rows = demo.ok("due", *AT, "--json").json
    assert all(set(row) == ITEM_KEYS for row in rows)
    days = [row["due_on"] or row["forecast_on"] for row in rows]
    assert days == sorted(days)
    assert rows[0]["days_left"] < 0
    assert {row["airframe"] for row in rows} == set(FLEET)
    screen = demo.ok("due", *AT)
    assert narrow(screen)
    assert [line.split()[0] for line in screen.out.splitlines()[4 : 4 + len(rows)]] == days
    assert "An aid, not a release" in " ".join(screen.out.split())


def test_due_of_one_airframe_says_what_to_do(demo: Cli) -> None:
    """Each item with what follows, the remedy and its entries; training stands beside it."""
    page = demo.ok("due", "QX-CYR", *AT, "--within", "4m")
    assert narrow(page)
    text = " ".join(page.out.split())
    for said in (
        "QX-CYR 5 fall due by 2027-03-24, 1 overdue for 2026-11-24",
        "2026-12-08 14 d RVSM approval #30 -> FL280",
        "then: no approval counts: #30 expired on 2026-12-08",
        "RVSM training of IVO",
        "see: VK71-1023#30",
    ):
        assert said in text, f"{said!r} is not said; a term of a new rule changes the count"
    rows = demo.ok("due", "QX-CYR", *AT, "--within", "4m", "--json").json
    assert {row["airframe"] for row in rows} == {"QX-CYR", None}


@pytest.mark.parametrize(
    ("within", "last"), [("14d", "2026-12-08"), ("13d", "2026-12-01"), ("2w", "2026-12-08")]
)
def test_the_last_day_of_the_time_asked_for_belongs_to_it(
    demo: Cli, within: str, last: str
) -> None:
    """An approval ends with 8 December, in fourteen days."""
    rows = demo.ok("due", "QX-CYR", *AT, "--within", within, "--json").json
    assert rows[-1]["due_on"] == last


@pytest.mark.parametrize("within", ["", "90", "d", "-3d", "1y", "4000d", "99999m", "٣d"])
def test_a_time_that_is_none_is_refused(demo: Cli, check_one_line: Check, within: str) -> None:
    """Days, weeks or months, ten years at the most."""
    check_one_line(demo("due", *AT, "--within", within), 2)


def test_due_writes_a_calendar_and_brings_it_up_to_date(demo: Cli, tmp_path: Path) -> None:
    """An independent parser reads it; a second export has the same events."""
    path = tmp_path / "due.ics"
    said = demo.ok("due", *AT, "--within", "24m", "--ics", str(path)).out
    # A long path is folded within.
    assert f"written:{path}:" in "".join(said.split())
    calendar = Calendar.from_ical(path.read_bytes())
    assert calendar.errors == []
    uids = sorted(str(each["UID"]) for each in calendar.walk("VEVENT"))
    assert len(set(uids)) == len(uids) > 10
    demo.ok("due", *AT, "--within", "30d", "--ics", str(path), "--json")
    again = Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert sorted(str(each["UID"]) for each in again) == uids
    assert {str(each["STATUS"]) for each in again} == {"CONFIRMED", "TENTATIVE"}


def test_due_leaves_other_files_alone(demo: Cli, tmp_path: Path, check_one_line: Check) -> None:
    """Neither a stranger's file nor a fleet's export is made into one airframe's."""
    path = tmp_path / "due.ics"
    path.write_text("notes", "utf-8")
    check_one_line(demo("due", *AT, "--ics", str(path)), 2)
    assert path.read_text("utf-8") == "notes"
    path.unlink()
    demo.ok("due", *AT, "--within", "24m", "--ics", str(path))
    check_one_line(demo("due", "QX-CYR", *AT, "--ics", str(path)), 2)


def test_an_unknown_airframe_is_refused(demo: Cli, check_one_line: Check) -> None:
    """The hint names the nearest."""
    ran = demo("due", "QX-CYS", *AT)
    check_one_line(ran, 2)
    assert "QX-CYR" in ran.err


@pytest.mark.parametrize(
    "command", [("due",), ("board",), (), ("defect", "board"), ("monitoring", "plan")]
)
def test_a_store_without_airframes_answers(empty: Cli, command: tuple[str, ...]) -> None:
    """The screen says what there is not; JSON is an empty list."""
    assert empty.ok(*command).out.strip()
    if command:
        assert empty.ok(*command, "--json").json == []


def test_the_board_has_one_line_for_each_airframe(demo: Cli) -> None:
    """Level, what sets it, what is next, last cross-check and drift; the same as JSON."""
    before = demo.seals()
    screen = demo.ok("board", *AT)
    assert narrow(screen)
    rows = demo.ok("board", *AT, "--json").json
    assert [row["registration"] for row in rows] == FLEET
    assert [line.split()[0] for line in screen.out.splitlines()[4:9]] == FLEET
    by_name = {row["registration"]: row for row in rows}
    assert (by_name["QX-ALD"]["highest_level"], by_name["QX-BRE"]["drift"]) == (310, "alarm")
    assert by_name["QX-CYR"]["highest_level"] is None
    assert by_name["QX-CYR"]["next_due"]["rule"] == "deferral-overdue"
    assert demo.seals() == before


def test_the_board_agrees_with_the_check(demo: Cli) -> None:
    """For a pilot whose training lasts, the check has the same highest levels."""
    rows = demo.ok("board", *AT, "--json").json
    checks = demo("gonogo", *AT, "--pilot", "IVO", "--json").json
    assert [(row["registration"], row["highest_level"]) for row in rows] == [
        (each["registration"], each["highest_level"]) for each in checks
    ]


def test_without_a_store_the_next_step_is_said(tmp_path: Path, check_one_line: Check) -> None:
    """The program's name alone, on a machine that has no store yet."""
    ran = Cli(tmp_path / "none.sqlite3")()
    check_one_line(ran, 3)
    assert "rvsmlog store init" in ran.err
    assert "rvsmlog demo" in ran.err


def test_the_board_of_deferrals(demo: Cli) -> None:
    """One airframe's or the fleet's, with days left, levels, extension and review."""
    (row,) = demo.ok("defect", "board", *AT, "--json").json
    assert (row["airframe"], row["due_on"], row["days_left"]) == ("QX-CYR", "2026-11-05", -19)
    assert (row["rvsm"], row["item_level"], row["extension"]["possible"]) == (
        "no flight",
        280,
        False,
    )
    assert row["reviewed_at"] is not None
    assert narrow(demo.ok("defect", "board", *AT))
    assert demo.ok("defect", "board", "QX-ALD", *AT, "--json").json == []


def test_the_plan_of_height_monitoring(demo: Cli) -> None:
    """Of the four group airframes two are asked; the ADS-B based one stands by itself."""
    rows = demo.ok("monitoring", "plan", *AT, "--json").json
    asked = {row["airframe"]: (row["basis"], row["group_required"]) for row in rows}
    assert asked == {
        "QX-ESK": ("ads-b", 1),
        **dict.fromkeys(("QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN"), ("group", 2)),
    }
    assert narrow(demo.ok("monitoring", "plan", *AT))


def test_a_look_ahead_is_no_entry(small: Cli) -> None:
    """It answers for the day asked about and records nothing."""
    before = small.seals()
    day = str((now() + timedelta(days=40)).date())
    answer = small(*("gonogo", REG, "--on", day, "--json"))
    assert answer.status in (0, 1)
    assert (answer.json["ahead_to"], answer.json["entry"]) == (day, None)
    assert answer.json["at"] == f"{day}T23:59:00Z"
    for command in (("gonogo", REG), ("gonogo",)):
        screen = small(*command, "--on", day)
        assert f"looking ahead to {day}" in " ".join(screen.out.split())
    assert small.seals() == before


@pytest.mark.parametrize(
    "options",
    [
        ("--on", "2020-02-29"),
        ("--on", "2027-02-29"),
        ("--on", "soon"),
        ("--on", "2199-01-01", "--at", "2027-01-01T00:00Z"),
        ("--on", "2199-01-01", "--as-of", "3"),
    ],
)
def test_a_look_ahead_that_is_none_is_refused(
    small: Cli, check_one_line: Check, options: tuple[str, ...]
) -> None:
    """A day past, no day, or a day and an instant: nothing is guessed."""
    check_one_line(small("gonogo", REG, *options), 2)
