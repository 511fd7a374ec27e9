"""A unit's history: on the screen and as JSON."""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.answers.unit_history import FITTED, REMOVED, SWAPPED, TESTED, UnitEvent, UnitHistory
from rvsmlog.reports.judgement import judgement_object
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.science.unit_trend import UnitTrend
from rvsmlog.verdict import CAUTION

#: How the position follows what was done.
_WHERE = {FITTED: " at ", REMOVED: " from ", SWAPPED: " to ", TESTED: " at "}


def history_lines(found: UnitHistory) -> Iterator[Line]:
    """Lay out where a unit was, how it was tested, and how its scale error changes."""
    functions = ", ".join(found.functions) or "unit tested, not fitted"
    parts = f", part {', '.join(found.part_numbers)}" if found.part_numbers else ""
    yield from wrap(f"{found.serial_number}  {functions}{parts}", 0, 2, "bold")
    yield from _places(found)
    if len(found.part_numbers) > 1:
        yield from wrap(
            "Several part numbers bear this serial number: choose one with --part-number.", 2, 2
        )
    yield Line("")
    for event in found.events:
        yield from _event_lines(event)
    yield from _trends(found)
    yield Line("")
    yield from wrap(CAUTION, style="italic")


def _event_lines(event: UnitEvent) -> list[Line]:
    """Write one event; a test of a unit on the bench has no position of its own."""
    bench = event.what == TESTED and event.position == "all"
    where = _WHERE[event.what] + event.position if event.position and not bench else ""
    says = f": {event.says}" if event.says else ""
    entry = f"{event.registration} #{event.ref.entry}"
    return wrap(f"{event.day}  {entry}  {event.what}{where}{says}", 0, len("2026-05-01  "))


def _places(found: UnitHistory) -> Iterator[Line]:
    """Say where it is."""
    if not found.places:
        yield from wrap("now: on record as fitted nowhere", 2, 4)
    for place in found.places:
        where = f"position {place.position}" if place.position else "no position on record"
        yield from wrap(
            f"now: {place.registration}, {place.function}, {where}, since {place.since}", 2, 4
        )
    if len({(place.registration, place.position) for place in found.places}) > 1:
        yield from wrap(
            "On record as fitted in several places at once: correct what is wrong, or record its "
            "removal.",
            2,
            4,
            "bold red",
        )


def _trends(found: UnitHistory) -> Iterator[Line]:
    """Lay out the trend at each point."""
    if not found.trends:
        return
    yield Line("")
    yield Line("Scale error at RVSM levels over its tests, feet", "bold")
    rows = [
        [
            f"{point:,} ft",
            str(trend.count),
            f"{trend.first_ft:+.0f}",
            str(trend.first_on),
            f"{trend.last_ft:+.0f}",
            str(trend.last_on),
            _slope(trend),
        ]
        for point, trend in found.trends
    ]
    heads = ("point", "tests", "first", "on", "last", "on", "ft per year")
    yield from table(rows, heads, right=(0, 1, 2, 4, 6))
    yield from wrap(
        "Straight line by least squares, with its standard error from three tests on; between "
        "tests and beyond them the error may be otherwise."
    )


def _slope(trend: UnitTrend) -> str:
    """Write a slope with its standard error."""
    if trend.slope_ft_per_year is None:
        return "-"
    slope, error = f"{trend.slope_ft_per_year:+.1f}", trend.slope_error_ft_per_year
    return slope if error is None else f"{slope} ± {error:.1f}"


def history_object(found: UnitHistory) -> Mapping[str, Any]:
    """Give a unit's history as JSON has it."""
    return {
        "serial_number": found.serial_number,
        "functions": list(found.functions),
        "part_numbers": list(found.part_numbers),
        "fitted": [
            {
                "registration": place.registration,
                "function": place.function,
                "position": place.position,
                "since": place.since,
            }
            for place in found.places
        ],
        "events": [_event_object(each) for each in found.events],
        "trends": [_trend_object(point, trend) for point, trend in found.trends],
        "caution": CAUTION,
    }


def _event_object(event: UnitEvent) -> Mapping[str, Any]:
    """Give one event."""
    return {
        "day": event.day,
        "registration": event.registration,
        "what": event.what,
        "position": event.position,
        "says": event.says,
        "logbook": event.ref.logbook,
        "entry": event.ref.entry,
        "judgement": None if event.judged is None else judgement_object(event.judged),
    }


def _trend_object(point: int, trend: UnitTrend) -> Mapping[str, Any]:
    """Give the trend at one point."""
    slope, error = trend.slope_ft_per_year, trend.slope_error_ft_per_year
    return {
        "altitude_ft": point,
        "tests": trend.count,
        "first_on": trend.first_on,
        "first_ft": trend.first_ft,
        "last_on": trend.last_on,
        "last_ft": trend.last_ft,
        "slope_ft_per_year": None if slope is None else round(slope, 2),
        "slope_error_ft_per_year": None if error is None else round(error, 2),
    }
