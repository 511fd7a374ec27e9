"""The fleet board: what the program shows without a command, and as a page."""

from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.answers.fleet_board import MOST_DUE, board_rows
from rvsmlog.cli.helping import single
from rvsmlog.cli.options import (
    NOT_JUDGED_STATUS,
    AtOption,
    JsonOption,
    StoreOption,
    fleet_of,
    opened,
)
from rvsmlog.dates import now
from rvsmlog.reports.fleet_board import board_lines, board_objects
from rvsmlog.reports.text import show, show_json, wrap


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, board)


def board(
    at: AtOption = None,
    out: Annotated[
        str | None,
        typer.Option(
            "--out",
            metavar="FILE",
            help="Write it as a page too, to pin up or to open on a phone. An earlier board is "
            "replaced; any other file is left alone.",
        ),
    ] = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Show the fleet, one line for each airframe; the same as no command at all.

    A glance, not a check: nothing is recorded, and it leaves with 0 whatever level it shows, with 3
    where an airframe cannot be judged.

    Example: rvsmlog board --out board.html
    """
    with opened(store) as open_store:
        instant, fleet = fleet_of(open_store, at)
        costs_shown = MOST_DUE if out is not None else int(json)
        rows = board_rows(fleet, costs_shown)
    if out is not None:
        from rvsmlog.pages.board import KIND, board_page
        from rvsmlog.pages.page import write_page

        write_page(Path(out), KIND, board_page(rows, at=instant, made_at=now()))
    if json:
        show_json(board_objects(rows, instant))
    else:
        show(board_lines(rows, instant))
        if out is not None:
            show(wrap(f"written: {out}", 0, 2))
    if any(row.not_judged for row in rows):
        raise typer.Exit(NOT_JUDGED_STATUS)
