"""What a recording command says beside that it recorded: what follows from the new entry."""

from collections.abc import Mapping
from dataclasses import field
from typing import Any

from rvsmlog.cli.options import opened
from rvsmlog.dates import now
from rvsmlog.errors import StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Record, Ref
from rvsmlog.records.kinds import PARTICULARS
from rvsmlog.reports.text import Line, wrap

#: Kinds of entry that may call for a functional check.
_WORK = ("work", "rectification", "equipment", "removal", "swap")
_READINGS = "test-readings"
_CLOSURE = "closure"
_DOUBTED = ("flight", "crosscheck", "oxygen-reading", "knowledge")
_INTERVAL = ("deferral", "extension")
_DEFECTS = ("defect", "altimetry-fault")


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

    Notes
    -----
    The entry is on record by now: a store that cannot be read any more does not change that, and
    shall not keep the command from saying so.
    """
    try:
        return _found(where, ref, record)
    except StoreError as error:
        says = f"what follows from it cannot be told: {error.message}"
        return Follows(tuple(wrap(says, 2, 4, "bold")), {"cannot_be_told": error.message})


def _found(where: str | None, ref: Ref, record: Record) -> Follows:
    """Look up what follows, by the kind of entry."""
    name = record.kind.name
    if name in _WORK:
        return _checks(where, ref)
    if name in _INTERVAL:
        return _interval(where, ref)
    if name in _DEFECTS:
        return _grounded(where, ref)
    if name in (_READINGS, _CLOSURE):
        return _judged(where, ref) if name == _READINGS else _closed(where, ref)
    if name in (*_DOUBTED, *PARTICULARS):
        find = _doubts if name in _DOUBTED else _replaced
        return find(where, ref, record)
    return Follows()


def _doubts(where: str | None, ref: Ref, record: Record) -> Follows:
    """Say what looks wrong about an entry, and how it is corrected if it is."""
    from rvsmlog.store.reading.doubts import doubts

    with opened(where) as store:
        found = doubts(store, ref, record)
    lines = [line for each in found for line in wrap(f"is it right? {each}", 2, 4, "bold")]
    if found:
        lines += wrap(f"if not: --corrects {ref.entry} --reason TEXT", 2, 4)
    return Follows(tuple(lines), {"doubts": list(found)})


def _interval(where: str | None, ref: Ref) -> Follows:
    """Say until when a deferral lasts now, and which extension does not count."""
    from rvsmlog.store.reading.after_work import repair_interval

    with opened(where) as store:
        found = repair_interval(store, ref, now())
    if found is None:
        return Follows(fields={"last_day": None})
    lines = wrap(f"last day {found.last_day}; the defect is not flown with after it", 2, 4)
    if found.refused:
        lines += wrap(found.refused, 2, 4, "bold")
    return Follows(
        tuple(lines), {"last_day": str(found.last_day), "refused": found.refused or None}
    )


def _replaced(where: str | None, ref: Ref, record: Record) -> Follows:
    """Say what an earlier entry said that the new one, which takes its place, leaves out."""
    from rvsmlog.store.reading.replaced import replaced_by

    with opened(where) as store:
        found = replaced_by(store, ref, record)
    flows = _flows(ref, record)
    if found is None:
        return flows
    if not found.dropped:
        return Follows(flows.lines, {"no_longer_said": [], **flows.fields})
    said = ", ".join(spec.option for spec in found.dropped)
    lines = (
        *wrap(f"No longer said, as it takes the place of #{found.before.entry}: {said}", 2, 4),
        *wrap(f"If that is wrong, give them with --corrects {ref.entry} --reason TEXT.", 2, 4),
    )
    dropped = [spec.name for spec in found.dropped]
    return Follows((*lines, *flows.lines), {"no_longer_said": dropped, **flows.fields})


def _flows(ref: Ref, record: Record) -> Follows:
    """Say which flow of oxygen a check will miss."""
    from rvsmlog.records.oxygen import OxygenInstallation
    from rvsmlog.rules.oxygen_flows import flows_missing

    if not isinstance(record, OxygenInstallation):
        return Follows()
    missing = flows_missing(record)
    lines: list[Line] = []
    for name in missing:
        option = record.kind.by_name[name].option
        who = "passengers" if name == "passenger_flow" else "crew"
        says = (
            f"The flow of the {who} is not on record: a check holds back the levels that need it. "
            f"Give the handbook's with {option} and --flow-reference, --corrects {ref.entry} "
            "--reason TEXT."
        )
        lines += wrap(says, 2, 4, "bold")
    return Follows(tuple(lines), {"flows_missing": list(missing)})


def _grounded(where: str | None, ref: Ref) -> Follows:
    """Say that no flight may go with a defect that is neither rectified nor deferred."""
    from rvsmlog.store.reading.after_work import grounding

    with opened(where) as store:
        found = grounding(store, ref, now())
    if found is None:
        return Follows(fields={"no_flight": None})
    lines = tuple(wrap(found.says, 2, 4, "bold"))
    return Follows(lines, {"no_flight": {"rule": found.rule, "says": found.says}})


def _closed(where: str | None, ref: Ref) -> Follows:
    """Say where a closure leaves a height error unconfirmed."""
    from rvsmlog.store.reading.after_work import unconfirmed
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
    from rvsmlog.store.reading.after_work import checks_called_for

    with opened(where) as store:
        calls = checks_called_for(store, ref, now())
    return Follows(tuple(call_lines(calls)), {"calls_for": call_rows(calls)})


def _judged(where: str | None, ref: Ref) -> Follows:
    """Judge readings."""
    from rvsmlog.reports.judgement import judgement_lines, judgement_object
    from rvsmlog.store.reading.after_work import judged_test
    from rvsmlog.store.reading.books import find_book

    with opened(where) as store, store.reading() as connection:
        book = find_book(connection, ref.logbook)
        found = None if book is None else judged_test(connection, book, ref.entry, now())
    if found is None:
        return Follows()
    return Follows(tuple(judgement_lines(found)), {"judgement": judgement_object(found)})
