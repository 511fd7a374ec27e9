"""The fleet board: what the program shows without a command."""

from typing import Annotated

import typer

from rvsmlog.answers.fleet_board import board_rows
from rvsmlog.cli.helping import single
from rvsmlog.cli.options import JsonOption, StoreOption, opened
from rvsmlog.dates import now, parse_instant
from rvsmlog.reports.fleet_board import board_lines, board_objects
from rvsmlog.reports.text import show, show_json
from rvsmlog.store.fleet import fleet_facts


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, board)


def board(
    at: Annotated[
        str | None,
        typer.Option("--at", metavar="INSTANT", help="As of when, ISO 8601 with Z or an offset."),
    ] = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Show the fleet, one line for each airframe; the same as no command at all.

    A glance, not a check: nothing is recorded, and it leaves with 0 whatever it shows.

    Example: rvsmlog board
    """
    instant = now() if at is None else parse_instant(at)
    with opened(store) as open_store:
        rows = board_rows(fleet_facts(open_store, instant))
    if json:
        show_json(board_objects(rows, instant))
    else:
        show(board_lines(rows, instant))
