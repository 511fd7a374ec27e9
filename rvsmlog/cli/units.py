"""The history of one unit, whichever airframes it was fitted to."""

from typing import Annotated

import typer

from rvsmlog.cli.helping import add
from rvsmlog.cli.options import JsonOption, StoreOption, opened
from rvsmlog.dates import now
from rvsmlog.reports.text import show, show_json


def add_unit_history(app: typer.Typer) -> None:
    """Add the command that follows a unit by its serial number."""
    add(app, "history", show_history)


def show_history(
    serial: Annotated[str, typer.Argument(metavar="SERIAL", help="Serial number of the unit.")],
    part_number: Annotated[
        str | None,
        typer.Option(
            "--part-number",
            metavar="TEXT",
            help="Where several parts bear the number: which one.",
            show_default=False,
        ),
    ] = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Follow a unit by its serial number: where it was, its tests, how its scale error changes.

    Tests count that name the serial number.

    Example: rvsmlog equipment history 1019-02
    """
    from rvsmlog.reports.unit_history import history_lines, history_object
    from rvsmlog.store.reading.unit_facts import unit_on_record

    with opened(store) as open_store:
        found = unit_on_record(open_store, serial, part_number, now())
    if json:
        show_json(history_object(found))
    else:
        show(history_lines(found))
