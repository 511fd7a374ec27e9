"""Commands that nouns share beside recording: the fleet list, import, striking out."""

from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.cli.options import AuthorOption, JsonOption, StoreOption, author, opened
from rvsmlog.dates import now
from rvsmlog.errors import InputError
from rvsmlog.records.base import Logbook, RecordKind
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.reports.text import Line, show, show_json, table, wrap
from rvsmlog.store.recording import strike_entry


def list_airframes(app: typer.Typer) -> None:
    """Add the command that lists the fleet."""

    @app.command("list")
    def fleet(store: StoreOption = None, json: JsonOption = False) -> None:
        """List the airframes.

        Example: rvsmlog airframe list
        """
        from rvsmlog.records.airframe import Airframe
        from rvsmlog.reports.records import row
        from rvsmlog.store.facts_reader import fleet_particulars

        with opened(store) as open_store, open_store.reading() as connection:
            logged = fleet_particulars(connection)
        if json:
            show_json([row(each) for each in logged])
            return
        names = ("registration", "type_designator", "serial_number", "authority", "highest_level")
        heads = [name.replace("_", " ") for name in names]
        spec = Airframe.kind.by_name
        rows = [
            [spec[name].type.show(getattr(each.record, name)) for name in names] for each in logged
        ]
        show(table(rows, heads) if rows else wrap("no airframe on record yet"))


def add_import(app: typer.Typer, kinds: tuple[RecordKind, ...]) -> None:
    """Add the command that imports entries from a CSV file."""
    names = ", ".join(kind.name for kind in kinds)

    @app.command("import")
    def import_file(
        file: Annotated[Path, typer.Argument(metavar="FILE", help="CSV file, UTF-8.")],
        kind: Annotated[
            str | None,
            typer.Option("--kind", metavar="KIND", help=f"Kind of entry: {names}."),
        ] = None,
        airframe: Annotated[
            str | None,
            typer.Option(
                "--airframe", metavar="REG", help="Airframe, where the file has no such column."
            ),
        ] = None,
        skip_bad: Annotated[
            str | None,
            typer.Option(
                "--skip-bad", metavar="REJECTS", help="Leave bad rows out, and write them here."
            ),
        ] = None,
        store: StoreOption = None,
        by: AuthorOption = None,
        json: JsonOption = False,
    ) -> None:
        """Import entries: all rows of the file, or none.

        Example: rvsmlog crosscheck import readings.csv --airframe QX-ABC
        """
        from rvsmlog.cli.importing import run_import

        run_import(
            _chosen(kinds, kind),
            Path(file),
            registration=airframe,
            reject_file=None if skip_bad is None else Path(skip_bad),
            where=store,
            by=author(by),
            as_json=json,
        )


def _chosen(kinds: tuple[RecordKind, ...], name: str | None) -> RecordKind:
    """Choose the kind that is imported; a noun's first is the usual one."""
    for kind in kinds:
        if name in (None, kind.name):
            return kind
    raise InputError(
        f"{name!r} is not imported here", "kinds: " + ", ".join(kind.name for kind in kinds)
    )


def add_strike(app: typer.Typer, kind: RecordKind) -> None:
    """Add the command that strikes out an entry."""
    reason_option = typer.Option("--reason", metavar="TEXT", help="Why it is wrong.")
    entry = typer.Argument(metavar="ENTRY", help="Number of the entry.")

    def strike(
        registration: str | None, number: str, reason: str, where: str | None, by: str
    ) -> None:
        wanted = EntryNumber("entry").parse(number)
        with opened(where) as store:
            ref = strike_entry(store, registration, wanted, reason, by=by, clock=now)
        show([Line(f"recorded {ref}: #{wanted} is struck out", "bold")])

    if kind.logbook is Logbook.OPERATOR:

        @app.command("strike")
        def strike_operator(
            number: Annotated[str, entry],
            reason: Annotated[str, reason_option],
            store: StoreOption = None,
            by: AuthorOption = None,
        ) -> None:
            """Strike out a wrong entry; it stays readable.

            Example: rvsmlog crew strike 3 --reason "wrong pilot"
            """
            strike(None, number, reason, store, author(by))

        return

    @app.command("strike")
    def strike_airframe(
        reg: Annotated[str, typer.Argument(metavar="REG", help="Registration.")],
        number: Annotated[str, entry],
        reason: Annotated[str, reason_option],
        store: StoreOption = None,
        by: AuthorOption = None,
    ) -> None:
        """Strike out a wrong entry; it stays readable.

        Example: rvsmlog flight strike QX-ABC 31 --reason "entered twice"
        """
        strike(reg, number, reason, store, author(by))
