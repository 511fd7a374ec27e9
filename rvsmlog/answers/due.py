"""What falls due, and what it will cost in levels: read off the same terms as the rules.

A term says until when something counts; what follows on the day after is asked of the rules
themselves, so that the due list and the verdict cannot part.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise
from types import MappingProxyType
from typing import Any

from rvsmlog.answers.flying import FlyingRate, flying_rate, forecast_on
from rvsmlog.dates import check_date, days_left
from rvsmlog.facts import Facts
from rvsmlog.findings import NO_FLIGHT, Finding, Outcome
from rvsmlog.frozen import dataclass, replace
from rvsmlog.once import once
from rvsmlog.records.base import Ref
from rvsmlog.rules import RULES
from rvsmlog.rules.approvals import rvsm_approval_missing
from rvsmlog.rules.base import Rule
from rvsmlog.rules.basis import days_of
from rvsmlog.rules.dated import DATED, PAPER_RULES, PAPER_TERMS, TERMS, rules_for
from rvsmlog.rules.term import Term, on_day

_DAY = timedelta(days=1)
_RULE: Mapping[str, Rule] = MappingProxyType({rule.name: rule for rule in RULES})
_DATED = frozenset(rule.name for rule in DATED)
_FAULTS = (Outcome.NOT_MET, Outcome.NOT_ON_RECORD)


@dataclass(frozen=True, slots=True, kw_only=True)
class FallingDue:
    """One thing that falls due; what that will cost in levels is not asked.

    Parameters
    ----------
    key : str
        Its own name; it stays the same when a newer entry moves the day.
    logbook : str
        The logbook of the airframe, or the operator's for what is the pilot's.
    airframe : str or None
        Registration; None for what is the pilot's.
    what : str
        What falls due, in running text.
    due_on : date or None
        The last day on which all is well; None where only more flying ends it.
    due_hours : float or None
        Airframe hours up to which all is well, where hours decide.
    forecast_on : date or None
        The day by which those hours will have been flown; None where it cannot be told.
    assumption : str
        What the forecast rests on; ``""`` without one.
    days_left : int or None
        From today to the day due, else to the one forecast; negative once past.
    rule : str
        Slug of the rule that asks for it.
    evidence : tuple of Ref
        The entries it rests on.
    routine : bool
        Whether any ordinary flight renews it.
    """

    key: str
    logbook: str
    airframe: str | None
    what: str
    due_on: date | None
    due_hours: float | None = None
    forecast_on: date | None = None
    assumption: str = ""
    days_left: int | None = None
    rule: str
    evidence: tuple[Ref, ...]
    routine: bool = False

    @property
    def day(self) -> date | None:
        """The day due, else the one forecast."""
        return self.due_on or self.forecast_on


@dataclass(frozen=True, slots=True, kw_only=True)
class DueItem(FallingDue):
    """One thing that falls due, and what follows on the day after.

    Parameters
    ----------
    highest_level_after : int or None
        Highest flight level that the rule leaves on the day after; 0 for no flight, None when it
        sets no limit then.
    lowers : bool
        Whether that is lower than the highest level of the day due, with nothing else recorded.
    then : str
        What the rule will say on the day after; ``""`` where it finds no fault.
    sources : tuple of str
        Keys of the published sources.
    remedy : str
        What puts it right.
    """

    highest_level_after: int | None = None
    lowers: bool = False
    then: str = ""
    sources: tuple[str, ...]
    remedy: str


def due_items(facts: Facts) -> tuple[DueItem, ...]:
    """Give everything that falls due for one airframe, whenever that is.

    Parameters
    ----------
    facts : Facts
        As of today. Where several pilots are on record and none is named, the levels are the
        airframe's alone.

    Returns
    -------
    tuple of DueItem
        By day; what has no day comes last. What is overdue stands first.
    """
    rate, levels = flying_rate(facts), _Levels(facts)
    items = [_item(facts, ending, rate, levels) for ending in _endings(facts)]
    return tuple(sorted(items, key=order))


def order(item: DueItem) -> tuple[date, str]:
    """Give what due items are sorted by."""
    return (item.day or date.max, item.key)


def within(items: Iterable[DueItem], until: date) -> tuple[DueItem, ...]:
    """Give the items that fall due by a day, and those of which no day can be told.

    Raises
    ------
    InputError
        When the day is none.
    """
    check_date(until)
    return tuple(item for item in items if item.day is None or item.day <= until)


def merged(parts: Iterable[tuple[DueItem, ...]]) -> tuple[DueItem, ...]:
    """Join the items of several airframes by day; what is the pilot's stands once."""
    found = {(item.logbook, item.key): item for part in parts for item in part}
    return tuple(sorted(found.values(), key=order))


