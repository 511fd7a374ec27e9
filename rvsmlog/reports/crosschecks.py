"""Cross-checks in a list, with the differences that decide."""

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from rvsmlog.facts import Logged
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import Ref
from rvsmlog.records.flights import CrossCheck
from rvsmlog.reports.comparisons import Comparison, comparisons_of
from rvsmlog.reports.records import row
from rvsmlog.reports.states import State
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION

_HEADS = ("entry", "taken at", "phase", "level", "alt 1", "alt 2", "1-2", "limit")
_NUMBERS = (4, 5, 6, 7)


def crosscheck_row(
    airframe: Airframe, logged: Logged[CrossCheck], state: State | None = None
) -> Mapping[str, Any]:
    """Give a cross-check as one flat mapping, with its difference and what is beyond tolerance."""
    compared = comparisons_of(airframe, logged.record)
    return {
        **row(logged, state),
        "difference_ft": logged.record.difference_ft,
        "tolerance_ft": _primaries(compared).limit_ft,
        "beyond": _beyond(compared),
    }


def _primaries(compared: Sequence[Comparison]) -> Comparison:
    """Give the comparison of the two primaries."""
    return next(each for each in compared if each.what == "primaries")


def _beyond(compared: Sequence[Comparison]) -> list[str]:
    """Name what is beyond its tolerance."""
    return list(dict.fromkeys(each.what for each in compared if each.beyond))


def crosscheck_lines(
    airframe: Airframe,
    found: Sequence[Logged[CrossCheck]],
    *,
    more: bool,
    superseded: Mapping[Ref, State] = MappingProxyType({}),
) -> Iterator[Line]:
    """Lay out cross-checks, the newest last.

    Parameters
    ----------
    airframe : Airframe
        Whose tolerances hold.
    found : sequence of Logged
        From the earliest to the latest.
    more : bool
        Whether earlier ones are left out.
    superseded : mapping of Ref to State
        What became of those that no longer stand.
    """
    if not found:
        told = "no cross-check on record yet; log one with `rvsmlog crosscheck log`"
        yield from wrap(f"{airframe.registration}  {told}", 0, 2, "bold")
        return
    count = len(found)
    told = f"the newest {count}; more with --last N" if more else f"{count} on record"
    yield Line(f"{airframe.registration}  altimeter cross-check, feet: {told}", "bold")
    compared = [comparisons_of(airframe, logged.record) for logged in found]
    rows = [_cells(logged, each) for logged, each in zip(found, compared, strict=True)]
    head, *lines = table(rows, _HEADS, right=_NUMBERS)
    yield head
    for line, logged, each in zip(lines, found, compared, strict=True):
        if logged.ref in superseded:
            yield line
            yield Line(f"       {superseded[logged.ref]}", "bold")
            continue
        beyond = ", ".join(_beyond(each))
        yield Line(line.text, "bold red" if beyond else "")
        if beyond:
            yield Line(f"       beyond tolerance: {beyond}", "bold red")
    yield from wrap(CAUTION, style="italic")


def _cells(logged: Logged[CrossCheck], compared: Sequence[Comparison]) -> list[str]:
    """Write one cross-check."""
    check = logged.record
    primaries = _primaries(compared)
    limit = primaries.limit_ft
    return [
        f"#{logged.ref.entry}",
        check.kind.by_name["taken_at"].type.show(check.taken_at),
        check.phase,
        "-" if check.level is None else show_level(check.level),
        str(check.primary_1_ft),
        str(check.primary_2_ft),
        f"{primaries.difference_ft:+d}",
        "-" if limit is None else str(limit),
    ]
