"""Recording one entry from texts: what a command, a prompt and an import have in common."""

from collections.abc import Callable, Mapping
from datetime import datetime

from sqlalchemy import Connection

from rvsmlog.errors import InputError
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import Logbook, Record, RecordKind, Ref
from rvsmlog.store.books import OPERATOR, Book, airframe_book_name, find_book
from rvsmlog.store.connection import Store
from rvsmlog.store.facts_reader import find_airframe, registrations
from rvsmlog.store.logbook import Writer, writing


def book_for(connection: Connection, kind: RecordKind, registration: str | None) -> Book:
    """Find the logbook in which a record of a kind belongs.

    Raises
    ------
    InputError
        When there is none yet, or no airframe is named.
    """
    if kind.logbook is Logbook.OPERATOR:
        book = find_book(connection, OPERATOR)
        if book is None:
            raise InputError(
                "no operator is on record", "enter it first with `rvsmlog operator set`"
            )
        return book
    if registration is None:
        raise InputError("no airframe is named", "name its registration")
    return find_airframe(connection, registration)


def record_entry(
    store: Store,
    kind: RecordKind,
    texts: Mapping[str, str | None],
    *,
    by: str,
    clock: Callable[[], datetime],
    registration: str | None = None,
    supersedes: int | None = None,
    reason: str | None = None,
) -> tuple[Ref, Record]:
    """Record one entry.

    Parameters
    ----------
    store : Store
        Open.
    kind : RecordKind
        What is recorded.
    texts : mapping of str to str
        The fields as texts.
    by : str
        Who records.
    clock : callable
        Gives the present instant.
    registration : str, optional
        The airframe, for its logbook.
    supersedes, reason : optional
        The entry that is corrected, and why.

    Returns
    -------
    tuple of Ref and Record
        The new entry and what it says.

    Raises
    ------
    InputError
        When anything is wrong; nothing was written then.
    """
    record = kind.parse(texts)
    with writing(store, by, clock) as log:
        book = book_of(log, kind, record, registration)
        ref = log.append(book, record, supersedes=supersedes, reason=reason)
    return ref, record


def book_of(log: Writer, kind: RecordKind, record: Record, registration: str | None) -> Book:
    """Find the logbook; the first entry of an operator or an airframe opens its own."""
    if isinstance(record, Airframe):
        return _airframe_book(log, record)
    if kind.name == OPERATOR:
        found = find_book(log.connection, OPERATOR)
        return found or log.open_book(Logbook.OPERATOR, OPERATOR)
    return book_for(log.connection, kind, registration)


def _airframe_book(log: Writer, record: Airframe) -> Book:
    """Find or open an airframe's logbook; two airframes never bear one registration."""
    name = airframe_book_name(record.type_designator, record.serial_number)
    for borne, other in registrations(log.connection):
        if borne == record.registration and other != name:
            raise InputError(
                f"{record.registration} is borne by {other} already",
                "change that airframe's registration first, or check type and serial number",
            )
    return find_book(log.connection, name) or log.open_book(Logbook.AIRFRAME, name)


def strike_entry(
    store: Store,
    registration: str | None,
    number: int,
    reason: str,
    *,
    by: str,
    clock: Callable[[], datetime],
) -> Ref:
    """Strike out one entry of an airframe's logbook, or of the operator's where none is named."""
    with writing(store, by, clock) as log:
        if registration is None:
            book = find_book(log.connection, OPERATOR)
            if book is None:
                raise InputError("no operator is on record", "name an airframe")
        else:
            book = find_airframe(log.connection, registration)
        return log.strike(book, number, reason)
