"""What falls due: on the screen, as JSON, as a calendar file."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.answers.due import DueItem, due_items, merged, undated_faults, within
from rvsmlog.cli.helping import single
from rvsmlog.cli.options import (
    AtOption,
    JsonOption,
    RegistrationOrFleet,
    StoreOption,
    instant_of,
    opened,
)
from rvsmlog.dates import day_ahead, now
from rvsmlog.errors import InputError
from rvsmlog.facts import Facts
from rvsmlog.reports.due_screen import airframe_due_lines, due_row, fleet_due_lines
from rvsmlog.reports.text import Line, show, show_json, wrap
from rvsmlog.store.fleet import fleet_facts


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, due)


def due(
    reg: RegistrationOrFleet = None,
    within_time: Annotated[
        str, typer.Option("--within", metavar="TIME", help="How far ahead: 90d, 12w or 6m.")
    ] = "90d",
    at: AtOption = None,
    ics: Annotated[
        str | None,
        typer.Option(
            "--ics",
            metavar="FILE",
            help="Write it as a calendar too. An export of an earlier day is brought up to date; "
            "any other file is left alone.",
        ),
    ] = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """List what expires: tests, approvals, training, monitoring, deferrals, by day and by hours.

    The last day still counts; the level shown is that of the day after, with nothing more recorded.

    Example: rvsmlog due QX-ABC --within 6m --ics due.ics
    """
    with opened(store) as open_store:
        instant = instant_of(open_store, at)
        fleet = fleet_facts(open_store, instant, reg)
    if not fleet:
        _nothing(as_json=json, ics=ics)
        return
    today = fleet[0].today
    until = day_ahead(within_time, today)
    of_each = [due_items(facts) for facts in fleet]
    every = merged(of_each)
    chosen = within(every, until)
    said = [] if ics is None else _export(Path(ics), chosen, every, fleet)
    if json:
        show_json([due_row(item) for item in chosen])
        return
    undated = {
        facts.particulars.registration: found
        for facts, items in zip(fleet, of_each, strict=True)
        if (found := undated_faults(facts, items))
    }
    if reg is None:
        show(fleet_due_lines(chosen, today, until, undated))
    else:
        name = fleet[0].particulars.registration
        show(airframe_due_lines(name, chosen, today, until, undated))
    show(said)


def _nothing(*, as_json: bool, ics: str | None) -> None:
    """Answer for a store without airframes."""
    if ics is not None:
        raise InputError("no airframe is on record", "enter one with `rvsmlog airframe add`")
    if as_json:
        show_json([])
    else:
        show(wrap("Fleet  no airframe on record yet; enter one with `rvsmlog airframe add`", 0, 2))


def _export(
    path: Path,
    chosen: Sequence[DueItem],
    every: Sequence[DueItem],
    fleet: Sequence[Facts],
) -> list[Line]:
    """Write the calendar file, and say what it holds."""
    from rvsmlog.reports.calendar_export import write_calendar

    seals = {seal for facts in fleet for seal in facts.seals}
    events = write_calendar(path, chosen, every, seals=seals, today=fleet[0].today, stamp=now())
    settled = sum(event.status == "CANCELLED" for event in events)
    routine = sum(item.routine for item in chosen)
    said = f"written: {path}: {len(events) - settled} events"
    if settled:
        said += f", {settled} cancelled, for they are settled"
    if routine:
        said += f"; {routine} left out that any ordinary flight renews"
    return wrap(said, 0, 2)
