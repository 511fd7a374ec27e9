"""What came out of recorded flight data, on the screen and as JSON."""

from collections.abc import Mapping
from typing import Any

from rvsmlog.dates import show_instant
from rvsmlog.records.flights import CrossCheck
from rvsmlog.reports.text import Line, escape, table, wrap
from rvsmlog.store.importing.extraction import Extracted

#: How many comparisons a screen shows.
_SHOWN = 20


def summary(found: Extracted) -> list[Line]:
    """Say how much came of how much, and what was left out."""
    count = len(found.records)
    lines = wrap(
        f"{count:,} level stretch{'' if count == 1 else 'es'} in {found.rows:,} rows", style="bold"
    )
    for what, number in found.left_out:
        lines += wrap(f"left out: {number:,} {what}", 2, 4)
    return lines


def extraction_lines(
    found: Extracted, entered: tuple[str, range] | None, out: str | None
) -> list[Line]:
    """Give the screen: what was made, where it went, and the comparisons."""
    lines = summary(found)
    if out is not None:
        lines += wrap(f"written: {out}", 2, 4)
    if entered is not None:
        book, numbers = entered
        last = f" to #{numbers[-1]}" if len(numbers) > 1 else ""
        lines += wrap(f"recorded {book}#{numbers[0]}{last}", 2, 4)
    shown = found.records[-_SHOWN:]
    rows = [
        [
            show_instant(record.taken_at),
            f"FL{record.level}",
            f"{record.difference_ft:+d}",
            escape(record.remarks or ""),
        ]
        for record in shown
    ]
    lines += table(rows, ("middle", "level", "1-2, ft", "made of"), right={2})
    if len(shown) < len(found.records):
        lines += wrap(f"the newest {len(shown)} of {len(found.records):,}")
    return lines


def extraction_object(found: Extracted, entered: tuple[str, range] | None) -> Mapping[str, Any]:
    """Give what was done as JSON has it."""
    recorded = None
    if entered is not None:
        book, numbers = entered
        recorded = {"logbook": book, "first": numbers[0], "last": numbers[-1]}
    return {
        "rows": found.rows,
        "left_out": dict(found.left_out),
        "recorded": recorded,
        "crosschecks": [
            {
                spec.name: getattr(record, spec.name)
                for spec in CrossCheck.kind.fields
                if getattr(record, spec.name) is not None
            }
            | {"difference_ft": record.difference_ft}
            for record in found.records
        ],
    }
