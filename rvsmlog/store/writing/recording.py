"""Recording one entry from texts: what a command, a prompt and an import have in common."""

from collections.abc import Callable, Mapping
from datetime import datetime

from sqlalchemy import Connection

from rvsmlog.errors import InputError
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import FieldError, Logbook, Record, RecordKind, Ref
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.slips import Slip, slips
from rvsmlog.store.connection import Store
from rvsmlog.store.given import check_text
from rvsmlog.store.reading.airframes import find_airframe, registrations
from rvsmlog.store.reading.books import OPERATOR, Book, airframe_book_name, entry_kind, find_book
from rvsmlog.store.reading.history import said
from rvsmlog.store.reading.lookup import check_not_double
from rvsmlog.store.reading.references import check_correction
from rvsmlog.store.tables import STRIKE
from rvsmlog.store.writing.logbook import Writer, writing


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
    readings_confirmed: bool = False,
) -> tuple[Ref, Record]:
    """Record one entry, or one that corrects another.

    Parameters
    ----------
    store : Store
        Open.
    kind : RecordKind
        What is recorded.
    texts : mapping of str to str
        The fields as texts. In a correction those left out stay as they were, and an empty text
        empties a field.
    by : str
        Who records.
    clock : callable
        Gives the present instant.
    registration : str, optional
        The airframe, for its logbook.
    supersedes, reason : optional
        The entry that is corrected, and why.
    readings_confirmed : bool
        Whether readings stand that no altimeter shows in service.

    Returns
    -------
    tuple of Ref and Record
        The new entry and what it says.

    Raises
    ------
    InputError
        When anything is wrong, a cross-check of that instant and phase is on record: the same,
        entered twice, or a reading wants to be confirmed. Nothing was written then.
    """
    if reason is not None:
        check_text(reason, "the reason")
    if supersedes is not None:
        with writing(store, by, clock) as log:
            book = _corrected_book(log.connection, kind, texts, registration)
            record = _corrected(log.connection, book, kind, texts, supersedes)
            if not readings_confirmed:
                check_no_slip(record, said(log.connection, book, supersedes))
            return log.append(book, record, supersedes=supersedes, reason=reason), record
    record = kind.parse(texts)
    if not readings_confirmed:
        check_no_slip(record)
    with writing(store, by, clock) as log:
        book = book_of(log, kind, record, registration)
        if isinstance(record, CrossCheck):
            check_not_double(log.connection, book, record.taken_at, record.phase)
        return log.append(book, record, reason=reason), record


def check_no_slip(record: Record, before: Record | None = None) -> None:
    """Refuse a cross-check with a reading that may be a slip of the pen.

    Parameters
    ----------
    record : Record
        Of any kind.
    before : Record, optional
        What it corrects: a reading that stood there was confirmed then.

    Raises
    ------
    FieldError
        Naming the first such reading, and what confirms it.
    """
    for each in _slips(record):
        if each not in _slips(before):
            raise FieldError(
                each.field,
                f"{each.says}, most likely a slip of the pen",
                "look at every digit; where it was read so, add --readings-confirmed",
            )


def _slips(record: Record | None) -> tuple[Slip, ...]:
    return slips(record) if isinstance(record, CrossCheck) else ()


def _corrected(
    connection: Connection,
    book: Book,
    kind: RecordKind,
    texts: Mapping[str, str | None],
    number: int,
) -> Record:
    """Give an entry's record with what is said anew.

    Raises
    ------
    InputError
        When the entry may not be corrected so, or would say the same as before.
    """
    check_correction(connection, book, kind.name, number)
    before = said(connection, book, number)
    record = kind.parse(texts, before)
    if record == before and entry_kind(connection, book, number)[0] != STRIKE:
        raise InputError(
            f"{book.name}#{number} says that already", "give each field that was wrong"
        )
    if isinstance(record, Airframe):
        _check_not_borne(connection, record, book.name)
    return record


def _corrected_book(
    connection: Connection,
    kind: RecordKind,
    texts: Mapping[str, str | None],
    registration: str | None,
) -> Book:
    """Find the logbook in which an entry is corrected; particulars name their airframe."""
    if kind is not Airframe.kind:
        return book_for(connection, kind, registration)
    designator, serial = texts.get("type_designator"), texts.get("serial_number")
    if not designator or not serial:
        borne = texts.get("registration")
        if not borne:
            raise InputError(
                "no airframe is named",
                "give --registration as it is on record, or --type-designator and --serial-number",
            )
        return find_airframe(connection, borne)
    fields = kind.by_name
    name = airframe_book_name(
        fields["type_designator"].type.parse(designator), fields["serial_number"].type.parse(serial)
    )
    book = find_book(connection, name)
    if book is None:
        raise InputError(f"there is no logbook {name}", "check type designator and serial number")
    return book


def book_of(log: Writer, kind: RecordKind, record: Record, registration: str | None) -> Book:
    """Find the logbook; the first entry of an operator or an airframe opens its own."""
    if isinstance(record, Airframe):
        return _airframe_book(log, record)
    if kind.name == OPERATOR:
        found = find_book(log.connection, OPERATOR)
        return found or log.open_book(Logbook.OPERATOR, OPERATOR)
    return book_for(log.connection, kind, registration)


def _airframe_book(log: Writer, record: Airframe) -> Book:
    """Find or open an airframe's logbook."""
    name = airframe_book_name(record.type_designator, record.serial_number)
    _check_not_borne(log.connection, record, name)
    return find_book(log.connection, name) or log.open_book(Logbook.AIRFRAME, name)


def _check_not_borne(connection: Connection, record: Airframe, name: str) -> None:
    """Refuse a registration that another airframe bears."""
    for borne, other in registrations(connection):
        if borne == record.registration and other != name:
            raise InputError(
                f"{record.registration} is borne by {other} already",
                "change that airframe's registration first, or check type and serial number",
            )


def strike_entry(
    store: Store,
    registration: str | None,
    number: int,
    reason: str,
    *,
    by: str,
    clock: Callable[[], datetime],
) -> Ref:
    """Strike out one entry of an airframe's logbook, or of the operator's where none is named.

    Raises
    ------
    InputError
        When there is no such entry, it may not be struck out, or no reason is given.
    """
    check_text(reason, "the reason")
    with writing(store, by, clock) as log:
        if registration is None:
            book = find_book(log.connection, OPERATOR)
            if book is None:
                raise InputError("no operator is on record", "name an airframe")
        else:
            book = find_airframe(log.connection, registration)
        return log.strike(book, number, reason)
