"""Looking up what a command needs beside the facts: particulars, newest readings, doubles."""

from datetime import datetime

from sqlalchemy import Connection

from rvsmlog.errors import InputError
from rvsmlog.facts import Logged
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import FieldError
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.trade_fields import instant_to_scalar
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.books import OPERATOR, Book, find_book
from rvsmlog.store.reading.reader import read, view


def particulars(connection: Connection, registration: str) -> Logged[Airframe]:
    """Give the present particulars of the airframe that bears a registration.

    Raises
    ------
    InputError
        When no airframe bears it.
    """
    book = find_airframe(connection, registration)
    found = read(connection, view(connection, book), Airframe.kind)
    if not found:
        raise InputError(
            f"{book.name} has no particulars", "enter them with `rvsmlog airframe add`"
        )
    return max(found, key=lambda logged: logged.first)


def newest_crosschecks(
    connection: Connection,
    registration: str,
    count: int | None = None,
    *,
    superseded: bool = False,
) -> tuple[Logged[CrossCheck], ...]:
    """Give an airframe's newest cross-checks, from the earliest to the latest.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    registration : str
        The airframe.
    count : int, optional
        How many; all when left out.
    superseded : bool
        Those too that were corrected or struck out.

    Raises
    ------
    InputError
        When no airframe bears the registration.
    """
    seen = view(connection, find_airframe(connection, registration))
    found = read(
        connection,
        seen,
        CrossCheck.kind,
        order="d.taken_at DESC, d.number DESC",
        limit=count,
        superseded=superseded,
    )
    return tuple(reversed(found))


def check_not_double(connection: Connection, book: Book, taken_at: datetime, phase: str) -> None:
    """Refuse a cross-check of an instant and phase that is on record: the same, entered twice.

    Raises
    ------
    FieldError
        Naming the entry that holds it.
    """
    found = read(
        connection,
        view(connection, book),
        CrossCheck.kind,
        where="d.taken_at = :taken_at AND d.phase = :phase",
        taken_at=instant_to_scalar(taken_at),
        phase=phase,
    )
    if found:
        raise FieldError(
            "taken_at",
            f"the {phase} check of that moment is on record as {found[0].ref}",
            f"correct it with --corrects {found[0].ref.entry} --reason TEXT, or give another time",
        )


def named_book(connection: Connection, registration: str | None) -> Book:
    """Give the logbook of an airframe, or the operator's where none is named.

    Raises
    ------
    InputError
        When there is none.
    """
    if registration is not None:
        return find_airframe(connection, registration)
    book = find_book(connection, OPERATOR)
    if book is None:
        raise InputError("no operator is on record", "enter it first with `rvsmlog operator set`")
    return book
