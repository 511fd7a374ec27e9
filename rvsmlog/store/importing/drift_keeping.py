"""Going through new readings for drift as soon as they are in, so that no check has to wait."""

from contextlib import suppress
from dataclasses import replace
from datetime import datetime

from rvsmlog.errors import InputError, StoreError
from rvsmlog.facts import Facts, Question
from rvsmlog.frozen import dataclass
from rvsmlog.science.drift_log import extended
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.books import Book, find_book, seal
from rvsmlog.store.reading.drift_reader import in_hand, keep_drift
from rvsmlog.store.reading.facts_reader import read_facts
from rvsmlog.store.ready import Ready
from rvsmlog.store.writing.logbook import Writer

#: So many cross-checks at once make the next check slow unless drift is gone through right away.
MANY = 2000


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


@dataclass(slots=True)
class _Fed:
    """What is known of an airframe, its drift log with it, and up to which entry."""

    book: Book
    facts: Facts
    through: int


def _keep(store: Store, fed: _Fed) -> None:
    """Keep what was fed."""
    with store.changing() as connection:
        known = seal(connection, fed.book, fed.through)
        keep_drift(connection, fed.book, replace(fed.facts, seals=(known,)))


class DriftFeed:
    """Takes in cross-checks while a transaction enters them, so that they are not read again.

    Parameters
    ----------
    log : Writer
        In the write transaction.
    """

    def __init__(self, log: Writer) -> None:
        self._log = log
        self._at = log.now
        self._counts: dict[str, int] = {}
        #: None where readings came in no order of time: they are then read again in theirs.
        self._fed: dict[str, _Fed | None] = {}

    def take(self, book: Book, numbers: range, ready: Ready) -> None:
        """Take in the cross-checks that were written last to a logbook, if there were any."""
        if not numbers:
            return  # all the rows of a batch were on record already
        self._counts[book.name] = self._counts.get(book.name, 0) + len(numbers)
        if self._counts[book.name] < MANY:
            return
        fed = self._fed.get(book.name)
        try:
            if book.name not in self._fed:
                # What was written till now is read with all else.
                facts = read_facts(self._log.connection, book, Question(at=self._at))
                self._fed[book.name] = _Fed(book, facts, numbers[-1])
            elif fed is not None and fed.facts.drift is not None:
                new = in_hand(numbers, ready, fed.facts.drift.since, self._at)
                fed.facts = replace(fed.facts, drift=extended(fed.facts.drift, new))
                fed.through = numbers[-1]
        except (InputError, StoreError):
            self._fed[book.name] = None

    def keep(self, store: Store, at: datetime) -> None:
        """Keep the drift logs of the airframes that got many cross-checks.

        Parameters
        ----------
        store : Store
            Open; the transaction has been kept.
        at : datetime
            The present instant.
        """
        for name, fed in self._fed.items():
            # The rows are on record; a disk that is full just now does not change that.
            with suppress(StoreError):
                if fed is None:
                    refresh_drift(store, name, at)
                else:
                    _keep(store, fed)
