"""Every kind of record comes back from the store as it went in, whatever is in it."""

from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any
from zoneinfo import available_timezones

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldSpec, Logbook, Record, RecordKind
from rvsmlog.records.fields import Choice, FieldType, Flag, Real, Text, Whole, Words
from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.records.people import LASTING, Person
from rvsmlog.records.point_table import PointTable
from rvsmlog.records.trade_fields import Day, EntryNumber, Instant, Level, LevelTable
from rvsmlog.store.importing.csv_import import import_columns, import_csv
from rvsmlog.store.reading.references import entry_fields
from rvsmlog.store.writing import logbook
from rvsmlog.store.writing.unit_places import UnitPlaces

if TYPE_CHECKING:
    from tests.store.conftest import Log

#: Everything that happened lies before the clock of the tests.
FIRST, LATEST = datetime(1990, 1, 1, tzinfo=UTC), datetime(2027, 3, 1, tzinfo=UTC)
ZONES = (UTC, timezone(timedelta(hours=13)), timezone(timedelta(hours=-3, minutes=-30)))
WRITABLE = st.characters(exclude_categories=("Cc", "Cs"))
#: The kinds with checks between fields, each with what makes most of its records pass them.
TOGETHER: Mapping[str, Callable[[dict[str, Any]], None]]


@pytest.fixture(autouse=True, scope="module")
def any_days() -> Iterator[None]:
    """Let drawn days and units be anywhere: what comes back is asked here, not what is likely."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(logbook, "check_order", lambda *_: None)
        patch.setattr(UnitPlaces, "check", lambda *_: None)
        yield


def texts(spec: Text) -> st.SearchStrategy[str]:
    """Give texts as a field takes them, of any script."""
    if spec.pattern:
        raw = st.from_regex(f"(?a:{spec.pattern})", fullmatch=True)
    else:
        raw = st.text(
            WRITABLE | st.sampled_from("\n\t"), min_size=1, max_size=min(spec.longest, 30)
        )
    return raw.map(lambda text: allowed(spec, text)).filter(bool).map(str)


def allowed(spec: Text, text: str) -> str | None:
    """Bring a text to its form, or give None when the field does not take it."""
    try:
        return spec.parse(text)
    except InputError:
        return None


def instants() -> st.SearchStrategy[datetime]:
    """Give instants to the microsecond, in several offsets."""
    span = int((LATEST - FIRST).total_seconds() * 1_000_000)
    return st.builds(
        lambda microseconds, zone: (FIRST + timedelta(microseconds=microseconds)).astimezone(zone),
        st.integers(0, span),
        st.sampled_from(ZONES),
    )


def tables(spec: LevelTable) -> st.SearchStrategy[tuple[tuple[int, int], ...]]:
    """Give tables with rising levels."""
    values = st.integers(spec.low, spec.high)
    rows = st.dictionaries(st.integers(1, 660), values, min_size=2, max_size=5)
    return rows.map(lambda found: tuple(sorted(found.items())))


def points(spec: PointTable) -> st.SearchStrategy[tuple[tuple[int, int], ...]]:
    """Give readings by test point, in any order."""
    keys, values = st.integers(spec.lowest, spec.highest), st.integers(spec.low, spec.high)
    return st.dictionaries(keys, values, min_size=1, max_size=4).map(
        lambda found: tuple(found.items())
    )


def values_of(spec: FieldType[Any]) -> st.SearchStrategy[Any]:
    """Give values that a field type takes."""
    made: dict[type, Callable[[Any], st.SearchStrategy[Any]]] = {
        Whole: lambda each: st.integers(each.low, each.high),
        Real: lambda each: st.floats(each.low, each.high),
        Text: texts,
        Choice: lambda each: st.sampled_from([str(word) for word in each.words]),
        Words: lambda each: st.sets(st.sampled_from(each.words), min_size=1).map(
            lambda found: tuple(str(word) for word in each.words if word in found)
        ),
        Flag: lambda _: st.booleans(),
        Instant: lambda _: instants(),
        Day: lambda _: st.dates(FIRST.date(), LATEST.date()),
        Level: lambda _: st.integers(1, 660),
        LevelTable: tables,
        PointTable: points,
    }
    return made[type(spec)](spec)


def field_values(spec: FieldSpec) -> st.SearchStrategy[Any]:
    """Give values of a field, or none where it may be absent."""
    found = values_of(spec.type)
    return found if spec.required or spec.default is not None else st.none() | found


def in_order(values: dict[str, Any]) -> None:
    """Put a flight's times in order."""
    off_at = values["off_at"]
    values["on_at"] = off_at + timedelta(seconds=1 + values["on_at"].second * 1400)
    if values["rvsm_from"] is not None:
        values["rvsm_from"], values["rvsm_to"] = off_at, values["on_at"]
    else:
        values["rvsm_to"] = None


