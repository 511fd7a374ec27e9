"""One entry in full, with its history."""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.dates import show_instant
from rvsmlog.records.kinds import KIND
from rvsmlog.reports.fields import field_lines, labelled
from rvsmlog.reports.text import Line, wrap
from rvsmlog.store.reading.history import History, Version


def entry_lines(found: History) -> Iterator[Line]:
    """Lay out one entry: what it says, who made it, what became of it."""
    version = found.entry
    yield Line(f"{version.ref}  {_title(version)}: {_state(found)}", "bold")
    if version.record is not None:
        yield from field_lines(version.record)
    yield from labelled("recorded", f"{show_instant(version.recorded_at)} by {version.recorded_by}")
    yield Line(f"  digest  {version.digest}")
    if len(found.chain) > 1:
        yield Line("")
        yield Line("History", "bold")
        for each in found.chain:
            yield from _step(each, here=each is version)
    if found.named_by:
        yield Line("")
        yield Line("Named by", "bold")
        for naming in found.named_by:
            also = "" if naming.superseded_by is None else f" ({naming.state})"
            yield from wrap(f"#{naming.ref.entry} {KIND[naming.kind].title}{also}", 2, 4)


def _state(found: History) -> str:
    """Say how an entry stands, and which entry counts instead where it does not."""
    if found.entry is found.newest:
        return found.state
    return f"{found.state} by #{found.newest.ref.entry}"


def _title(version: Version) -> str:
    """Give what the trade calls an entry."""
    if version.record is not None:
        return version.record.title
    return KIND[version.kind].title if version.kind in KIND else "strikes out an entry"


def _step(version: Version, *, here: bool) -> list[Line]:
    """Write one step of a history."""
    what = "made" if version.supersedes is None else f"corrects #{version.supersedes}"
    if version.record is None:
        what = f"strikes out #{version.supersedes}"
    why = "" if version.reason is None else f": {version.reason}"
    mark = ">" if here else " "
    return wrap(
        f"{mark} #{version.ref.entry} {what}, {show_instant(version.recorded_at)} by "
        f"{version.recorded_by}{why}",
        1,
        6,
    )


def entry_object(found: History) -> Mapping[str, Any]:
    """Give one entry as JSON has it, with its history."""
    return {
        **_version_object(found.entry),
        "state": found.state,
        "history": [_version_object(each) for each in found.chain],
        "newest_entry": found.newest.ref.entry,
        "named_by": [
            {"entry": each.ref.entry, "kind": each.kind, "state": each.state}
            for each in found.named_by
        ],
    }


def _version_object(version: Version) -> Mapping[str, Any]:
    """Give one step as JSON has it."""
    record = version.record
    return {
        "logbook": version.ref.logbook,
        "entry": version.ref.entry,
        "kind": version.kind,
        "recorded_at": version.recorded_at,
        "recorded_by": version.recorded_by,
        "supersedes": version.supersedes,
        "reason": version.reason,
        "digest": version.digest,
        "fields": None
        if record is None
        else {spec.name: getattr(record, spec.name) for spec in record.kind.fields},
    }
