"""What falls due: on the screen, as JSON, as a calendar file."""

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.answers.fleet import each_told
from rvsmlog.answers.fleet_due import AirframeDue, FleetDue, airframe_due, fleet_due
from rvsmlog.cli.helping import single
from rvsmlog.cli.options import (
    NOT_JUDGED_STATUS,
    AtOption,
    JsonOption,
    RegistrationOrFleet,
    StoreOption,
    fleet_of,
    instant_of,
    opened,
    understood_as,
)
from rvsmlog.dates import day_ahead, now
from rvsmlog.errors import InputError
from rvsmlog.facts import NotJudged
from rvsmlog.reports.due_screen import airframe_due_lines, due_rows, fleet_due_lines
from rvsmlog.reports.fleet import NOT_JUDGED
from rvsmlog.reports.text import Line, show, show_json, wrap
from rvsmlog.store.writing.fleet import fleet_facts, operator_day

_WithinOption = Annotated[
    str, typer.Option("--within", metavar="TIME", help="How far ahead: 90d, 12w or 6m.")
]
_IcsOption = Annotated[
    str | None,
    typer.Option(
        "--ics",
        metavar="FILE",
        help="Write it as a calendar too. An export of an earlier day is brought up to date; "
        "any other file is left alone.",
    ),
]


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, due)


def due(
    reg: RegistrationOrFleet = None,
    within_time: _WithinOption = "90d",
    at: AtOption = None,
    ics: _IcsOption = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """List what expires: tests, approvals, training, monitoring, deferrals, by day and by hours.

    The last day still counts; the level shown is that of the day after, with nothing more recorded.
    Leaves with 3 where an airframe of the fleet cannot be judged.

    Example: rvsmlog due QX-ALD --within 6m --ics due.ics
    """
    with opened(store) as open_store:
        if reg is None:
            instant, fleet = fleet_of(open_store, at)
            told: Iterable[AirframeDue | NotJudged] = each_told(fleet, airframe_due)
        else:
            instant = instant_of(open_store, at, reg)
            told = map(airframe_due, fleet_facts(open_store, instant, reg))
        today = operator_day(open_store, instant)
        until = understood_as("--within", within_time, lambda time: day_ahead(time, today))
        found = fleet_due(told, until, whole=ics is not None)
    if not found.airframes and not found.not_judged:
        _nothing(as_json=json, ics=ics)
        return
    said = [] if ics is None else _export(Path(ics), found, today)
    if json:
        show_json(due_rows(found))
    elif reg is None:
        show(fleet_due_lines(found, today, until))
        show(said)
    else:
        show(airframe_due_lines(found, today, until))
        show(said)
    if found.not_judged:
        raise typer.Exit(NOT_JUDGED_STATUS)


def _nothing(*, as_json: bool, ics: str | None) -> None:
    """Answer for a store without airframes."""
    if ics is not None:
        raise InputError("no airframe is on record", "enter one with `rvsmlog airframe add`")
    if as_json:
        show_json([])
    else:
        show(wrap("Fleet  no airframe on record yet; enter one with `rvsmlog airframe add`", 0, 2))


def _export(path: Path, found: FleetDue, today: date) -> list[Line]:
    """Write the calendar file, and say what it holds."""
    from rvsmlog.reports.calendar_export import write_calendar

    events = write_calendar(
        path,
        found.chosen,
        found.every,
        seals=found.seals,
        today=today,
        stamp=now(),
        not_judged=found.not_judged,
    )
    settled = sum(event.status == "CANCELLED" for event in events)
    routine = sum(item.routine for item in found.chosen)
    said = f"written: {path}: {len(events) - settled} events"
    if settled:
        said += f", {settled} cancelled, for they are settled"
    if routine:
        said += f"; {routine} left out that any ordinary flight renews"
    if found.not_judged:
        names = ", ".join(each.airframe for each in found.not_judged)
        said += f"; an event of today says of {names}: {NOT_JUDGED}; earlier ones stay as they were"
    return wrap(said, 0, 2)
