"""The calendar file, as an independent parser reads it.

RFC 5545 (published): 3.1 lines of at most 75 octets, ended by CRLF, folded with a blank; 3.3.11
escaping of text; 3.6.1 an all-day event's end is the day after it; 3.8.7.4 the sequence number
grows. The icalendar package is the parser; the program does not use it.
"""

import os
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from rvsmlog.answers.due import DueItem, due_items
from rvsmlog.errors import InputError
from rvsmlog.facts import Facts, Seal
from rvsmlog.reports.calendar_export import write_calendar
from rvsmlog.reports.calendar_file import (
    Event,
    calendar_text,
    events_of,
    read_export,
    updated,
)
from tests.rules.conftest import Make, on

STAMP = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)
TODAY = on("2027-03-14")
BOOK = "VK71-1007"


def event(uid: str = "a@VK71-1007.rvsmlog", **fields: Any) -> Event:
    """Make an event of 31 March 2027."""
    given: dict[str, Any] = {
        "uid": uid,
        "logbook": BOOK,
        "day": on("2027-03-31"),
        "summary": "QX-ABC: test, last day",
        "status": "CONFIRMED",
        "sequence": 5,
    }
    return Event(**(given | fields))


def parsed(text: str) -> Sequence[Any]:
    """Give the events as the parser reads them, after checking that it finds no error."""
    calendar = Calendar.from_ical(text.encode())
    assert calendar.errors == []
    events = calendar.walk("VEVENT")
    assert all(each.errors == [] for each in events)
    return events


def export(path: Path, facts: Facts, chosen: Sequence[DueItem] | None = None) -> Sequence[Any]:
    """Export what is due and give the events of the file as the parser reads them."""
    every = due_items(facts)
    write_calendar(
        path,
        every if chosen is None else chosen,
        every,
        seals=facts.seals,
        today=facts.today,
        stamp=STAMP,
    )
    return parsed(path.read_bytes().decode())


def test_an_event_has_what_the_standard_asks(make: Make, tmp_path: Path) -> None:
    """One all-day event for each item that flying does not renew, on its last day."""
    path = tmp_path / "due.ics"
    events = export(path, make.facts())
    assert [(str(each["UID"]), each["DTSTART"].dt, each["DTEND"].dt) for each in events] == [
        (f"{key}.rvsmlog", on(day), on(day) + timedelta(days=1))
        for key, day in (
            ("pilot-knowledge-missing.MKO@operator", "2028-01-31"),
            ("altitude-reporting-test-overdue.1@VK71-1007", "2028-06-30"),
            ("static-test-overdue.1@VK71-1007", "2028-06-30"),
            ("transponder-test-overdue@VK71-1007", "2028-06-30"),
            ("height-monitoring-overdue@VK71-1007", "2034-02-21"),
        )
    ]
    first, second, *_, last = events
    # The pilot's entries are in the operator's logbook, the airframe's in both.
    assert [int(each["SEQUENCE"]) for each in (first, second)] == [4, 199 + 4]
    assert [str(each["STATUS"]) for each in (second, last)] == ["CONFIRMED", "TENTATIVE"]
    assert second["DTSTAMP"].dt == STAMP
    assert str(second["TRANSP"]) == "TRANSPARENT"
    assert str(first["SUMMARY"]) == "Crew: RVSM training of MKO, last day"
    assert str(last["SUMMARY"]) == "QX-ABC: height monitoring, last day (forecast)"
    said = str(second["DESCRIPTION"])
    assert "After it: no flight." in said
    assert "An aid, not a release" in said
    assert [alarm["TRIGGER"].dt for alarm in second.walk("VALARM")] == [
        timedelta(days=-30),
        timedelta(days=-7),
    ]


def test_the_calendar_itself(make: Make, tmp_path: Path) -> None:
    """It names its version, its maker and that it is published."""
    path = tmp_path / "due.ics"
    export(path, make.facts())
    calendar = Calendar.from_ical(path.read_bytes())
    assert str(calendar["VERSION"]) == "2.0"
    assert str(calendar["PRODID"]) == "-//rvsmlog//due list//EN"
    assert str(calendar["METHOD"]) == "PUBLISH"


