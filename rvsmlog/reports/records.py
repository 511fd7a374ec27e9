"""Records as rows: for lists on the screen and for JSON."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, time
from types import MappingProxyType
from typing import Any

from rvsmlog.facts import Logged
from rvsmlog.frozen import replace
from rvsmlog.records.base import FieldSpec, Record, RecordKind
from rvsmlog.records.fields import Real, Whole
from rvsmlog.records.trade_fields import EntryNumber, Level
from rvsmlog.reports.states import State
from rvsmlog.reports.text import Line, fits, table, wrap
from rvsmlog.units import show_level

#: What a list shows of each kind, the most telling first; the text column last.
_SHOWN: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "operator": ("name", "time_zone", "region", "designator"),
        "person": ("name", "may", "valid_until", "database_role"),
        "refusal": ("name", "wanted", "logbook"),
        "operator-clock": ("cause",),
        "airframe-clock": ("cause",),
        "pilot": ("code", "name", "licence"),
        "knowledge": ("pilot", "completed_on", "training", "valid_until", "given_by"),
        "airframe": ("registration", "type_designator", "serial_number", "highest_level"),
        "equipment": ("function", "position", "fitted_on", "serial_number"),
        "removal": ("equipment", "removed_on", "reference", "cause"),
        "swap": ("swapped_at", "unit", "other", "cause"),
        "oxygen-installation": ("system", "serves", "fitted_on", "service_psi", "unusable_psi"),
        "oxygen-reading": ("checked_at", "system", "gauge_psi", "cylinder_c", "pilot"),
        "route-profile": ("name", "departure", "destination", "hold_level", "cruise_minutes"),
        "test-readings": ("test", "specification", "part_number"),
        "work": ("done_on", "position", "work", "description"),
        "defect": ("found_at", "function", "position", "description"),
        "altimetry-fault": ("found_at", "level", "primary_1_ft", "primary_2_ft", "description"),
        "deferral": ("defect", "category", "mel_reference", "deferred_on", "highest_level"),
        "extension": ("deferral", "days", "granted_on", "granted_by"),
        "rectification": ("defect", "done_at", "released_by", "reference", "work_done"),
        "review": ("subject", "reviewed_at", "accepted", "conclusion"),
        "approval": ("approval", "registration", "issued_on", "expires_on", "regions"),
        "withdrawal": ("approval", "withdrawn_on", "cause"),
        "test": ("done_on", "test", "position", "passed", "tested_altitude_ft", "reference"),
        "monitoring": ("measured_on", "method", "ase_ft", "tve_ft", "airframe_hours"),
        "flight": (
            *("off_at", "on_at", "departure", "destination", "highest_level", "pilot"),
            "airframe_hours",
        ),
        "deviation": ("occurred_at", "tve_ft", "ase_ft", "aad_ft", "cause", "description"),
        "closure": ("deviation", "closed_on", "confirmed_by", "conclusion"),
    }
)
#: What a list shows whole beneath the row, for a cut text would not say it.
_BENEATH: Mapping[str, str] = MappingProxyType({"refusal": "why"})
#: Kinds whose states stand without their day rather than cut another cell short, as a list of its
#: own says when.
_DAYLESS = frozenset({"equipment", "defect", "altimetry-fault"})
#: How many fields a list shows of a kind that is not named above.
_OTHERWISE = 5
_HEADS: Mapping[str, str] = MappingProxyType(
    {
        "type_designator": "type",
        "serial_number": "serial",
        "highest_level": "level",
        "mel_reference": "item",
        "departure": "from",
        "destination": "to",
        "airframe_hours": "hours",
        "primary_1_ft": "alt 1",
        "primary_2_ft": "alt 2",
        "tested_altitude_ft": "tested ft",
    }
)


def row(logged: Logged[Any], state: State | None = None) -> Mapping[str, Any]:
    """Give a record as one flat mapping: the entry, then its fields as JSON has them."""
    record: Record = logged.record
    result = {
        "logbook": logged.ref.logbook,
        "entry": logged.ref.entry,
        "first_entry": logged.first,
        "kind": record.kind.name,
        "recorded_at": logged.recorded_at,
        "recorded_by": logged.recorded_by,
        **{spec.name: getattr(record, spec.name) for spec in record.kind.fields},
    }
    if state is not None:
        result |= {"state": state.word, "state_since": state.since, "state_by": state.by}
    return result


def by_time(records: Iterable[Logged[Any]]) -> list[Logged[Any]]:
    """Order records by when they happened, the newest last; by entry where nothing says when."""
    return sorted(records, key=lambda logged: (_moment(logged.record), logged.ref.entry))


def _moment(record: Record) -> datetime:
    """Give when a record happened; a day begins it."""
    happened = record.happened()
    if isinstance(happened, datetime):
        return happened
    day = happened if isinstance(happened, date) else date.min
    return datetime.combine(day, time.min, UTC)


def record_table(
    kind: RecordKind, records: Sequence[Logged[Any]], states: Mapping[Any, State]
) -> list[Line]:
    """Lay out records of one kind: the telling fields, and how each stands.

    Parameters
    ----------
    kind : RecordKind
        Of all the records.
    records : sequence of Logged
        In the order of the list; at least one.
    states : mapping of Ref to State
        How those stand that can be closed.
    """
    names = [
        name
        for name in _SHOWN.get(kind.name, tuple(kind.by_name)[:_OTHERWISE])
        if any(getattr(logged.record, name) is not None for logged in records)
    ]
    with_state = any(logged.ref in states for logged in records)
    heads = ["entry", *(["state"] if with_state else []), *(head(name) for name in names)]
    rows = _rows(kind, records, states if with_state else None, names)
    if with_state and kind.name in _DAYLESS and not fits((heads, *rows)):
        told = {ref: replace(state, since=None) for ref, state in states.items()}
        rows = _rows(kind, records, told, names)
    start = len(heads) - len(names)
    right = [start + at for at, name in enumerate(names) if _is_number(kind.by_name[name])]
    first, *lines = table(rows, heads, right=right)
    laid = [first]
    for logged, line in zip(records, lines, strict=True):
        laid += [line, *_beneath(kind, logged.record)]
    return laid


def _rows(
    kind: RecordKind,
    records: Sequence[Logged[Any]],
    states: Mapping[Any, State] | None,
    names: Sequence[str],
) -> list[list[str]]:
    """Write the cells; how an entry stands where states are given."""
    rows = []
    for logged in records:
        # Entries that were corrected have a state in every kind; the others only where it tells.
        state = [] if states is None else [str(states.get(logged.ref, ""))]
        cells = [cell(kind.by_name[name], logged.record) for name in names]
        rows.append([f"#{logged.ref.entry}", *state, *cells])
    return rows


def _beneath(kind: RecordKind, record: Record) -> list[Line]:
    """Write what stands whole beneath a row."""
    name = _BENEATH.get(kind.name)
    if name is None:
        return []
    return wrap(f"{head(name)}: {cell(kind.by_name[name], record)}", 2, 4 + len(head(name)))


def head(name: str) -> str:
    """Give a field's column head."""
    return _HEADS.get(name, name.removesuffix("_at").removesuffix("_on").replace("_", " "))


def cell(spec: FieldSpec, record: Record) -> str:
    """Write one field of a record; entries with their mark."""
    value = getattr(record, spec.name)
    if value is None:
        return "-"
    return shown(spec, value)


def shown(spec: FieldSpec, value: Any) -> str:
    """Write a value for a person: levels and entries with their marks."""
    if isinstance(spec.type, Level):
        return show_level(value)
    mark = "#" if isinstance(spec.type, EntryNumber) else ""
    return mark + spec.type.show(value)


def _is_number(spec: FieldSpec) -> bool:
    return isinstance(spec.type, Whole | Real)
