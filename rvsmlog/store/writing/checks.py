"""Making a go/no-go check: read the facts, judge them, and keep the check as an entry."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime

from sqlalchemy import Connection

from rvsmlog.dates import check_instant, local_day, parse_instant
from rvsmlog.errors import InputError, RefusedError
from rvsmlog.facts import NOTHING_SAID, Facts, FlightData, Question
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.checks import GoNoGo
from rvsmlog.records.trade_fields import EntryNumber, stored_instant
from rvsmlog.rules.term import last_minute
from rvsmlog.store.connection import Store
from rvsmlog.store.given import check_asked, check_hold, check_span, check_text
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.books import OPERATOR, Book, find_book, seal
from rvsmlog.store.reading.drift_reader import keep_drift
from rvsmlog.store.reading.facts_reader import Heads, heads_at, operator_zone, read_facts
from rvsmlog.store.reading.flight_data import from_text, to_text, with_route
from rvsmlog.store.reading.reader import head_at, made_by, read, view
from rvsmlog.store.writing.clock import believed, check_possible
from rvsmlog.store.writing.logbook import writing
from rvsmlog.verdict import Verdict, judge


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a check is asked; what is left out is taken from the check that is repeated.

    Parameters
    ----------
    registration : str
        The airframe.
    at : datetime or None
        The instant of the flight; now when left out.
    on : date or None
        A day to look ahead to, in the operator's time zone, in place of an instant: as on record
        now, what is due by the end of that day counts as due.
    level, region, pilot, flight
        As in :class:`rvsmlog.facts.Question`.
    as_of : str or None
        An entry number of the airframe's logbook or an instant: what was known then.
    """

    registration: str
    at: datetime | None = None
    on: date | None = None
    level: int | None = None
    region: str | None = None
    pilot: str | None = None
    flight: FlightData = NOTHING_SAID
    as_of: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A check that was made.

    Parameters
    ----------
    facts : Facts
        What it rests on.
    verdict : Verdict
        The answer.
    entry : Ref or None
        The entry that keeps it; None when it was not recorded.
    repeats : Ref or None
        The earlier check that it repeats.
    ahead_to : date or None
        The day that it looks ahead to.
    not_kept : str or None
        Why who asked may not record it.
    """

    facts: Facts
    verdict: Verdict
    entry: Ref | None = None
    repeats: Ref | None = None
    ahead_to: date | None = None
    not_kept: str | None = None


def check(store: Store, asked: Asked, now: datetime) -> Checked:
    """Make a check without recording it.

    Parameters
    ----------
    store : Store
        Open.
    asked : Asked
        The question.
    now : datetime
        The present instant, taken when the question names none.

    Raises
    ------
    InputError
        When the airframe, the entry or the instant is unknown, what is said of the flight is of
        another type or out of range, or the day to look ahead to is past.
    StoreError
        When no instant is named and the clock lies behind what is on record, or an entry made by
        a clock that was ahead still says what cannot be.
    """
    _check_asked(asked, now)
    with store.reading() as connection:
        book = find_airframe(connection, asked.registration)
        if asked.as_of is None:
            check_possible(connection, book.name)
            if asked.at is None:
                believed(connection, now, book.name)
        question, heads, repeats = _understood(connection, book, asked, now)
        if asked.flight.route is not None:
            question = with_route(connection, question, heads.operator if heads else None)
        check_hold(question.flight)
        facts = read_facts(connection, book, question, heads)
    return Checked(facts=facts, verdict=judge(facts), repeats=repeats, ahead_to=asked.on)


def _check_asked(asked: Asked, now: datetime) -> None:
    """Refuse what the command line would not have asked."""
    if not isinstance(asked, Asked):
        raise InputError(f"{asked!r} is no question about a flight", "give Asked")
    check_instant(now)
    if asked.at is not None:
        check_instant(asked.at)
    check_span(asked.on)
    if asked.as_of is not None:
        check_text(asked.as_of, "--as-of")
    check_asked(asked.level, asked.region, asked.pilot, asked.flight)


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedOfFleet:
    """One question to every airframe.

    Parameters
    ----------
    question : Question
        The same for all.
    known_at : datetime or None
        What was known then counts; None for all that is on record.
    """

    question: Question
    known_at: datetime | None = None


def asked_of_fleet(connection: Connection, asked: Asked, now: datetime) -> AskedOfFleet:
    """Turn what is asked of every airframe into a question.

    Raises
    ------
    InputError
        As :func:`check`, or when what was known is asked by an entry's number: which airframe's
        entry is not said.
    """
    _check_asked(asked, now)
    known_at, head = None, None
    if asked.as_of is not None and asked.on is None:
        if _as_number(asked.as_of) is not None:
            raise InputError("--as-of: an entry number needs its airframe", "name the registration")
        known_at = _as_instant(asked.as_of)
        operator = find_book(connection, OPERATOR)
        head = None if operator is None else head_at(connection, operator, known_at)
    if asked.on is not None:
        at = _ahead(connection, asked, asked.on, now)
    else:
        at = asked.at or known_at or now
    question = _question(asked, at)
    if asked.flight.route is not None:
        question = with_route(connection, question, head)
    check_hold(question.flight)
    return AskedOfFleet(question=question, known_at=known_at)


def check_and_record(
    store: Store, asked: Asked, *, by: str, clock: Callable[[], datetime]
) -> Checked:
    """Make a check and keep it as an entry of the airframe's logbook.

    A repeated check (``as_of``) is not recorded: the first one was. Nor is a look ahead (``on``):
    no flight rests on it. Who may not record a check is answered, and told that it was not kept.
    """
    made = check(store, asked, clock())
    if asked.as_of is not None or asked.on is not None:
        return made
    try:
        return replace(made, entry=_keep(store, made, by, clock))
    except RefusedError as refused:
        return replace(made, not_kept=refused.message)


def _keep(store: Store, made: Checked, by: str, clock: Callable[[], datetime]) -> Ref:
    """Keep a check. To ask is no offence: one that may not be recorded leaves no trace."""
    book_name = made.facts.airframe.ref.logbook
    with writing(store, by, clock, trace=False) as log:
        book = find_book(log.connection, book_name)
        if book is None:
            raise InputError(f"the logbook {book_name} has gone", "run `rvsmlog store verify`")
        ref = log.append(book, _kept(made))
        keep_drift(log.connection, book, made.facts)
    return ref


def _kept(made: Checked) -> GoNoGo:
    """Give the record of a check: what was asked, what was known, what was answered."""
    verdict, question = made.verdict, made.facts.question
    known = {seal.logbook: seal for seal in verdict.seals}
    operator = known.get(OPERATOR)
    return GoNoGo(
        at=question.at,
        verdict=verdict.answer.value,
        rulebook=verdict.rulebook,
        operator_entry=0 if operator is None else operator.entry,
        operator_seal=None if operator is None else operator.digest,
        airframe_entry=known[made.facts.airframe.ref.logbook].entry,
        planned_level=question.level,
        highest_level=verdict.highest_level,
        region=question.region,
        pilot=question.pilot,
        question=to_text(question.flight),
        limiting=",".join(dict.fromkeys(finding.rule for finding in verdict.limiting)) or None,
    )


def _understood(
    connection: Connection, book: Book, asked: Asked, now: datetime
) -> tuple[Question, Heads | None, Ref | None]:
    """Turn what is asked into a question, and what counts as known."""
    if asked.on is not None:
        return _question(asked, _ahead(connection, asked, asked.on, now)), None, None
    question = _question(asked, asked.at or now)
    if asked.as_of is None:
        return question, None, None
    number = _as_number(asked.as_of)
    if number is None:
        instant = _as_instant(asked.as_of)
        if asked.at is None:
            question = replace(question, at=instant)
        return question, heads_at(connection, book, instant), None
    return _as_of_entry(connection, book, number, asked)


def _ahead(connection: Connection, asked: Asked, day: date, now: datetime) -> datetime:
    """Give the instant at which a day is looked at: its last minute, and now where it is today.

    Raises
    ------
    InputError
        When an instant or an entry is asked for as well, or the day is past.
    """
    if asked.at is not None or asked.as_of is not None:
        raise InputError("a day and an instant are both asked for", "give one of them")
    zone = operator_zone(connection)
    today = local_day(now, zone)
    if day < today:
        raise InputError(
            f"{day} is past: it is {today} in {zone}", "for a moment of the past give --at"
        )
    return now if day == today else last_minute(day, zone)


def _question(asked: Asked, at: datetime) -> Question:
    """Give what is asked as a question about one instant."""
    return Question(
        at=at,
        level=asked.level,
        region=asked.region,
        pilot=asked.pilot,
        flight=asked.flight,
        whole_day=asked.on is not None,
    )


def _as_instant(text: str) -> datetime:
    """Read as of when; a fault says what else may be written."""
    try:
        return parse_instant(text)
    except InputError as error:
        raise InputError(
            f"--as-of: {error.message}", f"{error.hint}; or an entry's number"
        ) from None


def _as_number(text: str) -> int | None:
    """Give an entry number, or None when the text is something else."""
    bare = text.strip().removeprefix("#")
    if not (bare.isascii() and bare.isdigit()):
        return None
    try:
        return EntryNumber("entry").parse(bare)
    except InputError as error:
        raise InputError(f"--as-of: {error.message}", error.hint) from None


def _as_of_entry(
    connection: Connection, book: Book, number: int, asked: Asked
) -> tuple[Question, Heads, Ref | None]:
    """Take what was known at an entry; a check's own entry says exactly what it knew."""
    seen = view(connection, book, number)
    found = read(connection, seen, GoNoGo.kind, where="d.number = :number", number=number)
    if not found:
        instant = stored_instant(_made_by(connection, book, number))
        heads = heads_at(connection, book, instant, number)
        return _question(asked, asked.at or instant), heads, None
    kept: GoNoGo = found[0].record
    _check_operator(connection, found[0].ref, kept)
    kept_flight = NOTHING_SAID if asked.flight.route else from_text(kept.question)
    question = Question(
        at=asked.at or kept.at,
        level=asked.level or kept.planned_level,
        region=asked.region or kept.region,
        pilot=asked.pilot or kept.pilot,
        flight=asked.flight.filled_from(kept_flight),
    )
    heads = Heads(airframe=kept.airframe_entry, operator=kept.operator_entry)
    return question, heads, found[0].ref


def _check_operator(connection: Connection, ref: Ref, kept: GoNoGo) -> None:
    """Refuse to repeat a check that was made with another operator's logbook.

    An airframe's logbook goes to its buyer with the checks in it, and the operator's does not.
    """
    if kept.operator_seal is None:
        return
    book = find_book(connection, OPERATOR)
    here = None if book is None else seal(connection, book, kept.operator_entry)
    if here is None or (here.entry, here.digest) != (kept.operator_entry, kept.operator_seal):
        raise InputError(
            f"the check {ref} was made with an operator's logbook that is not this store's",
            "repeat it in the store in which it was made, or ask what was known here: --as-of with "
            "an instant",
        )


def _made_by(connection: Connection, book: Book, number: int) -> int:
    """Give by when an entry was made, microseconds since 1970."""
    made = made_by(connection, book, number)
    if made is None:
        raise InputError(
            f"there is no entry {book.name}#{number}",
            "the lists show the numbers, such as `rvsmlog crosscheck list REG`",
        )
    return made
