"""Due items as a calendar file, RFC 5545, that updates the events of an earlier one.

Each item is an all-day event on the last day on which all is well. Its UID is the item's own name,
so that a calendar moves the event when a newer entry moves the day. Its SEQUENCE grows with the
logbooks, which only ever grow.
"""

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import BinaryIO

from rvsmlog.answers.due import DueItem
from rvsmlog.errors import InputError
from rvsmlog.facts import NotJudged, Seal
from rvsmlog.frozen import dataclass
from rvsmlog.reports.verdict_screen import level_text
from rvsmlog.verdict import CAUTION

#: By what an export of this program is known again.
PRODUCT = "-//rvsmlog//due list//EN"
#: Days before the last one on which a calendar speaks up.
ALARM_DAYS = (30, 7)
#: Longest line, octets, without its end (RFC 5545, 3.1).
_LONGEST = 75
#: Into how many of those a value is folded that this program writes, at the very most.
_MOST_PARTS = 10_000
#: How many fields an event of ours has, at the very most.
_MOST_FIELDS = 100
_END = "\r\n"
_ESCAPED = {"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"}
_UNESCAPE = re.compile(r"\\([\\;,nN])")
# What TEXT may not hold: control characters other than tab (RFC 5545, 3.3.11).
_CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One event of the calendar.

    Parameters
    ----------
    uid : str
        Its own name, the same in every export.
    logbook : str
        The logbook of what it is about.
    day : date
        The day.
    summary, description : str
        What a calendar shows.
    status : str
        ``CONFIRMED``, ``TENTATIVE`` for a forecast, ``CANCELLED`` for what is settled.
    sequence : int
        Higher in every export that knows more.
    """

    uid: str
    logbook: str
    day: date
    summary: str
    description: str = ""
    status: str
    sequence: int


def events_of(items: Iterable[DueItem], seals: Iterable[Seal]) -> tuple[Event, ...]:
    """Give the events of due items; what any flight renews, and what has no day, makes none.

    Parameters
    ----------
    items : iterable of DueItem
        What falls due.
    seals : iterable of Seal
        The newest entries of the logbooks that were read.
    """
    known = {seal.logbook: seal.entry for seal in seals}
    return tuple(
        _event(item, known, item.day) for item in items if item.day is not None and not item.routine
    )


def _event(item: DueItem, known: dict[str, int], day: date) -> Event:
    """Give the event of one item."""
    forecast = item.due_on is None
    after = item.highest_level_after
    effect = "" if after is None else f"After it: {level_text(after)}."
    lines = (
        item.what,
        f"Counts up to {item.due_hours:g} airframe hours; forecast {item.assumption}."
        if item.due_hours is not None
        else "",
        effect,
        f"To do: {item.remedy}",
        "See: " + ", ".join(str(ref) for ref in item.evidence),
        CAUTION,
    )
    ours = {item.logbook: known.get(item.logbook, 0), "operator": known.get("operator", 0)}
    return Event(
        uid=f"{item.key}@{item.logbook}.rvsmlog",
        logbook=item.logbook,
        day=day,
        summary=f"{item.airframe or 'Crew'}: {item.what}, last day"
        + (" (forecast)" if forecast else ""),
        description="\n".join(line for line in lines if line),
        status="TENTATIVE" if forecast else "CONFIRMED",
        sequence=sum(ours.values()),
    )


def not_judged_event(why: NotJudged, earlier: Iterable[Event], today: date) -> Event:
    """Give the event of an airframe that is not judged, so that no calendar is silent about it.

    Parameters
    ----------
    why : NotJudged
        The reason.
    earlier : iterable of Event
        The earlier export, in which it may stand on another day.
    today : date
        In the operator's time zone.
    """
    uid = f"not-judged@{why.logbook}.rvsmlog"
    lines = (
        f"{why.airframe} is not judged: {why.message}",
        f"To do: {why.hint}",
        "Any other events of it are of an earlier export and stand as they were; what falls due "
        "besides is not known.",
        CAUTION,
    )
    return Event(
        uid=uid,
        logbook=why.logbook,
        day=today,
        summary=f"{why.airframe}: not judged, what falls due is not known",
        description="\n".join(lines),
        status="CONFIRMED",
        sequence=max((each.sequence + 1 for each in earlier if each.uid == uid), default=0),
    )


def updated(
    chosen: Sequence[Event],
    every: Sequence[Event],
    earlier: Sequence[Event],
    *,
    logbooks: Collection[str],
    today: date,
    not_told: Collection[str] = (),
) -> tuple[Event, ...]:
    """Give the events of an export that takes the place of an earlier one.

    Parameters
    ----------
    chosen : sequence of Event
        What falls due in the time asked for.
    every : sequence of Event
        What falls due at all: an event of the earlier export that moved out of that time is moved.
    earlier : sequence of Event
        The earlier export. What is no longer due is cancelled, until its day has passed.
    logbooks : collection of str
        The logbooks that were read.
    today : date
        In the operator's time zone.
    not_told : collection of str
        Logbooks of which it is not known all that falls due: an event of theirs in the earlier
        export stays as it was, unless it is known to have moved.

    Raises
    ------
    InputError
        When the earlier export tells of airframes that were not asked about.
    """
    others = sorted({event.logbook for event in earlier} - set(logbooks) - set(not_told))
    if others:
        raise InputError(
            f"the file holds the export of other airframes: {', '.join(others)}",
            "leave the registration out, or name another file",
        )
    known = {event.uid for event in earlier}
    now = {event.uid: event for event in every if event.uid in known}
    now |= {event.uid: event for event in chosen}
    settled = [
        replace(event, status="CANCELLED", sequence=event.sequence + 1)
        if event.status != "CANCELLED" and event.logbook not in not_told
        else event
        for event in earlier
        if event.uid not in now and (event.status != "CANCELLED" or event.day >= today)
    ]
    return tuple(sorted((*now.values(), *settled), key=lambda each: (each.day, each.uid)))


def calendar_text(events: Iterable[Event], stamp: datetime) -> str:
    """Write a calendar.

    Parameters
    ----------
    events : iterable of Event
        In any order; their UIDs differ.
    stamp : datetime
        When the export is made, aware.

    Returns
    -------
    str
        Lines of at most 75 octets in UTF-8, each ended by carriage return and line feed.
    """
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
    ]
    for event in events:
        lines += _event_lines(event, stamp)
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) + _END for line in lines)


def _event_lines(event: Event, stamp: datetime) -> Iterator[str]:
    """Write one event."""
    yield "BEGIN:VEVENT"
    yield f"UID:{_text(event.uid)}"
    yield f"DTSTAMP:{stamp.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    yield f"SEQUENCE:{event.sequence}"
    yield f"STATUS:{event.status}"
    yield f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{event.day + timedelta(days=1):%Y%m%d}"
    yield f"SUMMARY:{_text(event.summary)}"
    if event.description:
        yield f"DESCRIPTION:{_text(event.description)}"
    yield "TRANSP:TRANSPARENT"
    yield "CATEGORIES:RVSM"
    yield f"X-RVSMLOG-LOGBOOK:{_text(event.logbook)}"
    if event.status != "CANCELLED":
        for days in ALARM_DAYS:
            yield from _alarm_lines(event, days)
    yield "END:VEVENT"


def _alarm_lines(event: Event, days: int) -> Iterator[str]:
    """Write a reminder so many days ahead."""
    yield "BEGIN:VALARM"
    yield "ACTION:DISPLAY"
    yield f"TRIGGER:-P{days}D"
    yield f"DESCRIPTION:{_text(event.summary)}"
    yield "END:VALARM"


def _text(value: str) -> str:
    """Escape a value of type TEXT."""
    escaped = "".join(_ESCAPED.get(character, character) for character in value)
    return _CONTROL.sub("", escaped)


def _folded(line: str) -> str:
    """Fold a line at 75 octets, never within a character."""
    parts, part, room = [], "", _LONGEST
    for character in line:
        size = len(character.encode())
        if size > room:
            parts.append(part)
            # The blank that begins a folded line counts.
            part, room = "", _LONGEST - 1
        part, room = part + character, room - size
    return (_END + " ").join([*parts, part])


def read_export(file: BinaryIO) -> tuple[Event, ...]:
    """Read the events of an earlier export, without their descriptions.

    Parameters
    ----------
    file : BinaryIO
        What stands at its place, whatever it is and however large: no more is read than what
        looks like an export, and only its events are held.

    Raises
    ------
    InputError
        When it is none, or was changed since.
    """
    if not _begins_as_export(file):
        raise InputError(
            "the file is no calendar export of rvsmlog", "name a file that does not exist yet"
        )
    events: list[Event] = []
    fields: dict[str, str] = {}
    try:
        for line in _unfolded(file):
            name, _, value = line.partition(":")
            if line == "BEGIN:VEVENT":
                fields = {}
            elif line == "END:VEVENT":
                events.append(_read_event(fields))
            else:
                # The alarms come last and have no field that counts but the first of its name.
                fields.setdefault(name, value)
                if len(fields) > _MOST_FIELDS:
                    raise ValueError(line)  # noqa: TRY301  # told like all else that is amiss in it
    except (KeyError, ValueError):  # the latter where it is no text in UTF-8, too
        raise InputError(
            "the calendar export in the file was changed", "name a file that does not exist yet"
        ) from None
    return tuple(events)


def _begins_as_export(file: BinaryIO) -> bool:
    """Say whether a file's first lines are those that this program writes."""
    return all(
        file.readline(_LONGEST + 3) == f"{line}{_END}".encode()
        for line in ("BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}")
    )


