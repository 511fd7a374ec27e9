"""The fleet: the same check for each airframe, and the facts of each, one after another.

An airframe that cannot be judged holds up none of the others: its place is taken by the reason, as
a check of it alone gives it. What is wrong with the operator's logbook, or with what is asked,
concerns them all and is raised.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date, datetime

from sqlalchemy import Connection

from rvsmlog.dates import check_instant, local_day
from rvsmlog.errors import RvsmlogError
from rvsmlog.facts import Facts, NotJudged, Question
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.airframes import find_airframe, registrations, several_bear
from rvsmlog.store.reading.books import OPERATOR, Book, books
from rvsmlog.store.reading.facts_reader import heads_at, operator_zone, read_facts, read_fleet
from rvsmlog.store.writing.checks import Asked, AskedOfFleet, Checked, asked_of_fleet
from rvsmlog.store.writing.clock import clock_faults, impossible
from rvsmlog.verdict import judge


def check_fleet(store: Store, asked: Asked, now: datetime) -> tuple[Checked | NotJudged, ...]:
    """Check each airframe without recording it, by registration; see :func:`each_check`."""
    return tuple(each_check(store, asked, now))


def each_check(store: Store, asked: Asked, now: datetime) -> Iterator[Checked | NotJudged]:
    """Check each airframe by registration, so that the answers need not all be held at once.

    Parameters
    ----------
    store : Store
        Open; it is read until the last one is taken.
    asked : Asked
        The question; its registration is not looked at.
    now : datetime
        The present instant, taken when the question names none.

    Raises
    ------
    InputError
        When what is asked makes no sense for any airframe.
    StoreError
        When the operator's logbook keeps every airframe from being judged.
    """
    with store.reading() as connection:
        question = asked_of_fleet(connection, asked, now)
        believed = now if asked.at is None and asked.as_of is None else None
        possible = asked.as_of is None
        fleet = _Fleet(connection, _faults(connection, believed, possible=possible))
        for found in fleet.each(question):
            if isinstance(found, NotJudged):
                yield found
                continue
            try:
                verdict = judge(found)
            except RvsmlogError as fault:
                yield found.not_judged(fault)
            else:
                yield Checked(facts=found, verdict=verdict, ahead_to=asked.on)


def each_airframe(store: Store, at: datetime | None, now: datetime) -> Iterator[Facts | NotJudged]:
    """Give the facts of each airframe by registration, or why they cannot be judged.

    Parameters
    ----------
    store : Store
        Open; it is read until the last one is taken, and all are of one state of it.
    at : datetime or None
        The instant; now when left out, where nothing on record says that the clock is behind.
    now : datetime
        The present instant.

    Raises
    ------
    InputError
        When the instant has no time zone.
    StoreError
        When the operator's logbook keeps every airframe from being judged.
    """
    check_instant(now if at is None else at)
    with store.reading() as connection:
        fleet = _Fleet(connection, _faults(connection, now if at is None else None, possible=True))
        question = AskedOfFleet(question=Question(at=now if at is None else at))
        yield from fleet.each(question)


def operator_day(store: Store, at: datetime) -> date:
    """Give the day of an instant in the operator's time zone.

    Raises
    ------
    InputError
        When the instant has no time zone.
    """
    check_instant(at)
    with store.reading() as connection:
        return local_day(at, operator_zone(connection))


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
        When no airframe bears the registration, or the instant is none.
    """
    check_instant(at)
    if registration is None:
        return tuple(each_facts(store, at))
    with store.reading() as connection:
        book = find_airframe(connection, registration)
        return (read_facts(connection, book, Question(at=at)),)


def each_facts(store: Store, at: datetime) -> Iterator[Facts]:
    """Read the facts of each airframe by registration, so that they need not all be held at once.

    The store is read until the last one is taken; all are of one state of it.

    Raises
    ------
    RvsmlogError
        When those of an airframe cannot be read: for answers that must not leave one out.
    """
    with store.reading() as connection:
        by_name = {book.name: book for book in books(connection)}
        fleet = (by_name[name] for _, name in registrations(connection))
        for found in read_fleet(connection, fleet, Question(at=at)):
            if isinstance(found, RvsmlogError):
                raise found
            yield found


def _faults(
    connection: Connection, now: datetime | None, *, possible: bool
) -> Mapping[str, RvsmlogError]:
    """Give what bars each logbook: what nobody could know yet, and a clock that lies behind it.

    Parameters
    ----------
    now : datetime or None
        The machine's clock; None where it does not count.
    possible : bool
        Whether entries of a time to come bar a logbook.

    Raises
    ------
    StoreError
        When it is the operator's logbook.
    """
    found: dict[str, RvsmlogError] = {}
    if now is not None:
        found |= clock_faults(connection, now)
    if possible:
        found |= impossible(connection)
    if OPERATOR in found:
        raise found[OPERATOR]
    return found


class _Fleet:
    """The airframes of a store by registration, with what bars some of them.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    faults : mapping
        What bars a logbook, by its name.
    """

    def __init__(self, connection: Connection, faults: Mapping[str, RvsmlogError]) -> None:
        self._connection = connection
        self._borne = registrations(connection)
        self._books = {book.name: book for book in books(connection)}
        bearing = defaultdict(list)
        for registration, name in self._borne:
            bearing[registration].append(name)
        twice = {
            name: several_bear(registration, names)
            for registration, names in bearing.items()
            for name in names
            if len(names) > 1
        }
        self._faults: Mapping[str, RvsmlogError] = {**faults, **twice}

    def each(self, asked: AskedOfFleet) -> Iterator[Facts | NotJudged]:
        """Give the facts of each airframe by registration, or why there are none."""
        sound = (self._books[name] for _, name in self._borne if name not in self._faults)
        read = self._then(sound, asked) if asked.known_at else self._now(sound, asked)
        for registration, name in self._borne:
            found = self._faults[name] if name in self._faults else next(read)
            if isinstance(found, RvsmlogError):
                yield NotJudged(
                    airframe=registration, logbook=name, message=found.message, hint=found.hint
                )
            else:
                yield found

    def _now(self, fleet: Iterator[Book], asked: AskedOfFleet) -> Iterator[Facts | RvsmlogError]:
        return read_fleet(self._connection, fleet, asked.question)

    def _then(self, fleet: Iterator[Book], asked: AskedOfFleet) -> Iterator[Facts | RvsmlogError]:
        """Read each airframe as it was known at an instant."""
        assert asked.known_at is not None  # noqa: S101  # who calls this has looked
        for book in fleet:
            try:
                heads = heads_at(self._connection, book, asked.known_at)
                facts = read_facts(self._connection, book, asked.question, heads)
            except RvsmlogError as fault:
                yield fault
            else:
                yield facts
