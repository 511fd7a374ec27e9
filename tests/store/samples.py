"""The shortest record of each kind that is allowed."""

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from rvsmlog.records.base import Record
from rvsmlog.records.kinds import KIND
from rvsmlog.standards.authorities import AUTHORITIES
from rvsmlog.standards.equipment import Function

#: The shortest record of each kind that is allowed, as texts.
SAMPLES: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "operator": {"name": "Example Air", "time_zone": "Pacific/Auckland"},
        "person": {"name": "A. Example", "may": "crew,controller,releaser"},
        "refusal": {"name": "N. Example", "wanted": "test", "why": "not on the list"},
        "operator-clock": {"cause": "battery was changed"},
        "airframe-clock": {"cause": "battery was changed"},
        "pilot": {"code": "MKO", "name": "M. Example"},
        "knowledge": {"pilot": "MKO", "completed_on": "2027-01-10", "training": "initial"},
        "airframe": {
            "registration": "QX-ABC",
            "type_designator": "VK71",
            "serial_number": "1007",
            "authority": next(iter(AUTHORITIES)),
            "rvsm_basis": "group",
            "type_certificate": "to-1997-04-09",
            "highest_level": "FL350",
        },
        "equipment": {"function": next(iter(Function)), "fitted_on": "2026-05-01"},
        "removal": {"equipment": "1", "removed_on": "2027-02-01"},
        "swap": {
            "unit": "1",
            "other": "2",
            "swapped_at": "2027-01-20T09:00Z",
            "cause": "which altimeter is wrong",
        },
        "work": {"work": "altimeter", "done_on": "2027-02-01", "description": "changed"},
        "route-profile": {"name": "COAST-EAST"},
        "oxygen-installation": {
            "serves": "crew",
            "fitted_on": "2026-05-01",
            "service_psi": "1850",
            "unusable_psi": "100",
            "usable_litres": "600",
            "crew_masks": "2",
            "crew_delivery": "continuous",
        },
        "oxygen-reading": {
            "checked_at": "2027-03-12T00:30Z",
            "gauge_psi": "1650",
            "cylinder_c": "12.5",
        },
        "defect": {
            "found_at": "2027-03-01T10:00Z",
            "function": next(iter(Function)),
            "description": "flag in view",
        },
        "altimetry-fault": {"found_at": "2027-03-01T11:00Z", "description": "90 ft apart"},
        "deferral": {
            "defect": "1",
            "category": "C",
            "mel_reference": "34-10-1",
            "deferred_on": "2027-03-02",
        },
        "extension": {
            "deferral": "1",
            "days": "10",
            "granted_on": "2027-03-10",
            "granted_by": "B. Example",
        },
        "rectification": {
            "defect": "1",
            "done_at": "2027-03-05T09:00Z",
            "work_done": "replaced",
            "released_by": "C. Example",
            "licence": "B2 1",
            "reference": "WO 7",
        },
        "review": {"subject": "1", "reviewed_at": "2027-03-06T08:00Z", "conclusion": "wiring"},
        "approval": {
            "approval": "rvsm",
            "registration": "QX-ABC",
            "holder": "Example Air",
            "issued_on": "2025-01-01",
            "regions": "ALL",
        },
        "withdrawal": {"approval": "1", "withdrawn_on": "2027-03-01", "cause": "sold"},
        "test": {"test": "transponder", "done_on": "2026-01-05", "passed": "yes"},
        "test-readings": {"test": "1", "scale_error": "0:5,30000:-60"},
        "monitoring": {"measured_on": "2026-06-01", "method": "ads-b", "ase_ft": "-35"},
        "static-error": {
            "estimated_on": "2027-03-01",
            "first_on": "2027-01-10",
            "last_on": "2027-02-20",
            "flights": "12",
            "weather": "analysis",
            "error_ft": "40.5",
            "low_ft": "10",
            "high_ft": "71",
        },
        "flight": {"off_at": "2027-03-12T01:00Z", "on_at": "2027-03-12T04:00Z"},
        "crosscheck": {
            "taken_at": "2027-03-12T02:00Z",
            "phase": "level",
            "primary_1_ft": "31000",
            "primary_2_ft": "31040",
            "level": "310",
        },
        "deviation": {
            "occurred_at": "2027-03-12T03:00Z",
            "description": "gust",
            "aad_ft": "310",
        },
        "closure": {
            "deviation": "1",
            "closed_on": "2027-03-13",
            "conclusion": "turbulence",
            "confirmed_by": "D. Example",
        },
        "gonogo": {
            "at": "2027-03-14T02:30Z",
            "verdict": "GO",
            "rulebook": "1",
            "operator_entry": "1",
            "airframe_entry": "1",
        },
    }
)


def sample_texts(kind: str) -> Mapping[str, str]:
    """Give the shortest record of a kind, as texts."""
    assert kind in SAMPLES, f"SAMPLES in tests/store/samples.py wants the shortest {kind!r}"
    return SAMPLES[kind]


def sample(kind: str, **changes: object) -> Record:
    """Give a record of a kind; changes replace fields, as texts."""
    return _sample(kind, tuple((name, str(value)) for name, value in changes.items()))


@cache
def _sample(kind: str, changes: tuple[tuple[str, str], ...]) -> Record:
    """Make a sample once: to read an operator's time zone takes a while."""
    return KIND[kind].parse({**sample_texts(kind), **dict(changes)})
