"""Lists of standing entries: on the screen, as JSON, as CSV."""

from collections.abc import Mapping, Sequence
from enum import Enum, auto
from typing import Annotated, Any

import typer

from rvsmlog.cli.helping import add
from rvsmlog.cli.options import JsonOption, Registration, StoreOption, kind_option, opened
from rvsmlog.errors import InputError, did_you_mean
from rvsmlog.facts import Logged
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import Logbook, RecordKind, Ref
from rvsmlog.records.fields import Whole
from rvsmlog.records.papers import Approval
from rvsmlog.reports.csv_text import show_csv
from rvsmlog.reports.records import by_time, record_table, row
from rvsmlog.reports.states import State, states, superseded_states, under_another
from rvsmlog.reports.text import Line, show, show_json_rows, wrap
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.books import OPERATOR, find_book
from rvsmlog.store.reading.lookup import particulars
from rvsmlog.store.reading.reader import read, strikes, view
from rvsmlog.verdict import CAUTION

#: Kinds that come by the hundred: a screen shows the newest of them.
_MANY = ("flight",)
SHOWN = 20

CsvOption = Annotated[
    bool,
    typer.Option("--csv", help="Answer in CSV, with the columns of the import; one kind."),
]
LastOption = Annotated[
    str | None,
    typer.Option("--last", metavar="N", help="Only the newest N.", show_default=False),
]
AllOption = Annotated[
    bool,
    typer.Option("--all", help="Corrected and struck entries too, each marked with what it is."),
]
Found = dict[str, list[Logged[Any]]]


class Form(Enum):
    """How a list is written."""

    SCREEN = auto()
    JSON = auto()
    CSV = auto()


def form_of(*, csv: bool, json: bool, every: bool = False) -> Form:
    """Give the form asked for.

    Raises
    ------
    InputError
        When two are asked for, or what was corrected in a form that is to be imported.
    """
    if csv and every:
        raise InputError(
            "--csv and --all do not go together",
            "CSV is read by the import, which would enter again what was corrected; use --json",
        )
    if csv and json:
        raise InputError("--csv and --json do not go together", "choose one of them")
    return Form.CSV if csv else Form.JSON if json else Form.SCREEN


def how_many(last: str | None, otherwise: int | None) -> int | None:
    """Read how many entries are asked for; None is all."""
    if last is None:
        return otherwise
    try:
        return Whole("how many", low=1, high=1_000_000).parse(last)
    except InputError as error:
        raise InputError(f"--last: {error.message}", error.hint) from None


def add_list(app: typer.Typer, noun: str, kinds: tuple[RecordKind, ...]) -> None:
    """Add the command that lists the standing entries of some kinds."""
    only = kind_option("One kind only", kinds)
    if kinds[0].logbook is Logbook.OPERATOR:

        def list_operator(
            kind: Annotated[str | None, only] = None,
            last: LastOption = None,
            every: AllOption = False,
            store: StoreOption = None,
            csv: CsvOption = False,
            json: JsonOption = False,
        ) -> None:
            form = form_of(csv=csv, json=json, every=every)
            list_entries(store, kinds, None, kind=kind, last=last, form=form, every=every)

        list_operator.__doc__ = _doc(f"rvsmlog {noun} list")
        add(app, "list", list_operator)
        return

    def list_airframe(
        reg: Registration,
        kind: Annotated[str | None, only] = None,
        last: LastOption = None,
        every: AllOption = False,
        store: StoreOption = None,
        csv: CsvOption = False,
        json: JsonOption = False,
    ) -> None:
        form = form_of(csv=csv, json=json, every=every)
        list_entries(store, kinds, reg, kind=kind, last=last, form=form, every=every)

    list_airframe.__doc__ = _doc(f"rvsmlog {noun} list QX-ALD")
    add(app, "list", list_airframe)


def _doc(example: str) -> str:
    return f"List the standing entries, the newest last.\n\nExample: {example}"


def _chosen(kinds: tuple[RecordKind, ...], name: str | None, form: Form) -> tuple[RecordKind, ...]:
    """Choose the kinds of a list; CSV takes one, the noun's first unless told otherwise."""
    if name is None:
        return kinds[:1] if form is Form.CSV else kinds
    found = tuple(kind for kind in kinds if kind.name == name.strip().lower())
    if not found:
        known = ", ".join(kind.name for kind in kinds)
        near = did_you_mean(name, (kind.name for kind in kinds))
        raise InputError(f"{name!r} is not listed here", f"{near}kinds: {known}")
    return found