@settings(max_examples=150, deadline=None)
@given(
    st.text(
        st.characters(blacklist_categories=("Cs", "Cc")) | st.sampled_from(["\n", ";", ",", "\\"]),
        max_size=200,
    ),
    st.text(st.sampled_from("aé€𝄞\\;,\n"), min_size=50, max_size=300),
)
def test_any_text_comes_back_and_no_line_is_too_long(summary: str, description: str) -> None:
    """What is written is read back, by the parser and by us; lines have at most 75 octets."""
    text = calendar_text([event(summary=summary, description=description)], STAMP)
    assert text.endswith("END:VCALENDAR\r\n")
    lines = text.split("\r\n")[:-1]
    assert all("\n" not in line and "\r" not in line for line in lines)
    assert max(len(line.encode()) for line in lines) <= 75
    (read,) = parsed(text)
    assert str(read["DESCRIPTION"]) == description
    (ours,) = read_export(BytesIO(text.encode()))
    assert (ours.summary, ours.description) == (summary, description)


def test_control_characters_never_reach_the_file() -> None:
    """Characters that text may not hold are left out; a tab may stay."""
    text = calendar_text([event(summary="a\x00b\x1bc\x7fd\te\r\nf")], STAMP)
    (read,) = parsed(text)
    assert str(read["SUMMARY"]) == "abcd\te\nf"


def test_a_new_export_moves_the_event(make: Make, tmp_path: Path) -> None:
    """A newer test moves the day: the same UID, a later day, a higher sequence number."""
    path = tmp_path / "due.ics"
    before = {str(each["UID"]): each for each in export(path, make.facts())}
    tested = make.test(250, done_on=on("2027-03-10"))
    later = make.facts(
        tests=(*make.tests(), tested),
        seals=(
            Seal(logbook="operator", entry=4, digest="0" * 64),
            Seal(logbook=BOOK, entry=250, digest="2" * 64),
        ),
    )
    after = {str(each["UID"]): each for each in export(path, later)}
    assert set(after) == set(before)
    uid = "static-test-overdue.1@VK71-1007.rvsmlog"
    assert (before[uid]["DTSTART"].dt, after[uid]["DTSTART"].dt) == (
        on("2028-06-30"),
        on("2029-03-31"),
    )
    assert int(after[uid]["SEQUENCE"]) > int(before[uid]["SEQUENCE"])


def test_what_is_settled_is_cancelled(make: Make, tmp_path: Path) -> None:
    """A rectified deferral's event is cancelled under its own UID until its day has passed."""
    path = tmp_path / "due.ics"
    defect, deferral = make.defect(210), make.deferral(211, 210)
    export(path, make.facts(defects=(make.case(defect, deferral=deferral),)))
    mended = make.case(defect, deferral=deferral, rectification=make.rectification(212, 210))
    for today, status in (("2027-03-14", "CANCELLED"), ("2027-03-22", "CANCELLED")):
        facts = replace(make.facts(defects=(mended,)), today=on(today))
        found = {str(each["UID"]): each for each in export(path, facts)}
        gone = found["deferral-overdue.211@VK71-1007.rvsmlog"]
        assert str(gone["STATUS"]) == status
        assert gone["DTSTART"].dt == on("2027-03-22")
        assert gone.walk("VALARM") == []
    facts = replace(make.facts(defects=(mended,)), today=on("2027-03-23"))
    assert "deferral-overdue.211@VK71-1007.rvsmlog" not in {
        str(each["UID"]) for each in export(path, facts)
    }


def test_an_overdue_thing_that_is_settled_is_cancelled_once() -> None:
    """Its day is past already; the calendar that shows it must hear of it all the same."""
    old = event(day=on("2027-03-01"))
    (first,) = updated((), (), (old,), logbooks={BOOK}, today=TODAY)
    assert (first.status, first.sequence) == ("CANCELLED", 6)
    assert updated((), (), (first,), logbooks={BOOK}, today=TODAY) == ()


def test_what_moved_beyond_the_time_asked_for_is_moved() -> None:
    """It is still due: a shorter look ahead does not cancel it."""
    earlier, now = event(), event(day=on("2029-03-31"), sequence=9)
    assert updated((), (now,), (earlier,), logbooks={BOOK}, today=TODAY) == (now,)
    fresh = event(uid="b@VK71-1007.rvsmlog")
    assert updated((), (fresh,), (), logbooks={BOOK}, today=TODAY) == ()


def test_what_is_not_told_stays_as_it_was() -> None:
    """An event of a logbook that could not be judged is not settled; one that is told is moved."""
    kept, moved = event(sequence=7), event(uid="b@operator.rvsmlog", logbook="operator")
    gone = event(uid="c@VK71-1008.rvsmlog", logbook="VK71-1008")
    now = replace(moved, day=on("2028-03-31"), sequence=9)
    made = updated(
        (),
        (now,),
        (kept, moved, gone),
        logbooks={"VK71-1008"},
        today=TODAY,
        not_told={BOOK, "operator"},
    )
    cancelled = replace(gone, status="CANCELLED", sequence=6)
    assert made == (kept, cancelled, now)


