"""What a verification found, and what a store is, on the screen and as JSON."""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.facts import Seal
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.store.info import StoreInfo
from rvsmlog.store.verify import Verification

_MOST = 20


def info_lines(info: StoreInfo) -> Iterator[Line]:
    """Lay out what a store is."""
    yield Line(info.store, "bold")
    size = "" if info.bytes is None else f", {info.bytes:,} bytes"
    yield Line(f"  schema {info.schema}{size}")
    if info.schema != info.schema_wanted:
        yield from wrap(
            f"this program needs schema {info.schema_wanted}: run `rvsmlog store upgrade`", 2, 2
        )
    yield Line("")
    yield from _seal_table(info.seals)


def _seal_table(seals: tuple[Seal, ...]) -> list[Line]:
    """Lay out logbooks with their newest entry and digest."""
    if not seals:
        return wrap("no logbook yet", 2, 2)
    rows = [[each.logbook, str(each.entry), each.digest[:40]] for each in seals]
    return table(rows, ("logbook", "entries", "digest of the newest entry"))


def verification_lines(found: Verification) -> Iterator[Line]:
    """Lay out what a verification found."""
    if found.faults:
        yield Line(f"NOT AS WRITTEN: {len(found.faults)} fault(s) in the store", "bold red")
        for fault in found.faults[:_MOST]:
            yield from wrap(f"{fault.logbook}#{fault.entry} {fault.says}", 2, 4)
        if len(found.faults) > _MOST:
            yield Line(f"  and {len(found.faults) - _MOST} more")
        yield from wrap("do: stop writing, keep this file, compare with the newest backup", 2, 6)
    else:
        yield Line(f"as written: {found.entries:,} entries, every digest agrees", "bold green")
    yield Line("")
    yield from _seal_table(found.seals)


def verification_object(found: Verification) -> Mapping[str, Any]:
    """Give a verification as JSON has it."""
    return {
        "as_written": not found.faults,
        "entries": found.entries,
        "faults": [
            {"logbook": fault.logbook, "entry": fault.entry, "says": fault.says}
            for fault in found.faults
        ],
        "seals": [
            {"logbook": each.logbook, "entry": each.entry, "digest": each.digest}
            for each in found.seals
        ],
    }