def list_entries(
    where: str | None,
    kinds: tuple[RecordKind, ...],
    registration: str | None,
    *,
    kind: str | None,
    last: str | None,
    form: Form,
    every: bool = False,
) -> None:
    """List the entries of a noun.

    Parameters
    ----------
    where : str or None
        The store.
    kinds : tuple of RecordKind
        The noun's kinds.
    registration : str or None
        The airframe; None for the operator's logbook.
    kind : str or None
        The one kind asked for.
    last : str or None
        How many of each kind.
    form : Form
        How to write them.
    every : bool
        Whether to list what was corrected and struck out too.
    """
    count = how_many(last, None)
    asked = _chosen(kinds, kind, form)
    found = found_entries(where, kinds, registration)
    standing: Mapping[Ref, State] = states(found)
    if registration is not None and Approval.kind.name in found:
        airframes = found_entries(where, (Airframe.kind,), registration)[Airframe.kind.name]
        approvals = found[Approval.kind.name]
        standing = {**standing, **under_another(standing, approvals, airframes)}
    if every:
        found, superseded = _with_superseded(where, found, kinds, registration)
        standing = {**standing, **superseded}
    shown = {each.name: found[each.name][-count if count else None :] for each in asked}
    if form is Form.CSV:
        show_csv(asked[0], shown[asked[0].name], borne(where, registration))
    elif form is Form.JSON:
        in_order = sorted(
            (logged for each in shown.values() for logged in each), key=lambda each: each.ref.entry
        )
        show_json_rows(row(logged, standing.get(logged.ref)) for logged in in_order)
    else:
        counts = {name: len(records) for name, records in found.items()}
        name = borne(where, registration) or "operator"
        show(_screen(name, asked, shown, standing, counts, everything=count is not None))


def found_entries(
    where: str | None, kinds: tuple[RecordKind, ...], registration: str | None
) -> Found:
    """Read the standing entries of some kinds and of those that close them, the newest last."""
    with opened(where) as store, store.reading() as connection:
        if registration is None:
            book = find_book(connection, OPERATOR)
            if book is None:
                return {kind.name: [] for kind in kinds}
        else:
            book = find_airframe(connection, registration)
        seen = view(connection, book)
        return {kind.name: by_time(read(connection, seen, kind)) for kind in kinds}


def _with_superseded(
    where: str | None, found: Found, kinds: tuple[RecordKind, ...], registration: str | None
) -> tuple[Found, Mapping[Ref, State]]:
    """Give the entries of some kinds with what was corrected or struck out, and by what."""
    with opened(where) as store, store.reading() as connection:
        book = find_book(connection, OPERATOR) if registration is None else None
        if registration is not None:
            book = find_airframe(connection, registration)
        if book is None:
            return found, {}
        seen = view(connection, book)
        whole = {
            kind.name: by_time(read(connection, seen, kind, superseded=True)) for kind in kinds
        }
        struck = strikes(connection, seen)
    every = (logged for records in whole.values() for logged in records)
    return whole, superseded_states(every, seen.corrected, struck)


def borne(where: str | None, registration: str | None) -> str | None:
    """Give a registration as the airframe bears it."""
    if registration is None:
        return None
    with opened(where) as store, store.reading() as connection:
        return particulars(connection, registration).record.registration


def _screen(
    name: str,
    kinds: tuple[RecordKind, ...],
    found: Mapping[str, Sequence[Logged[Any]]],
    standing: Mapping[Any, Any],
    counts: Mapping[str, int],
    *,
    everything: bool,
) -> list[Line]:
    """Lay out one table for each kind."""
    lines: list[Line] = []
    for kind in kinds:
        records = found[kind.name]
        if not records:
            continue
        shown = records[-SHOWN:] if kind.name in _MANY and not everything else records
        told = _told(len(shown), counts[kind.name])
        lines += [Line(""), *wrap(f"{name}  {kind.title}: {told}", 0, 2, "bold")]
        lines += record_table(kind, shown, standing)
    if not lines:
        return [Line(f"{name}  nothing on record yet", "bold")]
    if kinds[0].logbook is Logbook.AIRFRAME:
        # What is listed of an aeroplane is what somebody may let it fly by.
        lines += wrap(CAUTION, style="italic")
    return lines[1:]


def _told(shown: int, counted: int) -> str:
    """Say how many there are, and how many of them are shown."""
    if shown == counted:
        return f"{counted} on record"
    return f"the newest {shown} of {counted}; more with --last N"
