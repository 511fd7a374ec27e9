"""What is checked of an entry by itself before it is written, here or in another store."""

from datetime import date, datetime, timedelta

from rvsmlog.errors import InputError
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import FieldError, RecordKind
from rvsmlog.records.fields import Text
from rvsmlog.store.reading.books import Book, airframe_book_name

#: Who records.
AUTHOR = Text("who records", longest=80)
#: Why an entry is corrected.
REASON = Text("why")
#: How far ahead of the clock a recorded event may lie.
FUTURE_TOLERANCE = timedelta(minutes=10)
#: Somewhere on earth the calendar is so far ahead of UTC.
EAST = timedelta(hours=14)


def check_not_future(kind: RecordKind, happened: datetime | date | None, now: datetime) -> None:
    """Refuse to record what has not happened yet; None: the record has no such time."""
    if happened is None:
        return
    limit = now + FUTURE_TOLERANCE
    day = (limit + EAST).date()
    if happened > limit if isinstance(happened, datetime) else happened > day:
        raise FieldError(
            kind.happened,
            f"{kind.by_name[kind.happened].type.show(happened)} is in the future",
            "record what has happened; check the date and the time zone",
        )


def checked_reason(supersedes: int | None, reason: str | None) -> str | None:
    """Ask for a reason with a correction, and only then."""
    if supersedes is None:
        if reason is not None:
            raise InputError("a reason is given, but no entry is corrected", "name the entry")
        return None
    try:
        return REASON.parse(reason or "")
    except InputError as error:
        raise InputError(f"the reason: {error.message}", "say why the entry is wrong") from None


def check_identity(book: Book, record: Airframe) -> None:
    """Refuse particulars of another airframe."""
    name = airframe_book_name(record.type_designator, record.serial_number)
    if name != book.name:
        raise InputError(
            f"{name} is not the airframe of the logbook {book.name}",
            "type designator and serial number of an airframe never change",
        )
