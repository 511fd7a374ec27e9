"""Guided entry of cross-checks: one question after the other, as on a paper sheet."""

from collections.abc import Mapping
from dataclasses import field

from rvsmlog.cli.dialogue import Dialogue
from rvsmlog.cli.follows import follows
from rvsmlog.cli.options import opened
from rvsmlog.cli.sheet import (
    KIND,
    Sheet,
    carried,
    choices,
    explained,
    find_field,
    one_line,
    question,
    summary,
)
from rvsmlog.cli.stopping import is_untold
from rvsmlog.dates import now
from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.asked import asked_in
from rvsmlog.records.base import FieldError, Ref
from rvsmlog.records.flights import CrossCheck
from rvsmlog.reports.comparisons import Comparison, comparison_lines, comparisons, next_steps
from rvsmlog.reports.text import Line, wrap
from rvsmlog.store.reading.airframes import find_airframe, registrations
from rvsmlog.store.reading.history import said
from rvsmlog.store.reading.lookup import check_not_double, particulars
from rvsmlog.store.reading.references import check_correction
from rvsmlog.store.writing.recording import record_entry

_YES, _NO = {"y", "yes"}, {"n", "no"}
Made = tuple[Ref, CrossCheck, Airframe]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What the command line asked for.

    Parameters
    ----------
    where : str or None
        The store.
    by : str
        Who records.
    registration : str or None
        The airframe; asked for when left out.
    given : mapping of str to str
        Answers given already, by field.
    corrects : int or None
        The entry that the check corrects.
    reason : str or None
        Why.
    one : bool
        Whether to stop after one check.
    """

    where: str | None
    by: str
    registration: str | None
    given: Mapping[str, str | None] = field(default_factory=dict)
    corrects: int | None = None
    reason: str | None = None
    one: bool = False


def guide(talk: Dialogue, wish: Wish) -> tuple[Made, ...]:
    """Ask for one check after the other until the person has no more.

    Returns
    -------
    tuple of (Ref, CrossCheck, Airframe)
        What was recorded, and of which airframe; at least one.

    Raises
    ------
    InputError
        When nothing was recorded, or the last check was broken off.
    KeyboardInterrupt
        When it was stopped while the last one is, or may be, on record.
    """
    made: list[Made] = []
    try:
        airframe = _airframe(talk, wish)
        sheet = _sheet(wish, airframe)
        while True:
            if _completed(talk, wish, sheet):
                made.append(_record(talk, wish, sheet))
            if wish.one or not _another(talk):
                break
            sheet = _next(sheet)
    except (KeyboardInterrupt, EOFError):
        talk.end_line()
        if is_untold(len(made)):  # stopped between the commit and its report
            raise
        stand = ", ".join(str(ref) for ref, _, _ in made)
        hint = f"on record: {stand}" if made else "nothing was written"
        raise InputError("stopped before the end: this check was not written", hint) from None
    if not made:
        raise InputError("nothing was recorded", "answer yes to record a check")
    return tuple(made)


def _airframe(talk: Dialogue, wish: Wish) -> Airframe:
    """Find the airframe, or ask for it."""
    with opened(wish.where) as store, store.reading() as connection:
        if wish.registration is not None:
            return particulars(connection, wish.registration).record
        known = [registration for registration, _ in registrations(connection)]
    if not known:
        raise InputError("no airframe is on record yet", "enter it with `rvsmlog airframe add`")
    only = known[0] if len(known) == 1 else ""
    while True:
        answer = talk.ask(f"airframe [{only}]: " if only else "airframe: ") or only
        if answer in {"", "?"}:
            talk.say(wrap("one of " + ", ".join(known), 2, 4))
            continue
        try:
            with opened(wish.where) as store, store.reading() as connection:
                return particulars(connection, answer).record
        except InputError as error:
            talk.say(_refusal(error))


def _sheet(wish: Wish, airframe: Airframe) -> Sheet:
    """Begin the first sheet with what the command line gave, and what a corrected entry says."""
    given = {name: text for name, text in wish.given.items() if text is not None}
    offered = _before(wish, airframe)
    # What the sheet would not ask for is kept as it was.
    kept = set(offered) - set(asked_in(given.get("phase") or offered.get("phase", "")))
    given = {name: offered[name] for name in kept} | given
    sheet = Sheet(airframe=airframe, now=now(), given=frozenset(given), offered=offered)
    for name, text in given.items():
        try:
            sheet.put(name, text)
        except InputError as error:
            raise FieldError(name, error.message, error.hint) from None
    return sheet


def _before(wish: Wish, airframe: Airframe) -> dict[str, str]:
    """Give what the entry says that is corrected, as texts; nothing where none is."""
    if wish.corrects is None:
        return {}
    with opened(wish.where) as store, store.reading() as connection:
        book = find_airframe(connection, airframe.registration)
        check_correction(connection, book, KIND.name, wish.corrects)
        record = said(connection, book, wish.corrects)
    values = {spec: getattr(record, spec.name) for spec in KIND.fields}
    return {spec.name: spec.type.show(value) for spec, value in values.items() if value is not None}


def _next(before: Sheet) -> Sheet:
    """Begin the next sheet: the same airframe, near the same time."""
    if "taken_at" not in before.values:
        return Sheet(airframe=before.airframe, now=now())
    return Sheet(
        airframe=before.airframe,
        now=now(),
        earlier=before.values["taken_at"],
        offered=carried(before),
    )


def _completed(talk: Dialogue, wish: Wish, sheet: Sheet) -> bool:
    """Fill in a sheet and have it confirmed; False when it is given up."""
    talk.say(
        [
            Line(f"Cross-check of {sheet.airframe.registration}", "bold"),
            *wrap("? explains, Enter passes over, - empties, Ctrl-C writes nothing", 2, 2),
        ]
    )
    _tell(talk, comparisons(sheet.airframe, sheet.values), ())
    while True:
        while (name := sheet.next_field()) is not None:
            _answer(talk, wish, sheet, name)
        fault = _fault(wish, sheet)
        if fault is not None:
            talk.say(_refusal(fault))
            _answer(talk, wish, sheet, fault.field)
            continue
        if (name := sheet.next_doubt()) is not None:
            _doubt_again(talk, wish, sheet, name)
            continue
        decided = _decision(talk, wish, sheet)
        if decided is not None:
            return decided


def _doubt_again(talk: Dialogue, wish: Wish, sheet: Sheet, name: str) -> None:
    """Ask again for a reading that came with the command, or whose level was changed since."""
    doubted = sheet.texts[name] or ""
    talk.say(wrap(_again(sheet.doubt(name)), 2, 4))
    sheet.offered.pop(name, None)  # Enter alone confirms nothing.
    _answer(talk, wish, sheet, name, doubted)


def _again(doubt: str) -> str:
    return f"{doubt}: type it again to keep it, or type what it was"


def _answer(talk: Dialogue, wish: Wish, sheet: Sheet, name: str, doubted: str = "") -> None:
    """Ask for one field until the answer is one, and say at once what follows from it."""
    before = comparisons(sheet.airframe, sheet.values)
    talk.say(choices(name))
    while True:
        text = talk.ask(question(sheet, name)) or sheet.offered.get(name, "")
        if text == "?":
            talk.say(explained(name))
        elif text in {"", "-"}:
            if not sheet.is_wanted(name):
                sheet.skip(name)
                return
            talk.say(wrap(f"this one is needed: {KIND.by_name[name].type.wanted}", 2, 4))
        else:
            doubt = _taken(talk, wish, sheet, name, text)
            if doubt and text == doubted:
                sheet.kept.add(doubt)
            if doubt is None or (doubt and text == doubted):
                break
            if doubt:
                doubted = text
                talk.say(wrap(_again(doubt), 2, 4))
    _tell(talk, comparisons(sheet.airframe, sheet.values), before)


def _taken(talk: Dialogue, wish: Wish, sheet: Sheet, name: str, text: str) -> str | None:
    """Put an answer on the sheet.

    Returns
    -------
    str or None
        None when it stands, why it is doubtful, or ``""`` when it was refused.
    """
    try:
        sheet.put(name, text)
        if name == "taken_at":
            _refuse_double(wish, sheet)
    except InputError as error:
        sheet.texts.pop(name, None)
        sheet.values.pop(name, None)
        talk.say(_refusal(error))
        return ""
    doubt = sheet.doubt(name)
    shown = sheet.texts[name] or ""
    if not doubt and shown.lower() != text.lower():
        talk.say(wrap(f"= {shown}", 2, 4))
    return doubt or None


def _refuse_double(wish: Wish, sheet: Sheet) -> None:
    """Refuse a check that is on record already, unless it corrects one.

    Raises
    ------
    FieldError
        Naming the entry.
    """
    phase, taken_at = sheet.values.get("phase"), sheet.values.get("taken_at")
    if wish.corrects is None and phase is not None and taken_at is not None:
        with opened(wish.where) as store, store.reading() as connection:
            book = find_airframe(connection, sheet.airframe.registration)
            check_not_double(connection, book, taken_at, phase)


def _refusal(error: InputError) -> list[Line]:
    """Say what is wrong with an answer, and what is wanted."""
    message = error.fault if isinstance(error, FieldError) else error.message
    return wrap(f"{message}; {error.hint}" if error.hint else message, 2, 4, "bold")


def _tell(talk: Dialogue, known: tuple[Comparison, ...], before: tuple[Comparison, ...]) -> None:
    """Show the comparisons that an answer made possible."""
    for comparison in known:
        if comparison not in before:
            talk.say(comparison_lines(comparison))


def _fault(wish: Wish, sheet: Sheet) -> FieldError | None:
    """Say what is wrong with a sheet as a whole."""
    try:
        KIND.parse(sheet.answers())
        _refuse_double(wish, sheet)
    except FieldError as error:
        return error
    return None


def _decision(talk: Dialogue, wish: Wish, sheet: Sheet) -> bool | None:
    """Show the sheet and ask: True to record it, False to give it up, None after a change."""
    talk.say([Line(""), *summary(sheet)])
    talk.say([Line("in one line:"), *one_line(sheet, wish.corrects, wish.reason)])
    while True:
        answer = talk.ask("Record it? yes, no, or a field to change: ").lower()
        if answer in _YES:
            return True
        if answer in _NO:
            talk.say([Line("  not recorded")])
            return False
        if not answer:
            talk.say([Line("  yes records it, no gives it up; nothing is written yet")])
            continue
        try:
            name = find_field(sheet, answer)
        except InputError as error:
            talk.say(_refusal(error))
            continue
        kept = sheet.texts.get(name)
        if kept is not None:
            sheet.offered[name] = kept
        _answer(talk, wish, sheet, name)
        return None


def _record(talk: Dialogue, wish: Wish, sheet: Sheet) -> Made:
    """Record a sheet."""
    answers = sheet.answers()
    if wish.corrects is not None:
        # Every field was asked for: one that is not answered is empty now.
        answers = {spec.name: answers.get(spec.name) or "" for spec in KIND.fields}
    with opened(wish.where) as store:
        ref, record = record_entry(
            store,
            KIND,
            answers,
            by=wish.by,
            clock=now,
            registration=sheet.airframe.registration,
            supersedes=wish.corrects,
            reason=wish.reason,
            # Each doubtful one was typed again.
            readings_confirmed=True,
        )
    assert isinstance(record, CrossCheck)  # noqa: S101  # its kind says so
    told = follows(wish.where, ref, record).lines
    talk.say([Line(f"recorded {ref}: {KIND.title}", "bold"), *told])
    if any(each.beyond for each in comparisons(sheet.airframe, sheet.values)):
        talk.say(next_steps(sheet.airframe.registration, ref.entry, record))
    return ref, record, sheet.airframe


def _another(talk: Dialogue) -> bool:
    """Ask whether there is one more; whoever goes away has no more."""
    while True:
        try:
            answer = talk.ask("Another check of this airframe? yes or no: ").lower()
        except (KeyboardInterrupt, EOFError):
            talk.end_line()
            return False
        if answer in _YES:
            return True
        if answer in _NO | {""}:
            return False
