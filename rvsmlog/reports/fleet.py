"""The fleet in one line each: what level may be filed, and what sets it."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from rvsmlog.dates import show_instant
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.reports.verdict_screen import level_text, set_by
from rvsmlog.store.checks import Checked
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION, Answer


def fleet_rows(made: Sequence[Checked]) -> list[Mapping[str, Any]]:
    """Give one flat mapping for each airframe."""
    return [
        {
            "registration": each.verdict.airframe,
            "at": each.verdict.at,
            "planned_level": each.verdict.planned_level,
            "highest_level": each.verdict.highest_level,
            "verdict": each.verdict.answer.value,
            "set_by": _set_by(each),
        }
        for each in made
    ]


def _set_by(each: Checked) -> list[str]:
    """Name the rules that set the highest level."""
    return list(dict.fromkeys(finding.rule for finding in each.verdict.limiting))


def fleet_lines(made: Sequence[Checked]) -> Iterator[Line]:
    """Lay out the fleet."""
    if not made:
        yield from wrap(
            "Fleet  no airframe on record yet; enter one with `rvsmlog airframe add`", 0, 2
        )
        return
    first = made[0].verdict
    level = first.planned_level
    going = sum(each.verdict.answer is Answer.GO for each in made)
    told = "may be filed" if level is None else f"GO at {show_level(level)}"
    yield Line(f"Fleet  {going} of {len(made)} {told}", "bold")
    yield from wrap(f"for {show_instant(first.at)}", 2, 2)
    if made[0].ahead_to is not None:
        yield from wrap(
            f"looking ahead to {made[0].ahead_to}: as on record now, with nothing more recorded",
            2,
            2,
        )
    yield Line("")
    rows = [
        [
            each.verdict.airframe,
            each.verdict.answer.value,
            level_text(each.verdict.highest_level),
            ", ".join(set_by(each.verdict)),
        ]
        for each in made
    ]
    styles = ["" if each.verdict.answer is Answer.GO else "bold red" for each in made]
    yield from table(rows, ("airframe", "answer", "highest", "set by"), styles=styles)
    yield Line("")
    yield from wrap("Why: `rvsmlog gonogo REG`. " + CAUTION, style="italic")
