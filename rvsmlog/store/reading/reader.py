"""Reading entries back as records, as known at one entry or instant.

The statements are plain text made from the record kinds: a check is a process of its own, and
composing and compiling twenty statements would cost it more than running them.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from functools import cache, lru_cache
from typing import Any

from sqlalchemy import Connection, text

from rvsmlog.dates import show_instant
from rvsmlog.errors import InputError
from rvsmlog.facts import Logged
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import RecordKind
from rvsmlog.records.trade_fields import instant_to_scalar, stored_instant
from rvsmlog.store.encoding import stored_correction, stored_number
from rvsmlog.store.reading.books import Book
from rvsmlog.store.reading.rows import first_made, logged
from rvsmlog.store.reading.side_by_side import SideBySide, Wanted
from rvsmlog.store.tables import STRIKE, table_name

_NOT_CORRECTED = (
    "NOT EXISTS (SELECT 1 FROM entry c WHERE c.logbook_id = d.logbook_id "
    "AND c.supersedes = d.number AND c.number <= :head)"
)

_NEVER = 2**63


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A logbook as it was known at one of its entries.

    Parameters
    ----------
    book : Book
        The logbook.
    head : int
        The newest entry that was known.
    corrected : mapping of int to int
        Number of each corrected or struck entry to the number that corrects it.
    corrects : mapping of int to int
        The same, the other way round.
    batch : SideBySide or None
        Other logbooks that are read with it, all as known now.
    """

    book: Book
    head: int
    corrected: Mapping[int, int]
    corrects: Mapping[int, int]
    batch: SideBySide | None = None

    def first_made(self, number: int) -> int:
        """Follow corrections back to the number first made."""
        return first_made(self.corrects, number)

    def newest_made(self, number: int) -> int:
        """Follow corrections forward to the newest number."""
        while number in self.corrected:
            number = self.corrected[number]
        return number


def view(connection: Connection, book: Book, head: int | None = None) -> View:
    """Read which entries of a logbook were corrected, as known at an entry.

    Parameters
    ----------
    head : int, optional
        The entry; the newest when left out.

    Raises
    ------
    InputError
        When there is no such entry.
    """
    newest = newest_number(connection, book)
    if head is None:
        head = newest
    elif not 0 <= head <= newest:
        raise InputError(f"there is no entry {book.name}#{head}", f"the newest is #{newest}")
    rows = connection.execute(
        text(
            # The plus sign keeps the database from walking through every entry there is: the few
            # corrections have an index of their own.
            "SELECT supersedes, number FROM entry WHERE logbook_id = :book "
            "AND supersedes IS NOT NULL AND +number <= :head"
        ),
        {"book": book.id, "head": head},
    ).all()
    pairs = [stored_correction(row[0], row[1]) for row in rows]
    return View(
        book=book,
        head=head,
        corrected=dict(pairs),
        corrects={number: supersedes for supersedes, number in pairs},
    )


def views(connection: Connection, books: Sequence[Book]) -> Iterator[View]:
    """Read several logbooks side by side, as known now."""
    batch = SideBySide(connection, books)
    for book in books:
        yield View(
            book=book,
            head=batch.seals[book.id].entry,
            corrected=batch.corrected.get(book.id, {}),
            corrects=batch.corrects.get(book.id, {}),
            batch=batch,
        )


def newest_number(connection: Connection, book: Book) -> int:
    """Give the number of the newest entry, 0 when there is none."""
    found = connection.execute(
        text("SELECT max(number) FROM entry WHERE logbook_id = :book"), {"book": book.id}
    ).scalar()
    return 0 if found is None else stored_number(found)


def head_at(connection: Connection, book: Book, instant: datetime) -> int:
    """Give the newest entry that was made at or before an instant, 0 when there was none.

    Times run forward within a logbook, but for the corrections of a clock that was ahead: what
    stands before one was made before it, whatever its time says.

    Raises
    ------
    InputError
        When it cannot be told, for entries of about that time were made by a clock that was ahead.
    """
    latest = instant_to_scalar(instant)
    corrections = clock_corrections(connection, book)
    known = _newest_by(connection, book, corrections, latest, newest_number(connection, book))
    for clock in reversed(corrections):
        if clock <= known:
            continue
        # What the wrong clock dated later than its correction may have been made at any time
        # between the last entry that was not, and the correction.
        corrected_at = _recorded_at(connection, book, clock)
        right = _newest_by(connection, book, corrections, corrected_at, clock - 1)
        if right < clock - 1 and (right == 0 or _recorded_at(connection, book, right) <= latest):
            raise InputError(
                f"{book.name}#{right + 1} to #{clock - 1} were made by a clock that was ahead, so "
                "what was known at that instant cannot be told",
                f"name an entry, or an instant from that of {book.name}#{clock} on: "
                f"{show_instant(stored_instant(corrected_at))}",
            )
    return known


