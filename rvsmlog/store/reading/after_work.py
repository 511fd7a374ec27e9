"""What follows from a new entry: checks that work calls for, and what readings are worth."""

from datetime import datetime, timedelta

from sqlalchemy import Connection

from rvsmlog.dates import check_instant
from rvsmlog.facts import Facts, Question
from rvsmlog.findings import NO_FLIGHT, Finding
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.rules.deferrals import Interval, defect_open, deferred, interval_of
from rvsmlog.rules.height_error import height_error_unconfirmed
from rvsmlog.rules.judged_readings import Judgement, judgement
from rvsmlog.rules.work_calls import Call, calls_of
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.books import Book, find_book, first_made
from rvsmlog.store.reading.facts_reader import read_facts


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounding:
    """Why no flight may go: the rule, and what it says with what puts it right."""

    rule: str
    says: str


# Somewhere on earth the day of the work has begun already; nothing is recorded further ahead.
_AHEAD = timedelta(days=2)


def checks_called_for(store: Store, entry: Ref, now: datetime) -> tuple[Call, ...]:
    """Give the functional checks that a new entry calls for.

    Parameters
    ----------
    store : Store
        Open.
    entry : Ref
        The new entry.
    now : datetime
        The present instant.
    """
    facts = _facts_of(store, entry, now)
    return () if facts is None else calls_of(facts, entry)


def judged_test(connection: Connection, book: Book, number: int, now: datetime) -> Judgement | None:
    """Judge the test that an entry is, or whose readings it holds.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    book : Book
        The airframe's logbook.
    number : int
        An entry, corrected or not.
    now : datetime
        The present instant.

    Returns
    -------
    Judgement or None
        None for an entry of another kind, and for one that was struck out.
    """
    facts = _facts(connection, book, now)
    wanted = first_made(connection, book, number)[0]
    wanted = next((each.record.test for each in facts.readings if each.first == wanted), wanted)
    test = next((each for each in facts.tests if each.first == wanted), None)
    return None if test is None else judgement(facts, test)


def unconfirmed(store: Store, closure: Ref, now: datetime) -> Finding | None:
    """Give what still limits the level after a closure, None when nothing does.

    Parameters
    ----------
    store : Store
        Open.
    closure : Ref
        The entry that closed a deviation or a monitoring result.
    now : datetime
        The present instant.
    """
    facts = _facts_of(store, closure, now)
    found = () if facts is None else height_error_unconfirmed.findings(facts)
    return next((each for each in found if each.limits_level and closure in each.evidence), None)


def grounding(store: Store, defect: Ref, now: datetime) -> Grounding | None:
    """Say that no flight may go with a defect, None where the rules let it.

    Parameters
    ----------
    store : Store
        Open.
    defect : Ref
        The entry of a defect or an altimetry fault report.
    now : datetime
        The present instant.
    """
    facts = _facts_of(store, defect, now)
    for finding in () if facts is None else defect_open.findings(facts):
        if defect in finding.evidence and finding.highest_level == NO_FLIGHT and facts:
            return _grounding(facts, defect, finding)
    return None


def _grounding(facts: Facts, defect: Ref, finding: Finding) -> Grounding:
    """Name the commands that put it right; where a rectification lies before it, the rule does."""
    case = next(each for each in facts.defects if each.defect.ref == defect)
    if case.rectification is not None:
        return Grounding(rule=finding.rule, says=f"No flight: {finding.says}. {finding.remedy}")
    entry = f"{facts.particulars.registration} {case.defect.first}"
    says = f"No flight until `rvsmlog defect rectify {entry}` or `rvsmlog defect defer {entry}`."
    return Grounding(rule=finding.rule, says=says)


def repair_interval(store: Store, entry: Ref, now: datetime) -> Interval | None:
    """Give until when the deferral lasts that an entry made or extended, None when none stands.

    Parameters
    ----------
    store : Store
        Open.
    entry : Ref
        The deferral, or its extension.
    now : datetime
        The present instant.
    """
    facts = _facts_of(store, entry, now)
    if facts is None:
        return None
    for case, deferral in deferred(facts):
        if entry in (deferral.ref, *(extension.ref for extension in case.extensions)):
            return interval_of(facts, case, deferral.record)
    return None


def _facts_of(store: Store, entry: Ref, now: datetime) -> Facts | None:
    """Read all that is on record of the airframe in whose logbook an entry stands."""
    with store.reading() as connection:
        book = find_book(connection, entry.logbook)
        return None if book is None else _facts(connection, book, now)


def _facts(connection: Connection, book: Book, now: datetime) -> Facts:
    """Read all that is on record of an airframe."""
    check_instant(now)
    return read_facts(connection, book, Question(at=now + _AHEAD))
