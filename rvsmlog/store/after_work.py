"""After work was recorded: which functional checks it calls for."""

from datetime import datetime, timedelta

from rvsmlog.facts import Question
from rvsmlog.records.base import Ref
from rvsmlog.rules.work_calls import Call, calls_of
from rvsmlog.store.books import find_book
from rvsmlog.store.connection import Store
from rvsmlog.store.facts_reader import read_facts

# Somewhere on earth the day of the work has begun already; nothing is recorded further ahead.
_AHEAD = timedelta(days=2)


def checks_called_for(store: Store, entry: Ref, now: datetime) -> tuple[Call, ...]:
    """Give the functional checks that a new entry calls for.

    Parameters
    ----------
    store : Store
        Open.
    entry : Ref
        The new entry.
    now : datetime
        The present instant.
    """
    with store.reading() as connection:
        book = find_book(connection, entry.logbook)
        if book is None:
            return ()
        return calls_of(read_facts(connection, book, Question(at=now + _AHEAD)), entry)
