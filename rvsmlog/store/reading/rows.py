"""From rows to records with their entries, a column at a time.

A fleet has a hundred rows an airframe. To fill one slot of all of them in one go takes a third of
the time that a constructor and a loop over the fields of each would.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from rvsmlog.errors import InputError, StoreError
from rvsmlog.facts import Logged
from rvsmlog.frozen import by_columns
from rvsmlog.records.base import RecordKind, Ref
from rvsmlog.records.trade_fields import stored_instant

#: What is raised where a column holds what no entry has.
_DAMAGE = (ValueError, TypeError, ArithmeticError, InputError, StoreError)
_NOTHING: Mapping[int, int] = {}


def first_made(corrects: Mapping[int, int], number: int) -> int:
    """Follow corrections back to the number first made."""
    while number in corrects:
        number = corrects[number]
    return number


def logged(
    kind: RecordKind,
    rows: Sequence[Sequence[Any]],
    names: Mapping[int, str],
    corrects: Mapping[int, Mapping[int, int]],
) -> tuple[Logged[Any], ...]:
    """Turn rows into records.

    Parameters
    ----------
    kind : RecordKind
        What they are records of.
    rows : sequence of rows
        Logbook, number, time and author of the entry, then the kind's fields.
    names : mapping
        Each logbook's name.
    corrects : mapping
        What each correction corrects, by logbook; those without may be left out.

    Raises
    ------
    StoreError
        When a value is none that is stored: the store was damaged or changed.
    """
    if not rows:
        return ()
    books, numbers, times, authors, *columns = zip(*rows, strict=True)
    try:
        records = kind.read_columns(columns)
        made_at = {time: stored_instant(time) for time in set(times)}
    except _DAMAGE:
        records = [kind.read_row(row[4:]) for row in rows]  # says which field it is
        made_at = {time: stored_instant(time) for time in times}
    refs = by_columns(Ref, len(rows), logbook=map(names.__getitem__, books), entry=numbers)
    firsts: Sequence[int] = numbers
    if corrects:
        firsts = [
            first_made(corrects.get(book, _NOTHING), number)
            for book, number in zip(books, numbers, strict=True)
        ]
    made: list[Logged[Any]] = by_columns(
        Logged,
        len(rows),
        ref=refs,
        first=firsts,
        recorded_at=map(made_at.__getitem__, times),
        recorded_by=authors,
        record=records,
    )
    return tuple(made)
