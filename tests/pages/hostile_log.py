"""A log whose every field of free text, author and reason holds what is meant to do harm."""

from pathlib import Path

from rvsmlog.dates import now
from rvsmlog.records.fields import Text
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.kinds import KIND
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.writing.recording import record_entry, strike_entry

HOSTILE = "<script>document.title='x'</script><b>\u202e{{ 7*7 }}"
HOSTILE_SHOWN = "<script>document.title='x'</script><b>\\u202e{{ 7*7 }}"


#: What of each kind is on record in the hostile log, but for text; entries named are there.
STORY: tuple[tuple[str, dict[str, str]], ...] = (
    ("equipment", {"function": "altimeter", "fitted_on": "2026-01-05", "position": "1"}),
    (
        "equipment",
        {
            "function": "altimeter",
            "fitted_on": "2026-01-05",
            "position": "2",
            "serial_number": "2",
        },
    ),
    ("swap", {"unit": "2", "other": "3", "swapped_at": "2026-01-20T09:00Z"}),
    ("removal", {"equipment": "3", "removed_on": "2026-02-01"}),
    ("work", {"work": "altimeter", "done_on": "2026-02-01"}),
    ("defect", {"found_at": "2026-03-01T10:00Z", "function": "altitude-alerter"}),
    ("altimetry-fault", {"found_at": "2026-03-01T11:00Z"}),
    ("deferral", {"defect": "7", "category": "C", "deferred_on": "2026-03-02"}),
    ("extension", {"deferral": "9", "days": "10", "granted_on": "2026-03-10"}),
    ("rectification", {"defect": "8", "done_at": "2026-03-05T09:00Z"}),
    ("review", {"subject": "7", "reviewed_at": "2026-03-06T08:00Z"}),
    (
        "approval",
        {
            "approval": "rvsm",
            "registration": "QX-ABC",
            "issued_on": "2025-01-01",
            "regions": "ALL",
        },
    ),
    ("withdrawal", {"approval": "13", "withdrawn_on": "2026-03-20"}),
    ("test", {"test": "transponder", "done_on": "2026-01-05", "passed": "yes"}),
    ("test-readings", {"test": "15", "scale_error": "0:5,30000:-60"}),
    ("monitoring", {"measured_on": "2026-06-01", "method": "ads-b", "ase_ft": "-35"}),
    ("flight", {"off_at": "2026-03-12T01:00Z", "on_at": "2026-03-12T04:00Z"}),
    (
        "crosscheck",
        {
            "taken_at": "2026-03-12T02:00Z",
            "phase": "level",
            "primary_1_ft": "31000",
            "primary_2_ft": "31040",
            "level": "310",
        },
    ),
    ("deviation", {"occurred_at": "2026-03-12T03:00Z", "aad_ft": "310"}),
    ("closure", {"deviation": "20", "closed_on": "2026-03-13"}),
)


def hostile_log(path: Path, hostile: str = HOSTILE) -> None:
    """Make a log in which every field of free text, author and reason is hostile."""
    create_store(str(path))
    with open_store(str(path)) as store:

        def enter(kind: str, **texts: str) -> int:
            spec = KIND[kind]
            free = {
                field.name: hostile[: field.type.longest]
                for field in spec.fields
                if isinstance(field.type, Text)
                and not field.type.pattern
                and field.type.longest > 40
            }
            ref, _ = record_entry(
                store,
                spec,
                {**free, **texts},
                by=hostile,
                clock=now,
                registration="QX-ABC" if kind not in ("operator", "airframe") else None,
            )
            return ref.entry

        enter("operator", time_zone="UTC", region="NAM")
        enter(
            "airframe",
            registration="QX-ABC",
            type_designator="VK71",
            serial_number="1007",
            authority="us-91",
            rvsm_basis="group",
            type_certificate="after-1997-04-09",
            highest_level="310",
        )
        for kind, texts in STORY:
            enter(kind, **texts)
        correct(store, hostile)


def correct(store: Store, hostile: str) -> None:
    """Correct the cross-check, and strike out the result of height monitoring."""
    record_entry(
        store,
        CrossCheck.kind,
        {"primary_2_ft": "31140"},
        by=hostile,
        clock=now,
        registration="QX-ABC",
        supersedes=19,
        reason=hostile,
    )
    strike_entry(store, "QX-ABC", 17, hostile, by=hostile, clock=now)
