"""The machine's clock against the logbooks, on the screen and as JSON."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any

from rvsmlog.dates import show_instant
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.store.writing.clock import ClockState

#: How many entries to come a screen names.
SHOWN = 20


def clock_lines(state: ClockState) -> Iterator[Line]:
    """Lay out the clock, the newest entry of each logbook, and what has not happened yet."""
    for ref in state.corrections:
        yield from wrap(f"recorded {ref}: correction of the clock", style="bold")
    if state.corrections:
        yield Line("")
    yield Line(f"The clock says {show_instant(state.now)}", "bold")
    rows = [
        (str(each.newest), show_instant(each.made_at), _ahead(each.ahead) if each.bars else "")
        for each in state.times
    ]
    yield from table(rows, ("newest entry", "made at", ""))
    if any(each.bars for each in state.times):
        yield Line("")
        yield from wrap(
            "No entry can be made in a logbook whose newest lies ahead. If the clock is wrong now, "
            "set it. If it is right and was wrong then: `rvsmlog store clock --it-is INSTANT "
            "--reason TEXT`, with the time by a clock that you trust."
        )
    if state.to_come:
        yield Line("")
        yield Line("On record, and still to come by this clock", "bold")
        for entry in state.to_come[:SHOWN]:
            when = show_instant(entry.when) if isinstance(entry.when, datetime) else entry.when
            yield from wrap(f"{entry.ref}: {entry.title}, {when}", 2, 4)
        if len(state.to_come) > SHOWN:
            yield Line(f"  and {len(state.to_come) - SHOWN:,} more")
        yield from wrap(
            "Correct each or strike it out: till then no flight is judged by its logbook."
        )


def _ahead(ahead: timedelta) -> str:
    """Write how far an entry lies ahead."""
    days, rest = ahead.days, ahead.seconds // 60
    far = f"{days:,} d" if days else f"{rest // 60} h {rest % 60:02} min"
    return f"{far} ahead of the clock"


def clock_object(state: ClockState) -> Mapping[str, Any]:
    """Give the same as JSON has it."""
    return {
        "clock": state.now,
        "corrections": [
            {"logbook": each.logbook, "entry": each.entry} for each in state.corrections
        ],
        "logbooks": [
            {
                "logbook": each.newest.logbook,
                "entry": each.newest.entry,
                "recorded_at": each.made_at,
                "ahead": each.bars,
            }
            for each in state.times
        ],
        "to_come": [
            {
                "logbook": each.ref.logbook,
                "entry": each.ref.entry,
                "kind": each.title,
                "when": each.when,
            }
            for each in state.to_come
        ],
    }
