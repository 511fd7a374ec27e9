"""Going through new readings for drift as soon as they are in, so that no check has to wait."""

from datetime import datetime

from rvsmlog.facts import Question
from rvsmlog.store.books import find_book
from rvsmlog.store.connection import Store
from rvsmlog.store.drift_reader import keep_drift
from rvsmlog.store.facts_reader import read_facts


def refresh_drift(store: Store, book_name: str, at: datetime) -> None:
    """Bring the drift log beside an airframe's logbook up to date.

    It is derived, and held against the log whenever it is taken up: what goes wrong here costs
    the next check time, and nothing else.

    Parameters
    ----------
    store : Store
        Open, with no transaction under way.
    book_name : str
        The airframe's logbook.
    at : datetime
        The present instant: later readings are left to later checks.
    """
    with store.reading() as connection:
        book = find_book(connection, book_name)
        if book is None:
            return
        facts = read_facts(connection, book, Question(at=at))
    with store.changing() as connection:
        keep_drift(connection, book, facts)
