"""The fleet board: one line for each airframe, and as JSON."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from rvsmlog.answers.fleet_board import BoardRow
from rvsmlog.dates import show_instant
from rvsmlog.reports.due_screen import days_text, due_row, short
from rvsmlog.reports.fleet import NOT_JUDGED, also_not_judged, not_judged_lines
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.reports.verdict_screen import level_text
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.verdict import CAUTION

_HEADS = ("airframe", "highest", "set by", "next due", "cross-check", "drift")
_SET_BY = 2


def board_objects(rows: Sequence[BoardRow], at: datetime) -> list[Mapping[str, Any]]:
    """Give one mapping for each airframe.

    Parameters
    ----------
    rows, at
        As for :func:`board_lines`; of what falls due next it must be known what it will cost.
    """
    return [
        {
            "registration": row.airframe,
            "at": at,
            "highest_level": row.highest_level,
            "set_by": row.set_by,
            "pilot_judged": row.pilot_judged,
            "next_due": due_row(row.due[0]) if row.due else None,
            "crosscheck": None
            if row.crosscheck is None
            else {
                "day": row.crosscheck.day,
                "age_days": row.crosscheck.age_days,
                "difference_ft": row.crosscheck.difference_ft,
            },
            "drift": row.drift,
            "not_judged": None if row.not_judged is None else row.not_judged.message,
        }
        for row in rows
    ]


def board_lines(rows: Sequence[BoardRow], at: datetime) -> Iterator[Line]:
    """Lay out the fleet.

    Parameters
    ----------
    rows : sequence of BoardRow
        By registration.
    at : datetime
        For when, aware.
    """
    if not rows:
        yield from wrap(
            "Fleet  no airframe on record yet; enter one with `rvsmlog airframe add`", 0, 2
        )
        return
    yield Line(f"Fleet  {counted(rows)}", "bold")
    yield from wrap(f"for {show_instant(at)}", 2, 2)
    yield Line("")
    styles = ["bold red" if row.highest_level is None else "" for row in rows]
    yield from table([_cells(row) for row in rows], _HEADS, shrink=_SET_BY, styles=styles)
    yield Line("")
    yield from not_judged_lines(row.not_judged for row in rows)
    yield from wrap(_worked_on(rows), 0, 2)
    if not all(row.pilot_judged for row in rows):
        yield from wrap("The pilot is not judged here: `rvsmlog gonogo REG --pilot CODE`.", 0, 2)
    yield from wrap(
        "Why: `rvsmlog gonogo REG`. Next due leaves out what each flight renews, such as the "
        "reading of the oxygen gauge; all that falls due: `rvsmlog due`.",
        0,
        2,
    )
    yield from wrap(CAUTION, style="italic")


def stands(row: BoardRow) -> str:
    """Say how an airframe stands to its certificated level: ``full``, ``held`` or ``none``.

    One that cannot be judged stands ``unknown``.
    """
    if row.not_judged is not None:
        return "unknown"
    if level_above_certificated.name in row.set_by:
        return "full"
    return "none" if row.highest_level is None else "held"


def counted(rows: Sequence[BoardRow]) -> str:
    """Say of how many airframes the level is what."""
    found = [stands(row) for row in rows]
    unknown = found.count("unknown")
    return (
        f"{found.count('full')} at the certificated level, {found.count('held')} held below it, "
        f"{found.count('none')} no flight" + also_not_judged(unknown)
    )


def _worked_on(rows: Sequence[BoardRow]) -> str:
    """Name the airframes whose newest cross-check in flight is older than work on the altimetry."""
    names = [row.airframe for row in rows if row.crosscheck is not None and row.drift is None]
    if not names:
        return ""
    return f"{', '.join(names)}: no cross-check in flight since the altimetry was worked on."


def _cells(row: BoardRow) -> list[str]:
    """Write one airframe."""
    if row.not_judged is not None:
        return [row.airframe, NOT_JUDGED, "see below", "-", "-", "-"]
    return [
        row.airframe,
        level_text(row.highest_level),
        _set_by(row),
        "-" if row.next_due is None else f"{days_text(row.next_due)} {short(row.next_due)}",
        _crosscheck(row),
        row.drift or "-",
    ]


def _set_by(row: BoardRow) -> str:
    """Name the first rule that sets the level, and how many more do."""
    first, *others = row.set_by
    if first == level_above_certificated.name:
        return "certificated level"
    return f"{first} +{len(others)}" if others else first


def _crosscheck(row: BoardRow) -> str:
    """Write age and difference of the newest cross-check."""
    if row.crosscheck is None:
        return "none"
    return f"{row.crosscheck.age_days} d {row.crosscheck.difference_ft:+d} ft"