def _unfolded(file: BinaryIO) -> Iterator[str]:
    """Read lines, each with those that go on with it."""
    parts: list[bytes] = []
    while content := file.readline(_LONGEST + 3):
        if len(content) > _LONGEST + len(_END) or len(parts) > _MOST_PARTS:
            raise ValueError(content)
        if not content.startswith(b" ") and parts:
            yield b"".join(parts).decode()
            parts = []
        parts.append(content.removesuffix(_END.encode()).removeprefix(b" "))
    yield b"".join(parts).decode()


def _read_event(fields: dict[str, str]) -> Event:
    """Make an event of its fields."""
    return Event(
        uid=_plain(fields["UID"]),
        logbook=_plain(fields["X-RVSMLOG-LOGBOOK"]),
        day=datetime.strptime(fields["DTSTART;VALUE=DATE"], "%Y%m%d").replace(tzinfo=UTC).date(),
        summary=_plain(fields["SUMMARY"]),
        description=_plain(fields.get("DESCRIPTION", "")),
        status=fields["STATUS"],
        sequence=int(fields["SEQUENCE"]),
    )


def _plain(value: str) -> str:
    """Undo the escaping of a value of type TEXT."""
    return _UNESCAPE.sub(lambda found: "\n" if found[1] in "nN" else found[1], value)
