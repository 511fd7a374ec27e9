"""What a recording command says beside that it recorded: what follows from the new entry."""

from collections.abc import Mapping
from dataclasses import field
from typing import Any

from rvsmlog.cli.options import opened
from rvsmlog.dates import now
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Record, Ref
from rvsmlog.reports.text import Line, wrap

#: Kinds of entry that may call for a functional check.
_WORK = ("work", "rectification", "equipment", "removal", "swap")
_READINGS = "test-readings"
_CLOSURE = "closure"


@dataclass(frozen=True, slots=True)
class Follows:
    """What follows, for the screen and for JSON; nothing for most kinds."""

    lines: tuple[Line, ...] = ()
    fields: Mapping[str, Any] = field(default_factory=dict)


def follows(where: str | None, ref: Ref, record: Record) -> Follows:
    """Give what follows from a new entry.

    Parameters
    ----------
    where : str or None
        The store.
    ref : Ref
        The new entry.
    record : Record
        What it says.
    """
    if record.kind.name in _WORK:
        return _checks(where, ref)
    if record.kind.name == _READINGS:
        return _judged(where, ref)
    if record.kind.name == _CLOSURE:
        return _closed(where, ref)
    return Follows()


def _closed(where: str | None, ref: Ref) -> Follows:
    """Say where a closure leaves a height error unconfirmed."""
    from rvsmlog.store.after_work import unconfirmed
    from rvsmlog.units import show_level

    with opened(where) as store:
        found = unconfirmed(store, ref, now())
    if found is None or found.highest_level is None:
        return Follows(fields={"still_limits": None})
    level = show_level(found.highest_level)
    lines = (*wrap(f"{level} at most: {found.says}", 2, 4), *wrap(found.remedy, 2, 4))
    limits = {
        "rule": found.rule,
        "highest_level": found.highest_level,
        "says": found.says,
        "remedy": found.remedy,
        "sources": list(found.sources),
    }
    return Follows(lines, {"still_limits": limits})


def _checks(where: str | None, ref: Ref) -> Follows:
    """Say which functional checks work calls for."""
    from rvsmlog.reports.called_for import call_lines, call_rows
    from rvsmlog.store.after_work import checks_called_for

    with opened(where) as store:
        calls = checks_called_for(store, ref, now())
    return Follows(tuple(call_lines(calls)), {"calls_for": call_rows(calls)})


def _judged(where: str | None, ref: Ref) -> Follows:
    """Judge readings."""
    from rvsmlog.reports.judgement import judgement_lines, judgement_object
    from rvsmlog.store.after_work import judged_test
    from rvsmlog.store.books import find_book

    with opened(where) as store, store.reading() as connection:
        book = find_book(connection, ref.logbook)
        found = None if book is None else judged_test(connection, book, ref.entry, now())
    if found is None:
        return Follows()
    return Follows(tuple(judgement_lines(found)), {"judgement": judgement_object(found)})
