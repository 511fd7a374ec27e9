"""The fleet: the same check for each airframe, and the facts of each."""

from dataclasses import replace
from datetime import datetime

from rvsmlog.facts import Facts, Question
from rvsmlog.store.books import find_book
from rvsmlog.store.checks import Asked, Checked, check
from rvsmlog.store.connection import Store
from rvsmlog.store.facts_reader import find_airframe, read_facts, registrations


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
        When no airframe bears the registration.
    """
    with store.reading() as connection:
        if registration is not None:
            books = [find_airframe(connection, registration)]
        else:
            found = (find_book(connection, name) for _, name in registrations(connection))
            books = [book for book in found if book is not None]
        return tuple(read_facts(connection, book, Question(at=at)) for book in books)
