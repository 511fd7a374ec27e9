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
    said,
)
from rvsmlog.dates import now
from rvsmlog.records.static_errors import StaticError
from rvsmlog.reports.static_screen import static_lines, static_object
from rvsmlog.reports.text import show, show_json, wrap
from rvsmlog.store.writing.static_estimate import (
    HEIGHTS_ARE,
    HUMIDITY,
    estimate,
    record_estimate,
    weather_files,
)

_SoundingFiles = Annotated[
    list[str] | None,
    typer.Option(
        "--soundings",
        metavar="FILE",
        help="Soundings, IGRA version 2 text; once for each file.",
        show_default=False,
    ),
]
_HeightFiles = Annotated[
    list[str] | None,
    typer.Option(
        "--heights",
        metavar="FILE",
        help="Heights of pressure levels, CSV: valid_time, lat, lon, level_hPa, height_gpm.",
        show_default=False,
    ),
]
_HeightsAre = Annotated[
    str | None,
    typer.Option(
        "--heights-are",
        metavar="WORD",
        help="What --heights come from: analysis, or forecast unless said.",
        show_default=False,
    ),
]
_ClimbFiles = Annotated[
    list[str] | None,
    typer.Option(
        "--climb",
        metavar="FILE",
        help="Own climbs, CSV: valid_time, level, static_air_temperature_c. Change only.",
        show_default=False,
    ),
]
_Humidity = Annotated[
    str | None,
    typer.Option(
        "--humidity",
        metavar="PER CENT",
        help="Relative humidity in own climbs; 50 unless said.",
        show_default=False,
    ),
]
_KindConfirmed = Annotated[
    bool,
    typer.Option(
        "--kind-confirmed",
        help="The receiver's manual says what its height is above, as recorded.",
    ),
]
_UpTo = Annotated[
    str | None,
    typer.Option("--at", metavar="INSTANT", help="Readings up to then; now unless said."),
]
_Record = Annotated[
    bool, typer.Option("--record", help="Enter the estimate in the airframe's log.")
]


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, static_error)


def static_error(
    reg: Registration,
    sounding_files: _SoundingFiles = None,
    height_files: _HeightFiles = None,
    heights_are: _HeightsAre = None,
    climb: _ClimbFiles = None,
    humidity: _Humidity = None,
    kind_confirmed: _KindConfirmed = False,
    at: _UpTo = None,
    record: _Record = False,
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
    weather = weather_files(
        soundings=_paths(sounding_files),
        heights=_paths(height_files),
        heights_are=said("--heights-are", heights_are, HEIGHTS_ARE.parse),
        climbs=_paths(climb),
        humidity_percent=said("--humidity", humidity, HUMIDITY.parse),
    )
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


def _paths(names: list[str] | None) -> tuple[Path, ...]:
    return tuple(map(Path, names or ()))
