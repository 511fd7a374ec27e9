"""The error that both altimeters share, estimated from the log and the weather."""

from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.cli.helping import single
from rvsmlog.cli.options import (
    AuthorOption,
    JsonOption,
    Registration,
    StoreOption,
    author,
    instant_of,
    opened,
)
from rvsmlog.dates import now
from rvsmlog.errors import InputError
from rvsmlog.records.fields import Choice, Real
from rvsmlog.records.static_errors import StaticError
from rvsmlog.reports.static_screen import static_lines, static_object
from rvsmlog.reports.text import show, show_json, wrap
from rvsmlog.science.weather_worth import WeatherSource
from rvsmlog.store.writing.static_estimate import WeatherFiles, estimate, record_estimate

_FilesOption = list[str] | None


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, static_error)


def static_error(
    reg: Registration,
    sounding_files: Annotated[
        _FilesOption,
        typer.Option(
            "--soundings",
            metavar="FILE",
            help="Soundings, IGRA version 2 text; once for each file.",
            show_default=False,
        ),
    ] = None,
    height_files: Annotated[
        _FilesOption,
        typer.Option(
            "--heights",
            metavar="FILE",
            help="Heights of pressure levels, CSV: valid_time, lat, lon, level_hPa, height_gpm.",
            show_default=False,
        ),
    ] = None,
    heights_are: Annotated[
        str | None,
        typer.Option(
            "--heights-are",
            metavar="WORD",
            help="What --heights come from: analysis, or forecast unless said.",
            show_default=False,
        ),
    ] = None,
    climb: Annotated[
        _FilesOption,
        typer.Option(
            "--climb",
            metavar="FILE",
            help="Own climbs, CSV: valid_time, level, static_air_temperature_c. Change only.",
            show_default=False,
        ),
    ] = None,
    humidity: Annotated[
        str | None,
        typer.Option(
            "--humidity",
            metavar="PER CENT",
            help="Relative humidity in own climbs; 50 unless said.",
            show_default=False,
        ),
    ] = None,
    kind_confirmed: Annotated[
        bool,
        typer.Option(
            "--kind-confirmed",
            help="The receiver's manual says what its height is above, as recorded.",
        ),
    ] = False,
    at: Annotated[
        str | None,
        typer.Option("--at", metavar="INSTANT", help="Readings up to then; now unless said."),
    ] = None,
    record: Annotated[
        bool, typer.Option("--record", help="Enter the estimate in the airframe's log.")
    ] = False,
    store: StoreOption = None,
    by: AuthorOption = None,
    json: JsonOption = False,
) -> None:
    """Estimate the error that both altimeters share, from GNSS heights and the weather.

    No cross-check shows what a dented skin or a blocked port does to both altimeters. Cross-checks
    with a GNSS height, what it is above, and a position are held against soundings, heights of
    pressure levels, or temperatures noted in the climb. Those flown since the last work on the
    altimetry count; where there were flights before it, the change is shown too.

    This is no approved height monitoring and never stands in for one.

    Example: rvsmlog static-error QX-ESK --heights sample_data/heights.csv --heights-are analysis
        --kind-confirmed
    """
    weather = _weather(sounding_files, height_files, heights_are, climb, humidity)
    with opened(store) as open_store:
        instant = instant_of(open_store, at, reg)
        found = estimate(open_store, reg, weather, instant, kind_confirmed=kind_confirmed)
        ref = None
        if record:
            ref = record_estimate(open_store, found, weather, by=author(by), clock=now)
    if json:
        entered = None if ref is None else {"logbook": ref.logbook, "entry": ref.entry}
        show_json({**static_object(found), "recorded": entered})
        return
    show(static_lines(found))
    if ref is not None:
        show(wrap(f"recorded {ref}: {StaticError.kind.title}", style="bold"))


def _weather(
    sounding_files: _FilesOption,
    height_files: _FilesOption,
    heights_are: str | None,
    climb: _FilesOption,
    humidity: str | None,
) -> WeatherFiles:
    """Read which weather is to be used: exactly one kind of file."""
    given = [files for files in (sounding_files, height_files, climb) if files]
    if len(given) != 1:
        raise InputError(
            "no weather is named" if not given else "several kinds of weather are named",
            "give --soundings, --heights or --climb, one of them",
        )
    paths = tuple(Path(name) for name in given[0])
    if sounding_files:
        return WeatherFiles(source=WeatherSource.SOUNDING, paths=paths)
    if height_files:
        kinds = (WeatherSource.FORECAST.value, WeatherSource.ANALYSIS.value)
        word = kinds[0] if heights_are is None else Choice("", words=kinds).parse(heights_are)
        return WeatherFiles(source=WeatherSource(word), paths=paths)
    if humidity is None:
        return WeatherFiles(source=WeatherSource.OWN_CLIMB, paths=paths)
    percent = Real("", low=0, high=100).parse(humidity)
    return WeatherFiles(source=WeatherSource.OWN_CLIMB, paths=paths, humidity_percent=percent)
