"""Options that say a flight's data: people, second pilot, hold, descent, track, cabin, route."""

import re
from collections.abc import Callable
from typing import Any

from rvsmlog.cli.completing import routes_of, words_of
from rvsmlog.cli.option_groups import OptionRow, Said, with_options
from rvsmlog.errors import InputError
from rvsmlog.facts import FlightData
from rvsmlog.records.operator import Pilot
from rvsmlog.records.routes import RouteProfile
from rvsmlog.store.given import DIFFERENTIAL, check_two_fly

#: Option, what stands for its value, and what it means. Fields of a route profile bear the same
#: names, but for people, the second pilot and the differential.
_OPTIONS: tuple[tuple[str, str, str], ...] = (
    ("route", "NAME", "Route profile that fills what is not said."),
    ("people", "CREW+PASSENGERS", "People on board, such as 1+3; the crew are those who fly."),
    ("second-pilot", "CODE", "Code of the second pilot, where two fly: each is asked."),
    ("hold-level", "LEVEL", "After a loss of pressure not below this at once."),
    ("hold-minutes", "MINUTES", "How long it must be held; 0 where nothing forbids going down."),
    ("recognition-s", "SECONDS", "From the loss of pressure to the start of the descent."),
    ("descent-fpm", "FT/MIN", "Rate of the emergency descent."),
    ("final-descent-fpm", "FT/MIN", "Rate of the descent from the hold."),
    ("cruise-minutes", "MINUTES", "Time at the planned level."),
    ("contaminated-minutes", "MINUTES", "Crew on oxygen in contaminated air; 0 for none."),
    ("contaminated-mode", "WORD", "Regulators then: 100-percent (when left out) or emergency."),
    ("differential", "PSI", "Greatest cabin differential of the day."),
    ("track", "DEGREES", "Magnetic track."),
    ("split", "TRACKS", "Tracks that take the odd levels: 000-179, 270-089 or 090-269."),
)
_PEOPLE = re.compile(r"(\d{1,3})\+(\d{1,3})", re.ASCII)


def _completed(name: str) -> Callable[..., list[str]] | None:
    """Give what completes an option: routes on record, the words of a field that has some."""
    if name == "route":
        return routes_of
    spec = RouteProfile.kind.by_name.get(name)
    return None if spec is None else words_of(spec)


def flight_data(said: Said) -> FlightData:
    """Read a flight's data from texts by option.

    Raises
    ------
    InputError
        At the first that makes no sense; the option is named. Two that contradict are both named.
    """
    values: dict[str, Any] = {}
    for option, text in said.items():
        if text is None:
            continue
        try:
            if option == "people":
                values["crew"], values["passengers"] = _people(text)
            elif option == "second-pilot":
                values["second_pilot"] = Pilot.kind.by_name["code"].type.parse(text)
            elif option == "differential":
                values["differential_psi"] = DIFFERENTIAL.parse(text)
            else:
                field = "name" if option == "route" else option.replace("-", "_")
                value = RouteProfile.kind.by_name[field].type.parse(text)
                values[option.replace("-", "_")] = value
        except InputError as error:
            raise InputError(f"--{option}: {error.message}", error.hint) from None
    flight = FlightData(**values)
    check_two_fly(flight, "--people")
    return flight


def _people(text: str) -> tuple[int, int]:
    """Read crew and passengers, such as ``1+3``."""
    match = _PEOPLE.fullmatch(text.strip())
    if match is None:
        raise InputError(f"{text.strip()!r} is no crew+passengers", "write such as 1+3")
    by_name = RouteProfile.kind.by_name
    return by_name["crew"].type.parse(match[1]), by_name["passengers"].type.parse(match[2])


#: Gives a command the options of a flight's data; it takes them as ``flight``.
with_flight = with_options(
    "flight",
    tuple(OptionRow(*row, _completed(row[0].replace("-", "_"))) for row in _OPTIONS),
    flight_data,
)
