"""The maintenance controller's boards: open deferrals, and the plan of height monitoring."""

import typer

from rvsmlog.cli.helping import add
from rvsmlog.cli.options import (
    AtOption,
    JsonOption,
    RegistrationOrFleet,
    StoreOption,
    instant_of,
    opened,
)
from rvsmlog.facts import Facts
from rvsmlog.reports.text import show, show_json
from rvsmlog.store.fleet import fleet_facts


def add_deferral_board(app: typer.Typer) -> None:
    """Add the board of open deferrals."""
    add(app, "board", deferral_board)


def deferral_board(
    reg: RegistrationOrFleet = None,
    at: AtOption = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Show the open deferrals by last day: days left, levels, extension, last review.

    Example: rvsmlog defect board
    """
    from rvsmlog.answers.deferral_board import deferral_rows
    from rvsmlog.reports.deferral_board import deferral_board_lines, deferral_board_rows

    fleet = _fleet(store, at, reg)
    rows = deferral_rows(fleet)
    if json:
        show_json(deferral_board_rows(rows))
        return
    name = fleet[0].particulars.registration if reg is not None else "Fleet"
    show(deferral_board_lines(rows, name, fleet[0].today if fleet else None))


def add_monitoring_plan(app: typer.Typer) -> None:
    """Add the plan of height monitoring."""
    add(app, "plan", plan)


def plan(at: AtOption = None, store: StoreOption = None, json: JsonOption = False) -> None:
    """Show which airframes must be monitored by when, and mean and spread of the results.

    Example: rvsmlog monitoring plan
    """
    from rvsmlog.answers.monitoring_plan import monitoring_plan
    from rvsmlog.reports.monitoring_plan import plan_lines, plan_rows

    fleet = _fleet(store, at, None)
    planned = monitoring_plan(fleet)
    if json:
        show_json(plan_rows(planned))
    else:
        show(plan_lines(planned, fleet[0].today if fleet else None))


def _fleet(where: str | None, at: str | None, registration: str | None) -> tuple[Facts, ...]:
    """Read the facts as of an instant; now when none is named."""
    with opened(where) as store:
        return fleet_facts(store, instant_of(store, at), registration)
