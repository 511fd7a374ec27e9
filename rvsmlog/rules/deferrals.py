"""Open defects and what the minimum equipment list makes of them."""

from collections.abc import Iterator
from datetime import date, timedelta

from rvsmlog.dates import days_left, local_day, show_instant, start_of_day
from rvsmlog.errors import InputError
from rvsmlog.facts import DefectCase, Facts, Logged
from rvsmlog.findings import LEVELS, NO_FLIGHT, Margin, Outcome
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.defects import Deferral, Extension
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_met, rule
from rvsmlog.rules.margins import by_margin
from rvsmlog.rules.open_defects import evidence_of, name_of, open_defects
from rvsmlog.rules.term import Term, landing_day
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.repair_intervals import ExtensionPolicy, extended_due, repair_due
from rvsmlog.units import show_level

_INTERVALS = "mel-preamble"
_DAY = timedelta(days=1)
_RECTIFY = "Have it rectified and record the rectification with `rvsmlog defect rectify`."


@rule("91-213", "oro-mlr-105", "nco-ide-a-105")
def defect_open(facts: Facts) -> Iterator[Result]:
    """Defect neither rectified nor deferred.

    Checks: Every defect and altimetry fault report on record: whether it has been rectified since
    it was found, or deferred under the minimum equipment list.

    Why: An aeroplane may fly with something inoperative only where the list says so. Until somebody
    has decided that, nobody has.

    Remedy: Have the defect rectified and record the rectification with its release, or defer it
    under the minimum equipment list and record the deferral.

    Known problems: Rules of some states let a pilot fly without a list when what is inoperative is
    not required; that judgement is not made here.
    """
    sources = (authority(facts.particulars.authority).mel_source.key,)
    cases = open_defects(facts)
    loose = [case for case in cases if case.deferral is None]
    for case in loose:
        yield not_met(
            f"{name_of(case)}: defect #{case.defect.first} {_neither(case)}",
            highest_level=NO_FLIGHT,
            remedy="Have it rectified, or deferred under the minimum equipment list; record that "
            "with `rvsmlog defect rectify` or `rvsmlog defect defer`.",
            evidence=evidence_of(case),
            sources=sources,
        )
    if not loose:
        deferred = f"; {len(cases)} deferred" if cases else ""
        yield met(
            f"no defect open without deferral{deferred}",
            values={"deferred": len(cases)},
            evidence=tuple(ref for case in cases for ref in evidence_of(case))
            or (facts.airframe.ref,),
            sources=sources,
        )


def _neither(case: DefectCase) -> str:
    """Say why a defect that is not deferred is open."""
    done = case.rectification
    if done is None:
        return "neither rectified nor deferred"
    return f"found after its rectification #{done.first}, and not deferred: one time is wrong"


@rule("mel-preamble", "mel-pl-25", "oro-mlr-105-f", "nco-gen-155")
def deferral_overdue(facts: Facts) -> Iterator[Result]:
    """Deferred defect past the last day of its repair interval.

    Checks: Each open deferral: its last day by category (3, 10 or 120 calendar days, or the day
    that the item states), the day of discovery not counted, in the operator's time zone. A day of
    discovery that the deferral states counts where it is earlier than that of the defect's entry,
    and never where it is later. Extensions count as far as the authority's policy allows them (none
    where its rule was not read, as under Part-NCO) and as they were granted by the last day before
    them. The last day itself still counts, to its midnight: a flight whose minutes at the planned
    level alone go beyond it is judged by the day on which they end.

    Why: The interval is the time for which the list was found safe with the item inoperative.

    Remedy: Have the defect rectified and record the rectification. Where the authority lets the
    interval be extended, have that granted before it ends, and record the extension.

    Known problems: Days are counted in the operator's time zone; some lists count in UTC. When the
    flight ends is known no better than by --cruise-minutes; climb and descent come on top, so that
    on the last day the finding says by when to land. That the flight must have ended by then is
    the stricter reading of the interval: our own, no source. That an extension cannot be granted
    once the interval has ended is common practice. Hours and cycles of category A are not counted.
    """
    deferrals = deferred(facts)
    yield from (_due(facts, case, deferral) for case, deferral in deferrals)
    if not deferrals:
        yield not_applicable("no deferral open")


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """Until when a deferral lasts.

    Parameters
    ----------
    last_day : date
        With the extensions that count.
    granted : int
        How many extensions count.
    refused : str
        Why the newest that does not count does not; ``""`` when all do.
    """

    last_day: date
    granted: int
    refused: str