def with_ground(values: dict[str, Any]) -> None:
    """Give a cross-check what its phase needs."""
    values["level"] = values["level"] or 310
    values["field_elevation_ft"] = values["field_elevation_ft"] or 0
    values["qnh_hpa"] = values["qnh_hpa"] or 1013.25
    if values["gnss_height_ft"] is None or values["gnss_kind"] is None:
        values["gnss_height_ft"] = values["gnss_kind"] = None


def deferred(values: dict[str, Any]) -> None:
    """Give a deferral the days of its category."""
    day: date = values["deferred_on"]
    values["discovered_on"] = values["discovered_on"] and day
    values["due_on"] = day + timedelta(days=3) if values["category"] == "A" else None


def with_zone(values: dict[str, Any]) -> None:
    """Give an operator a time zone that there is."""
    zones = sorted(available_timezones())
    values["time_zone"] = zones[len(values["name"]) * 7 % len(zones)]


def lately(values: dict[str, Any]) -> None:
    """Give a swap an instant at which its units were fitted."""
    values["swapped_at"] = LATEST - timedelta(microseconds=values["swapped_at"].microsecond)


def with_cylinder(values: dict[str, Any]) -> None:
    """Give an oxygen installation one volume, both groups, and flows with their reference."""
    values |= {"serves": ("crew", "passengers"), "passenger_masks": 4, "crew_masks": 1}
    values |= {"water_litres": None, "rated_litres": 600.0, "usable_litres": None}
    values |= {"unusable_psi": min(values["unusable_psi"], values["service_psi"] / 2)}
    values |= {"flow_reference": "handbook", "crew_delivery": "demand", "crew_modes": ("normal",)}


def ends_in_order(values: dict[str, Any]) -> None:
    """Give an estimate of static error ends and days that are in order."""
    values["low_ft"], values["error_ft"], values["high_ft"] = sorted(
        (values["low_ft"], values["error_ft"], values["high_ft"])
    )
    values["error_ft"] = max(min(values["error_ft"], 2000.0), -2000.0)
    values["first_on"], values["last_on"], values["estimated_on"] = sorted(
        (values["first_on"], values["last_on"], values["estimated_on"])
    )


def one_reading(values: dict[str, Any]) -> None:
    """Give a test's readings one table whose points are free, and no times that need others."""
    for name in ("friction", "barometric", "hysteresis", "hysteresis_dwell_s", "scale_dwell_s"):
        values[name] = None
    values["scale_error"] = values["scale_error"] or ((0, 5),)


def both_or_neither(one: str, other: str) -> Callable[[dict[str, Any]], None]:
    """Leave out two fields that go together unless both are there."""

    def change(values: dict[str, Any]) -> None:
        if values[one] is None or values[other] is None:
            values[one] = values[other] = None

    return change


def fixed(**changes: object) -> Callable[[dict[str, Any]], None]:
    """Set fields where they are absent."""

    def change(values: dict[str, Any]) -> None:
        for name, value in changes.items():
            values[name] = value if values[name] is None else values[name]

    return change


def without(*names: str) -> Callable[[dict[str, Any]], None]:
    """Leave fields out."""

    def change(values: dict[str, Any]) -> None:
        values.update(dict.fromkeys(names))

    return change


TOGETHER = MappingProxyType(
    {
        "flight": in_order,
        "crosscheck": with_ground,
        "deferral": deferred,
        "operator": with_zone,
        "swap": lately,
        "static-error": ends_in_order,
        "oxygen-installation": with_cylinder,
        "test-readings": one_reading,
        "approval": lambda values: (fixed(regions=("ALL",))(values), without("expires_on")(values))[
            0
        ],
        "knowledge": without("valid_until"),
        "test": fixed(tested_altitude_ft=35000),
        "deviation": fixed(aad_ft=300),
        "closure": both_or_neither("confirmation", "confirmed_on"),
        "route-profile": both_or_neither("hold_level", "hold_minutes"),
    }
)


@st.composite
def records(draw: st.DrawFn, kind: RecordKind, named: Mapping[str, int]) -> Record:
    """Give records of a kind with any values; entries are named as told."""
    fields = [spec for spec in kind.fields if not isinstance(spec.type, EntryNumber)]
    values = {spec.name: draw(field_values(spec), label=spec.name) for spec in fields}
    if kind.name in TOGETHER:
        TOGETHER[kind.name](values)
    if kind.name == "airframe":
        values |= {"type_designator": "VK71", "serial_number": "1007"}
    return kind.cls(**values, **named)


