"""Commands about a test's readings: shown with their tolerances, and imported point by point."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.cli.follows import follows
from rvsmlog.cli.helping import add
from rvsmlog.cli.option_groups import OptionRow, Said, with_options
from rvsmlog.cli.options import (
    AuthorOption,
    JsonOption,
    Registration,
    StoreOption,
    author,
    opened,
)
from rvsmlog.cli.recording import recorded_object
from rvsmlog.dates import now
from rvsmlog.records.readings import Readings
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.reports.text import Line, escape, show, show_json
from rvsmlog.store.importing.csv_drafts import BadRow
from rvsmlog.store.importing.point_csv import read_points
from rvsmlog.store.writing.recording import record_entry

#: How many bad rows a screen shows.
_SHOWN = 20
_Entry = Annotated[str, typer.Argument(metavar="ENTRY", help="Entry of the test.")]


#: Fields of the readings that options say, for they are none of a point's, and what stands for
#: the value.
_BESIDE = {
    "specification": "appendix-e|maker",
    "part_number": "TEXT",
    "test_equipment": "TEXT",
    "scale_rate_ft_min": "FT/MIN",
    "hysteresis_start_s": "SECONDS",
    "hysteresis_rate_ft_min": "FT/MIN",
    "after_effect_s": "SECONDS",
    "remarks": "TEXT",
}


def _option(field: str) -> OptionRow:
    """Describe the option of one field of the readings."""
    spec = Readings.kind.by_name[field]
    return OptionRow(spec.option.removeprefix("--"), _BESIDE[field], spec.type.help)


def _fields(given: Said) -> dict[str, str | None]:
    """Give what the options say by the field."""
    return {field: given[_option(field).name] for field in _BESIDE}


def add_testing(app: typer.Typer) -> None:
    """Add the commands of the noun ``test`` that no other noun has."""
    add(app, "show", show_test)
    add(app, "import-points", import_points)


def show_test(
    reg: Registration,
    number: Annotated[str, typer.Argument(metavar="ENTRY", help="Number of the entry.")],
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Show one test in full: its readings with tolerance and margin, and its history.

    Example: rvsmlog test show QX-BRE 35
    """
    from rvsmlog.reports.entry import entry_lines, entry_object
    from rvsmlog.reports.judgement import judgement_lines, judgement_object
    from rvsmlog.store.reading.after_work import judged_test
    from rvsmlog.store.reading.airframes import find_airframe
    from rvsmlog.store.reading.history import history

    wanted = EntryNumber("entry").parse(number)
    with opened(store) as open_store, open_store.reading() as connection:
        book = find_airframe(connection, reg)
        entry = history(connection, book, wanted)
        judged = judged_test(connection, book, wanted, now())
    if json:
        judgement = None if judged is None else judgement_object(judged)
        show_json({**entry_object(entry), "judgement": judgement})
        return
    show(entry_lines(entry))
    if judged is not None:
        show([Line(""), *judgement_lines(judged)])


@with_options("beside", tuple(map(_option, _BESIDE)), _fields)
def import_points(
    reg: Registration,
    number: _Entry,
    file: Annotated[str, typer.Argument(metavar="FILE", help="CSV file, UTF-8.")],
    beside: dict[str, str | None],
    store: StoreOption = None,
    by: AuthorOption = None,
    json: JsonOption = False,
) -> None:
    """Enter the readings of a test from a CSV file, one row for each point.

    Columns: check, point, reading_ft, dwell_s. Checks: scale, hysteresis, after-effect, friction,
    case-leak, barometric (points in inHg), static-leak (points in psi), correspondence; the others
    have points in feet, after-effect and case-leak none. All rows are entered, or none.

    Example: rvsmlog test import-points QX-ALD 33 sample_data/sheets/bench.csv
        --test-equipment "air data test set 3"
    """
    points = read_points(Path(file))
    if points.bad:
        _complain(points.bad)
        raise typer.Exit(2)
    texts: dict[str, str | None] = {
        **points.texts,
        "test": number,
        **beside,
    }
    with opened(store) as open_store:
        ref, record = record_entry(
            open_store, Readings.kind, texts, by=author(by), clock=now, registration=reg
        )
    found = follows(store, ref, record)
    if json:
        show_json({**recorded_object(ref, record), **found.fields})
        return
    show([Line(f"recorded {ref}: {record.title}", "bold"), *found.lines])


def _complain(bad: list[BadRow]) -> None:
    """Name the bad rows on standard error."""
    rows = f"{len(bad):,} bad row{'' if len(bad) == 1 else 's'}"
    sys.stderr.write(f"error: {rows}; nothing was written\n")
    for each in bad[:_SHOWN]:
        sys.stderr.write(f"  {escape(str(each))}\n")
    if len(bad) > _SHOWN:
        sys.stderr.write(f"  and {len(bad) - _SHOWN:,} more\n")
