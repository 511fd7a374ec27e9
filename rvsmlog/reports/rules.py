"""The page of one rule."""

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Any

from rvsmlog.errors import InputError
from rvsmlog.reports.text import Line, wrap
from rvsmlog.rules import RULEBOOK, RULES
from rvsmlog.rules.base import HEADINGS, Rule
from rvsmlog.standards.sources import source
from rvsmlog.verdict import CAUTION


def find_rule(name: str) -> Rule:
    """Give the rule of a name.

    Raises
    ------
    InputError
        When there is none; the hint names the nearest.
    """
    by_name = {rule.name: rule for rule in RULES}
    found = by_name.get(name.strip().lower())
    if found is None:
        near = get_close_matches(name, by_name, n=1, cutoff=0.4)
        hint = f"did you mean {near[0]}?" if near else "list them with `rvsmlog rules`"
        raise InputError(f"there is no rule {name!r}", hint)
    return found


def rule_object(rule: Rule) -> Mapping[str, Any]:
    """Give a rule as JSON has it."""
    return {
        "rule": rule.name,
        "summary": rule.summary,
        **{heading.lower().replace(" ", "_"): rule.section(heading) for heading in HEADINGS},
        "sources": [
            {
                "key": key,
                "document": source(key).document,
                "section": source(key).section,
                "edition": source(key).edition,
                "status": source(key).status.value,
            }
            for key in rule.sources
        ],
        "rulebook": RULEBOOK,
    }


def page_lines(rule: Rule) -> Iterator[Line]:
    """Lay out a rule's page."""
    yield Line(rule.name, "bold")
    yield from wrap(rule.summary)
    for heading in HEADINGS:
        yield Line("")
        yield Line(heading, "bold")
        yield from wrap(rule.section(heading), 2, 2)
    yield Line("")
    yield Line("Sources", "bold")
    for key in rule.sources:
        yield from wrap(str(source(key)), 2, 4)
    yield Line("")
    yield from wrap(CAUTION, style="italic")
