"""The fleet in one line each: what level may be filed, and what sets it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from rvsmlog.dates import show_instant
from rvsmlog.facts import NotJudged
from rvsmlog.frozen import dataclass
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.reports.verdict_screen import level_text, set_by
from rvsmlog.resting import resting_collector
from rvsmlog.store.writing.checks import Checked
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION, Answer

#: What stands where a level or an answer would.
NOT_JUDGED = "not judged"


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetRow:
    """What is shown of one airframe's check; all else of it need not be kept.

    Parameters
    ----------
    airframe : str
        Registration.
    goes : bool
        Whether the answer is GO.
    highest_level : int or None
        Highest level that may be used; None when there is none, or it is not judged.
    at : datetime or None
        The instant asked about, and in ``planned_level`` and ``ahead_to`` what else was asked.
    rules : tuple of str
        Slugs of the rules that set the highest level.
    set_by : tuple of str
        The same in words.
    not_judged : NotJudged or None
        Why nothing can be said of it.
    """

    airframe: str
    goes: bool = False
    highest_level: int | None = None
    at: datetime | None = None
    planned_level: int | None = None
    ahead_to: date | None = None
    rules: tuple[str, ...] = ()
    set_by: tuple[str, ...] = ()
    not_judged: NotJudged | None = None

    @property
    def answer(self) -> str:
        """The answer in words."""
        if self.not_judged is not None:
            return NOT_JUDGED
        return (Answer.GO if self.goes else Answer.NO_GO).value


def fleet_rows(made: Iterable[Checked | NotJudged]) -> tuple[FleetRow, ...]:
    """Keep of each check what is shown, one after another."""
    with resting_collector():
        return tuple(_row(each) for each in made)


def _row(made: Checked | NotJudged) -> FleetRow:
    if isinstance(made, NotJudged):
        return FleetRow(airframe=made.airframe, not_judged=made)
    verdict = made.verdict
    return FleetRow(
        airframe=verdict.airframe,
        goes=verdict.answer is Answer.GO,
        highest_level=verdict.highest_level,
        at=verdict.at,
        planned_level=verdict.planned_level,
        ahead_to=made.ahead_to,
        rules=tuple(dict.fromkeys(finding.rule for finding in verdict.limiting)),
        set_by=tuple(set_by(verdict)),
    )


def fleet_objects(rows: Sequence[FleetRow]) -> list[Mapping[str, Any]]:
    """Give one flat mapping for each airframe."""
    return [
        {
            "registration": row.airframe,
            "at": row.at,
            "planned_level": row.planned_level,
            "highest_level": row.highest_level,
            "verdict": row.answer,
            "set_by": list(row.rules),
            "not_judged": None if row.not_judged is None else row.not_judged.message,
        }
        for row in rows
    ]


def fleet_lines(rows: Sequence[FleetRow]) -> Iterator[Line]:
    """Lay out the fleet."""
    if not rows:
        yield from wrap(
            "Fleet  no airframe on record yet; enter one with `rvsmlog airframe add`", 0, 2
        )
        return
    yield from _heading(rows)
    yield Line("")
    answered = any(row.planned_level is not None for row in rows)
    cells = [_cells(row, answered=answered) for row in rows]
    heads = ("airframe", *(("answer",) if answered else ()), "highest", "set by")
    styles = ["" if row.goes else "bold red" for row in rows]
    yield from table(cells, heads, styles=styles)
    yield Line("")
    yield from not_judged_lines(row.not_judged for row in rows)
    yield from wrap("Why: `rvsmlog gonogo REG`. " + CAUTION, style="italic")


def _cells(row: FleetRow, *, answered: bool) -> list[str]:
    """Write one airframe; the word of the answer stands only where a level was asked about."""
    return [
        row.airframe,
        *([row.answer] if answered else []),
        "-" if row.not_judged else level_text(row.highest_level),
        "see below" if row.not_judged else ", ".join(row.set_by),
    ]


def _heading(rows: Sequence[FleetRow]) -> Iterator[Line]:
    """Say for how many of them the answer is what, and what was asked."""
    first = next((row for row in rows if row.not_judged is None), rows[0])
    level, going = first.planned_level, sum(row.goes for row in rows)
    unknown = sum(row.not_judged is not None for row in rows)
    if level is None:
        # As for one airframe: GO is the answer to a level that is asked about, and to no other.
        stay = len(rows) - going - unknown
        told = f"highest level that may be filed; {stay} of {len(rows)} no flight"
    else:
        told = f"{going} of {len(rows)} GO at {show_level(level)}"
    yield Line(f"Fleet  {told}{also_not_judged(unknown)}", "bold")
    if first.at is not None:
        yield from wrap(f"for {show_instant(first.at)}", 2, 2)
    if first.ahead_to is not None:
        yield from wrap(
            f"looking ahead to {first.ahead_to}: as on record now, with nothing more recorded", 2, 2
        )


def also_not_judged(unknown: int) -> str:
    """Say in a heading how many airframes are not judged."""
    return f", {unknown} {NOT_JUDGED}" if unknown else ""


def not_judged_row(names: Iterable[str], why: NotJudged) -> Mapping[str, Any]:
    """Give an airframe that is not judged a row among those of the others.

    Parameters
    ----------
    names : iterable of str
        What the other rows have; of all that nothing is told.
    why : NotJudged
        The reason.
    """
    told = {"airframe": why.airframe, "logbook": why.logbook}
    row = {name: told.get(name) for name in names}
    return {**row, "not_judged": why.message}


def not_judged_lines(found: Iterable[NotJudged | None]) -> Iterator[Line]:
    """Say of each airframe that is not judged why, and what puts it right."""
    any_yet = False
    for each in found:
        if each is not None:
            any_yet = True
            why = f"{each.airframe} is {NOT_JUDGED}: {each.message}"
            yield from wrap(why, 0, 2, style="bold red")
            yield from wrap(f"do: {each.hint}", 2, 6)
    if any_yet:
        yield Line("")