def deferred(facts: Facts) -> tuple[tuple[DefectCase, Logged[Deferral]], ...]:
    """Give the open defects that are deferred, each with its deferral."""
    return tuple((case, case.deferral) for case in open_defects(facts) if case.deferral is not None)


def deferral_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day of each open deferral."""
    for case, deferral in deferred(facts):
        record = deferral.record
        yield Term(
            rule=deferral_overdue.name,
            subject=str(deferral.first),
            what=f"{name_of(case)}: deferral #{deferral.first} ({record.category}, item "
            f"{record.mel_reference})",
            last_day=interval_of(facts, case, record).last_day,
            evidence=_evidence(case),
            remedy=_RECTIFY,
        )


def interval_of(facts: Facts, case: DefectCase, deferral: Deferral) -> Interval:
    """Reckon until when a deferral lasts, with its extensions."""
    found = local_day(case.defect.record.found_at, facts.time_zone)
    # An earlier day shows that the defect was found earlier; a later one never starts anew.
    discovered = min(found, deferral.discovered_on or deferral.deferred_on)
    last_day = repair_due(deferral.category, discovered, deferral.due_on)
    policy = authority(facts.particulars.authority).extension_policy
    granted, refused = 0, ""
    for extension in case.extensions:
        extended = _extended(last_day, deferral.category, extension.record, policy, granted)
        if isinstance(extended, str):
            refused = f"extension #{extension.first} does not count: {extended}"
        else:
            last_day, granted = extended, granted + 1
    return Interval(last_day=last_day, granted=granted, refused=refused)


def _extended(
    last_day: date, category: str, grant: Extension, policy: ExtensionPolicy, before: int
) -> date | str:
    """Give the last day with an extension, or say why it does not count."""
    if grant.granted_on > last_day:
        return f"granted after the last day, {last_day}"
    try:
        return extended_due(last_day, category, grant.days, policy, granted_before=before)
    except InputError as error:
        return error.message


def _evidence(case: DefectCase) -> tuple[Ref, ...]:
    """Give the entries of a defect, its deferral and its extensions."""
    return (*evidence_of(case), *(extension.ref for extension in case.extensions))


def _due(facts: Facts, case: DefectCase, deferral: Logged[Deferral]) -> Result:
    """Say how many days a deferral has left, or since when it is overdue."""
    record = deferral.record
    until = interval_of(facts, case, record)
    left, landing_left = (
        days_left(until.last_day, day) for day in (facts.today, landing_day(facts))
    )
    because = f"; {until.refused}" if until.refused else ""
    policy = authority(facts.particulars.authority).extension_policy
    over = landing_left < 0 <= left
    if over:
        left = landing_left
    return by_margin(
        f"{name_of(case)}: deferral #{deferral.first} ({record.category}) last day "
        f"{until.last_day}, {_days_said(facts, until, left, over=over)}{because}",
        Margin(value=left, unit="days"),
        highest_level=NO_FLIGHT,
        remedy=f"Plan the flight to end on the last day. {_RECTIFY}" if over else _RECTIFY,
        values={
            "category": record.category,
            "mel_reference": record.mel_reference,
            "days_left": left,
            "extensions": until.granted,
        },
        limits={"last_day": str(until.last_day)},
        evidence=_evidence(case),
        sources=(_INTERVALS, policy.source.key) if case.extensions else (_INTERVALS,),
    )


def _days_said(facts: Facts, until: Interval, left: int, *, over: bool) -> str:
    """Say how many days are left; on the last one, by when to land."""
    ends = show_instant(start_of_day(until.last_day + _DAY, facts.time_zone))
    if over:
        minutes = facts.question.flight.cruise_minutes
        return f"which ends {ends}: {minutes} min at the level go beyond it"
    days = f"{abs(left)} day{'' if abs(left) == 1 else 's'} {'left' if left >= 0 else 'ago'}"
    return f"{days}: land before {ends}" if left == 0 else days


@rule("practice", "oro-mlr-105")
def deferral_caps_level(facts: Facts) -> Iterator[Result]:
    """Deferral whose item sets a highest level.

    Checks: Each open deferral for which a highest level is on record, against the planned level or,
    where none is planned, the certificated one. The finding always carries the item's level,
    whether or not the deferral is overdue.

    Why: The list lets an item be inoperative under its conditions only. A level is one of them.

    Remedy: Plan no higher, or have the defect rectified and record the rectification. Where the
    level on record is not what the item says, correct the deferral.

    Known problems: Other limitations of the item are text that is not understood here: read them. A
    deferral without a level on record is taken to set none, except where another rule knows that
    RVSM is lost.
    """
    capped = [
        _capped(facts, case, deferral, level)
        for case, deferral in deferred(facts)
        if (level := deferral.record.highest_level) is not None
    ]
    yield from capped
    if not capped:
        yield not_applicable("no open deferral sets a highest level")


def _capped(facts: Facts, case: DefectCase, deferral: Logged[Deferral], level: int) -> Result:
    """Hold the planned level against a deferral's."""
    planned = facts.question.level or facts.particulars.highest_level
    failed = planned > level
    return Result(
        outcome=Outcome.NOT_MET if failed else Outcome.MET,
        says=f"{name_of(case)}: deferral #{deferral.first} allows {show_level(level)} at most",
        highest_level=level,
        values={"level": planned, "mel_reference": deferral.record.mel_reference},
        limits={"highest_level": level},
        margin=Margin(value=level - planned, unit=LEVELS),
        evidence=evidence_of(case),
        remedy=(
            f"Plan {show_level(level)} or lower; or have it rectified and record the rectification "
            "with `rvsmlog defect rectify`."
            if failed
            else ""
        ),
    )


