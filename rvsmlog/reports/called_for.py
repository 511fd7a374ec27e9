"""The functional checks that work calls for: on the screen and as JSON."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from rvsmlog.findings import NO_FLIGHT
from rvsmlog.reports.text import Line, wrap
from rvsmlog.rules.work_calls import Call
from rvsmlog.standards.sources import source
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION


def call_lines(calls: Sequence[Call]) -> Iterator[Line]:
    """Write the checks, or that none is called for."""
    if not calls:
        yield from wrap("It calls for no functional check that is known here.")
        yield from wrap(CAUTION, style="italic")
        return
    yield Line("It calls for, to be recorded with `rvsmlog test add`:", "bold")
    for call in calls:
        yield from wrap(f"- {call.title} ({call.because})", 2, 4)
        instead = f" Or: {call.instead}." if call.instead else ""
        yield from wrap(f"{_until(call)}.{instead} {source(call.source)}", 4, 4)
    more = "The aeroplane's own maintenance data may call for more. "
    yield from wrap(more + CAUTION, style="italic")


def _until(call: Call) -> str:
    """Say what may be flown until the check is on record."""
    if call.highest_level == NO_FLIGHT:
        return "Until it is on record and good: no flight under IFR"
    return f"Until it is on record and good: {show_level(call.highest_level)} at most"


def call_rows(calls: Sequence[Call]) -> list[Mapping[str, Any]]:
    """Give one flat mapping for each check; ``highest_level`` holds until then, 0 is no flight."""
    return [
        {
            "test": call.test,
            "positions": list(call.positions),
            "because": call.because,
            "highest_level": call.highest_level,
            "instead": call.instead or None,
            "source": call.source,
        }
        for call in calls
    ]
