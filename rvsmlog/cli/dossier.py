"""The dossier of one airframe, as a page to print and hand over."""

from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.cli.helping import single
from rvsmlog.cli.options import JsonOption, Registration, StoreOption, instant_of, opened, said
from rvsmlog.dates import now, parse_date
from rvsmlog.errors import InputError
from rvsmlog.reports.text import show, show_json, wrap

_FirstOption = Annotated[
    str | None,
    typer.Option("--from", metavar="DATE", help="First day; else the log's beginning."),
]
_LastOption = Annotated[
    str | None,
    typer.Option("--to", metavar="DATE", help="Last day; else the day of the answer."),
]
_OutOption = Annotated[
    str | None,
    typer.Option(
        "--out",
        metavar="FILE",
        help="Write the page. An earlier dossier is replaced, any other file is left alone.",
    ),
]
_AnswerAtOption = Annotated[
    str | None,
    typer.Option("--at", metavar="INSTANT", help="The answer is for then; now without it."),
]


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, dossier)


def dossier(
    reg: Registration,
    first: _FirstOption = None,
    last: _LastOption = None,
    out: _OutOption = None,
    at: _AnswerAtOption = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Write what an inspector asks of one airframe into one page that needs no network.

    The answer for --at stands first; what follows stands as of the end of the span, as known now,
    with corrections marked.

    Example: rvsmlog dossier QX-ALD --from 2026-01-01 --to 2026-06-30 --out QX-ALD.html
    """
    from rvsmlog.answers.dossier import dossier as made_of
    from rvsmlog.reports.dossier import dossier_object
    from rvsmlog.reports.verdict_screen import headline
    from rvsmlog.store.reading.dossier import read_dossier

    if out is None and not json:
        raise InputError("where to is not said", "name a file with --out, or ask for --json")
    days = [said("--from", first, parse_date), said("--to", last, parse_date)]
    with opened(store) as open_store:
        instant = instant_of(open_store, at, reg)
        records, span = read_dossier(open_store, reg, instant, days[0], days[1])
    made = made_of(records, span)
    if out is not None:
        from rvsmlog.pages.dossier import KIND, dossier_page
        from rvsmlog.pages.page import write_page

        write_page(Path(out), KIND, dossier_page(made, now()))
    if json:
        show_json(dossier_object(made))
        return
    registration = made.now.particulars.registration
    show(wrap(f"{registration}  {headline(made.verdict)}", style="bold"))
    show(wrap(f"dossier of {span.first} to {span.last}, as known now", 2, 4))
    show(wrap(f"written: {out}", 2, 4))
