"""Putting the calendar file in its place: a new one, or that of an earlier export."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime
from pathlib import Path

from rvsmlog.answers.due import DueItem
from rvsmlog.errors import InputError
from rvsmlog.facts import NotJudged, Seal
from rvsmlog.reports.calendar_file import (
    Event,
    calendar_text,
    events_of,
    not_judged_event,
    read_export,
    updated,
)
from rvsmlog.store.files import behind, put_text
from rvsmlog.store.reading.books import OPERATOR

_ELSEWHERE = "name a file that does not exist yet"


def write_calendar(
    path: Path,
    chosen: Iterable[DueItem],
    every: Iterable[DueItem],
    *,
    seals: Collection[Seal],
    today: date,
    stamp: datetime,
    not_judged: Collection[NotJudged] = (),
) -> tuple[Event, ...]:
    """Write due items as a calendar file.

    An earlier export is brought up to date: what moved is moved, what is settled is cancelled, so
    that a calendar that is fed the new file mends itself. Any other file is left alone.

    Parameters
    ----------
    path : Path
        The file. It appears whole or stays as it was.
    chosen, every : iterable of DueItem
        What falls due in the time asked for, and at all.
    seals : collection of Seal
        The newest entries of the logbooks that were read.
    today : date
        In the operator's time zone.
    stamp : datetime
        When the export is made, aware.
    not_judged : collection of NotJudged
        Airframes of which nothing is told. Each has an event today that says so, and its events of
        the earlier export stay as they were, as do those of the crew that no other airframe tells.

    Returns
    -------
    tuple of Event
        What the file holds.

    Raises
    ------
    InputError
        When something else stands at that place, the earlier export is of other airframes, or the
        file cannot be written.
    """
    target = behind(path)
    try:
        earlier = _earlier(target)
        barred = [not_judged_event(each, earlier, today) for each in not_judged]
        # What of the crew falls due is told beside an airframe, by the rules of its authority.
        not_told = {event.logbook for event in barred} | ({OPERATOR} if barred else set())
        events = updated(
            (*events_of(chosen, seals), *barred),
            events_of(every, seals),
            earlier,
            logbooks={seal.logbook for seal in seals},
            today=today,
            not_told=not_told,
        )
        put_text(target, calendar_text(events, stamp))
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror}", _ELSEWHERE) from None
    return events


def _earlier(path: Path) -> Sequence[Event]:
    """Read the export that stands at a place; nothing where there is none."""
    if not path.exists():
        return ()
    if not path.is_file():
        raise InputError(f"{path} is no file", _ELSEWHERE)
    try:
        with path.open("rb") as file:
            return read_export(file)
    except InputError as error:
        raise InputError(f"{path}: {error.message}", error.hint) from None
