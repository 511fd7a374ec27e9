"""Recording commands made from record kinds: one option for each field."""

from collections.abc import Callable, Mapping, Sequence
from inspect import Parameter, Signature
from typing import Annotated, Any

import typer

from rvsmlog.cli.answers import in_own_unit
from rvsmlog.cli.completing import words_of
from rvsmlog.cli.follows import Follows, follows
from rvsmlog.cli.helping import REQUIRED, add
from rvsmlog.cli.metavars import metavar
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
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, FieldSpec, Logbook, Record, RecordKind, Ref
from rvsmlog.records.kinds import PARTICULARS
from rvsmlog.records.slips import SLIP_FT
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.reports.text import Line, show, show_json
from rvsmlog.store.writing.recording import record_entry

#: What lets a reading stand that may be a slip of the pen, where cross-checks are entered.
ReadingsConfirmed = Annotated[
    bool,
    typer.Option(
        "--readings-confirmed",
        help=f"Each reading was read so, even more than {SLIP_FT:,} ft from level or elevation.",
    ),
]


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
    now_field : str
        Field that is the moment of recording itself when it is left out; ``""`` for none.
    """

    name: str
    kind: RecordKind
    help: str
    example: str
    now_field: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What a recording command was given.

    Parameters
    ----------
    where, by : str or None
        The store, and who records.
    registration : str or None
        The airframe.
    texts : dict of str to str
        The fields as texts.
    corrects : int or None
        The entry that is corrected.
    reason : str or None
        Why.
    as_json : bool
        Whether to answer in JSON.
    """

    where: str | None
    by: str | None
    registration: str | None
    texts: dict[str, str | None]
    corrects: int | None
    reason: str | None
    as_json: bool


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

    def command(**options: Any) -> None:
        given = understood(recording.kind, options)
        leaves_out = recording.now_field and given.texts[recording.now_field] is None
        if leaves_out and given.corrects is None:
            given.texts[recording.now_field] = now().replace(microsecond=0).isoformat()
        ref, record = record_given(recording.kind, given)
        say_recorded(ref, record, as_json=given.as_json, found=follows(given.where, ref, record))

    describe(command, recording, _parameters(recording))
    add(app, recording.name, command)


def describe(
    command: Callable[..., None], recording: Recording, parameters: Sequence[Parameter]
) -> None:
    """Give a command the parameters and the help page of its recording."""
    command.__signature__ = Signature(parameters)  # type: ignore[attr-defined]  # the parser's
    command.__annotations__ = {}
    command.__doc__ = f"{recording.help}\n\nExample: {recording.example}"


def understood(kind: RecordKind, options: dict[str, Any]) -> Given:
    """Sort what the parser gives: shared options, and fields by name.

    Raises
    ------
    InputError
        When a pressure does not name its unit, the corrected entry is no number, or the entry
        that a record is about is not named.
    """
    texts: dict[str, str | None] = {}
    for spec in kind.fields:
        text = options.get(parameter_name(spec))
        texts[spec.name] = None if text is None else _with_option(spec.name, text)
    corrects = options.get("corrects")
    if corrects is not None and options.get("reason") is None:
        raise InputError("--reason is missing", f"say with it why entry #{corrects} is corrected")
    about = target(kind)
    if about is not None and corrects is None and texts[about.name] is None:
        raise InputError("ENTRY is missing", f"name {about.type.help} by its number")
    return Given(
        where=options.get("store"),
        by=options.get("by"),
        registration=options.get("reg"),
        texts=texts,
        corrects=None if corrects is None else EntryNumber("entry").parse(corrects),
        reason=options.get("reason"),
        as_json=bool(options.get("json")),
    )


def _with_option(name: str, text: str) -> str:
    """Bring a field to its unit; a fault names the option."""
    try:
        return in_own_unit(name, text)
    except InputError as error:
        raise as_option(FieldError(name, error.message, error.hint)) from None


def as_option(error: FieldError) -> InputError:
    """Name the field at fault as its option."""
    return InputError(f"--{error.field.replace('_', '-')}: {error.fault}", error.hint)


