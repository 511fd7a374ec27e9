"""The open deferrals as a board: on the screen and as JSON."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, fields
from datetime import date
from typing import Any

from rvsmlog.answers.deferral_board import DeferralRow, ExtensionAnswer
from rvsmlog.dates import show_instant
from rvsmlog.facts import NotJudged
from rvsmlog.reports.fleet import also_not_judged, not_judged_lines, not_judged_row
from rvsmlog.reports.text import Line, wrap
from rvsmlog.reports.verdict_screen import level_text
from rvsmlog.standards.sources import source
from rvsmlog.verdict import CAUTION

#: From so many days on the board stresses a deferral.
_SOON_DAYS = 3


def deferral_board_rows(
    rows: Sequence[DeferralRow], not_judged: Sequence[NotJudged] = ()
) -> list[Mapping[str, Any]]:
    """Give one mapping for each deferral; airframes that are not judged lead."""
    names = [field.name for field in fields(DeferralRow)]
    return [
        *(not_judged_row(names, each) for each in not_judged),
        *(_object(row) for row in rows),
    ]


def _object(row: DeferralRow) -> Mapping[str, Any]:
    """Give one deferral as a mapping."""
    return {
        "airframe": row.airframe,
        "logbook": row.logbook,
        "deferral": row.deferral,
        "defect": row.defect,
        "what": row.what,
        "category": row.category,
        "mel_reference": row.mel_reference,
        "due_on": row.due_on,
        "days_left": row.days_left,
        "rvsm": row.rvsm,
        "highest_level": row.highest_level,
        "set_by": row.set_by,
        "item_level": row.item_level,
        "limitation": row.limitation,
        "extension": _extension(row.extension),
        "reviewed_at": row.reviewed_at,
        "review": row.review,
        "evidence": [{"logbook": ref.logbook, "entry": ref.entry} for ref in row.evidence],
        "not_judged": None,
    }


def _extension(answer: ExtensionAnswer) -> Mapping[str, Any]:
    return asdict(answer)


def deferral_board_lines(
    rows: Sequence[DeferralRow],
    name: str,
    day: date | None,
    not_judged: Sequence[NotJudged] = (),
) -> Iterator[Line]:
    """Lay out open deferrals, those that end first first.

    Parameters
    ----------
    rows : sequence of DeferralRow
        By last day.
    name : str
        Of whom: a registration, or the fleet.
    day : date or None
        As of when; None where nothing is on record.
    not_judged : sequence of NotJudged
        The airframes whose deferrals cannot be told.
    """
    past = sum(row.days_left < 0 for row in rows)
    told = f"{len(rows) or 'no'} deferral{'s' if len(rows) > 1 else ''} open"
    if not_judged and not rows:
        told = "no deferral is known to be open"
    overdue = f", {past} overdue" if past else ""
    yield Line(f"{name}  {told}{overdue}{also_not_judged(len(not_judged))}", "bold")
    if day is not None:
        yield from wrap(f"for {day}", 2, 2)
    for row in rows:
        yield Line("")
        yield from _row(row)
    yield Line("")
    yield from not_judged_lines(not_judged)
    yield from wrap(
        f"Days are the operator's own; the last day still counts. {CAUTION}", style="italic"
    )


def _row(row: DeferralRow) -> Iterator[Line]:
    """Write one deferral: when it ends, what it costs, whether it may be extended, the review."""
    style = "bold red" if row.days_left <= _SOON_DAYS else "bold"
    yield from wrap(
        f"{row.airframe}  {row.what}: {row.category}, last day {row.due_on}, {_left(row)}",
        0,
        4,
        style,
    )
    yield from wrap(f"#{row.deferral} of #{row.defect}, item {row.mel_reference}", 4, 4)
    yield from wrap(cost_text(row), 4, 10)
    if row.item_level is not None and row.item_level != row.highest_level:
        yield from wrap(f"the item allows {level_text(row.item_level)} at most", 4, 10)
    if row.limitation:
        yield from wrap(f"limitation: {row.limitation}", 4, 16)
    yield from wrap(f"extension: {extension_text(row.extension)}", 4, 15)
    reviewed = "never"
    if row.reviewed_at is not None:
        reviewed = f"{show_instant(row.reviewed_at)}: {row.review}"
    yield from wrap(f"last review: {reviewed}", 4, 17)


def _left(row: DeferralRow) -> str:
    days = abs(row.days_left)
    counted = f"{days} day{'' if days == 1 else 's'}"
    return f"{counted} left" if row.days_left >= 0 else f"OVERDUE by {counted}"


def cost_text(row: DeferralRow) -> str:
    """Say what it means for RVSM, and by which rule."""
    by = f" ({', '.join(row.set_by)})"
    match row.rvsm:
        case "kept":
            return "RVSM: no effect on the level"
        case "no flight":
            return f"RVSM: no flight{by}"
        case "capped":
            return f"RVSM: {level_text(row.highest_level)} at most{by}"
        case _:
            return f"RVSM: lost, {level_text(row.highest_level)} at most{by}"


def extension_text(answer: ExtensionAnswer) -> str:
    """Say whether it may be extended, until when and under which policy."""
    where = source(answer.source)
    if not answer.possible:
        return f"no, {answer.says} [{where.document}, {where.section}]"
    terms = f"; {answer.says}" if answer.says else ""
    return (
        f"possible once, by {answer.days} days to {answer.until} at most, granted by the last "
        f"day{terms} [{where.document}, {where.section}]"
    )
