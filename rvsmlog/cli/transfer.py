"""An airframe's logbook as a file: it leaves with the aeroplane, and enters its buyer's store."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.cli.helping import add
from rvsmlog.cli.options import JsonOption, Registration, StoreOption, opened
from rvsmlog.cli.progress import Tell, progress
from rvsmlog.dates import now
from rvsmlog.reports.text import show, show_json

#: Entries from which on a bar is shown: about a second's work.
_WORTH_A_BAR = 10_000


def add_export(app: typer.Typer) -> None:
    """Add the command that writes an airframe's logbook to a file."""
    add(app, "export", export)


def export(
    reg: Registration,
    file: Annotated[
        str, typer.Argument(metavar="FILE", help="New file; compressed if it ends in .gz.")
    ],
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Write an airframe's logbook, with its digests, to a file that another store takes in.

    Nothing changes here; the buyer takes it in with `rvsmlog airframe import`. Send the seal that
    is printed by another way, so that the buyer can hold the log against it.

    Example: rvsmlog airframe export QX-ALD QX-ALD.jsonl.gz
    """
    from rvsmlog.reports.transfer import exported_lines, exported_object
    from rvsmlog.store.safekeeping.export import export_airframe

    with opened(store) as open_store:
        made = export_airframe(open_store, reg, Path(file))
    if json:
        show_json(exported_object(made))
    else:
        show(exported_lines(made))


def take_in(path: Path, *, where: str | None, by: str, as_json: bool) -> None:
    """Take an airframe's logbook in from a file, and say what became of it."""
    from rvsmlog.reports.transfer import taken_lines, taken_object
    from rvsmlog.store.safekeeping.transfer import import_airframe

    with opened(where) as store, reading(path) as tell:
        taken = import_airframe(store, path, by=by, clock=now, progress=tell)
    if as_json:
        show_json(taken_object(taken))
    else:
        show(taken_lines(taken))


@contextmanager
def reading(path: Path) -> Iterator[Tell | None]:
    """Show a bar while a file of logbooks is read."""
    from rvsmlog.store.safekeeping.exchange_reader import open_logbooks

    with open_logbooks(path) as file:
        entries = file.entries
    with progress("reading", entries, least=_WORTH_A_BAR) as tell:
        yield tell
