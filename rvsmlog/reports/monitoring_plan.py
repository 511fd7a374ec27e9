"""The plan of height monitoring: on the screen and as JSON."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from rvsmlog.answers.monitoring_plan import Group, Plan, Planned
from rvsmlog.reports.fleet import (
    NOT_JUDGED,
    also_not_judged,
    not_judged_lines,
    not_judged_row,
)
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.science.ase_spread import Spread
from rvsmlog.verdict import CAUTION

_HEADS = ("airframe", "monitored", "error ft", "hours since", "until", "left")
_NUMBERS = (2, 3, 5)
#: What a row of an airframe that is planned has.
_NAMES = (
    *("airframe", "group", "basis", "entry", "measured_on", "ase_ft", "hours_since", "due_on"),
    *("due_hours", "forecast_on", "assumption", "days_left", "in_time", "group_required"),
    *("group_in_time", "group_short_after", "group_short_after_is_forecast", "group_newest"),
    *("group_every_result", "group_limits", "group_within_limits", "group_lacking"),
)
_HELD = (
    "The check holds each aeroplane to its own date; that some of a group will do is the "
    "operator's to claim."
)


def plan_rows(plan: Plan) -> list[Mapping[str, Any]]:
    """Give one flat mapping for each airframe, with what its group asks; the not judged lead."""
    return [
        *(not_judged_row(_NAMES, each) for each in plan.not_judged),
        *(_row(group, each) for group in plan.groups for each in group.airframes),
    ]


def _row(group: Group, each: Planned) -> Mapping[str, Any]:
    """Give one airframe."""
    result = each.result
    limit = group.limit
    return {
        "airframe": each.airframe,
        "group": group.name,
        "basis": str(group.basis),
        "entry": None if result is None else result.ref.entry,
        "measured_on": None if result is None else result.record.measured_on,
        "ase_ft": None if result is None else result.record.ase_ft,
        "hours_since": each.hours_since,
        "due_on": each.due_on,
        "due_hours": each.due_hours,
        "forecast_on": each.forecast_on,
        "assumption": each.assumption or None,
        "days_left": each.days_left,
        "in_time": each.in_time,
        "group_required": group.required,
        "group_in_time": group.in_time,
        "group_short_after": group.short_after,
        "group_short_after_is_forecast": group.forecast,
        "group_newest": _numbers(group.newest),
        "group_every_result": _numbers(group.every),
        "group_limits": {
            "mean_ft": limit.mean_ft,
            "mean_plus_3_sd_ft": limit.spread_ft,
            "individual_ft": limit.individual_ft,
            "source": limit.source.key,
        },
        "group_within_limits": group.within,
        "group_lacking": group.lacking,
        "not_judged": None,
    }


def _numbers(found: Spread | None) -> Mapping[str, Any] | None:
    """Give mean and spread as JSON has them."""
    if found is None:
        return None
    return {
        "results": found.count,
        "mean_ft": round(found.mean_ft, 2),
        "sd_ft": None if found.sd_ft is None else round(found.sd_ft, 2),
        "mean_plus_3_sd_ft": None if found.bound_ft is None else round(found.bound_ft, 2),
    }


def plan_lines(plan: Plan, day: date | None) -> Iterator[Line]:
    """Lay out the plan, group by group; as of a day, None where nothing is on record."""
    every = [each for group in plan.groups for each in group.airframes]
    told = f"height monitoring: {sum(each.in_time for each in every)} of {len(every)} in time"
    if not every:
        told = "no RVSM approval counts: no monitoring is asked"
        if plan.not_judged:
            told = "no RVSM approval is known to count"
    yield Line(f"Fleet  {told}{also_not_judged(len(plan.not_judged))}", "bold")
    if day is not None:
        yield from wrap(f"for {day}", 2, 2)
    for group in plan.groups:
        yield Line("")
        yield from _group(group)
    if plan.left_out:
        yield Line("")
        names = ", ".join(plan.left_out)
        yield from wrap(f"left out, for no RVSM approval counts: {names}", 0, 2)
    yield Line("")
    yield from not_judged_lines(plan.not_judged)
    yield from wrap(f"~ a forecast that the flying goes on as of late. {_HELD} {CAUTION}", 0, 0)


def _group(group: Group) -> Iterator[Line]:
    """Lay out one group."""
    short = group.in_time < group.required
    style = "bold red" if short else "bold"
    yield from wrap(
        f"{group.name} ({group.basis}): {group.in_time} of {len(group.airframes)} in time, "
        f"{group.required} required",
        0,
        2,
        style,
    )
    yield from wrap(_asked(group), 2, 4)
    if group.lacking:
        yield from wrap(f"{NOT_JUDGED}, and may belong here: {', '.join(group.lacking)}", 2, 4)
    styles = ["" if each.in_time else "bold red" for each in group.airframes]
    yield from table(
        [_cells(each) for each in group.airframes], _HEADS, right=_NUMBERS, styles=styles
    )
    for assumption in dict.fromkeys(each.assumption for each in group.airframes):
        if assumption:
            owners = [each.airframe for each in group.airframes if each.assumption == assumption]
            yield from wrap(f"{', '.join(owners)}: {assumption}", 2, 4)
    yield from _spread(group)


def _asked(group: Group) -> str:
    """Say how many must be measured by when."""
    names = ", ".join(group.measure)
    if len(group.airframes) < group.required:
        measured = f"measure {names} now; " if names else ""
        return f"{measured}whether {group.required} are in time cannot be told"
    if group.in_time < group.required:
        missing = group.required - group.in_time
        return f"measure {missing} of {names} now"
    if group.short_after is None:
        return "by when cannot be told: too little flying on record for a rate"
    mark = "~" if group.forecast else ""
    which = names if len(group.measure) == 1 else f"one of {names}"
    return f"measure {which} by {mark}{group.short_after}"


def _cells(each: Planned) -> Sequence[str]:
    """Write one airframe."""
    result = each.result
    day = each.due_on or each.forecast_on
    mark = "" if each.due_on else "~"
    until = "by hours" if each.due_hours is not None else "overdue"
    return [
        each.airframe,
        "never" if result is None else str(result.record.measured_on),
        "-" if result is None else f"{result.record.ase_ft:+d}",
        "-" if each.hours_since is None else f"{each.hours_since:g}",
        until if day is None else f"{mark}{day}",
        "-" if each.days_left is None else f"{mark}{each.days_left} d",
    ]


def _spread(group: Group) -> Iterator[Line]:
    """Write mean and spread against the limits."""
    limit = group.limit
    for found, of in ((group.newest, "newest of each"), (group.every, "every result")):
        if found is None or (of == "every result" and found == group.newest):
            continue
        numbers = f"{of} ({found.count}): mean {found.mean_ft:+.1f} ft"
        if found.sd_ft is not None and found.bound_ft is not None:
            numbers += f", s {found.sd_ft:.1f} ft, |mean|+3s {found.bound_ft:.1f} ft"
        yield from wrap(numbers, 2, 4)
    if limit.mean_ft is not None and limit.spread_ft is not None:
        limits = f"limits: mean {limit.mean_ft} ft, |mean|+3s {limit.spread_ft} ft"
    else:
        limits = f"limit of each: {limit.individual_ft} ft"
    unknown = (
        "too few results to tell" if not group.lacking else "cannot be told, not all are judged"
    )
    answers = {True: "within", False: "BEYOND", None: unknown}
    style = "bold red" if group.within is False else ""
    yield from wrap(f"{limits}: {answers[group.within]}", 2, 4, style)
