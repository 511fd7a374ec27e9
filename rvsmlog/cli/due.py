"""What falls due: on the screen, as JSON, as a calendar file."""

from collections.abc import Iterable, Mapping
from datetime import date
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
from rvsmlog.facts import Facts, Seal
from rvsmlog.frozen import dataclass
from rvsmlog.reports.due_screen import airframe_due_lines, due_row, fleet_due_lines
from rvsmlog.reports.text import Line, show, show_json, wrap
from rvsmlog.resting import resting_collector
from rvsmlog.store.fleet import each_facts, fleet_facts


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
        fleet: Iterable[Facts] = each_facts(open_store, instant)
        if reg is not None:
            fleet = fleet_facts(open_store, instant, reg)
        found = _gathered(fleet, within_time, whole=ics is not None)
    if found is None:
        _nothing(as_json=json, ics=ics)
        return
    said = [] if ics is None else _export(Path(ics), found)
    if json:
        show_json([due_row(item) for item in found.chosen])
        return
    if reg is None:
        show(fleet_due_lines(found.chosen, found.today, found.until, found.undated))
    else:
        show(airframe_due_lines(found.name, found.chosen, found.today, found.until, found.undated))
    show(said)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Due:
    """What is shown of the fleet; the facts of each airframe are let go.

    Parameters
    ----------
    name : str
        Registration of the first airframe.
    today, until : date
        The operator's day, and the last day that is asked about.
    chosen, every : tuple of DueItem
        What falls due by then, and ever; the latter only where it is wanted.
    undated : mapping
        By registration, the rules that limit the level today and of which no item tells.
    seals : frozenset of Seal
        The newest entries known.
    """

    name: str
    today: date
    until: date
    chosen: tuple[DueItem, ...]
    every: tuple[DueItem, ...]
    undated: Mapping[str, tuple[str, ...]]
    seals: frozenset[Seal]


def _gathered(fleet: Iterable[Facts], within_time: str, *, whole: bool) -> _Due | None:
    """Go through the fleet one airframe after another; None without any.

    Parameters
    ----------
    fleet : iterable of Facts
        As of one instant.
    within_time : str
        How far ahead is asked.
    whole : bool
        Whether what falls due later is wanted too.
    """
    first: Facts | None = None
    parts: list[tuple[DueItem, ...]] = []
    undated: dict[str, tuple[str, ...]] = {}
    seals: set[Seal] = set()
    with resting_collector():
        for facts in fleet:
            first = first or facts
            until = day_ahead(within_time, facts.today)
            items = due_items(facts)
            parts.append(items if whole else within(items, until))
            seals.update(facts.seals)
            faults = undated_faults(facts, items)
            if faults:
                undated[facts.particulars.registration] = faults
    if first is None:
        return None
    every = merged(parts)
    return _Due(
        name=first.particulars.registration,
        today=first.today,
        until=until,
        chosen=within(every, until),
        every=every,
        undated=undated,
        seals=frozenset(seals),
    )


def _nothing(*, as_json: bool, ics: str | None) -> None:
    """Answer for a store without airframes."""
    if ics is not None:
        raise InputError("no airframe is on record", "enter one with `rvsmlog airframe add`")
    if as_json:
        show_json([])
    else:
        show(wrap("Fleet  no airframe on record yet; enter one with `rvsmlog airframe add`", 0, 2))


def _export(path: Path, found: _Due) -> list[Line]:
    """Write the calendar file, and say what it holds."""
    from rvsmlog.reports.calendar_export import write_calendar

    chosen = found.chosen
    events = write_calendar(
        path, chosen, found.every, seals=found.seals, today=found.today, stamp=now()
    )
    settled = sum(event.status == "CANCELLED" for event in events)
    routine = sum(item.routine for item in chosen)
    said = f"written: {path}: {len(events) - settled} events"
    if settled:
        said += f", {settled} cancelled, for they are settled"
    if routine:
        said += f"; {routine} left out that any ordinary flight renews"
    return wrap(said, 0, 2)