def targets(log: "Log", kind: RecordKind) -> dict[str, int]:
    """Add an entry for each one that a record of a kind names."""
    made = {}
    for name, wanted in entry_fields(kind):
        target = wanted.kinds[0] if wanted.kinds else "defect"
        # Two units that are swapped are in two places.
        place = {"position": name} if target == "equipment" else {}
        made[name] = log.add(target, **targets(log, KIND[target]), **place)
    return made


several = settings(
    max_examples=4,
    deadline=None,
    # The store goes on growing from example to example, as a log does.
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: str(kind.name))
@pytest.mark.parametrize("backend", ["sqlite"])
@several
@given(data=st.data())
def test_record_comes_back_as_it_went_in(log: "Log", kind: RecordKind, data: st.DataObject) -> None:
    """Any record that is accepted is read back equal, field by field and scalar by scalar."""
    write_and_read(log, kind, data)


@settings(several, max_examples=1)
@given(data=st.data())
def test_every_kind_comes_back(log: "Log", data: st.DataObject) -> None:
    """On every database a record of each kind is read back equal, and its digest verifies."""
    for kind in KINDS:
        write_and_read(log, kind, data)
    assert log.faults() == []


def write_and_read(log: "Log", kind: RecordKind, data: st.DataObject) -> None:
    """Write any record of a kind, read it back and compare."""
    if kind is Person.kind and not log.standing(kind.name):
        # Whoever writes these tests stays a controller on the list.
        log.add(kind.name)
    record = data.draw(records(kind, targets(log, kind)))
    if isinstance(record, Person):
        # Nobody stands on the list twice, and each sign of a name there can be seen.
        assume(record.name.isprintable())
        listed = [each.record for each in log.standing(kind.name)]
        assume(record.name not in [each.name for each in listed])
        roles = {each.database_role for each in listed} - {None}
        assume(record.database_role not in roles)
    number = log.write(record)
    (found,) = [each for each in log.standing(kind.name) if each.ref.entry == number]
    assert found.record == record
    assert found.record.scalars() == record.scalars()


def test_everything_verifies_afterwards(log: "Log") -> None:
    """Texts of every plane, extreme numbers and instants have digests that verify."""
    remarks = "zéro ō 日本 😀 \u202e \ufffd \U0010ffff\n\t'\"\\%s;--"
    log.add("crosscheck", remarks=remarks, latitude_deg="-90", longitude_deg="0.000001")
    log.add("work", remarks="x" * 2000)
    log.add("operator", time_zone="Pacific/Chatham")
    assert log.standing("crosscheck")[0].record.remarks == remarks
    assert log.faults() == []


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: str(kind.name))
@several
@given(data=st.data())
def test_what_is_shown_reads_back(kind: RecordKind, data: st.DataObject) -> None:
    """Each field as its type writes it is read back by the same type, to the last digit."""
    record = data.draw(
        records(kind, {name: 1 + at for at, (name, _) in enumerate(entry_fields(kind))})
    )
    shown = {
        spec.name: spec.type.show(value)
        for spec in kind.fields
        if (value := getattr(record, spec.name)) is not None
    }
    assert kind.parse(shown).scalars() == record.scalars()


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: str(kind.name))
@pytest.mark.parametrize("backend", ["sqlite"])
def test_each_kind_can_be_imported(log: "Log", kind: RecordKind, folder: Path) -> None:
    """The columns of a kind are its fields; its sample, written as CSV, makes the same record."""
    if kind.name in {"gonogo", *LASTING}:
        with pytest.raises(InputError, match="not imported"):
            import_columns(kind)
        return
    known, required = import_columns(kind)
    beside = kind.logbook is Logbook.AIRFRAME and kind.name != "airframe"
    assert known[beside:] == tuple(spec.name for spec in kind.fields)
    assert ("airframe" in known, "airframe" in required) == (beside, beside)
    if kind.name in {"airframe", "operator"}:
        return
    record = log.sample(kind.name, **targets(log, kind))
    shown = {
        name: kind.by_name[name].type.show(getattr(record, name)) for name in log.samples[kind.name]
    }
    if beside:
        shown = {"airframe": "QX-ABC", **shown}
    path = folder / "rows.csv"
    cells = ",".join(f'"{value}"' for value in shown.values())
    path.write_text(",".join(shown) + "\n" + cells + "\n", encoding="utf-8")
    assert import_csv(log.store, path, kind, by="A", clock=log.clock).written == 1
    assert log.standing(kind.name)[-1].record == record
