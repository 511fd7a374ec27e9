"""What is handed in from Python is held to what the command line would have made of its words.

Each is asked once, where it comes in; nothing behind asks again.
"""

import re
from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from typing import Any

from rvsmlog.dates import check_date, check_instant
from rvsmlog.errors import InputError
from rvsmlog.facts import NOTHING_SAID, FlightData, Question
from rvsmlog.records.fields import Choice, FieldType, Real
from rvsmlog.records.routes import RouteProfile
from rvsmlog.records.trade_fields import Level
from rvsmlog.standards.regions import REGIONS

#: Greatest cabin differential of the day, of which no route profile knows.
DIFFERENTIAL = Real("greatest cabin differential of the day, psi", low=0, high=12)
#: Zero bytes, and halves of characters.
_NO_TEXT = re.compile("[\x00\ud800-\udfff]")
#: Data of a flight that name what is on record.
_NAMED = ("route", "second_pilot")
_LEVEL = Level("level planned")
_REGION = Choice("region of the flight", words=tuple(REGIONS))


def check_text(value: object, what: str) -> None:
    """Refuse what is no text, and one that no database keeps; what it says is asked elsewhere.

    Parameters
    ----------
    value : object
        What was given.
    what : str
        What it stands for: ``the pilot``.

    Raises
    ------
    InputError
        Naming what it stands for.
    """
    if not isinstance(value, str) or _NO_TEXT.search(value):
        raise InputError(f"{what}: {value!r} is no text", "give it as text")


def check_number(value: object, name: str) -> None:
    """Refuse for an entry's number what is no whole number: a truth value counts as one to Python.

    Raises
    ------
    InputError
        When no entry of the logbook that is named can bear it.
    """
    if isinstance(value, bool) or not isinstance(value, int):
        raise InputError(
            f"there is no entry {name}#{value!r}",
            "the lists show the numbers, such as `rvsmlog crosscheck list REG`",
        )


def check_question(question: Question) -> None:
    """Refuse a question that cannot be asked on the command line either.

    Raises
    ------
    InputError
        When it is none, or at the first of its values that is none.
    """
    if not isinstance(question, Question):
        raise InputError(f"{question!r} is no question about a flight", "give Question")
    check_instant(question.at)
    check_asked(question.level, question.region, question.pilot, question.flight)
    check_hold(question.flight)


def check_asked(level: object, region: object, pilot: object, flight: object) -> None:
    """Refuse a level, a region, a pilot's code or data of a flight that are none; None is left out.

    Raises
    ------
    InputError
        At the first that is none.
    """
    if level is not None:
        _LEVEL.check(level)  # type: ignore[arg-type]  # whatever was given
    if region is not None:
        _held(_REGION, region, "the region")
    if pilot is not None:
        check_text(pilot, "the pilot")
    if flight is not NOTHING_SAID:
        _check_flight(flight)


def check_hold(flight: FlightData) -> None:
    """Refuse a hold that has no level or no time, when a route has filled what was not said.

    No minutes at no level say that nothing forbids going down.

    Raises
    ------
    InputError
        Naming what is missing.
    """
    if flight.hold_level is None and flight.hold_minutes == 0:
        return
    if (flight.hold_level is None) != (flight.hold_minutes is None):
        missing = "its level" if flight.hold_level is None else "its time"
        raise InputError(f"the hold lacks {missing}", "give --hold-level and --hold-minutes")


def check_span(*days: object) -> None:
    """Refuse days that are none; None is left out.

    Raises
    ------
    InputError
        At the first that is none.
    """
    for day in days:
        if day is not None:
            check_date(day)


def _check_flight(flight: object) -> None:
    """Refuse data of a flight that no option would have given."""
    if not isinstance(flight, FlightData):
        raise InputError(f"{flight!r} are no data of a flight", "give FlightData")
    for name, value in flight.said().items():
        if name in _NAMED:
            check_text(value, name)
        else:
            _held(_flight_fields()[name], value, name)
    check_two_fly(flight, "--people")


def check_two_fly(flight: FlightData, where: str) -> None:
    """Refuse a second pilot where one is said to fly: oxygen and masks of one would be too few.

    Parameters
    ----------
    flight : FlightData
        What is said of the flight.
    where : str
        Where the crew stand.

    Raises
    ------
    InputError
        Naming both options.
    """
    if flight.second_pilot is not None and flight.crew == 1:
        raise InputError(
            f"--second-pilot names {flight.second_pilot}, and {where} counts one crew",
            "give --people with two crew, such as 2+1; or leave --second-pilot out where one flies",
        )


@cache
def _flight_fields() -> Mapping[str, FieldType[Any]]:
    """Give the types of a flight's data by name; most checks are asked without any."""
    of_routes = RouteProfile.kind.by_name
    names = (each.name for each in fields(FlightData) if each.name in of_routes)
    return {"differential_psi": DIFFERENTIAL, **{name: of_routes[name].type for name in names}}


def _held(field: FieldType[Any], value: object, what: str) -> None:
    """Hold a value against a type of field; the fault names what it stands for."""
    try:
        field.check(value)
    except InputError as error:
        raise InputError(f"{what}: {error.message}", error.hint) from None
