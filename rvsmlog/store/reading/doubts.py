"""What looks wrong about a new entry though it may be right: said at once, refused never."""

from collections.abc import Iterator

from sqlalchemy import Connection

from rvsmlog.records.base import Record, Ref
from rvsmlog.records.flights import Flight
from rvsmlog.records.operator import Pilot
from rvsmlog.records.trade_fields import instant_to_scalar
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.books import OPERATOR, find_book
from rvsmlog.store.reading.reader import read, view


def doubts(store: Store, entry: Ref, record: Record) -> tuple[str, ...]:
    """Say what is odd about a new entry.

    Parameters
    ----------
    store : Store
        Open.
    entry : Ref
        The new entry.
    record : Record
        What it says.
    """
    with store.reading() as connection:
        found = [*_pilot(connection, record)]
        if isinstance(record, Flight):
            found += _overlaps(connection, entry, record)
    return tuple(found)


def _pilot(connection: Connection, record: Record) -> Iterator[str]:
    """Say when a pilot is named who is not on record."""
    named = getattr(record, "pilot", None)
    if named is None:
        return
    book = find_book(connection, OPERATOR)
    pilots = () if book is None else read(connection, view(connection, book), Pilot.kind)
    codes = sorted({each.record.code.upper() for each in pilots})
    if named.strip().upper() not in codes:
        known = f"; on record: {', '.join(codes)}" if codes else ""
        yield f"pilot {named} is not on record (`rvsmlog crew add`){known}"


def _overlaps(connection: Connection, entry: Ref, flight: Flight) -> Iterator[str]:
    """Name the flights of the same aeroplane that were in the air at the same time."""
    book = find_book(connection, entry.logbook)
    if book is None:
        return
    others = read(
        connection,
        view(connection, book),
        Flight.kind,
        where="d.off_at < :on_at AND d.on_at > :off_at",
        on_at=instant_to_scalar(flight.on_at),
        off_at=instant_to_scalar(flight.off_at),
    )
    for other in others:
        if other.ref != entry:
            yield f"it overlaps flight #{other.ref.entry}: one aeroplane flies once at a time"
