"""The go/no-go check."""

from typing import Annotated

import typer

from rvsmlog.cli.completing import registrations_of
from rvsmlog.cli.flight_options import with_flight
from rvsmlog.cli.helping import single
from rvsmlog.cli.options import (
    NOT_JUDGED_STATUS,
    AuthorOption,
    ForWhenOption,
    JsonOption,
    LevelOption,
    PilotOption,
    RegionOption,
    StoreOption,
    author,
    opened,
    said,
)
from rvsmlog.dates import now, parse_date, parse_instant
from rvsmlog.facts import NOTHING_SAID, FlightData
from rvsmlog.reports.text import show, show_json
from rvsmlog.standards.regions import parse_region
from rvsmlog.store.connection import Store
from rvsmlog.store.writing.checks import Asked, Checked, check, check_and_record
from rvsmlog.units import parse_planned_level
from rvsmlog.verdict import Answer

_RegistrationOrEach = Annotated[
    str | None,
    typer.Argument(
        metavar="[REG]",
        help="Registration; without it, one line each.",
        autocompletion=registrations_of,
    ),
]
_OnOption = Annotated[
    str | None,
    typer.Option(
        "--on",
        metavar="DATE",
        help="Look ahead to the end of a day, the operator's: what is due by then counts as "
        "due. Not recorded.",
    ),
]
_AsOfOption = Annotated[
    str | None,
    typer.Option(
        "--as-of",
        metavar="ENTRY|INSTANT",
        help="As known then. A check's entry number repeats that check.",
    ),
]
_DryRun = Annotated[bool, typer.Option("--dry-run", help="Do not record the check.")]
_Sources = Annotated[
    bool, typer.Option("--sources", help="Write out the published source of each fault.")
]


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, gonogo)


@with_flight
def gonogo(
    reg: _RegistrationOrEach = None,
    level: LevelOption = None,
    at: ForWhenOption = None,
    on: _OnOption = None,
    region: RegionOption = None,
    pilot: PilotOption = None,
    as_of: _AsOfOption = None,
    dry_run: _DryRun = False,
    sources: _Sources = False,
    store: StoreOption = None,
    by: AuthorOption = None,
    json: JsonOption = False,
    flight: FlightData = NOTHING_SAID,
) -> None:
    """Ask whether a level may be filed; without a level, which is the highest.

    Leaves with 0 for GO, 1 for NO-GO, 3 where an airframe cannot be judged. What is not said of the
    flight is assumed, and the answer says so; a route profile spares typing.

    Example: rvsmlog gonogo QX-ALD --level 310 --pilot IVO --at 2026-11-24T08:00Z --people 1+3
    """
    asked = Asked(
        registration=reg or "",
        at=said("--at", at, parse_instant),
        on=said("--on", on, parse_date),
        level=said("--level", level, parse_planned_level),
        region=said("--region", region, parse_region),
        pilot=None if pilot is None else pilot.strip().upper(),
        flight=flight,
        as_of=as_of,
    )
    with opened(store) as open_store:
        if reg is None:
            _fleet(open_store, asked, as_json=json)
        made = _made(open_store, asked, by, dry_run=dry_run)
    _say(made, sources=sources, as_json=json)
    raise typer.Exit(0 if made.verdict.answer is Answer.GO else 1)


def _made(store: Store, asked: Asked, by: str | None, *, dry_run: bool) -> Checked:
    """Make the check, and record it unless asked not to."""
    if dry_run or asked.on is not None:
        return check(store, asked, now())
    return check_and_record(store, asked, by=author(by), clock=now)


def _say(made: Checked, *, sources: bool, as_json: bool) -> None:
    """Print the check."""
    if as_json:
        from rvsmlog.reports.verdict_json import verdict_object

        show_json(verdict_object(made))
        return
    from rvsmlog.reports.verdict_screen import verdict_lines

    show(verdict_lines(made, sources=sources))


def _fleet(store: Store, asked: Asked, *, as_json: bool) -> None:
    """Answer for each airframe in one line; a glance is not recorded as a check."""
    from rvsmlog.reports.fleet import fleet_lines, fleet_objects, fleet_rows
    from rvsmlog.store.writing.fleet import each_check

    rows = fleet_rows(each_check(store, asked, now()))
    if as_json:
        show_json(fleet_objects(rows))
    else:
        show(fleet_lines(rows))
    if any(row.not_judged for row in rows):
        raise typer.Exit(NOT_JUDGED_STATUS)
    raise typer.Exit(0 if rows and all(row.goes for row in rows) else 1)