@rule("practice")
def deferral_not_reviewed(facts: Facts) -> Iterator[Result]:
    """Open deferral that the maintenance controller has not reviewed.

    Checks: Whether each open deferral, or its defect, has a review on record; gives the newest.

    Why: A deferral that nobody looks at runs to its last day. The pilot should know what the
    controller last said.

    Remedy: Ask the maintenance controller for a review and record it.

    Known problems: No published source asks for a review; this is advice.
    """
    deferrals = deferred(facts)
    yield from (_reviewed(case, deferral) for case, deferral in deferrals)
    if not deferrals:
        yield not_applicable("no deferral open")


def _reviewed(case: DefectCase, deferral: Logged[Deferral]) -> Result:
    """Give the newest review of a deferral or its defect."""
    says = f"{name_of(case)}: deferral #{deferral.first}"
    review = max(case.reviews, key=lambda each: each.record.reviewed_at, default=None)
    if review is None:
        return advice(
            f"{says} not reviewed by the maintenance controller",
            remedy="Ask for a review and record it with `rvsmlog defect review`.",
            evidence=evidence_of(case),
        )
    reviewed_at = show_instant(review.record.reviewed_at)
    return met(
        f"{says} reviewed on {reviewed_at}, entry #{review.first}",
        values={"reviewed_at": reviewed_at, "conclusion": review.record.conclusion},
        evidence=(*evidence_of(case), review.ref),
    )
