"""The pilot: what is on record about knowledge of RVSM."""

from collections.abc import Iterator
from datetime import date

from rvsmlog.dates import calendar_months_due, days_left
from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import Margin
from rvsmlog.records.operator import Knowledge, Pilot
from rvsmlog.rules.base import Result, advice, met, not_met, not_on_record, rule
from rvsmlog.rules.term import Term
from rvsmlog.standards.authorities import Authority, authority
from rvsmlog.standards.rvsm import HIGHEST_LEVEL_BELOW_RVSM, TRAINING_MONTHS

_BELOW = HIGHEST_LEVEL_BELOW_RVSM.value
_TWO = 2
_TRAIN = "Train {code} again, and record the training with its last day."


@rule("appendix-g-3c", "appendix-g-4b", "spa-rvsm-105-training")
def pilot_knowledge_missing(facts: Facts) -> Iterator[Result]:
    """Pilot without RVSM knowledge on record.

    Checks: That the pilot of the flight is known (named in the question, or the operator's only
    one), and a second pilot where --people says that two or more fly, or one is named; that RVSM
    training of each is on record, and that the newest still counts on the day of the flight; its
    last day counts. Where two fly and no second pilot is named, that one's training is not on
    record: so a flight that wears no masks because two pilots fly names both. Where the rules make
    training recur and the record sets no last day, the finding is advice for 24 calendar months;
    after those nothing shows that it still counts. Held to the day on which the flight ends, as far
    as --cruise-minutes tells.

    Why: Each pilot must know RVSM requirements, policies and procedures (appendix G sections 3(c)
    and 4(b); SPA.RVSM.105). Alone on board, there is no second pilot to catch a slip.

    Remedy: Complete the training and record it with its day and, where one is set, its last day; or
    name the pilot of the flight, and the second one with --second-pilot.

    Known problems: No published interval of recurrent RVSM training was found; 12 or 24 months are
    common practice, and the longer stands in where no last day is on record. Appendix G asks a Part
    91 operator for knowledge, not for a course: a self-study record with its reference counts here
    as training. A third who flies cannot be named. Where --people is not given, one pilot is taken
    to fly: that the certificate or the operation asks for two is not known here.
    """
    first, second = _pilot(facts), _second(facts, _first_code(facts))
    for found in (first, second):
        if found is not None:
            yield found if isinstance(found, Result) else _trained(facts, found)


def _trained(facts: Facts, found: Logged[Pilot]) -> Result:
    """Judge the training of one pilot."""
    overlay = authority(facts.particulars.authority)
    code = found.record.code
    newest = newest_training(facts, code)
    if newest is None:
        return not_on_record(
            f"no RVSM training of pilot {code} on record",
            highest_level=_BELOW,
            remedy=f"Record the RVSM training of {code} with `rvsmlog crew train`.",
            evidence=(found.ref,),
            sources=(overlay.knowledge_source.key, "appendix-g-4b"),
        )
    return _judge(facts, overlay, newest)


def pilot_codes(facts: Facts) -> tuple[str, ...]:
    """Give the codes of the pilots on record, each once."""
    return tuple(dict.fromkeys(_code(logged.record.code) for logged in facts.pilots))


def newest_training(facts: Facts, code: str) -> Logged[Knowledge] | None:
    """Give a pilot's newest training, None without any."""
    return max(
        (logged for logged in facts.knowledge if _code(logged.record.pilot) == _code(code)),
        key=lambda logged: (logged.record.completed_on, logged.ref.entry),
        default=None,
    )


def knowledge_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day of the training of the flight's pilots, or of each where none is named."""
    question = facts.question
    named = {_code(each) for each in (question.pilot, question.flight.second_pilot) if each}
    for code in pilot_codes(facts):
        newest = newest_training(facts, code)
        if question.pilot is not None and code not in named:
            continue
        last_day = None if newest is None else _last_day(facts, newest.record)
        if newest is not None and last_day is not None:
            yield Term(
                rule=pilot_knowledge_missing.name,
                subject=code,
                what=f"RVSM training of {code}",
                last_day=last_day,
                evidence=(newest.ref,),
                remedy=_TRAIN.format(code=code),
                pilot=code,
            )


def _last_day(facts: Facts, training: Knowledge) -> date | None:
    """Give the last day on which training counts: as recorded, else by common practice.

    None where it does not recur and the record sets none.
    """
    if training.valid_until is not None:
        return training.valid_until
    if not authority(facts.particulars.authority).knowledge_recurrent:
        return None
    return calendar_months_due(training.completed_on, TRAINING_MONTHS.value)


