"""Importing a CSV file: what was written, and every bad row with what is wanted."""

import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import typer

from rvsmlog.cli.options import opened
from rvsmlog.cli.progress import Tell, progress
from rvsmlog.dates import now
from rvsmlog.errors import InputError
from rvsmlog.records.base import RecordKind
from rvsmlog.reports.text import Line, escape, show, show_json, wrap
from rvsmlog.store.importing.csv_import import ImportResult, import_csv
from rvsmlog.store.writing.beside import short_turns

#: How many bad rows a screen shows.
SHOWN = 20
#: Files from this size on have a progress bar, bytes: about a second's work.
_BIG = 2_000_000


def run_import(
    kind: RecordKind,
    path: Path,
    *,
    registration: str | None,
    reject_file: Path | None,
    where: str | None,
    by: str,
    as_json: bool,
    readings_confirmed: bool = False,
) -> None:
    """Import a CSV file and say what was written.

    Parameters
    ----------
    kind : RecordKind
        What its rows are.
    path : Path
        The file.
    registration : str or None
        The airframe of all rows.
    reject_file : Path or None
        Where bad rows go; None refuses the file for one bad row.
    where : str or None
        The store.
    by : str
        Who records.
    as_json : bool
        Whether to answer in JSON.
    readings_confirmed : bool
        Whether readings stand that no altimeter shows in service.

    Raises
    ------
    typer.Exit
        With status 2 when rows were bad and nothing was written.
    InputError
        When the file as a whole cannot be read.
    """
    with short_turns(), opened(where) as store, _progress(path) as progress:
        result = import_csv(
            store,
            path,
            kind,
            by=by,
            clock=now,
            registration=registration,
            reject_file=reject_file,
            readings_confirmed=readings_confirmed,
            progress=progress,
        )
    if as_json:
        show_json(_object(kind, result, reject_file))
    else:
        _say(kind, result, reject_file)
    if result.rejected and not result.written:
        raise typer.Exit(2)


def _say(kind: RecordKind, result: ImportResult, reject_file: Path | None) -> None:
    """Say what was written on the screen; bad rows on standard error."""
    if result.written:
        show([Line(f"imported {result.written:,}: {kind.title}", "bold")])
        for each in result.numbers:
            last = f" to #{each.last}" if each.last > each.first else ""
            show(wrap(f"{each.logbook}#{each.first}{last}", 2, 4))
    if not result.rejected:
        return
    rows = f"{result.rejected:,} bad row{'' if result.rejected == 1 else 's'}"
    if not result.written and reject_file is not None:
        name = escape(str(reject_file)).replace("\n", "\\n")
        sys.stderr.write(f"error: {rows}, written to {name}; nothing was recorded\n")
    elif not result.written:
        sys.stderr.write(f"error: {rows}; nothing was written\n")
    else:
        sys.stderr.write(f"left out: {rows}, written to {escape(str(reject_file))}\n")
    for bad in result.bad[:SHOWN]:
        value = f" {_short(bad.value)!r}" if bad.value and repr(bad.value) not in bad.says else ""
        column = f", {bad.column}{value}" if bad.column else ""
        wanted = f"; {bad.wanted}" if bad.wanted else ""
        sys.stderr.write(f"  {escape(f'line {bad.line}{column}: {bad.says}{wanted}')}\n")
    if len(result.bad) > SHOWN:
        also = "" if result.complete else " at the least; the rest was not looked at"
        sys.stderr.write(f"  and {len(result.bad) - SHOWN:,} more{also}\n")
    if not result.written and reject_file is None:
        known = all(bad.says.startswith("is already on record") for bad in result.bad)
        do = "leave them out" if known else "mend these rows, or leave them out"
        sys.stderr.write(f"hint: {do} with --skip-bad REJECTS\n")


def _short(value: str) -> str:
    """Cut a long value short."""
    longest = 40
    return value if len(value) <= longest else value[:longest] + "..."


def _object(kind: RecordKind, result: ImportResult, reject_file: Path | None) -> Mapping[str, Any]:
    """Give what was done as JSON has it."""
    return {
        "kind": kind.name,
        "written": result.written,
        "numbers": [
            {"logbook": each.logbook, "first": each.first, "last": each.last}
            for each in result.numbers
        ],
        "rejected": result.rejected,
        "reject_file": None if reject_file is None or not result.rejected else str(reject_file),
        "complete": result.complete,
        "bad": [
            {
                "line": bad.line,
                "column": bad.column,
                "value": bad.value,
                "says": bad.says,
                "wanted": bad.wanted,
            }
            for bad in result.bad
        ],
    }


@contextmanager
def _progress(path: Path) -> Iterator[Tell | None]:
    """Show a bar on a terminal while a big file is read."""
    try:
        big = path.stat().st_size >= _BIG
    except (OSError, ValueError):
        big = False  # the import itself says what is wrong with the file
    rows = _lines(path) if big and sys.stderr.isatty() else 0
    with progress("reading", rows, least=1) as tell:
        yield tell


def _lines(path: Path) -> int:
    """Count a file's lines, about as many as it has rows."""
    try:
        with path.open("rb") as handle:
            return sum(chunk.count(b"\n") for chunk in iter(lambda: handle.read(1 << 20), b""))
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}", "name a CSV file") from None