def upcoming(
    facts: Facts, most: int, *, pilots: bool = True, found: Iterable[Finding] = ()
) -> tuple[DueItem, ...]:
    """Give the items that come next and that no ordinary flight renews; overdue ones first.

    The same as the first of :func:`due_items`; what the others would cost is not asked.

    Parameters
    ----------
    facts : Facts
        As of today.
    most : int
        How many of them.
    pilots : bool
        Whether what is a pilot's counts too.
    found : iterable of Finding
        What the rules for a look at the airframe found today to limit the level, where they were
        asked already.
    """
    rate, levels = flying_rate(facts), _Levels(facts, found)
    return tuple(
        _item(facts, each, rate, levels) for each in _coming(facts, rate, pilots=pilots)[:most]
    )


def next_due(facts: Facts, *, pilots: bool = True) -> FallingDue | None:
    """Give the first of :func:`upcoming`, without asking what it will cost.

    Parameters
    ----------
    facts, pilots
        As there.
    """
    rate = flying_rate(facts)
    first = next(iter(_coming(facts, rate, pilots=pilots)), None)
    return None if first is None else FallingDue(**_told(facts, first, rate))


def _coming(facts: Facts, rate: FlyingRate | None, *, pilots: bool) -> list["_Ending"]:
    """Give the terms that no ordinary flight renews, in the order in which they end."""

    def order_of(ending: _Ending) -> tuple[date, str]:
        day = ending.due_on or forecast_on(facts, ending.term, rate)
        return (day or date.max, ending.term.key)

    counted = (
        each
        for each in _endings(facts)
        if not each.term.routine and (pilots or each.term.pilot is None)
    )
    return sorted(counted, key=order_of)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ending:
    """A term, the last day on which all is well, and whether it ends under today's papers."""

    term: Term
    due_on: date | None
    bites: bool


def undated_faults(facts: Facts, items: Iterable[DueItem]) -> tuple[str, ...]:
    """Give the rules that limit the level today and of which no overdue item tells.

    Parameters
    ----------
    facts : Facts
        As of today.
    items : iterable of DueItem
        The airframe's due items.
    """
    told = {item.rule for item in items if item.due_on is not None and item.due_on < facts.today}
    faults = _faults(facts, rules_for(facts), facts.today, None)
    return tuple(dict.fromkeys(each.rule for each in faults if each.rule not in told))


def _endings(facts: Facts) -> Iterator[_Ending]:
    """Give every term once.

    When an approval begins or ends, another may come into use that asks for something else: what
    it asks for is due by the day before. A term that outlasts the approval that asks for it gives
    way to what the next one asks for.
    """
    found: dict[str, list[_Ending]] = {}
    for start, following in pairwise((facts.today, *_starts(facts), date.max)):
        now = start == facts.today
        for terms in TERMS if now else PAPER_TERMS:
            for term in terms(on_day(facts, start)):
                known = found.setdefault(term.key, [])
                due_on = term.last_day
                if due_on is not None and not now:
                    if due_on in (each.term.last_day for each in known if each.bites):
                        continue
                    due_on = max(due_on, start - _DAY)
                bites = due_on is not None and due_on < following
                known.append(_Ending(term=term, due_on=due_on, bites=bites))
    for endings in found.values():
        first, *others = [each for each in endings if each.bites] or endings[-1:]
        yield first
        yield from (_renamed(each, number) for number, each in enumerate(others, start=2))


def _renamed(ending: _Ending, number: int) -> _Ending:
    """Give a term that ends once more, after a gap, a name of its own."""
    subject = f"{ending.term.subject}.{number}".removeprefix(".")
    return replace(ending, term=replace(ending.term, subject=subject))


def _starts(facts: Facts) -> tuple[date, ...]:
    """Give the days ahead on which another approval may come into use."""
    spans = [days_of(case) for case in facts.approvals]
    days = {span.first for span in spans}
    days |= {span.last + _DAY for span in spans if span.last is not None}
    return tuple(sorted(day for day in days if facts.today < day))


def _told(facts: Facts, ending: _Ending, rate: FlyingRate | None) -> dict[str, Any]:
    """Give the fields of a :class:`FallingDue`."""
    term, due_on = ending.term, ending.due_on
    forecast = None if due_on is not None else forecast_on(facts, term, rate)
    day = due_on or forecast
    return {
        "key": term.key,
        "logbook": term.evidence[0].logbook,
        "airframe": facts.particulars.registration if term.pilot is None else None,
        "what": term.what,
        "due_on": due_on,
        "due_hours": term.last_hours,
        "forecast_on": forecast,
        "assumption": str(rate) if rate is not None and forecast is not None else "",
        "days_left": None if day is None else days_left(day, facts.today),
        "rule": term.rule,
        "evidence": term.evidence,
        "routine": term.routine,
    }


