"""The fleet: the same check for each airframe, and the facts of each."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from rvsmlog.facts import Facts, Question
from rvsmlog.records.trade_fields import Instant
from rvsmlog.store.books import books
from rvsmlog.store.checks import Asked, Checked, check
from rvsmlog.store.connection import Store
from rvsmlog.store.facts_reader import find_airframe, read_facts, read_fleet, registrations


def check_fleet(store: Store, asked: Asked, now: datetime) -> tuple[Checked, ...]:
    """Check each airframe without recording it, by registration."""
    with store.reading() as connection:
        fleet = registrations(connection)
    return tuple(check(store, replace(asked, registration=borne), now) for borne, _ in fleet)


def fleet_facts(store: Store, at: datetime, registration: str | None = None) -> tuple[Facts, ...]:
    """Read the facts of each airframe, or of one, as of an instant and in one state of the store.

    Parameters
    ----------
    store : Store
        Open.
    at : datetime
        The instant.
    registration : str, optional
        The one airframe; all of them, by registration, when left out.

    Raises
    ------
    InputError
        When no airframe bears the registration, or the instant has no time zone.
    """
    Instant("").check(at)
    if registration is None:
        return tuple(each_facts(store, at))
    with store.reading() as connection:
        book = find_airframe(connection, registration)
        return (read_facts(connection, book, Question(at=at)),)


def each_facts(store: Store, at: datetime) -> Iterator[Facts]:
    """Read the facts of each airframe by registration, so that they need not all be held at once.

    The store is read until the last one is taken; all are of one state of it.
    """
    with store.reading() as connection:
        by_name = {book.name: book for book in books(connection)}
        fleet = (by_name[name] for _, name in registrations(connection))
        yield from read_fleet(connection, fleet, Question(at=at))
