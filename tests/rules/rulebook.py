"""What the rules find in situations that tell: an edition of the rules names one set of answers.

``python -m tests.rules.rulebook`` writes two files beside this one anew, which takes a minute or
two. ``rulebook.json`` has the edition and a digest of what each rule finds; ``telling.json.gz`` has
the situations in which each rule is asked: where it found what it had found in none before, and on
both sides of where its outcome turns. While the edition is the same, it refuses to write down other
answers. Where a test's airframe or the fields of a record changed, and no rule did, the author says
so with ``--as-before WHY``; that stands in the file then.

Of a finding its outcome, level, margin, values, limits, entries and sources count; its wording does
not. Numbers count to six digits.
"""

import gzip
import hashlib
import json
import sys
from collections.abc import Callable, Iterable, Mapping
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any

from rvsmlog.facts import Facts
from rvsmlog.rules import RULEBOOK, RULES
from rvsmlog.rules.base import Rule
from rvsmlog.verdict import judged
from tests.rules.runs import runs
from tests.rules.situations import situations

KEPT = Path(__file__).with_suffix(".json")
TELLING = Path(__file__).with_name("telling.json.gz")
#: The name under which the level stands that all rules leave together, to the flight's end.
TOGETHER = "all together"
#: Changes of the question alone are enough for that: the words that name them.
_QUESTION = (" level ", " region ", " days", " pilot ", "cruise_minutes", "hold_", "flight")


def together(facts: Facts) -> Any:
    """Give the level that is left, and the rules that leave it."""
    findings, highest = judged(facts)
    lowest = sorted({each.rule for each in findings if each.highest_level == (highest or 0)})
    return [highest, lowest]


def _askers() -> Mapping[str, Callable[[Facts], Any]]:
    """Give what is asked of a situation, by name: each rule, and all together."""
    return {**{rule.name: partial(_asked, rule) for rule in RULES}, TOGETHER: together}


def _asked(rule: Rule, facts: Facts) -> Any:
    return _told(rule.findings(facts))


def answers(telling: Mapping[str, Iterable[str]]) -> dict[str, str]:
    """Give a digest of what each asker finds in its situations.

    Parameters
    ----------
    telling : mapping
        Names of situations by asker.
    """
    wanted = set(chain.from_iterable(telling.values()))
    known = {name: facts for name, facts in situations() if name in wanted}
    known |= {name: make() for name, make in chain.from_iterable(runs()) if name in wanted}
    found = {}
    for name, ask in _askers().items():
        digest = hashlib.sha256()
        for situation in telling.get(name, ()):
            assert situation in known, f"no situation {situation!r} any more: see --as-before"
            said = [situation, ask(known[situation])]
            digest.update(json.dumps(said, sort_keys=True).encode())
        found[name] = digest.hexdigest()[:16]
    return found


def _told(findings: Iterable[Any]) -> list[Any]:
    """Give what counts of findings."""
    return [
        [
            str(each.outcome),
            each.highest_level,
            each.margin and [_number(each.margin.value), str(each.margin.unit)],
            {name: _number(value) for name, value in each.values.items()},
            {name: _number(value) for name, value in each.limits.items()},
            [ref.entry for ref in each.evidence],
            list(each.sources),
        ]
        for each in findings
    ]


def _number(value: Any) -> Any:
    """Give a number as every machine has it: the last digits of a float are its own."""
    return float(f"{value:.6g}") if isinstance(value, float) else str(value)


def telling() -> dict[str, list[str]]:
    """Find the situations that tell: in which an asker finds what it found in none before."""
    askers = _askers()
    seen: dict[str, set[str]] = {name: set() for name in askers}
    kept: dict[str, list[str]] = {name: [] for name in askers}
    for situation, facts in situations():
        for name, ask in askers.items():
            if name == TOGETHER and not any(word in situation for word in _QUESTION):
                continue
            found = json.dumps(ask(facts), sort_keys=True)
            if found not in seen[name]:
                seen[name].add(found)
                kept[name].append(situation)
    for run in runs():
        _turning([(name, make()) for name, make in run], askers, kept)
    return kept


def _turning(
    run: list[tuple[str, Facts]],
    askers: Mapping[str, Callable[[Facts], Any]],
    kept: dict[str, list[str]],
) -> None:
    """Keep the situations on both sides of where outcome or level of an asker turn."""
    for name, ask in askers.items():
        if name == TOGETHER and not run[0][0].startswith(("day", "cruise", "hold")):
            continue
        before: tuple[str, Any] | None = None
        for situation, facts in run:
            found = ask(facts)
            coarse = found if name == TOGETHER else [each[:2] for each in found]
            if before is not None and coarse != before[1]:
                kept[name] += [each for each in (before[0], situation) if each not in kept[name]]
            before = (situation, coarse)


def kept() -> tuple[str, dict[str, str], dict[str, list[str]]]:
    """Give the edition, the digests and the situations that are on file."""
    written = json.loads(KEPT.read_text("utf-8"))
    return (
        written["rulebook"],
        written["answers"],
        json.loads(gzip.decompress(TELLING.read_bytes())),
    )


def otherwise() -> list[str]:
    """Name the rules that answer otherwise than the file has it; new and gone ones with them."""
    _, before, asked = kept()
    now = answers(asked)
    return sorted(name for name in {*before, *now} if before.get(name) != now.get(name))


def main() -> None:
    """Write the files anew."""
    says = sys.argv[1:]
    if KEPT.exists() and kept()[0] == RULEBOOK and not says and (changed := otherwise()):
        sys.exit(
            f"raise RULEBOOK first, for these answer otherwise: {', '.join(changed)}\n"
            "where the situations changed and no rule did, say so: ... --as-before 'WHY'"
        )
    asked = telling()
    TELLING.write_bytes(gzip.compress(json.dumps(asked).encode(), mtime=0))
    as_before = {"as_before": says[1]} if says[:1] == ["--as-before"] and len(says) > 1 else {}
    written = {"rulebook": RULEBOOK, **as_before, "answers": answers(asked)}
    KEPT.write_text(json.dumps(written, indent=1, ensure_ascii=False) + "\n", "utf-8")


if __name__ == "__main__":
    main()
