"""Cross-checks out of recorded flight data."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

from rvsmlog.cli.options import AuthorOption, JsonOption, StoreOption, author, opened, said
from rvsmlog.cli.progress import progress
from rvsmlog.cli.recording import ReadingsConfirmed
from rvsmlog.dates import now, parse_instant
from rvsmlog.errors import InputError
from rvsmlog.records.fields import Real
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.trade_fields import Level
from rvsmlog.reports.csv_text import write_csv
from rvsmlog.reports.extraction import extraction_lines, extraction_object, summary
from rvsmlog.reports.text import show, show_json
from rvsmlog.science.level_segments import Criterion
from rvsmlog.store.files import new_file
from rvsmlog.store.importing.extraction import Extracted, enter
from rvsmlog.store.importing.extraction import extract as extract_from
from rvsmlog.store.importing.recorded_flight import TIME_COLUMN, Columns

#: Files from this size on have a progress bar, bytes: about a second's work.
_BIG = 2_000_000


def _column(option: str, what: str) -> Any:
    """Describe an option that names a column."""
    return typer.Option(f"--{option}-column", metavar="NAME", help=what, show_default=False)


def _number(option: str, metavar: str, what: str) -> Any:
    return typer.Option(option, metavar=metavar, help=what, show_default=False)


def extract(
    file: Annotated[str, typer.Argument(metavar="FILE", help="Recorded flight data, CSV, UTF-8.")],
    record: Annotated[
        str | None,
        typer.Option("--record", metavar="REG", help="Enter them in this airframe's log at once."),
    ] = None,
    out: Annotated[
        str | None,
        typer.Option("--out", metavar="NEW", help="Write them to this new CSV file."),
    ] = None,
    time: Annotated[str | None, _column("time", "Time. Looked for: time.")] = None,
    start: Annotated[
        str | None,
        _number("--start", "INSTANT", "Times are seconds since this instant."),
    ] = None,
    primary_1: Annotated[
        str | None, _column("primary-1", "Altimeter 1, ft. Looked for: primary_1_ft.")
    ] = None,
    primary_2: Annotated[
        str | None, _column("primary-2", "Altimeter 2, ft. Looked for: primary_2_ft.")
    ] = None,
    standby: Annotated[
        str | None, _column("standby", "Standby altimeter, ft. Looked for: standby_ft.")
    ] = None,
    transponder: Annotated[
        str | None, _column("transponder", "Transponder, ft. Looked for: transponder_ft.")
    ] = None,
    gnss: Annotated[
        str | None, _column("gnss", "GNSS height, ft. Looked for: gnss_height_ft.")
    ] = None,
    gnss_kind: Annotated[
        str | None,
        _number("--gnss-kind", "WORD", "GNSS height above: ellipsoid or mean-sea-level."),
    ] = None,
    mach: Annotated[str | None, _column("mach", "Mach number. Looked for: mach.")] = None,
    static_temperature: Annotated[
        str | None,
        _column("static-temperature", "Celsius. Looked for: static_air_temperature_c."),
    ] = None,
    total_temperature: Annotated[
        str | None,
        _column("total-temperature", "Celsius. Looked for: total_air_temperature_c."),
    ] = None,
    latitude: Annotated[
        str | None, _column("latitude", "Degrees. Looked for: latitude_deg.")
    ] = None,
    longitude: Annotated[
        str | None, _column("longitude", "Degrees. Looked for: longitude_deg.")
    ] = None,
    setting_1: Annotated[
        str | None, _column("setting-1", "Sub-scale 1, hPa or inHg: only 1013.25 hPa counts.")
    ] = None,
    setting_2: Annotated[
        str | None, _column("setting-2", "Sub-scale 2, hPa or inHg: only 1013.25 hPa counts.")
    ] = None,
    steady_ft: Annotated[
        str | None, _number("--steady-ft", "FEET", "X of the criterion; 100 unless said.")
    ] = None,
    rate_fpm: Annotated[
        str | None, _number("--rate-fpm", "FT/MIN", "Y of the criterion; 200 unless said.")
    ] = None,
    least_minutes: Annotated[
        str | None, _number("--least-minutes", "MINUTES", "Z of the criterion; 5 unless said.")
    ] = None,
    longest_minutes: Annotated[
        str | None,
        _number("--longest-minutes", "MINUTES", "Longer stretches are cut; 60 unless said."),
    ] = None,
    lowest_level: Annotated[
        str | None, _number("--lowest-level", "LEVEL", "Only from here up; FL180 unless said.")
    ] = None,
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
    named = {
        "primary_1_ft": primary_1,
        "primary_2_ft": primary_2,
        "standby_ft": standby,
        "transponder_ft": transponder,
        "gnss_height_ft": gnss,
        "mach": mach,
        "static_air_temperature_c": static_temperature,
        "total_air_temperature_c": total_temperature,
        "latitude_deg": latitude,
        "longitude_deg": longitude,
    }
    columns = Columns(
        time=time or TIME_COLUMN,
        named={name: column for name, column in named.items() if column is not None},
        settings=tuple(each for each in (setting_1, setting_2) if each is not None),
        start=said("--start", start, parse_instant),
    )
    criterion = Criterion(
        steady_ft=_real("--steady-ft", steady_ft, 100.0, 1.0, 500.0),
        rate_ft_min=_real("--rate-fpm", rate_fpm, 200.0, 1.0, 2000.0),
        least_s=_real("--least-minutes", least_minutes, 5.0, 0.5, 600.0) * 60.0,
        longest_s=_real("--longest-minutes", longest_minutes, 60.0, 0.5, 600.0) * 60.0,
        lowest_level=said("--lowest-level", lowest_level, Level("").parse) or 180,
    )
    found = _extracted(Path(file), columns, criterion, _kind(gnss_kind, gnss))
    entered = None
    with _written(out, found):
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


def _real(option: str, text: str | None, usual: float, low: float, high: float) -> float:
    """Read a number of an option."""
    value = said(option, text, Real(option, low=low, high=high).parse)
    return usual if value is None else value


def _kind(kind: str | None, column: str | None) -> str | None:
    """Read what the GNSS height is above; it is never assumed."""
    if kind is not None:
        return str(CrossCheck.kind.by_name["gnss_kind"].type.parse(kind))
    if column is not None:
        raise InputError(
            "what the GNSS height is above is not said",
            "say --gnss-kind ellipsoid or mean-sea-level, as the receiver's manual says",
        )
    return None


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


@contextmanager
def _written(out: str | None, found: Extracted) -> Iterator[None]:
    """Write the comparisons to a new file, kept only when what is done with it done too."""
    if out is None:
        yield
        return
    path = Path(out)
    if path.exists() or path.is_symlink():
        raise InputError(f"{path} exists already", "name a file that does not exist yet")
    if not path.parent.is_dir() or "\0" in out:
        raise InputError(f"{out!r} cannot be written: there is no such folder", "name another")
    with new_file(path) as draft:
        with draft.open("w", encoding="utf-8", newline="") as handle:
            write_csv(CrossCheck.kind, found.records, handle)
            handle.flush()
            os.fsync(handle.fileno())
        yield
