"""What falls due: on the screen, as JSON, and in the few words of a board."""

from collections.abc import Iterator, Mapping
from dataclasses import fields
from datetime import date
from types import MappingProxyType
from typing import Any

from rvsmlog.answers.due import DueItem, FallingDue
from rvsmlog.answers.fleet_due import FleetDue
from rvsmlog.reports.fleet import NOT_JUDGED, also_not_judged, not_judged_lines, not_judged_row
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.reports.verdict_screen import level_text
from rvsmlog.verdict import CAUTION

#: What a rule asks for, in a word or two.
SHORT: Mapping[str, str] = MappingProxyType(
    {
        "deferral-overdue": "deferral",
        "deferral-without-mel": "MEL approval",
        "rvsm-approval-missing": "approval",
        "pilot-knowledge-missing": "training",
        "height-monitoring-overdue": "monitoring",
        "static-test-overdue": "static test",
        "altitude-reporting-test-overdue": "reporting test",
        "transponder-test-overdue": "transponder test",
        "crosschecks-too-old": "cross-check",
        "oxygen-reading-too-old": "oxygen reading",
        "deviation-open": "report",
        "altimeters-drifting": "drift",
    }
)
_HEADS = ("last day", "left", "airframe", "what falls due", "after")
_WHAT = 3


def due_row(item: DueItem) -> Mapping[str, Any]:
    """Give a due item as one flat mapping."""
    return {
        "key": item.key,
        "logbook": item.logbook,
        "airframe": item.airframe,
        "what": item.what,
        "due_on": item.due_on,
        "due_hours": item.due_hours,
        "forecast_on": item.forecast_on,
        "assumption": item.assumption or None,
        "days_left": item.days_left,
        "highest_level_after": item.highest_level_after,
        "lowers": item.lowers,
        "then": item.then or None,
        "rule": item.rule,
        "evidence": [{"logbook": ref.logbook, "entry": ref.entry} for ref in item.evidence],
        "sources": item.sources,
        "remedy": item.remedy,
        "routine": item.routine,
    }


def short(item: FallingDue) -> str:
    """Say in a word or two what falls due."""
    return SHORT.get(item.rule, item.rule)


def days_text(item: FallingDue) -> str:
    """Write the days left; a forecast has a mark, and no day at all shows."""
    if item.days_left is None:
        return "?"
    return f"{'' if item.due_on else '~'}{item.days_left} d"


def due_rows(found: FleetDue) -> list[Mapping[str, Any]]:
    """Give one flat mapping for each item; airframes that are not judged lead."""
    names = [field.name for field in fields(DueItem)]
    return [
        *(not_judged_row(names, each) for each in found.not_judged),
        *({**due_row(item), "not_judged": None} for item in found.chosen),
    ]


def fleet_due_lines(found: FleetDue, today: date, until: date) -> Iterator[Line]:
    """Lay out what falls due for several airframes, one line each.

    Parameters
    ----------
    found : FleetDue
        By day; airframes that are not judged, and may be overdue, lead.
    today, until : date
        From when to when, in the operator's time zone.
    """
    items, barred = found.chosen, found.not_judged
    yield from _title("Fleet", found, today, until)
    if items or barred:
        yield Line("")
        rows = [["-", "-", each.airframe, f"{NOT_JUDGED}, see below", "-"] for each in barred]
        rows += [_cells(item) for item in items]
        styles = ["bold red"] * len(barred)
        styles += ["bold red" if _past(item) else "" for item in items]
        yield from table(rows, _HEADS, shrink=_WHAT, right=(1,), styles=styles)
    yield from _foot(found)


def airframe_due_lines(found: FleetDue, today: date, until: date) -> Iterator[Line]:
    """Lay out what falls due for one airframe, with what follows and what to do."""
    (name,) = found.airframes
    yield from _title(name, found, today, until)
    for item in found.chosen:
        yield Line("")
        yield from _told(item)
    yield from _foot(found)


def _title(name: str, found: FleetDue, today: date, until: date) -> Iterator[Line]:
    """Lead with how many there are, and for which days."""
    past = sum(_past(item) for item in found.chosen)
    count = sum(item.day is not None for item in found.chosen)
    unknown = len(found.chosen) - count
    told = f"{count or 'nothing'} {'falls' if count <= 1 else 'fall'} due by {until}"
    if found.not_judged and not count:
        told = f"nothing is known to fall due by {until}"
    overdue = f", {past} overdue" if past else ""
    overdue += f", {unknown} on no known day" if unknown else ""
    yield Line(f"{name}  {told}{overdue}{also_not_judged(len(found.not_judged))}", "bold")
    yield from wrap(f"for {today}", 2, 2)


def _past(item: DueItem) -> bool:
    return item.due_on is not None and item.days_left is not None and item.days_left < 0


def _cells(item: DueItem) -> list[str]:
    """Write one item in a line."""
    return [_day(item), days_text(item), item.airframe or "crew", item.what, _after(item)]


def _day(item: DueItem) -> str:
    if item.due_on is not None:
        return str(item.due_on)
    return f"~{item.forecast_on}" if item.forecast_on is not None else "by hours"


def _after(item: DueItem) -> str:
    """Write the level that remains on the day after."""
    return "-" if item.highest_level_after is None else level_text(item.highest_level_after)


def _told(item: DueItem) -> Iterator[Line]:
    """Write one item in full."""
    style = "bold red" if _past(item) else "bold"
    effect = "" if item.highest_level_after is None else f" -> {_after(item)}"
    yield from wrap(f"{_day(item)}  {days_text(item)}  {item.what}{effect}", 0, 4, style)
    if item.due_hours is not None:
        counted = f", {item.assumption}" if item.assumption else "; no rate of flying on record"
        yield from wrap(f"counts up to {item.due_hours:g} airframe hours{counted}", 4, 4)
    if item.then:
        yield from wrap(f"then: {item.then}", 4, 10)
    yield from wrap(f"do: {item.remedy}", 4, 8)
    yield from wrap("see: " + ", ".join(str(ref) for ref in item.evidence[:6]), 4, 9)


def _foot(found: FleetDue) -> Iterator[Line]:
    """Say what is not judged, what the marks mean, what no day tells, and the caution."""
    yield Line("")
    yield from not_judged_lines(found.not_judged)
    if not found.airframes:
        yield from wrap("Nor is the crew: its training is judged beside an airframe.", 0, 2)
    if any(item.due_on is None and item.forecast_on is not None for item in found.chosen):
        yield from wrap("~ by hours: a forecast that the flying goes on as of late", 0, 2)
    for name, rules in found.undated.items():
        yield from wrap(
            f"{name} is limited today by what no day ends: {', '.join(rules)}; "
            f"see `rvsmlog gonogo {name}`",
            0,
            2,
        )
    yield from wrap(
        "The last day still counts. After: the highest level that each leaves then, with nothing "
        "more recorded. " + CAUTION,
        style="italic",
    )
