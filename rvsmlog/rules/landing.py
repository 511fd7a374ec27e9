"""What must hold as long as the flight lasts is held against the day on which the flight ends."""

from collections.abc import Iterable
from datetime import date

from rvsmlog.facts import Facts
from rvsmlog.findings import Finding
from rvsmlog.frozen import replace
from rvsmlog.rules.base import Rule
from rvsmlog.rules.dated import TO_THE_END
from rvsmlog.rules.term import landing_day

_TO_THE_END = frozenset(rule.name for rule in TO_THE_END)
#: Above every level that a finding may leave.
_UNLIMITED = 10_000


def found_to_the_end(rules: Iterable[Rule], facts: Facts) -> tuple[Finding, ...]:
    """Judge the facts by the rules, and again for the day of the landing where that is a later one.

    "No person may operate" without a test within the preceding months (91.411, 91.413) bars each
    minute of the flight, not its first; what an approval or a training says of its last day is read
    alike. What is found for the later day counts where it leaves a lower level.
    """
    ends = landing_day(facts)
    if ends == facts.today:
        return tuple(finding for rule in rules for finding in rule.findings(facts))
    later = replace(facts, today=ends)
    return tuple(finding for rule in rules for finding in _worse(rule, facts, later))


def _worse(rule: Rule, facts: Facts, later: Facts) -> tuple[Finding, ...]:
    """Give what a rule finds on the day of the start or of the landing, whichever limits more."""
    found = rule.findings(facts)
    if rule.name not in _TO_THE_END:
        return found
    then = rule.findings(later)
    if _lowest(then) >= _lowest(found):
        return found
    return tuple(_on_landing(each, facts.today, later.today) for each in then)


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
