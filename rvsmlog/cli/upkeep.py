"""The maintenance controller's boards: open deferrals, and the plan of height monitoring."""

import typer

from rvsmlog.cli.helping import add
from rvsmlog.cli.options import (
    NOT_JUDGED_STATUS,
    AtOption,
    JsonOption,
    RegistrationOrFleet,
    StoreOption,
    fleet_of,
    instant_of,
    opened,
)
from rvsmlog.facts import NotJudged
from rvsmlog.reports.text import show, show_json
from rvsmlog.store.writing.fleet import fleet_facts, operator_day


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

    Leaves with 3 where an airframe of the fleet cannot be judged.

    Example: rvsmlog defect board
    """
    from rvsmlog.answers.deferral_board import deferral_rows, fleet_deferrals
    from rvsmlog.reports.deferral_board import deferral_board_lines, deferral_board_rows

    name = "Fleet"
    barred: tuple[NotJudged, ...] = ()
    with opened(store) as open_store:
        if reg is None:
            instant, fleet = fleet_of(open_store, at)
            rows, barred = fleet_deferrals(fleet)
        else:
            instant = instant_of(open_store, at, reg)
            (facts,) = fleet_facts(open_store, instant, reg)
            name, rows = facts.particulars.registration, deferral_rows((facts,))
        day = operator_day(open_store, instant)
    if json:
        show_json(deferral_board_rows(rows, barred))
    else:
        show(deferral_board_lines(rows, name, day, barred))
    if barred:
        raise typer.Exit(NOT_JUDGED_STATUS)


def add_monitoring_plan(app: typer.Typer) -> None:
    """Add the plan of height monitoring."""
    add(app, "plan", plan)


def plan(at: AtOption = None, store: StoreOption = None, json: JsonOption = False) -> None:
    """Show which airframes must be monitored by when, and mean and spread of the results.

    Leaves with 3 where an airframe cannot be judged.

    Example: rvsmlog monitoring plan
    """
    from rvsmlog.answers.monitoring_plan import monitoring_plan
    from rvsmlog.reports.monitoring_plan import plan_lines, plan_rows

    with opened(store) as open_store:
        instant, fleet = fleet_of(open_store, at)
        planned = monitoring_plan(fleet)
        day = operator_day(open_store, instant)
    if json:
        show_json(plan_rows(planned))
    else:
        show(plan_lines(planned, day))
    if planned.not_judged:
        raise typer.Exit(NOT_JUDGED_STATUS)
