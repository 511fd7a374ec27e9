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
_TRAIN = "Train {code} again, and record the training with its last day."


@rule("appendix-g-3c", "appendix-g-4b", "spa-rvsm-105-training")
def pilot_knowledge_missing(facts: Facts) -> Iterator[Result]:
    """Pilot without RVSM knowledge on record.

    Checks: That the pilot of the flight is known (named in the question, or the operator's only
    one), that RVSM training of that pilot is on record, and that the newest training still counts
    on the day of the flight; its last day counts. Where the rules make training recur and the
    record sets no last day, the finding is advice for 24 calendar months; after those nothing shows
    that it still counts. Held to the day on which the flight ends, as far as --cruise-minutes
    tells.

    Why: Each pilot must know RVSM requirements, policies and procedures (appendix G sections 3(c)
    and 4(b); SPA.RVSM.105). Alone on board, there is no second pilot to catch a slip.

    Remedy: Complete the training and record it with its day and, where one is set, its last day; or
    name the pilot of the flight.

    Known problems: No published interval of recurrent RVSM training was found; 12 or 24 months are
    common practice, and the longer stands in where no last day is on record. Appendix G asks a Part
    91 operator for knowledge, not for a course: a self-study record with its reference counts here
    as training.
    """
    overlay = authority(facts.particulars.authority)
    found = _pilot(facts)
    if isinstance(found, Result):
        yield found
        return
    code = found.record.code
    newest = newest_training(facts, code)
    if newest is None:
        yield not_on_record(
            f"no RVSM training of pilot {code} on record",
            highest_level=_BELOW,
            remedy=f"Record the RVSM training of {code} with `rvsmlog crew train`.",
            evidence=(found.ref,),
            sources=(overlay.knowledge_source.key, "appendix-g-4b"),
        )
        return
    yield _judge(facts, overlay, newest)


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
    """Give the last day of the training of the flight's pilot, or of each where none is named."""
    named = facts.question.pilot
    for code in pilot_codes(facts):
        newest = newest_training(facts, code)
        if named is not None and code != _code(named):
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


def _pilot(facts: Facts) -> Logged[Pilot] | Result:
    """Find the pilot of the flight, or say why it is not known."""
    named = facts.question.pilot
    known = {_code(logged.record.code): logged for logged in facts.pilots}
    if named is not None and _code(named) in known:
        return known[_code(named)]
    if named is None and len(known) == 1:
        return next(iter(known.values()))
    codes = ", ".join(sorted(known))
    if named is not None:
        says, remedy = (
            f"pilot {named} is not on record",
            f"Record pilot {named} with `rvsmlog crew add`, or name another.",
        )
    elif known:
        says, remedy = (
            f"{len(known)} pilots on record and none named",
            f"Name one of {codes} with --pilot.",
        )
    else:
        says, remedy = (
            "no pilot on record",
            "Record the pilot with `rvsmlog crew add`, the training with `rvsmlog crew train`.",
        )
    return not_on_record(
        says,
        highest_level=_BELOW,
        remedy=remedy,
        values={"pilots": codes},
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
