"""Nothing ends, is decided or is done before what it is about began: checked before writing.

Rules do not count such an entry; here it is refused while whoever enters it can still look. Entries
made in another store are not held against this: what an older edition took in stays what it is.
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from types import MappingProxyType

from sqlalchemy import Connection, select

from rvsmlog.dates import show_instant
from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldError, Record
from rvsmlog.records.kinds import KIND
from rvsmlog.store.encoding import stored_number
from rvsmlog.store.reading.books import Book, newest_made
from rvsmlog.store.reading.history import said
from rvsmlog.store.reading.references import entry_fields
from rvsmlog.store.tables import STRIKE, detail

# A calendar day anywhere on earth begins and ends within this of the same day in UTC.
_A_DAY = timedelta(days=1)
When = datetime | date

#: The kinds that others end, decide on or put right, with the field that says from when.
_BEGINS: Mapping[str, str] = MappingProxyType(
    {
        "equipment": "fitted_on",
        "defect": "found_at",
        "altimetry-fault": "found_at",
        "deferral": "deferred_on",
        "approval": "issued_on",
        "deviation": "occurred_at",
        "monitoring": "measured_on",
    }
)
#: The kinds that do so. A swap is held against what is fitted; a review may look ahead.
_ENDS = ("removal", "deferral", "extension", "rectification", "withdrawal", "closure")


def check_order(connection: Connection, book: Book, record: Record, first: int | None) -> None:
    """Check a record against what it names, and a correction against what names it.

    Parameters
    ----------
    connection, book
        Where.
    record : Record
        With the entries that it names by the number first made.
    first : int or None
        The number first made of the entry that it corrects.

    Raises
    ------
    FieldError
        When it lies before what it is about.
    InputError
        When a correction would put what it corrects after something that is about it.
    """
    named = entry_fields(record.kind)
    if first is None and not named:
        return
    for name, _ in named if record.kind.name in _ENDS else ():
        number = getattr(record, name)
        if number is not None:
            began = _began(said(connection, book, newest_made(connection, book, number)[0]))
            happened = getattr(record, record.kind.happened)
            if began is not None and _before(happened, began):
                raise FieldError(
                    record.kind.happened,
                    f"{_show(happened)} lies before #{number}, which is of {_show(began)}",
                    "check both dates; correct the one that is wrong",
                )
    began = _began(record)
    if first is None or began is None:
        return
    for number, later in _about(connection, book, first):
        ended = later.happened()
        if ended is not None and _before(ended, began):
            raise InputError(
                f"{_show(began)} lies after #{number}, {later.kind.title} of {_show(ended)}",
                f"check both dates; correct or strike out #{number} first",
            )


def _began(record: Record) -> When | None:
    """Give from when there is something to be said about; None for kinds that have no such day."""
    name = _BEGINS.get(record.kind.name)
    found: When | None = None if name is None else getattr(record, name)
    return found


def _about(connection: Connection, book: Book, root: int) -> Iterator[tuple[int, Record]]:
    """Give the entries that stand and name an entry."""
    for kind in (KIND[name] for name in _ENDS):
        table = detail[kind.name]
        for name, _ in entry_fields(kind):
            query = select(table.c.number).where(
                table.c.logbook_id == book.id, table.c[name] == root
            )
            for number in map(stored_number, connection.execute(query).scalars().all()):
                newest, newest_kind = newest_made(connection, book, number)
                if newest == number and newest_kind != STRIKE:
                    yield number, said(connection, book, number)


def _before(one: When, other: When) -> bool:
    """Say whether one lies before the other in every time zone where that hangs on one."""
    if isinstance(one, datetime) and isinstance(other, datetime):
        return one < other
    if isinstance(one, datetime):
        return (one + _A_DAY).date() < other
    if isinstance(other, datetime):
        return one < (other - _A_DAY).date()
    return one < other


def _show(when: When) -> str:
    return show_instant(when) if isinstance(when, datetime) else str(when)
