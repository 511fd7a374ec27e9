"""What falls due, the open deferrals and the plan of a fleet of which not all can be judged."""

import shutil
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from rvsmlog.reports.text import WIDTH
from tests.cli.conftest import Cli, Ran, damage, past_the_triggers

AT = ("--at", "2026-11-24T08:00Z")
FLEET = ("QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN", "QX-ESK")
SPLIT, BOOK = "QX-BRE", "VK71-1019"
NOT_JUDGED = f"not-judged@{BOOK}.rvsmlog"
COMMANDS = (("due", "--within", "24m"), ("defect", "board"), ("monitoring", "plan"))
#: How each leads when nothing at all is known: never as where there is nothing.
NOTHING_KNOWN = (
    "Fleet  nothing is known to fall due by 2028-11-24, 5 not judged",
    "Fleet  no deferral is known to be open, 5 not judged",
    "Fleet  no RVSM approval is known to count, 5 not judged",
)
Check = Callable[[Ran, int], None]


def of_others(rows: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Give the rows of the other airframes, without what the plan says of a whole group."""
    found: list[Mapping[str, Any]] = [
        {key: value for key, value in row.items() if not key.startswith("group_")}
        for row in rows
        if row["airframe"] != SPLIT
    ]
    return sorted(found, key=lambda row: row["airframe"]) if "group" in rows[0] else found


def unfolded(ran: Ran) -> str:
    """Give what stands on the screen without its folds."""
    return " ".join(ran.out.split())


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_the_others_are_answered(demo: Cli, check_one_line: Check, command: Sequence[str]) -> None:
    """The one is named with the reason that it gives alone; what the others say stays the same."""
    before = demo.ok(*command, *AT, "--json").json
    damage(demo, SPLIT)
    alone = demo("due", SPLIT, *AT)
    check_one_line(alone, 3)
    reason = alone.err.splitlines()[0].removeprefix("error: ")
    ran = demo(*command, *AT, "--json")
    assert (ran.status, ran.err) == (3, "")
    first, *rows = ran.json
    assert set(first) == set(before[0])
    assert (first["airframe"], first["not_judged"]) == (SPLIT, reason)
    assert {key for key, value in first.items() if value is not None} <= {
        *("airframe", "logbook", "not_judged")
    }
    assert all(row["not_judged"] is None and row["airframe"] != SPLIT for row in rows)
    assert of_others(rows) == of_others(before)
    screen = demo(*command, *AT)
    assert (screen.status, screen.err) == (3, "")
    assert screen.out.splitlines()[0].endswith(", 1 not judged")
    assert f"{SPLIT} is not judged: {reason} do: run `rvsmlog store verify`" in unfolded(screen)
    assert max(map(len, screen.out.splitlines())) <= WIDTH


@pytest.mark.parametrize(
    ("command", "leads"), [*zip(COMMANDS, NOTHING_KNOWN, strict=True)], ids=["due", "board", "plan"]
)
def test_where_none_can_be_judged(demo: Cli, command: Sequence[str], leads: str) -> None:
    """That nothing is known is not said in the words for nothing."""
    damage(demo, *FLEET)
    ran = demo(*command, *AT, "--json")
    assert ran.status == 3
    assert [(row["airframe"], bool(row["not_judged"])) for row in ran.json] == [
        (name, True) for name in FLEET
    ]
    screen = demo(*command, *AT)
    assert screen.status == 3
    assert screen.out.splitlines()[0] == leads
    assert [name for name in FLEET if f"{name} is not judged: " not in screen.out] == []
    crew = "Nor is the crew: its training is judged beside an airframe."
    assert (crew in unfolded(screen)) == (command[0] == "due")


def test_one_airframe_by_itself_is_refused(demo: Cli, check_one_line: Check) -> None:
    """Asked by its name it is an error, and no other airframe is in its way."""
    damage(demo, SPLIT)
    for command in (("due",), ("defect", "board")):
        check_one_line(demo(*command, SPLIT, *AT), 3)
        demo.ok(*command, "QX-ALD", *AT)


def test_the_clock_of_another_airframe_is_in_nobodys_way(demo: Cli, check_one_line: Check) -> None:
    """Its newest entry lies a day ahead: it is not judged, in the fleet or by itself."""
    with past_the_triggers(demo) as connection:
        connection.execute(
            "UPDATE entry SET recorded_at = recorded_at + 86400000000 WHERE logbook_id = "
            "(SELECT id FROM logbook WHERE name = ?) AND number = (SELECT max(number) "
            "FROM entry e WHERE e.logbook_id = entry.logbook_id)",
            (BOOK,),
        )
    for alone in (("due",), ("defect", "board"), ("drift",), ("dossier", "--json")):
        demo.ok(*alone, "QX-ALD")
        check_one_line(demo(*alone, SPLIT), 3)
    for command in COMMANDS:
        ran = demo(*command, "--json")
        assert ran.status == 3
        barred = {row["airframe"]: row["not_judged"] for row in ran.json if row["not_judged"]}
        assert list(barred) == [SPLIT]
        assert f"the newest entry of {BOOK} was made at" in barred[SPLIT]
        demo.ok(*command, *AT)


def test_the_due_list_has_it_in_the_table(demo: Cli) -> None:
    """Who looks for the airframe finds it, before what is overdue: it may be that too."""
    damage(demo, SPLIT)
    lines = demo("due", *AT).out.splitlines()
    head = next(number for number, line in enumerate(lines) if line.startswith("last day"))
    assert lines[head + 1].split() == ["-", "-", SPLIT, "not", "judged,", "see", "below", "-"]


def test_a_group_is_not_within_its_limits_on_a_guess(demo: Cli) -> None:
    """The one that is not judged may belong to any group, and its result may be beyond them."""
    before = {row["airframe"]: row for row in demo.ok("monitoring", "plan", *AT, "--json").json}
    damage(demo, SPLIT)
    ran = demo("monitoring", "plan", *AT, "--json")
    after = {row["airframe"]: row for row in ran.json}
    assert before["QX-ALD"]["group_within_limits"] is True
    assert after["QX-ALD"]["group_within_limits"] is None
    assert after["QX-ALD"]["group_lacking"] == [SPLIT]
    # What stands by itself lacks nothing.
    assert after["QX-ESK"]["group_within_limits"] is True
    assert after["QX-ESK"]["group_lacking"] == []
    said = unfolded(demo("monitoring", "plan", *AT))
    assert f"not judged, and may belong here: {SPLIT}" in said
    assert "|mean|+3s 200 ft: cannot be told, not all are judged" in said


def events(path: Path) -> dict[str, tuple[object, ...]]:
    """Give the events of a calendar by UID, as an independent parser reads them."""
    calendar = Calendar.from_ical(path.read_bytes())
    assert calendar.errors == []
    walked: Sequence[Any] = calendar.walk("VEVENT")
    return {
        str(each["UID"]): (
            str(each["STATUS"]),
            int(each["SEQUENCE"]),
            each["DTSTART"].dt.isoformat(),
            str(each["SUMMARY"]),
            str(each["DESCRIPTION"]),
        )
        for each in walked
    }


def test_a_calendar_keeps_the_events_of_one_that_is_not_judged(demo: Cli, tmp_path: Path) -> None:
    """None is cancelled or moved, an event of the day says why; judged again, that one is gone."""
    path, sound = tmp_path / "due.ics", tmp_path / "sound.sqlite3"
    demo.ok("due", *AT, "--within", "24m", "--ics", str(path))
    before = events(path)
    own = [uid for uid in before if uid.endswith(f"@{BOOK}.rvsmlog")]
    assert len(own) > 1
    shutil.copy(demo.store, sound)
    damage(demo, SPLIT)
    for day, sequence in (("2026-11-24", 0), ("2026-11-25", 1)):
        ran = demo("due", "--at", f"{day}T08:00Z", "--within", "30d", "--ics", str(path))
        assert ran.status == 3
        assert f"an event of today says of {SPLIT}: not judged" in unfolded(ran)
        after = events(path)
        status, number, when, summary, told = after.pop(NOT_JUDGED)
        assert (status, number, when) == ("CONFIRMED", sequence, day)
        assert summary == f"{SPLIT}: not judged, what falls due is not known"
        assert "the store is damaged: done_on of an entry" in str(told)
        assert after.keys() == before.keys()
        assert {uid: after[uid] for uid in own} == {uid: before[uid] for uid in own}
        assert {status for status, *_ in after.values()} == {"CONFIRMED", "TENTATIVE"}
    shutil.copy(sound, demo.store)
    demo.ok("due", *AT, "--within", "24m", "--ics", str(path))
    again = events(path)
    assert again.pop(NOT_JUDGED)[:2] == ("CANCELLED", 2)
    assert again == before


def test_a_first_calendar_is_not_silent_about_it(demo: Cli, tmp_path: Path) -> None:
    """Without an earlier export the event of the day is all that the calendar has of it."""
    path = tmp_path / "due.ics"
    damage(demo, SPLIT)
    assert demo("due", *AT, "--ics", str(path), "--json").status == 3
    assert [uid for uid in events(path) if BOOK in uid] == [NOT_JUDGED]


def test_a_calendar_of_none_that_can_be_judged(demo: Cli, tmp_path: Path) -> None:
    """The crew's events are told beside an airframe: they stay as they were, with all others."""
    path = tmp_path / "due.ics"
    demo.ok("due", *AT, "--within", "24m", "--ics", str(path))
    before = events(path)
    assert any(uid.endswith("@operator.rvsmlog") for uid in before)
    damage(demo, *FLEET)
    assert demo("due", *AT, "--within", "24m", "--ics", str(path)).status == 3
    after = events(path)
    new = after.keys() - before.keys()
    assert len(new) == 5
    assert all(uid.startswith("not-judged@") for uid in new)
    assert {uid: after[uid] for uid in before} == before
