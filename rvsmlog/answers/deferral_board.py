"""The open deferrals of a fleet: how long each has left, what it costs, what was said of it."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime

from rvsmlog.answers.fleet import each_told, parted
from rvsmlog.dates import days_left
from rvsmlog.errors import InputError
from rvsmlog.facts import DefectCase, Facts, Logged, NotJudged
from rvsmlog.findings import NO_FLIGHT, Finding
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.defects import Deferral, Review
from rvsmlog.rules.dated import rules_for
from rvsmlog.rules.deferrals import Interval, deferred, interval_of
from rvsmlog.rules.open_defects import evidence_of, name_of
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.repair_intervals import (
    INTERVAL_DAYS,
    Category,
    extended_due,
    parse_category,
)
from rvsmlog.standards.rvsm import RVSM_LOWEST_LEVEL
from rvsmlog.verdict import judge


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtensionAnswer:
    """Whether a deferral may still be extended.

    Parameters
    ----------
    possible : bool
        Whether the authority's policy still allows it.
    days : int or None
        How many days at most; None where it is not possible.
    until : date or None
        Last day with all of them; None likewise.
    granted : int
        How many extensions count already.
    says : str
        Why not, or on what conditions.
    source : str
        Key of the policy's published source.
    """

    possible: bool
    days: int | None = None
    until: date | None = None
    granted: int = 0
    says: str = ""
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeferralRow:
    """One open deferral.

    Parameters
    ----------
    airframe, logbook : str
        Registration, and the logbook that holds it.
    deferral, defect : int
        Their entries, as first made.
    what : str
        What is inoperative, and where.
    category, mel_reference : str
        Repair category, and item of the minimum equipment list.
    due_on : date
        Last day, in the operator's time zone, with the extensions that count.
    days_left : int
        0 on the last day itself; negative once past.
    rvsm : str
        ``kept``, ``capped``, ``lost``, or ``no flight`` where the flight may not go at all.
    highest_level : int or None
        Highest flight level with it open; None where it sets no limit, 0 for no flight.
    set_by : tuple of str
        Slugs of the rules that say so.
    item_level : int or None
        Highest flight level that the item of the list sets; None where it sets none.
    limitation : str or None
        Operational limitation as the item states it.
    extension : ExtensionAnswer
        Whether it may still be extended.
    reviewed_at : datetime or None
        When the controller last looked, UTC; None when never.
    review : str or None
        What the controller concluded.
    evidence : tuple of Ref
        The entries of defect, deferral, extensions and review.
    """

    airframe: str
    logbook: str
    deferral: int
    defect: int
    what: str
    category: str
    mel_reference: str
    due_on: date
    days_left: int
    rvsm: str
    highest_level: int | None
    set_by: tuple[str, ...]
    item_level: int | None
    limitation: str | None
    extension: ExtensionAnswer
    reviewed_at: datetime | None
    review: str | None
    evidence: tuple[Ref, ...]


def deferral_rows(fleet: Iterable[Facts]) -> tuple[DeferralRow, ...]:
    """Give the open deferrals of some airframes, those that end first first."""
    return _by_last_day(row for facts in fleet for row in _rows(facts))


def fleet_deferrals(
    fleet: Iterable[Facts | NotJudged],
) -> tuple[tuple[DeferralRow, ...], tuple[NotJudged, ...]]:
    """Give the open deferrals of a fleet likewise, and the airframes whose cannot be told."""
    told, barred = parted(each_told(fleet, lambda facts: tuple(_rows(facts))))
    return _by_last_day(row for rows in told for row in rows), barred


def _by_last_day(rows: Iterable[DeferralRow]) -> tuple[DeferralRow, ...]:
    return tuple(sorted(rows, key=lambda row: (row.due_on, row.airframe, row.deferral)))


def _rows(facts: Facts) -> Iterator[DeferralRow]:
    """Give the open deferrals of one airframe."""
    deferrals = deferred(facts)
    if not deferrals:
        return
    findings = judge(facts, rules_for(facts)).findings
    for case, deferral in deferrals:
        yield _row(facts, case, deferral, findings)


def _row(
    facts: Facts, case: DefectCase, deferral: Logged[Deferral], findings: tuple[Finding, ...]
) -> DeferralRow:
    """Give one deferral with what it costs today."""
    record, interval = deferral.record, interval_of(facts, case, deferral.record)
    level, set_by = _cost(case, findings)
    review = _newest(case)
    extensions = tuple(extension.ref for extension in case.extensions)
    return DeferralRow(
        airframe=facts.particulars.registration,
        logbook=deferral.ref.logbook,
        deferral=deferral.first,
        defect=case.defect.first,
        what=name_of(case),
        category=record.category,
        mel_reference=record.mel_reference,
        due_on=interval.last_day,
        days_left=days_left(interval.last_day, facts.today),
        rvsm=_effect(facts, level),
        highest_level=level,
        set_by=set_by,
        item_level=record.highest_level,
        limitation=record.limitation,
        extension=extension_answer(facts, record, interval),
        reviewed_at=None if review is None else review.record.reviewed_at,
        review=None if review is None else review.record.conclusion,
        evidence=(*evidence_of(case), *extensions, *(() if review is None else (review.ref,))),
    )


def _cost(case: DefectCase, findings: tuple[Finding, ...]) -> tuple[int | None, tuple[str, ...]]:
    """Give the lowest level that any finding about the defect leaves, and the rules behind it."""
    own = set(evidence_of(case))
    about = [
        (finding.highest_level, finding.rule)
        for finding in findings
        if finding.highest_level is not None and own & set(finding.evidence)
    ]
    lowest = min((level for level, _ in about), default=None)
    return lowest, tuple(dict.fromkeys(rule for level, rule in about if level == lowest))


def _effect(facts: Facts, level: int | None) -> str:
    """Say what a highest level means for flight in RVSM airspace."""
    if level is None or level >= facts.particulars.highest_level:
        return "kept"
    if level <= NO_FLIGHT:
        return "no flight"
    return "capped" if level >= RVSM_LOWEST_LEVEL.value else "lost"


def extension_answer(facts: Facts, deferral: Deferral, interval: Interval) -> ExtensionAnswer:
    """Say whether a deferral may still be extended, under the policy of the airframe's authority.

    Parameters
    ----------
    facts : Facts
        As of today: an extension is granted by the last day or not at all.
    deferral : Deferral
        The deferral.
    interval : Interval
        Until when it lasts, with the extensions that count.
    """
    policy = authority(facts.particulars.authority).extension_policy
    category, source = parse_category(deferral.category), policy.source.key
    if facts.today > interval.last_day:
        return ExtensionAnswer(
            possible=False,
            granted=interval.granted,
            says=f"the interval ended on {interval.last_day}",
            source=source,
        )
    days = 0 if category is Category.A else INTERVAL_DAYS[category].value
    try:
        until = extended_due(
            interval.last_day, category, days, policy, granted_before=interval.granted
        )
    except InputError as error:
        return ExtensionAnswer(
            possible=False, granted=interval.granted, says=error.message, source=source
        )
    return ExtensionAnswer(
        possible=True,
        days=days,
        until=until,
        granted=interval.granted,
        says=policy.note,
        source=source,
    )


def _newest(case: DefectCase) -> Logged[Review] | None:
    """Give the newest review of a defect or its deferral."""
    return max(case.reviews, key=lambda each: each.record.reviewed_at, default=None)