def test_an_export_of_other_airframes_is_left_alone(make: Make, tmp_path: Path) -> None:
    """A fleet's file is not made into one airframe's: its other events would be lost."""
    path = tmp_path / "due.ics"
    path.write_bytes(calendar_text([event(logbook="VK71-1008")], STAMP).encode())
    before = path.read_bytes()
    with pytest.raises(InputError, match="other airframes: VK71-1008"):
        export(path, make.facts())
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"my notes",
        b"\xff\xfe",
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//other//EN\r\nEND:VCALENDAR\r\n",
    ],
)
def test_no_other_file_is_overwritten(make: Make, tmp_path: Path, content: bytes) -> None:
    """Only an export of this program is replaced; anything else stays byte for byte."""
    path = tmp_path / "due.ics"
    path.write_bytes(content)
    with pytest.raises(InputError, match="no calendar export"):
        export(path, make.facts())
    assert path.read_bytes() == content
    assert [each.name for each in tmp_path.iterdir()] == ["due.ics"]


@pytest.mark.parametrize(
    ("begins", "says"),
    [("", "no calendar export"), (calendar_text([event()], STAMP), "was changed")],
)
def test_a_file_without_end_is_not_read_to_its_end(tmp_path: Path, begins: str, says: str) -> None:
    """Of a huge file that somebody names by mistake no more is read than tells that it is none."""
    path = tmp_path / "due.ics"
    path.write_bytes(begins.encode())
    os.truncate(path, 1 << 30)
    with path.open("rb", buffering=0) as file:
        with pytest.raises(InputError, match=says):
            read_export(file)
        assert file.tell() <= len(begins) + 100


def test_an_event_of_fields_without_end_is_none_of_ours() -> None:
    """A file that goes on with ever new fields is not held in memory."""
    begins = calendar_text([event()], STAMP).removesuffix("END:VCALENDAR\r\n")
    fields = "".join(f"X-FIELD-{number}:1\r\n" for number in range(101))
    for many, whole in ((fields, False), (fields[: 30 * 14], True)):
        file = BytesIO(f"{begins}BEGIN:VEVENT\r\n{many}".encode())
        if whole:
            assert len(read_export(file)) == 1
        else:
            with pytest.raises(InputError, match="was changed"):
                read_export(file)


def test_an_export_that_was_changed_is_left_alone(make: Make, tmp_path: Path) -> None:
    """An event without its day cannot be brought up to date."""
    path = tmp_path / "due.ics"
    text = calendar_text([event()], STAMP).replace("DTSTART;VALUE=DATE:20270331\r\n", "")
    path.write_bytes(text.encode())
    with pytest.raises(InputError, match="was changed"):
        export(path, make.facts())


def test_a_file_that_cannot_be_written_is_said(make: Make, tmp_path: Path) -> None:
    """A missing folder is an error with its path, and nothing is left behind."""
    with pytest.raises(InputError, match="cannot be written: No such file or directory"):
        export(tmp_path / "missing" / "due.ics", make.facts())
    assert list(tmp_path.iterdir()) == []


def test_a_link_is_followed(make: Make, tmp_path: Path) -> None:
    """The file that a link leads to is written, and the link stays one."""
    target, link = tmp_path / "real.ics", tmp_path / "link.ics"
    export(target, make.facts())
    link.symlink_to(target)
    export(link, make.facts())
    assert link.is_symlink()
    with target.open("rb") as file:
        assert read_export(file)


def test_what_has_no_day_makes_no_event(make: Make) -> None:
    """Hours without a rate of flying cannot stand in a calendar."""
    facts = make.facts(flights=(make.flight(71),))
    uids = [each.uid for each in events_of(due_items(facts), facts.seals)]
    assert "height-monitoring-overdue@VK71-1007.rvsmlog" not in uids


def test_events_of_two_airframes_never_share_a_uid(make: Make) -> None:
    """The logbook is part of the UID."""
    one = make.facts()
    items = [replace(item, logbook="VK71-1008") for item in due_items(one)]
    first = {each.uid for each in events_of(due_items(one), one.seals)}
    second = {each.uid for each in events_of(items, one.seals)}
    assert first.isdisjoint(second)


def test_a_link_that_leads_nowhere_is_not_followed(make: Make, tmp_path: Path) -> None:
    """It would make a file in a folder that was not named."""
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "due.ics"
    link.symlink_to(tmp_path / "elsewhere" / "made.ics")
    with pytest.raises(InputError, match="leads nowhere"):
        export(link, make.facts())
    assert list((tmp_path / "elsewhere").iterdir()) == []