def _item(facts: Facts, ending: _Ending, rate: FlyingRate | None, levels: "_Levels") -> DueItem:
    """Give a term as a due item, with what the rules say on the day after."""
    term, due_on = ending.term, ending.due_on
    faults = _faults_after(facts, term, due_on) if term.limits else ()
    worst = min(faults, key=_level, default=None)
    after = None if worst is None else worst.highest_level
    lowers = due_on is not None and after is not None and levels.stay_above(after, due_on)
    return DueItem(
        **_told(facts, ending, rate),
        highest_level_after=after,
        lowers=lowers,
        then="" if worst is None or due_on is None else worst.says,
        sources=_RULE[term.rule].sources if worst is None else worst.sources,
        remedy=term.remedy if worst is None else worst.remedy,
    )


def _faults_after(facts: Facts, term: Term, due_on: date | None) -> tuple[Finding, ...]:
    """Give the faults that a term's end makes: on the day after, or today where that is past."""
    if due_on is None:
        flown = _having_flown(facts, term.last_hours or 0.0)
        return _faults(flown, (_RULE[term.rule],), (term.not_before or facts.today) + _DAY, None)
    of_paper = term.rule == rvsm_approval_missing.name
    rules = PAPER_RULES if of_paper else (_RULE[term.rule],)
    after = _faults(facts, rules, max(due_on + _DAY, facts.today), term.pilot)
    if of_paper:
        # Another approval takes over, or none: whatever is wrong from then on comes of it.
        before = {_name(each) for each in _faults(facts, rules, due_on, term.pilot)}
        return tuple(each for each in after if _name(each) not in before)
    shared = tuple(each for each in after if set(each.evidence) & set(term.evidence))
    return shared or (() if term.subject else after)


def _having_flown(facts: Facts, hours: float) -> Facts:
    """Give the facts once so many airframe hours, and one more, are on record."""
    *earlier, newest = facts.flights
    flight = replace(newest.record, airframe_hours=hours + 1.0)
    return replace(facts, flights=(*earlier, replace(newest, record=flight)))


def _faults(
    facts: Facts, rules: tuple[Rule, ...], day: date, pilot: str | None
) -> tuple[Finding, ...]:
    """Give what some rules find wrong on a day."""
    later = on_day(facts, day)
    if pilot is not None:
        later = replace(later, question=replace(later.question, pilot=pilot))
    return tuple(
        finding for rule in rules for finding in rule.limits(later) if finding.outcome in _FAULTS
    )


def _name(finding: Finding) -> tuple[str, tuple[Ref, ...]]:
    return (finding.rule, finding.evidence)


def _level(finding: Finding) -> int:
    return NO_FLIGHT if finding.highest_level is None else finding.highest_level


@once
def _parted(rules: tuple[Rule, ...]) -> tuple[tuple[Rule, ...], tuple[Rule, ...]]:
    """Part the rules that look at the calendar from the others."""
    return (
        tuple(rule for rule in rules if rule.name in _DATED),
        tuple(rule for rule in rules if rule.name not in _DATED),
    )


class _Levels:
    """The highest level of each day, with nothing else recorded.

    Most rules do not look at the calendar: they are asked once.
    """

    def __init__(self, facts: Facts, found: Iterable[Finding] = ()) -> None:
        self._facts = facts
        self._found = tuple(each for each in found if each.rule not in _DATED)
        self._dated, self._undated = _parted(rules_for(facts))
        self._known: dict[date, int] = {}

    @cached_property
    def _always(self) -> int:
        if self._found:
            return self._least(each.highest_level for each in self._found)
        return self._lowest(self._undated, self._facts.today)

    def stay_above(self, level: int, day: date) -> bool:
        """Say whether the highest level of a day is above one; 0 is no flight."""
        if self._always <= level:
            return False  # whatever the rules say that look at the calendar
        if day not in self._known:
            self._known[day] = self._lowest(self._dated, day)
        return self._known[day] > level

    def _lowest(self, rules: Iterable[Rule], day: date) -> int:
        later = on_day(self._facts, day)
        return self._least(
            finding.highest_level for rule in rules for finding in rule.limits(later)
        )

    def _least(self, found: Iterable[int | None]) -> int:
        ceiling = self._facts.particulars.highest_level
        return min((level for level in found if level is not None), default=ceiling)