def record_given(
    kind: RecordKind, given: Given, *, readings_confirmed: bool = False
) -> tuple[Ref, Record]:
    """Record one entry; a field at fault is named as its option."""
    try:
        with opened(given.where) as store:
            return record_entry(
                store,
                kind,
                given.texts,
                by=author(given.by),
                clock=now,
                registration=given.registration,
                supersedes=given.corrects,
                reason=given.reason,
                readings_confirmed=readings_confirmed,
            )
    except FieldError as error:
        raise _named(kind, given, error) from None


def _named(kind: RecordKind, given: Given, error: FieldError) -> InputError:
    """Name the field at fault as the command line does, and how one field alone is changed."""
    about = target(kind)
    if about is not None and error.field == about.name:
        return InputError(f"ENTRY: {error.fault}", error.hint)
    found = as_option(error)
    if kind.name in PARTICULARS and given.corrects is None and error.fault == "is missing":
        also = "; to change an entry on record, add --corrects ENTRY --reason TEXT"
        return InputError(found.message, f"{error.hint}{also}")
    return found


def parameter_name(spec: FieldSpec) -> str:
    """Give a field's parameter name; none hides the shared ones."""
    return f"field_{spec.name}"


def _parameters(recording: Recording) -> list[Parameter]:
    """Describe the command's parameters for the parser."""
    kind = recording.kind
    first = [parameter("reg", Registration)] if takes_registration(kind) else []
    return [*first, *field_parameters(recording), *shared_parameters()]


def field_parameters(recording: Recording) -> list[Parameter]:
    """Describe one parameter for each field."""
    about = target(recording.kind)
    parameters = []
    if about is not None:
        argument = typer.Argument(metavar="ENTRY", help=about.type.help, show_default=False)
        named = Annotated[str | None, argument]
        parameters.append(parameter(parameter_name(about), named, None))
    for spec in recording.kind.fields:
        if spec is about:
            continue
        option = typer.Option(
            spec.option,
            metavar=metavar(spec),
            help=_help(spec, has_now=spec.name == recording.now_field),
            show_default=False,
            autocompletion=words_of(spec),
        )
        parameters.append(parameter(parameter_name(spec), Annotated[str | None, option], None))
    return parameters


def _help(spec: FieldSpec, *, has_now: bool) -> str:
    """Give a field's help: what it means, what to write, whether it must be given."""
    also = "; now when left out" if has_now else f" {REQUIRED}" if spec.required else ""
    return f"{spec.type.help}: {spec.type.wanted}{also}"


def shared_parameters() -> list[Parameter]:
    """Describe the parameters that every recording command has."""
    correct = typer.Option(
        "--corrects",
        metavar="ENTRY",
        help='The entry that this one corrects. What is left out stays as it was, "" empties it.',
        show_default=False,
    )
    why = typer.Option("--reason", metavar="TEXT", help="Why it corrects.", show_default=False)
    return [
        parameter("corrects", Annotated[str | None, correct], None),
        parameter("reason", Annotated[str | None, why], None),
        parameter("store", StoreOption, None),
        parameter("by", AuthorOption, None),
        parameter("json", JsonOption, False),
    ]


def parameter(name: str, annotation: Any, default: Any = Parameter.empty) -> Parameter:
    """Describe one parameter."""
    return Parameter(name, Parameter.KEYWORD_ONLY, default=default, annotation=annotation)


def recorded_object(ref: Ref, record: Record) -> Mapping[str, Any]:
    """Give a new entry as JSON has it."""
    values = {spec.name: getattr(record, spec.name) for spec in record.kind.fields}
    return {"logbook": ref.logbook, "entry": ref.entry, "kind": record.kind.name, **values}


def say_recorded(ref: Ref, record: Record, *, as_json: bool, found: Follows | None = None) -> None:
    """Say which entry was made, and what follows from it."""
    found = found or Follows()
    if as_json:
        show_json({**recorded_object(ref, record), **found.fields})
        return
    show([Line(f"recorded {ref}: {record.title}", "bold"), *found.lines])
