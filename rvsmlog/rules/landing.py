"""What must hold as long as the flight lasts is held against the day on which the flight ends."""

from collections.abc import Iterable
from datetime import date, timedelta

from rvsmlog.dates import show_instant, start_of_day
from rvsmlog.facts import Facts
from rvsmlog.findings import Finding
from rvsmlog.frozen import replace
from rvsmlog.rules.base import Rule
from rvsmlog.rules.dated import TO_THE_END
from rvsmlog.rules.term import landing_day

_TO_THE_END = frozenset(rule.name for rule in TO_THE_END)
#: Above every level that a finding may leave.
_UNLIMITED = 10_000
_DAY = timedelta(days=1)


def found_to_the_end(
    rules: Iterable[Rule], facts: Facts, *, limits_only: bool = False
) -> tuple[Finding, ...]:
    """Judge the facts by the rules, and again for the day of the landing where that is a later one.

    "No person may operate" without a test within the preceding months (91.411, 91.413) bars each
    minute of the flight, not its first; what an approval or a training says of its last day is read
    alike. What is found for the later day counts where it leaves a lower level. Climb and descent
    are not known: where a level is asked about on a last day, it is said by when to land.
    With ``limits_only``, what limits no level may be left out.
    """
    ends = landing_day(facts)
    asked = facts.question.level is not None and not facts.question.whole_day
    if ends == facts.today and not asked:
        ask = Rule.limits if limits_only else Rule.findings
        return tuple(finding for rule in rules for finding in ask(rule, facts))
    landed, late = (replace(facts, today=day) for day in (ends, ends + _DAY))
    return tuple(finding for rule in rules for finding in _worse(rule, facts, landed, late))


def _worse(rule: Rule, facts: Facts, landed: Facts, late: Facts) -> tuple[Finding, ...]:
    """Give what a rule finds on the day of the start or of the landing, whichever limits more.

    ``late`` are the facts of the day after the landing's.
    """
    found = rule.findings(facts)
    if rule.name not in _TO_THE_END:
        return found
    limit = _lowest(found)
    if landed.today != facts.today and _lowest(then := rule.findings(landed)) < limit:
        return tuple(_on_landing(each, facts.today, landed.today) for each in then)
    if _lowest(rule.findings(late)) < limit:
        return _by_when(found, show_instant(start_of_day(late.today, facts.time_zone)))
    return found


def _by_when(found: tuple[Finding, ...], ends: str) -> tuple[Finding, ...]:
    """Say by when to land: where no days are left, or where that is not counted in days."""
    last = [each for each in found if each.margin is not None and not each.margin.value]
    told = last or found[:1]
    return tuple(
        replace(each, says=f"{each.says}; land before {ends}") if each in told else each
        for each in found
    )


def _lowest(found: Iterable[Finding]) -> int:
    """Give the lowest level that findings leave."""
    levels = (each.highest_level for each in found)
    return min((level for level in levels if level is not None), default=_UNLIMITED)


def _on_landing(finding: Finding, begins: date, ends: date) -> Finding:
    """Say of a finding that limits for which day it was made, and that an earlier end helps."""
    if finding.highest_level is None:
        return finding
    return replace(
        finding,
        says=f"{finding.says}; the minutes at the level go on to {ends}",
        remedy=f"Plan the flight to end on {begins}. {finding.remedy}".rstrip(),
    )
