"""The error that both altimeters share, estimated from the log and the weather."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Annotated

import typer

from rvsmlog import geoid_grid
from rvsmlog.answers.static_analysis import StaticAnalysis, analysed
from rvsmlog.cli.helping import single
from rvsmlog.cli.options import (
    AuthorOption,
    JsonOption,
    Registration,
    StoreOption,
    author,
    opened,
)
from rvsmlog.dates import local_day, now, parse_instant
from rvsmlog.errors import InputError
from rvsmlog.facts import Facts, Logged, Question
from rvsmlog.records.base import Ref
from rvsmlog.records.fields import Choice, Real
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.static_errors import StaticError
from rvsmlog.reports.static_screen import static_lines, static_object
from rvsmlog.reports.text import show, show_json, wrap
from rvsmlog.science.weather_choice import Chooser, worst
from rvsmlog.science.weather_worth import WORTH, WeatherSource
from rvsmlog.store.connection import Store
from rvsmlog.store.facts_reader import find_airframe, read_facts
from rvsmlog.store.reader import view
from rvsmlog.store.recording import record_entry
from rvsmlog.store.static_reader import (
    checks_with_height,
    climb_files,
    grounds,
    heights,
    soundings,
)

_FilesOption = list[str] | None
_HUMIDITY_PERCENT = 50.0
_LONGEST_REFERENCE = 200
#: Makes the weather of what the options name, once the readings are known.
_Weather = Callable[[Store, str, Facts, Sequence[Logged[CrossCheck]]], Chooser]


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

    Example: rvsmlog static-error QX-ABC --soundings station.txt --kind-confirmed --record
    """
    sources, weather = _weather(sounding_files, height_files, heights_are, climb, humidity)
    instant = now() if at is None else parse_instant(at)
    with opened(store) as open_store:
        with open_store.reading() as connection:
            book = find_airframe(connection, reg)
            facts = read_facts(connection, book, Question(at=instant))
            checks = checks_with_height(connection, view(connection, book), instant)
        choose = weather(open_store, reg, facts, checks)
        found = analysed(facts, checks, choose, geoid_grid.load(), kind_confirmed=kind_confirmed)
        ref = _entered(open_store, reg, found, sources, author(by)) if record else None
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
) -> tuple[list[str], _Weather]:
    """Read which weather is to be used: exactly one kind of file."""
    given = [files for files in (sounding_files, height_files, climb) if files]
    if len(given) != 1:
        raise InputError(
            "no weather is named" if not given else "several kinds of weather are named",
            "give --soundings, --heights or --climb, one of them",
        )
    paths = [Path(name) for name in given[0]]
    if sounding_files:
        return given[0], lambda _store, _reg, _facts, checks: soundings(paths, checks)
    if height_files:
        kinds = (WeatherSource.FORECAST.value, WeatherSource.ANALYSIS.value)
        word = kinds[0] if heights_are is None else Choice("", words=kinds).parse(heights_are)
        return given[0], lambda _store, _reg, _facts, _checks: heights(paths, WeatherSource(word))
    percent = _HUMIDITY_PERCENT
    if humidity is not None:
        percent = Real("", low=0, high=100).parse(humidity)

    def climbs(store: Store, reg: str, facts: Facts, _checks: object) -> Chooser:
        with store.reading() as connection:
            seen = view(connection, find_airframe(connection, reg))
            return climb_files(paths, grounds(connection, seen, facts.now), percent)

    return given[0], climbs


def _entered(store: Store, reg: str, found: StaticAnalysis, sources: list[str], by: str) -> Ref:
    """Enter the estimate, where it says something by itself.

    Raises
    ------
    InputError
        When the kind of height is in doubt, or the weather shows change only.
    """
    pooled = found.pooled
    if found.kind_doubt:
        raise InputError(
            "not recorded: what the GNSS height is above is in doubt",
            "look into the receiver's manual; then say --kind-confirmed, or correct the readings",
        )
    if not all(WORTH[source].absolute for source in pooled.sources):
        raise InputError(
            "not recorded: own climbs carry the probe's error and show change only",
            "use soundings or heights of pressure levels",
        )
    zone = found.facts.time_zone
    days = [local_day(one.at, zone) for one in found.flights]
    texts = {
        "estimated_on": local_day(now(), zone).isoformat(),
        "first_on": min(days).isoformat(),
        "last_on": max(days).isoformat(),
        "flights": str(pooled.independent),
        "weather": worst(pooled.sources).value.replace(" ", "-"),
        "error_ft": f"{pooled.mean_ft:.1f}",
        "low_ft": f"{pooled.low_ft:.1f}",
        "high_ft": f"{pooled.high_ft:.1f}",
        "confidence_percent": f"{100 * pooled.confidence:g}",
        "reference": ", ".join(Path(name).name for name in sources)[:_LONGEST_REFERENCE],
    }
    ref, _ = record_entry(store, StaticError.kind, texts, by=by, clock=now, registration=reg)
    return ref
