"""Data of a planned flight: from a route profile, and as a check's entry keeps them."""

import json
from dataclasses import fields, replace

from sqlalchemy import Connection

from rvsmlog.errors import InputError, did_you_mean
from rvsmlog.facts import FlightData, Logged, Question
from rvsmlog.records.routes import RouteProfile
from rvsmlog.store.given import check_two_fly
from rvsmlog.store.reading.books import OPERATOR, find_book
from rvsmlog.store.reading.reader import read, view

_NAMES = tuple(each.name for each in fields(FlightData))


def to_text(flight: FlightData) -> str | None:
    """Give what is said of a flight as JSON; None when nothing is."""
    said = flight.said()
    return json.dumps(said, sort_keys=True, separators=(",", ":")) if said else None


def from_text(text: str | None) -> FlightData:
    """Give the data back that a check's entry keeps."""
    said = json.loads(text) if text else {}
    return FlightData(**{name: said[name] for name in _NAMES if name in said})


def with_route(connection: Connection, question: Question, head: int | None) -> Question:
    """Fill what is not said of a flight from the route profile that it names.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    question : Question
        With ``flight.route``; left as it is without.
    head : int or None
        Newest entry of the operator's logbook that counts as known; None: all.

    Raises
    ------
    InputError
        When there is no such route, or it counts one crew where a second pilot is named.
    """
    name = question.flight.route
    if name is None:
        return question
    profile = _find(connection, name, head).record
    known = {each: getattr(profile, each) for each in _NAMES if each in RouteProfile.kind.by_name}
    flight = question.flight.filled_from(FlightData(**known))
    check_two_fly(flight, f"route {name}")
    return replace(question, flight=flight, region=question.region or profile.region)


def _find(connection: Connection, name: str, head: int | None) -> Logged[RouteProfile]:
    """Give the newest profile of a name."""
    book = find_book(connection, OPERATOR)
    profiles = read(connection, view(connection, book, head), RouteProfile.kind) if book else ()
    found = [each for each in profiles if each.record.name == name]
    if not found:
        known = ", ".join(sorted({each.record.name for each in profiles}))
        near = did_you_mean(name, (each.record.name for each in profiles))
        raise InputError(
            f"there is no route {name!r}",
            f"{near}routes are {known}" if known else "enter one with `rvsmlog route set`",
        )
    return max(found, key=lambda logged: logged.first)
