"""The estimate of the error that both altimeters share: made from files of weather, and entered."""

from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection

from rvsmlog import geoid_grid
from rvsmlog.answers.static_analysis import StaticAnalysis, analysed
from rvsmlog.dates import check_instant, local_day
from rvsmlog.errors import InputError
from rvsmlog.facts import Logged, Question
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.fields import Choice, Real
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.static_errors import StaticError
from rvsmlog.science.weather_choice import Chooser, worst
from rvsmlog.science.weather_worth import WORTH, WeatherSource
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.facts_reader import read_facts
from rvsmlog.store.reading.reader import View, view
from rvsmlog.store.reading.static_reader import (
    checks_with_height,
    climb_files,
    grounds,
    heights,
    soundings,
)
from rvsmlog.store.writing.recording import record_entry

#: What heights of pressure levels may come from; the first where nothing is said.
HEIGHTS_ARE = Choice("", words=(WeatherSource.FORECAST.value, WeatherSource.ANALYSIS.value))
HUMIDITY = Real("", low=0, high=100)
_HUMIDITY_PERCENT = 50.0
_LONGEST_REFERENCE = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherFiles:
    """Files that say how high the pressure surfaces stood.

    Parameters
    ----------
    source : WeatherSource
        What they hold: ``SOUNDING`` (IGRA version 2 text), ``ANALYSIS`` or ``FORECAST`` (CSV of
        heights of pressure levels), ``OWN_CLIMB`` (CSV of temperatures).
    paths : tuple of Path
        One or more.
    humidity_percent : float
        Relative humidity in own climbs, per cent.
    """

    source: WeatherSource
    paths: tuple[Path, ...]
    humidity_percent: float = _HUMIDITY_PERCENT


def weather_files(
    *,
    soundings: tuple[Path, ...] = (),
    heights: tuple[Path, ...] = (),
    heights_are: str | None = None,
    climbs: tuple[Path, ...] = (),
    humidity_percent: float | None = None,
) -> WeatherFiles:
    """Give the one kind of files that is named.

    Parameters
    ----------
    soundings, heights, climbs : tuple of Path
        Files of each kind; those of two kinds are empty.
    heights_are : str or None
        One of :data:`HEIGHTS_ARE`: what heights of pressure levels come from.
    humidity_percent : float or None
        Relative humidity in own climbs, per cent.

    Raises
    ------
    InputError
        When no kind is named, or several are.
    """
    given = [paths for paths in (soundings, heights, climbs) if paths]
    if len(given) != 1:
        raise InputError(
            "no weather is named" if not given else "several kinds of weather are named",
            "give --soundings, --heights or --climb, one of them",
        )
    if soundings:
        return WeatherFiles(source=WeatherSource.SOUNDING, paths=soundings)
    if heights:
        word = HEIGHTS_ARE.words[0] if heights_are is None else heights_are
        return WeatherFiles(source=WeatherSource(word), paths=heights)
    humidity = _HUMIDITY_PERCENT if humidity_percent is None else humidity_percent
    return WeatherFiles(source=WeatherSource.OWN_CLIMB, paths=climbs, humidity_percent=humidity)


def estimate(
    store: Store,
    registration: str,
    weather: WeatherFiles,
    at: datetime,
    *,
    kind_confirmed: bool = False,
) -> StaticAnalysis:
    """Estimate the common error from the readings on record up to an instant.

    Parameters
    ----------
    store : Store
        Open.
    registration : str
        The airframe.
    weather : WeatherFiles
        What the readings are held against.
    at : datetime
        Readings up to then count, aware.
    kind_confirmed : bool
        Whether the receiver's manual says what its height is above, as recorded.

    Raises
    ------
    InputError
        When the airframe is unknown, or a file cannot be read or does not fit.
    """
    check_instant(at)
    with store.reading() as connection:
        book = find_airframe(connection, registration)
        facts = read_facts(connection, book, Question(at=at))
        seen = view(connection, book)
        checks = checks_with_height(connection, seen, at)
        choose = _chooser(weather, connection, seen, checks, at)
    return analysed(facts, checks, choose, geoid_grid.load(), kind_confirmed=kind_confirmed)


def _chooser(
    weather: WeatherFiles,
    connection: Connection,
    seen: View,
    checks: Sequence[Logged[CrossCheck]],
    at: datetime,
) -> Chooser:
    """Read the weather."""
    if weather.source is WeatherSource.SOUNDING:
        return soundings(weather.paths, checks)
    if weather.source is WeatherSource.OWN_CLIMB:
        known = grounds(connection, seen, at)
        return climb_files(weather.paths, known, weather.humidity_percent)
    return heights(weather.paths, weather.source)


def record_estimate(
    store: Store,
    found: StaticAnalysis,
    weather: WeatherFiles,
    *,
    by: str,
    clock: Callable[[], datetime],
) -> Ref:
    """Enter an estimate in its airframe's log, where it says something by itself.

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
    ref, _ = record_entry(
        store,
        StaticError.kind,
        _texts(found, weather, clock()),
        by=by,
        clock=clock,
        registration=found.facts.particulars.registration,
    )
    return ref


def _texts(found: StaticAnalysis, weather: WeatherFiles, now: datetime) -> dict[str, str]:
    """Write an estimate as the texts of its entry."""
    pooled, zone = found.pooled, found.facts.time_zone
    days = [local_day(one.at, zone) for one in found.flights]
    return {
        "estimated_on": local_day(now, zone).isoformat(),
        "first_on": min(days).isoformat(),
        "last_on": max(days).isoformat(),
        "flights": str(pooled.independent),
        "weather": worst(pooled.sources).value.replace(" ", "-"),
        "error_ft": f"{pooled.mean_ft:.1f}",
        "low_ft": f"{pooled.low_ft:.1f}",
        "high_ft": f"{pooled.high_ft:.1f}",
        "confidence_percent": f"{100 * pooled.confidence:g}",
        "reference": ", ".join(path.name for path in weather.paths)[:_LONGEST_REFERENCE],
    }
