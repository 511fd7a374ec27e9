"""What is on record about units and their tests, in the logbooks of all airframes."""

from collections.abc import Iterator
from datetime import datetime
from difflib import get_close_matches

from sqlalchemy import Connection

from rvsmlog.answers.unit_history import UnitHistory, known_serials, unit_history
from rvsmlog.dates import local_day
from rvsmlog.errors import InputError
from rvsmlog.facts import EquipmentCase, Facts, Logged, Question, with_swaps
from rvsmlog.records.airframe import Airframe, Equipment, Removal, Swap
from rvsmlog.records.operator import Operator
from rvsmlog.records.papers import Test
from rvsmlog.records.readings import Readings
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.airframes import registrations
from rvsmlog.store.reading.books import OPERATOR, find_book
from rvsmlog.store.reading.reader import View, read, view


def unit_facts(connection: Connection, now: datetime) -> tuple[Facts, ...]:
    """Read units, swaps, tests and readings of each airframe, by registration.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    now : datetime
        The present instant.

    Returns
    -------
    tuple of Facts
        Nothing but these is in them.
    """
    return tuple(_facts(connection, now, _zone(connection)))


def unit_on_record(store: Store, serial: str, part: str | None, now: datetime) -> UnitHistory:
    """Follow a unit by its serial number through the logbooks of all airframes.

    Parameters
    ----------
    store : Store
        Open.
    serial : str
        Serial number of the unit.
    part : str or None
        Part number, where several parts bear the serial number.
    now : datetime
        The present instant.

    Raises
    ------
    InputError
        When no such unit is on record.
    """
    with store.reading() as connection:
        fleet = unit_facts(connection, now)
    found = unit_history(fleet, serial, part)
    if not found.events:
        near = get_close_matches(serial.strip(), known_serials(fleet), n=1, cutoff=0.5)
        of_part = f" of part {part}" if part else ""
        raise InputError(
            f"no unit with the serial number {serial.strip()!r}{of_part} is on record",
            f"did you mean {near[0]}?" if near else "fit it with `rvsmlog equipment fit`",
        )
    return found


def _zone(connection: Connection) -> str:
    """Give the operator's time zone."""
    book = find_book(connection, OPERATOR)
    found: tuple[Logged[Operator], ...] = ()
    if book is not None:
        found = read(connection, view(connection, book), Operator.kind)
    newest = max(found, key=lambda logged: logged.first, default=None)
    return "UTC" if newest is None else newest.record.time_zone


def _facts(connection: Connection, now: datetime, zone: str) -> Iterator[Facts]:
    """Read one airframe after the other."""
    for _, name in registrations(connection):
        book = find_book(connection, name)
        if book is None:
            continue
        seen = view(connection, book)
        swaps = _swaps(connection, seen)
        yield Facts(
            question=Question(at=now),
            time_zone=zone,
            today=local_day(now, zone),
            airframe=max(read(connection, seen, Airframe.kind), key=lambda logged: logged.first),
            equipment=with_swaps(_equipment(connection, seen), swaps),
            swaps=swaps,
            tests=read(connection, seen, Test.kind),
            readings=read(connection, seen, Readings.kind),
        )


def _swaps(connection: Connection, seen: View) -> tuple[Logged[Swap], ...]:
    """Read the swaps from the earliest to the latest."""
    found = read(connection, seen, Swap.kind)
    return tuple(sorted(found, key=lambda logged: (logged.record.swapped_at, logged.first)))


def _equipment(connection: Connection, seen: View) -> tuple[EquipmentCase, ...]:
    """Read the units as they were fitted and removed."""
    removals = {each.record.equipment: each for each in read(connection, seen, Removal.kind)}
    return tuple(
        EquipmentCase(equipment=logged, removal=removals.get(logged.first))
        for logged in read(connection, seen, Equipment.kind)
    )
