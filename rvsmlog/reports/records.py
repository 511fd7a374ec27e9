"""Records as rows: for lists on the screen and for JSON."""

from collections.abc import Iterable, Mapping
from typing import Any

from rvsmlog.facts import Logged
from rvsmlog.records.base import Record, RecordKind

#: Fields that a list shows, where not all of them fit; the record's first fields otherwise.
_MOST_SHOWN = 5


def row(logged: Logged[Any]) -> Mapping[str, Any]:
    """Give a record as one flat mapping: the entry, then its fields as JSON has them."""
    record: Record = logged.record
    return {
        "logbook": logged.ref.logbook,
        "entry": logged.ref.entry,
        "kind": record.kind.name,
        "recorded_at": logged.recorded_at,
        "recorded_by": logged.recorded_by,
        **{spec.name: getattr(record, spec.name) for spec in record.kind.fields},
    }


def shown_fields(kind: RecordKind, records: Iterable[Logged[Any]]) -> tuple[str, ...]:
    """Choose the fields of a list: the first that any of the records has."""
    held = [
        spec.name
        for spec in kind.fields
        if any(getattr(logged.record, spec.name) is not None for logged in records)
    ]
    return tuple(held[:_MOST_SHOWN])


def cells(logged: Logged[Any], names: Iterable[str]) -> list[str]:
    """Write some fields of a record as text."""
    record: Record = logged.record
    result = [f"#{logged.ref.entry}"]
    for name in names:
        value = getattr(record, name)
        result.append("-" if value is None else record.kind.by_name[name].type.show(value))
    return result
