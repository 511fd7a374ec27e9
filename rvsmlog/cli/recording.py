"""Commands made from record kinds: one option for each field, one list for each kind."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from inspect import Parameter, Signature
from typing import Annotated, Any

import typer

from rvsmlog.cli.options import (
    AuthorOption,
    JsonOption,
    Registration,
    StoreOption,
    author,
    opened,
)
from rvsmlog.dates import now
from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldError, FieldSpec, Logbook, Record, RecordKind, Ref
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.reports.text import Line, show, show_json, table, wrap
from rvsmlog.store.recording import book_for, record_entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """A command that records one entry.

    Parameters
    ----------
    name : str
        The command, below its noun.
    kind : RecordKind
        What it records.
    help : str
        One sentence.
    example : str
        One real example.
    """

    name: str
    kind: RecordKind
    help: str
    example: str


def takes_registration(kind: RecordKind) -> bool:
    """Whether commands about a kind name an airframe by its registration first."""
    return kind.logbook is Logbook.AIRFRAME and kind.name != "airframe"


def target(kind: RecordKind) -> FieldSpec | None:
    """Give the field that names the entry that a record is about; it is an argument."""
    for spec in kind.fields:
        if isinstance(spec.type, EntryNumber) and spec.required:
            return spec
    return None


def add_recording(app: typer.Typer, recording: Recording) -> None:
    """Add the command that records one entry of a kind."""
    kind = recording.kind

    def command(**given: Any) -> None:
        where, by = given.pop("store"), given.pop("by")
        as_json, corrects = given.pop("json"), given.pop("corrects")
        reason, registration = given.pop("reason"), given.pop("reg", None)
        with opened(where) as store:
            ref, record = record_with_options(
                lambda: record_entry(
                    store,
                    kind,
                    _field_names(kind, given),
                    by=author(by),
                    clock=now,
                    registration=registration,
                    supersedes=_entry_number(corrects),
                    reason=reason,
                )
            )
        say_recorded(ref, record, as_json=as_json)

    command.__signature__ = _signature(kind)  # type: ignore[attr-defined]  # read by the parser
    command.__annotations__ = {}
    command.__doc__ = f"{recording.help}\n\nExample: {recording.example}"
    app.command(recording.name)(command)


def record_with_options(call: Callable[[], tuple[Ref, Record]]) -> tuple[Ref, Record]:
    """Make one recording; a field at fault is named as its option."""
    try:
        return call()
    except FieldError as error:
        option = "--" + error.field.replace("_", "-")
        raise InputError(f"{option}: {error.fault}", error.hint) from None


def _field_names(kind: RecordKind, given: dict[str, Any]) -> dict[str, str | None]:
    """Give options by field name: an option that would hide another has a name of its own."""
    names = {parameter_name(spec): spec.name for spec in kind.fields}
    return {names[name]: value for name, value in given.items()}


def parameter_name(spec: FieldSpec) -> str:
    """Give a field's parameter name; none hides the shared ones."""
    return f"field_{spec.name}"


def _entry_number(text: str | None) -> int | None:
    return None if text is None else EntryNumber("entry").parse(text)


def _signature(kind: RecordKind) -> Signature:
    """Describe the command's parameters for the parser."""
    parameters = []
    if takes_registration(kind):
        parameters.append(_parameter("reg", Registration))
    about = target(kind)
    if about is not None:
        argument = typer.Argument(metavar="ENTRY", help=about.type.help)
        parameters.append(_parameter(parameter_name(about), Annotated[str, argument]))
    for spec in kind.fields:
        if spec is about:
            continue
        wanted = f"{spec.type.help} ({spec.type.wanted})"
        option = typer.Option(
            spec.option,
            metavar="TEXT",
            help=wanted + (" [required]" if spec.required else ""),
            show_default=False,
        )
        annotation = Annotated[str | None, option]
        parameters.append(_parameter(parameter_name(spec), annotation, None))
    correct = typer.Option(
        "--corrects", metavar="ENTRY", help="The entry that this one corrects.", show_default=False
    )
    why = typer.Option("--reason", metavar="TEXT", help="Why it corrects.", show_default=False)
    parameters += [
        _parameter("corrects", Annotated[str | None, correct], None),
        _parameter("reason", Annotated[str | None, why], None),
        _parameter("store", StoreOption, None),
        _parameter("by", AuthorOption, None),
        _parameter("json", JsonOption, False),
    ]
    return Signature(parameters)


def _parameter(name: str, annotation: Any, default: Any = Parameter.empty) -> Parameter:
    return Parameter(name, Parameter.KEYWORD_ONLY, default=default, annotation=annotation)


def say_recorded(ref: Ref, record: Record, *, as_json: bool) -> None:
    """Say which entry was made."""
    if as_json:
        values = {spec.name: getattr(record, spec.name) for spec in record.kind.fields}
        show_json({"logbook": ref.logbook, "entry": ref.entry, "kind": record.kind.name, **values})
        return
    show([Line(f"recorded {ref}: {record.kind.title}", "bold")])


def add_list(app: typer.Typer, kinds: tuple[RecordKind, ...], help_text: str) -> None:
    """Add the command that lists the standing entries of some kinds."""
    if kinds[0].logbook is Logbook.OPERATOR:

        @app.command("list", help=help_text)
        def list_operator(store: StoreOption = None, json: JsonOption = False) -> None:
            _list(store, kinds, None, as_json=json)

        return

    @app.command("list", help=help_text)
    def list_airframe(
        reg: Registration, store: StoreOption = None, json: JsonOption = False
    ) -> None:
        _list(store, kinds, reg, as_json=json)


def _list(
    where: str | None, kinds: tuple[RecordKind, ...], registration: str | None, *, as_json: bool
) -> None:
    """List entries of each kind, in the order of their entries."""
    from rvsmlog.reports.records import cells, row, shown_fields
    from rvsmlog.store.reader import read, view

    rows: list[Mapping[str, Any]] = []
    lines: list[Line] = []
    with opened(where) as store, store.reading() as connection:
        seen = view(connection, book_for(connection, kinds[0], registration))
        for kind in kinds:
            records = read(connection, seen, kind)
            rows.extend(row(logged) for logged in records)
            if records and not as_json:
                names = shown_fields(kind, records)
                heads = ["entry", *(name.replace("_", " ") for name in names)]
                lines.append(Line(kind.title.capitalize(), "bold"))
                lines += table([cells(logged, names) for logged in records], heads)
                lines.append(Line(""))
    if as_json:
        show_json(sorted(rows, key=lambda each: each["entry"]))
        return
    show(lines[:-1] or wrap("nothing on record yet"))
