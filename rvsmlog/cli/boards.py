"""Lists with a picture of their own: the fleet, and the defects of an airframe."""

from typing import Annotated

import typer

from rvsmlog.cli.helping import add
from rvsmlog.cli.lists import (
    AllOption,
    CsvOption,
    Form,
    LastOption,
    borne,
    form_of,
    found_entries,
    list_entries,
)
from rvsmlog.cli.options import JsonOption, Registration, StoreOption, kind_option, opened
from rvsmlog.errors import InputError
from rvsmlog.facts import Logged
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import RecordKind
from rvsmlog.reports.csv_text import show_csv
from rvsmlog.reports.defects import defect_lines, defect_rows
from rvsmlog.reports.records import cell, head, row
from rvsmlog.reports.states import states
from rvsmlog.reports.text import Line, show, show_json, table, wrap
from rvsmlog.store.reading.airframes import fleet_particulars

_SHOWN = ("registration", "type_designator", "serial_number", "authority", "highest_level")


def add_fleet(app: typer.Typer) -> None:
    """Add the command that lists the fleet."""
    add(app, "list", list_fleet)


def list_fleet(store: StoreOption = None, csv: CsvOption = False, json: JsonOption = False) -> None:
    """List the airframes as they are now, by registration.

    Example: rvsmlog airframe list
    """
    form = form_of(csv=csv, json=json)
    with opened(store) as open_store, open_store.reading() as connection:
        logged = fleet_particulars(connection)
    if form is Form.JSON:
        show_json([row(each) for each in logged])
    elif form is Form.CSV:
        show_csv(Airframe.kind, logged)
    elif logged:
        count = f"{len(logged)} airframe{'' if len(logged) == 1 else 's'} on record"
        rows = [_cells(each) for each in logged]
        show([Line(f"Fleet  {count}", "bold"), *table(rows, [*map(head, _SHOWN), "entry"])])
    else:
        show(wrap("Fleet  no airframe on record yet; enter one with `rvsmlog airframe add`", 0, 2))


def _cells(logged: Logged[Airframe]) -> list[str]:
    """Write one airframe."""
    cells = [cell(Airframe.kind.by_name[name], logged.record) for name in _SHOWN]
    return [*cells, f"#{logged.ref.entry}"]


def add_defects(app: typer.Typer, kinds: tuple[RecordKind, ...]) -> None:
    """Add the command that lists defects with how they stand."""
    only = kind_option("One kind only", kinds)

    def list_defects(
        reg: Registration,
        standing: Annotated[
            bool, typer.Option("--open", help="Leave out what is rectified.")
        ] = False,
        kind: Annotated[str | None, only] = None,
        last: LastOption = None,
        every: AllOption = False,
        store: StoreOption = None,
        csv: CsvOption = False,
        json: JsonOption = False,
    ) -> None:
        """List the defects: open, deferred, rectified, and what was recorded about each.

        Example: rvsmlog defect list QX-CYR --open
        """
        form = form_of(csv=csv, json=json, every=every)
        in_tables = kind is not None or last is not None or every
        if form is Form.SCREEN and not in_tables:
            found = found_entries(store, kinds, reg)
            name = borne(store, reg) or reg
            show(defect_lines(name, found, states(found), standing=standing))
        elif not standing:
            list_entries(store, kinds, reg, kind=kind, last=last, form=form, every=every)
        elif form is Form.JSON and not in_tables:
            found = found_entries(store, kinds, reg)
            show_json(defect_rows(found, states(found)))
        else:
            raise InputError("--open goes with --json or alone", "leave the other options out")

    add(app, "list", list_defects)