def _code(text: str) -> str:
    return text.strip().upper()


def _known(facts: Facts) -> dict[str, Logged[Pilot]]:
    """Give the pilots on record by code."""
    return {_code(logged.record.code): logged for logged in facts.pilots}


def _first_code(facts: Facts) -> str | None:
    """Give the code of the pilot who is named, or of the only one on record."""
    codes = pilot_codes(facts)
    if facts.question.pilot is not None:
        return _code(facts.question.pilot)
    return codes[0] if len(codes) == 1 else None


def _pilot(facts: Facts) -> Logged[Pilot] | Result:
    """Find the pilot of the flight, or say why it is not known."""
    named, known = _first_code(facts), _known(facts)
    if named is not None:
        return known[named] if named in known else _stranger(facts, facts.question.pilot or named)
    if known:
        return _unknown(
            facts,
            f"{len(known)} pilots on record and none named",
            f"Name one of {', '.join(sorted(known))} with --pilot.",
        )
    return _unknown(
        facts,
        "no pilot on record",
        "Record the pilot with `rvsmlog crew add`, the training with `rvsmlog crew train`.",
    )


def _second(facts: Facts, first: str | None) -> Logged[Pilot] | Result | None:
    """Find the second pilot, or say why that one is not known; None where one pilot flies."""
    flight, known = facts.question.flight, _known(facts)
    if flight.second_pilot is None:
        if (flight.crew or 1) < _TWO:
            return None
        return _unknown(
            facts,
            f"{flight.crew} fly the aeroplane, and no second pilot is named",
            "Name the second pilot with --second-pilot; or, where one flies alone, say so in "
            "--people, such as 1+3.",
        )
    second = _code(flight.second_pilot)
    if second == first:
        return _unknown(
            facts,
            f"pilot {second} is named as the second pilot too",
            "Name another with --second-pilot, or leave it out where one flies alone.",
        )
    return known[second] if second in known else _stranger(facts, flight.second_pilot)


def _stranger(facts: Facts, named: str) -> Result:
    """Say that a pilot is not on record."""
    return _unknown(
        facts,
        f"pilot {named} is not on record",
        f"Record pilot {named} with `rvsmlog crew add`, or name another.",
    )


def _unknown(facts: Facts, says: str, remedy: str) -> Result:
    """Say why a pilot of the flight is not known."""
    return not_on_record(
        says,
        highest_level=_BELOW,
        remedy=remedy,
        values={"pilots": ", ".join(sorted(_known(facts)))},
        evidence=tuple(logged.ref for logged in facts.pilots),
    )


def _too_long_ago(newest: Logged[Knowledge], says: str, sources: tuple[str, ...]) -> Result:
    """Say that nothing shows that training which recurs still counts."""
    months = TRAINING_MONTHS.value
    return not_on_record(
        f"{says}; it recurs, no last day on record, {months} calendar months are over",
        highest_level=_BELOW,
        remedy=f"{_TRAIN.format(code=newest.record.pilot)} Or, where the programme lets it count "
        f"longer, correct entry #{newest.ref.entry} with its last day (--valid-until).",
        limits={"months": months},
        evidence=(newest.ref,),
        sources=(*sources, "practice"),
    )


def _judge(facts: Facts, overlay: Authority, newest: Logged[Knowledge]) -> Result:
    """Judge the newest training of the pilot."""
    training = newest.record
    says = f"{training.training} RVSM training of {training.pilot} on {training.completed_on}"
    sources = (overlay.knowledge_source.key, "appendix-g-4b")
    last = training.valid_until
    if last is None:
        if not overlay.knowledge_recurrent:
            return met(says, evidence=(newest.ref,), sources=sources)
        if facts.today > calendar_months_due(training.completed_on, TRAINING_MONTHS.value):
            return _too_long_ago(newest, says, sources)
        return advice(
            f"{says}; it recurs, but no last day is on record",
            remedy=(
                "Record the last day that the training programme sets: `rvsmlog crew train` with "
                f"--valid-until, as a correction of entry #{newest.ref.entry}."
            ),
            evidence=(newest.ref,),
            sources=sources,
        )
    left = days_left(last, facts.today)
    margin = Margin(value=left, unit="days")
    if left >= 0:
        return met(
            f"{says} counts until {last}: {left} days left",
            margin=margin,
            evidence=(newest.ref,),
            sources=sources,
        )
    return not_met(
        f"{says} counted until {last}",
        highest_level=_BELOW,
        remedy=_TRAIN.format(code=training.pilot),
        margin=margin,
        evidence=(newest.ref,),
        sources=sources,
    )