def clock_corrections(connection: Connection, book: Book) -> list[int]:
    """Give the numbers of the corrections of the clock in a logbook, in order."""
    table = f"{book.kind}_clock_detail"
    query = text(f"SELECT number FROM {table} WHERE logbook_id = :book ORDER BY number")
    return list(connection.execute(query, {"book": book.id}).scalars())


def made_by(connection: Connection, book: Book, number: int) -> int | None:
    """Give by when an entry was made, microseconds since 1970; None where there is no such entry.

    That is its own time, or where its clock was ahead, that of the correction.
    """
    if number > newest_number(connection, book):
        return None
    later = [each for each in clock_corrections(connection, book) if each > number]
    return min(_recorded_at(connection, book, each) for each in (number, *later))


def _newest_by(
    connection: Connection, book: Book, corrections: Sequence[int], latest: int, last: int
) -> int:
    """Give the newest entry as far as another whose time is not after one; 0 when there is none.

    Between two corrections of the clock entries are numbered without gaps in the order of time:
    twenty seeks find one in a million.
    """
    for first in (*reversed(corrections), 1):
        known, unknown = first - 1, last + 1
        while unknown - known > 1:
            middle = (known + unknown) // 2
            if _recorded_at(connection, book, middle) <= latest:
                known = middle
            else:
                unknown = middle
        if known >= first:
            return known
        last = min(last, first - 1)
    return 0


def _recorded_at(connection: Connection, book: Book, number: int) -> int:
    """Give when an entry was made; one that was lost counts as made after all others."""
    query = text("SELECT recorded_at FROM entry WHERE logbook_id = :book AND number = :number")
    made = connection.execute(query, {"book": book.id, "number": number}).scalar()
    return _NEVER if made is None else int(made)


def read(
    connection: Connection,
    seen: View,
    kind: RecordKind,
    *,
    where: str = "",
    order: str = "d.number",
    limit: int | None = None,
    superseded: bool = False,
    **bound: object,
) -> tuple[Logged[Any], ...]:
    """Read the standing records of one kind: corrected ones as corrected, struck ones left out.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    seen : View
        The logbook as known at an entry.
    kind : RecordKind
        Which records.
    where : str
        A further condition on the details ``d``, with ``bound`` values by name.
    order : str
        Order of the rows read.
    limit : int, optional
        How many records to read at the most.
    superseded : bool
        Read those too that were corrected or struck out, as they were made.

    Returns
    -------
    tuple of Logged
        In the order asked for.
    """
    wanted = _wanted(kind, where, order, limit, superseded)
    if seen.batch is not None:
        return seen.batch.records(wanted, seen.book, bound)
    book = seen.book
    known = {"book": book.id, "head": seen.head, **bound}
    rows: Sequence[Any] = connection.execute(text(wanted.of_one()), known).all()
    if seen.corrected and not superseded:
        rows = [row for row in rows if row[1] not in seen.corrected]
    corrects = {book.id: seen.corrects} if seen.corrects else {}
    return logged(kind, rows, {book.id: book.name}, corrects)


# The airframes of a fleet are asked the same.
@lru_cache(maxsize=256)
def _wanted(
    kind: RecordKind, where: str, order: str, limit: int | None, superseded: bool
) -> Wanted:
    """Say which rows are wanted; as :func:`read`."""
    conditions = [where] if where else []
    if limit is not None and not superseded:
        # What was corrected must not use up the limit.
        conditions.append(_NOT_CORRECTED)
    also = "".join(f" AND ({condition})" for condition in conditions)
    return Wanted(
        kind=kind,
        columns=_columns(kind),
        table=table_name(kind),
        where=also,
        order=order,
        limit=limit,
        superseded=superseded,
    )


@cache
def _columns(kind: RecordKind) -> str:
    """Name the columns of a kind's records, behind the number."""
    return ", ".join(
        ("e.recorded_at", "e.recorded_by", *(f"d.{each.name}" for each in kind.fields))
    )


def strikes(connection: Connection, seen: View) -> frozenset[int]:
    """Give the numbers of the entries that strike others out."""
    rows = connection.execute(
        text(
            "SELECT number FROM entry WHERE logbook_id = :book AND kind = :strike "
            "AND number <= :head"
        ),
        {"book": seen.book.id, "strike": STRIKE, "head": seen.head},
    )
    return frozenset(rows.scalars())
