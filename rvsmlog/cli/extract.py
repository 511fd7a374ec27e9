"""Cross-checks out of recorded flight data."""

import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from rvsmlog.cli.option_groups import OptionRow, Said, with_options
from rvsmlog.cli.options import AuthorOption, JsonOption, StoreOption, author, opened, said
from rvsmlog.cli.progress import progress
from rvsmlog.cli.recording import ReadingsConfirmed
from rvsmlog.dates import now, parse_instant
from rvsmlog.records.fields import FieldType, Real
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.trade_fields import Level
from rvsmlog.reports.csv_text import new_csv, write_csv
from rvsmlog.reports.extraction import extraction_lines, extraction_object, summary
from rvsmlog.reports.text import show, show_json
from rvsmlog.science.level_segments import Criterion
from rvsmlog.store.importing.extraction import Extracted, enter
from rvsmlog.store.importing.extraction import extract as extract_from
from rvsmlog.store.importing.recorded_flight import TIME_COLUMN, Columns

#: Files from this size on have a progress bar, bytes: about a second's work.
_BIG = 2_000_000
#: Columns of numbers: the option's first part, what a sample calls it, what it is.
_NUMBERS = (
    ("primary-1", "primary_1_ft", "Altimeter 1, ft."),
    ("primary-2", "primary_2_ft", "Altimeter 2, ft."),
    ("standby", "standby_ft", "Standby altimeter, ft."),
    ("transponder", "transponder_ft", "Transponder, ft."),
    ("gnss", "gnss_height_ft", "GNSS height, ft."),
    ("mach", "mach", "Mach number."),
    ("static-temperature", "static_air_temperature_c", "Celsius."),
    ("total-temperature", "total_air_temperature_c", "Celsius."),
    ("latitude", "latitude_deg", "Degrees."),
    ("longitude", "longitude_deg", "Degrees."),
)
_SETTINGS = ("setting-1", "setting-2")
_COLUMN_OPTIONS = (
    OptionRow("time-column", "NAME", f"Time. Looked for: {TIME_COLUMN}."),
    OptionRow("start", "INSTANT", "Times are seconds since this instant."),
    *(
        OptionRow(f"{option}-column", "NAME", f"{what} Looked for: {name}.")
        for option, name, what in _NUMBERS
    ),
    *(
        OptionRow(
            f"{option}-column",
            "NAME",
            f"Sub-scale {option[-1]}, hPa or inHg: only 1013.25 hPa counts.",
        )
        for option in _SETTINGS
    ),
)
_CRITERION_OPTIONS = (
    OptionRow("steady-ft", "FEET", "X of the criterion; 100 unless said."),
    OptionRow("rate-fpm", "FT/MIN", "Y of the criterion; 200 unless said."),
    OptionRow("least-minutes", "MINUTES", "Z of the criterion; 5 unless said."),
    OptionRow("longest-minutes", "MINUTES", "Longer stretches are cut; 60 unless said."),
    OptionRow("lowest-level", "LEVEL", "Only from here up; FL180 unless said."),
)
#: What each of them sets, how it is read, and what it is multiplied by.
_CRITERION: dict[str, tuple[str, FieldType[Any], int]] = {
    "steady-ft": ("steady_ft", Real("", low=1.0, high=500.0), 1),
    "rate-fpm": ("rate_ft_min", Real("", low=1.0, high=2000.0), 1),
    "least-minutes": ("least_s", Real("", low=0.5, high=600.0), 60),
    "longest-minutes": ("longest_s", Real("", low=0.5, high=600.0), 60),
    "lowest-level": ("lowest_level", Level(""), 1),
}

_File = Annotated[str, typer.Argument(metavar="FILE", help="Recorded flight data, CSV, UTF-8.")]
_RecordOption = Annotated[
    str | None,
    typer.Option("--record", metavar="REG", help="Enter them in this airframe's log at once."),
]
_OutOption = Annotated[
    str | None, typer.Option("--out", metavar="NEW", help="Write them to this new CSV file.")
]
_GnssKindOption = Annotated[
    str | None,
    typer.Option(
        "--gnss-kind",
        metavar="WORD",
        help="GNSS height above: ellipsoid or mean-sea-level.",
        show_default=False,
    ),
]


def _columns(given: Said) -> Columns:
    """Read which columns hold what."""
    named = {name: given[f"{option}-column"] for option, name, _ in _NUMBERS}
    settings = [given[f"{option}-column"] for option in _SETTINGS]
    return Columns(
        time=given["time-column"] or TIME_COLUMN,
        named={name: column for name, column in named.items() if column is not None},
        settings=tuple(each for each in settings if each is not None),
        start=said("--start", given["start"], parse_instant),
    )


def _criterion(given: Said) -> Criterion:
    """Read what counts as level flight; what is not said is as usual."""
    values: dict[str, Any] = {}
    for option, (name, kind, times) in _CRITERION.items():
        value = said(f"--{option}", given[option], kind.parse)
        if value is not None:
            values[name] = value * times
    return Criterion(**values)


@with_options("columns", _COLUMN_OPTIONS, _columns)
@with_options("criterion", _CRITERION_OPTIONS, _criterion)
def extract(
    file: _File,
    *,
    record: _RecordOption = None,
    out: _OutOption = None,
    columns: Columns,
    gnss_kind: _GnssKindOption = None,
    criterion: Criterion,
    readings_confirmed: ReadingsConfirmed = False,
    store: StoreOption = None,
    by: AuthorOption = None,
    json: JsonOption = False,
) -> None:
    """Make cross-checks of recorded flight data, one for each stretch of level flight.

    Level is where each altimeter stays within X feet of its own running mean and the mean of both
    changes by less than Y feet a minute over 30 seconds, for Z minutes or more; samples that do not
    fit for up to 10 seconds are passed over. The altimeters need not agree. The level held is the
    whole thousand of feet within 200 ft of one of them.

    Altitudes are feet on 1013.25 hPa: name the sub-scales' columns where they are recorded, else
    that is taken for granted from the lowest level up. Each comparison is the median of
    altimeter 1, and for the rest altimeter 1 plus the median difference from it.

    Without --record and --out the comparisons are printed as CSV for `rvsmlog crosscheck import`.

    Example: rvsmlog crosscheck extract sample_data/sheets/recorded.csv
        --start 2026-11-21T09:00Z --record QX-ALD
    """
    kind = said("--gnss-kind", gnss_kind, CrossCheck.kind.by_name["gnss_kind"].type.parse)
    found = _extracted(Path(file), columns, criterion, kind)
    entered = None
    with new_csv(None if out is None else Path(out), CrossCheck.kind, found.records):
        if record is not None:
            with opened(store) as open_store:
                entered = enter(
                    open_store,
                    record,
                    found.records,
                    by=author(by),
                    clock=now,
                    readings_confirmed=readings_confirmed,
                )
    if json:
        show_json(extraction_object(found, entered))
    elif out is None and entered is None:
        write_csv(CrossCheck.kind, found.records)
        show(summary(found), sys.stderr)
    else:
        show(extraction_lines(found, entered, out))


def _extracted(
    path: Path, columns: Columns, criterion: Criterion, gnss_kind: str | None
) -> Extracted:
    """Extract, with a bar on a terminal where the file is big."""
    try:
        size = path.stat().st_size
    except OSError:
        size = 0  # the reader says what is wrong with the file
    with progress("reading", size, least=_BIG) as tell:
        return extract_from(path, columns, criterion, gnss_kind=gnss_kind, tell=tell)
