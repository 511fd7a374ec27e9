"""Questions about a planned flight beside the check: its oxygen, its cruising levels."""

from typing import Any

import typer

from rvsmlog.cli.flight_options import with_flight
from rvsmlog.cli.helping import add, single
from rvsmlog.cli.options import (
    ForWhenOption,
    JsonOption,
    LevelOption,
    PilotOption,
    RegionOption,
    Registration,
    StoreOption,
    opened,
    said,
)
from rvsmlog.dates import now, parse_instant
from rvsmlog.facts import NOTHING_SAID, FlightData
from rvsmlog.reports.text import show, show_json
from rvsmlog.standards.regions import parse_region
from rvsmlog.store.writing.checks import Asked, Checked, check
from rvsmlog.units import parse_planned_level


def add_oxygen_need(app: typer.Typer) -> None:
    """Add the command that shows a flight's oxygen in full."""
    add(app, "need", oxygen_need)


def asked_of(reg: str, flight: FlightData, **given: Any) -> Asked:
    """Read what the options ask."""
    at, level, region, pilot = (given.get(name) for name in ("at", "level", "region", "pilot"))
    return Asked(
        registration=reg,
        at=said("--at", at, parse_instant),
        level=said("--level", level, parse_planned_level),
        region=said("--region", region, parse_region),
        pilot=None if pilot is None else pilot.strip().upper(),
        flight=flight,
    )


def checked_once(where: str | None, asked: Asked) -> Checked:
    """Make the check without recording it."""
    with opened(where) as store:
        return check(store, asked, now())


@with_flight
def oxygen_need(
    reg: Registration,
    level: LevelOption = None,
    at: ForWhenOption = None,
    store: StoreOption = None,
    json: JsonOption = False,
    flight: FlightData = NOTHING_SAID,
) -> None:
    """Show a flight's oxygen: on board, needed by case, how long it lasts; and its cabin.

    Nothing is recorded. Without a level the certificated one is taken.

    Example: rvsmlog oxygen need QX-ALD --level 310 --people 1+3 --hold-level 140 --hold-minutes 45
        --at 2026-11-24T08:00Z
    """
    from rvsmlog.answers.oxygen_view import oxygen_view
    from rvsmlog.reports.oxygen import oxygen_lines, oxygen_object

    made = checked_once(store, asked_of(reg, flight, level=level, at=at))
    view = oxygen_view(made.facts)
    if json:
        show_json(oxygen_object(made, view))
    else:
        show(oxygen_lines(made, view))


def make(name: str) -> typer.Typer:
    """Make the command that chooses a level."""
    return single(name, levels)


@with_flight
def levels(
    reg: Registration,
    at: ForWhenOption = None,
    region: RegionOption = None,
    pilot: PilotOption = None,
    store: StoreOption = None,
    json: JsonOption = False,
    flight: FlightData = NOTHING_SAID,
) -> None:
    """List the cruising levels of a track: which may be filed, and what excludes the others.

    Leaves with 0 when a level may be filed, 1 when none may. Nothing is recorded.

    Example: rvsmlog levels QX-ALD --track 265 --region NAM --people 1+3 --at 2026-11-24T08:00Z
    """
    from rvsmlog.answers.level_choice import level_choice
    from rvsmlog.reports.levels import level_lines, level_object

    made = checked_once(store, asked_of(reg, flight, at=at, region=region, pilot=pilot))
    choice = level_choice(made.facts)
    if json:
        show_json(level_object(made, choice))
    else:
        show(level_lines(made, choice))
    raise typer.Exit(0 if choice.usable else 1)
