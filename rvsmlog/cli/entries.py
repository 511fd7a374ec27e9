"""Commands that every noun has beside recording and listing: show, import, strike."""

from collections.abc import Callable
from inspect import signature
from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.cli.completing import registrations_of
from rvsmlog.cli.helping import add
from rvsmlog.cli.nouns import ALSO_LISTED, EXAMPLE_ENTRY, EXAMPLE_FILES, NOUNS
from rvsmlog.cli.options import (
    AuthorOption,
    JsonOption,
    Registration,
    StoreOption,
    author,
    kind_option,
    opened,
)
from rvsmlog.cli.recording import ReadingsConfirmed
from rvsmlog.dates import now
from rvsmlog.errors import InputError, did_you_mean
from rvsmlog.records.base import Logbook, RecordKind
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.kinds import KIND, called
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.reports.text import show, show_json, wrap
from rvsmlog.store.importing.csv_import import import_columns
from rvsmlog.store.reading.books import first_made
from rvsmlog.store.reading.lookup import named_book
from rvsmlog.store.writing.recording import strike_entry

Entry = Annotated[str, typer.Argument(metavar="ENTRY", help="Number of the entry.")]
CsvFile = Annotated[str, typer.Argument(metavar="FILE", help="CSV file, UTF-8.")]
AirframeOfRows = Annotated[
    str | None,
    typer.Option(
        "--airframe",
        metavar="REG",
        help="Airframe of all rows; the file then has no column of that name.",
        show_default=False,
        autocompletion=registrations_of,
    ),
]
RejectFile = Annotated[
    str | None,
    typer.Option(
        "--skip-bad",
        metavar="REJECTS",
        help="Leave bad rows out, and write them to this new file.",
        show_default=False,
    ),
]


def add_show(app: typer.Typer, noun: str, kind: RecordKind) -> None:
    """Add the command that shows one entry with its history."""
    text = (
        "Show one entry in full, with its history.\n\n"
        f"Example: rvsmlog {noun} show {EXAMPLE_ENTRY[noun]}"
    )
    if kind.logbook is Logbook.OPERATOR:

        def show_operator(
            number: Entry, store: StoreOption = None, json: JsonOption = False
        ) -> None:
            _show(noun, None, number, store, as_json=json)

        show_operator.__doc__ = text
        add(app, "show", show_operator)
        return

    def show_airframe(
        reg: Registration, number: Entry, store: StoreOption = None, json: JsonOption = False
    ) -> None:
        _show(noun, reg, number, store, as_json=json)

    show_airframe.__doc__ = text
    add(app, "show", show_airframe)


def _show(
    noun: str, registration: str | None, number: str, where: str | None, *, as_json: bool
) -> None:
    """Show one entry of a noun's kinds, or of a kind that no noun enters.

    ``airframe show`` and ``operator show`` show any entry of their logbooks.
    """
    from rvsmlog.reports.entry import entry_lines, entry_object
    from rvsmlog.store.reading.history import history

    wanted = EntryNumber("entry").parse(number)
    with opened(where) as store, store.reading() as connection:
        book = named_book(connection, registration)
        kind = KIND[first_made(connection, book, wanted)[1]]
        if noun != book.kind and _at_home(kind):
            marks = "" if registration is None else f"{registration.strip().upper()} "
            _check_noun(noun, f"{book.name}#{wanted}", kind, "show", f"{marks}{wanted}")
        found = history(connection, book, wanted)
    if as_json:
        show_json(entry_object(found))
    else:
        show(entry_lines(found))


def add_import(app: typer.Typer, noun: str, kinds: tuple[RecordKind, ...]) -> None:
    """Add the command that imports entries from a CSV file."""

    def import_file(
        file: CsvFile,
        kind: Annotated[str | None, kind_option("Kind of entry", kinds)] = None,
        airframe: AirframeOfRows = None,
        skip_bad: RejectFile = None,
        readings_confirmed: ReadingsConfirmed = False,
        store: StoreOption = None,
        by: AuthorOption = None,
        json: JsonOption = False,
    ) -> None:
        from rvsmlog.cli.importing import run_import

        if _takes_logbooks(kinds) and _is_logbook(file, kind, airframe, skip_bad):
            from rvsmlog.cli.transfer import take_in

            take_in(Path(file), where=store, by=author(by), as_json=json)
            return
        run_import(
            _chosen(kinds, kind),
            Path(file),
            registration=airframe,
            reject_file=None if skip_bad is None else Path(skip_bad),
            where=store,
            by=author(by),
            as_json=json,
            readings_confirmed=readings_confirmed,
        )

    if CrossCheck.kind not in kinds:
        _take_away(import_file, "readings_confirmed")
    import_file.__doc__ = _import_help(noun, kinds)
    add(app, "import", import_file)


def _takes_logbooks(kinds: tuple[RecordKind, ...]) -> bool:
    """Say whether a noun's import takes in whole logbooks beside rows."""
    return kinds[0].name == "airframe"


def _import_help(noun: str, kinds: tuple[RecordKind, ...]) -> str:
    """Write the help of a noun's import: what it does, the columns, an example."""
    first = kinds[0]
    logbooks = _takes_logbooks(kinds)
    also = " --airframe QX-ALD" if first.logbook is Logbook.AIRFRAME and not logbooks else ""
    logbook = (
        "A file made by `rvsmlog airframe export` is taken in as the airframe's logbook: history, "
        "numbers, authors and seals as they were; entries that are here already are not added "
        "again.\n\n"
    )
    return (
        "Import entries: all rows of the file, or none.\n\n"
        + (logbook if logbooks else "")
        + "The first row names the columns. A list's --csv writes such a file; the quote that it "
        "puts before text with = + - or @ in front, so that no spreadsheet obeys it, is taken "
        "away again.\n\n"
        + "\n\n".join(_columns(kind) for kind in kinds)
        + f"\n\nExample: rvsmlog {noun} import {EXAMPLE_FILES}/{first.name}.csv{also}"
    )


def _take_away(command: Callable[..., None], name: str) -> None:
    """Let a command have no option of this name: its default stands."""
    given = signature(command)
    kept = [each for each in given.parameters.values() if each.name != name]
    command.__signature__ = given.replace(parameters=kept)  # type: ignore[attr-defined]  # the parser's


def _is_logbook(file: str, *options: str | None) -> bool:
    """Say whether a file holds an airframe's logbook, which goes with no option for rows."""
    from rvsmlog.store.safekeeping.exchange_reader import holds_logbooks

    if not holds_logbooks(Path(file)):
        return False
    if any(option is not None for option in options):
        raise InputError(
            f"{file} holds a logbook, not rows", "leave out --kind, --airframe and --skip-bad"
        )
    return True


def _columns(kind: RecordKind) -> str:
    """Name the columns of a kind; those that must be there are marked."""
    known, required = import_columns(kind)
    marked = ", ".join(name + "*" if name in required else name for name in known)
    return f"Columns of {kind.name} (* must be there): {marked}"


def _chosen(kinds: tuple[RecordKind, ...], name: str | None) -> RecordKind:
    """Choose the kind that is imported; a noun's first is the usual one."""
    for kind in kinds:
        if name in (None, kind.name):
            return kind
    known = [kind.name for kind in kinds]
    near = did_you_mean(name or "", known)
    raise InputError(f"{name!r} is not imported here", f"{near}kinds: {', '.join(known)}")


def add_strike(app: typer.Typer, noun: str, kind: RecordKind) -> None:
    """Add the command that strikes out an entry."""
    why = typer.Option("--reason", metavar="TEXT", help="Why it is wrong. [required]")
    text = (
        "Strike out a wrong entry; it stays readable.\n\n"
        f'Example: rvsmlog {noun} strike {EXAMPLE_ENTRY[noun]} --reason "entered twice"'
    )
    if kind.logbook is Logbook.OPERATOR:

        def strike_operator(
            number: Entry,
            reason: Annotated[str | None, why] = None,
            store: StoreOption = None,
            by: AuthorOption = None,
            json: JsonOption = False,
        ) -> None:
            _strike(noun, None, number, reason, store, author(by), as_json=json)

        strike_operator.__doc__ = text
        add(app, "strike", strike_operator)
        return

    def strike_airframe(
        reg: Registration,
        number: Entry,
        reason: Annotated[str | None, why] = None,
        store: StoreOption = None,
        by: AuthorOption = None,
        json: JsonOption = False,
    ) -> None:
        _strike(noun, reg, number, reason, store, author(by), as_json=json)

    strike_airframe.__doc__ = text
    add(app, "strike", strike_airframe)


def _strike(
    noun: str,
    registration: str | None,
    number: str,
    reason: str | None,
    where: str | None,
    by: str,
    *,
    as_json: bool,
) -> None:
    """Strike out one entry of a noun's kinds."""
    wanted = EntryNumber("entry").parse(number)
    if reason is None:
        raise InputError("--reason: is missing", "say why the entry is wrong")
    with opened(where) as store:
        with store.reading() as connection:
            book = named_book(connection, registration)
            kind = KIND[first_made(connection, book, wanted)[1]]
        _check_noun(noun, f"{book.name}#{wanted}", kind, "strike", "")
        ref = strike_entry(store, registration, wanted, reason, by=by, clock=now)
    if as_json:
        struck = {"strikes": wanted, "kind": kind.name}
        show_json({"logbook": ref.logbook, "entry": ref.entry, **struck})
        return
    show([*wrap(f"recorded {ref}: #{wanted}, {kind.title}, is struck out", style="bold")])


def _at_home(kind: RecordKind) -> list[str]:
    """Give the nouns whose lists hold a kind."""
    return [
        each
        for each, found in NOUNS.items()
        if kind in (*(one.kind for one in found), *ALSO_LISTED.get(each, ()))
    ]


def _check_noun(noun: str, entry: str, kind: RecordKind, verb: str, about: str) -> None:
    """Refuse an entry of another noun: its number is most likely mistyped."""
    at_home = _at_home(kind)
    if noun not in at_home:
        command = f"rvsmlog {at_home[0]} {verb} {about}".strip() if at_home else ""
        hint = f"{verb} it with `{command}`" if command else "it stays"
        raise InputError(f"{entry} is {called(kind)}", f"check the number; {hint}")
