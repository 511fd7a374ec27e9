"""Oxygen systems, oxygen readings and route profiles as records."""

import pytest

from rvsmlog.records.base import FieldError
from rvsmlog.records.oxygen import OxygenInstallation, OxygenReading
from rvsmlog.records.routes import RouteProfile
from rvsmlog.standards.oxygen_figures import Group

SYSTEM: dict[str, str | None] = {
    "serves": "crew,passengers",
    "fitted_on": "2026-02-03",
    "service_psi": "1850",
    "unusable_psi": "200",
    "water_litres": "11.5",
    "crew_masks": "2",
    "passenger_masks": "4",
    "crew_delivery": "demand",
    "crew_modes": "normal,100-percent",
}


def fault(**changes: str | None) -> str:
    """Give the field at fault of a system with changed fields."""
    with pytest.raises(FieldError) as caught:
        OxygenInstallation.kind.parse(SYSTEM | changes)
    return caught.value.field


def test_a_system_reads_back_as_written() -> None:
    """Every field survives the scalars of the store."""
    flows = {"flow_reference": "handbook 2-5", "passenger_flow": "80:0,150:1800,410:4100"}
    record = OxygenInstallation.kind.parse(SYSTEM | flows)
    assert OxygenInstallation.kind.read(record.scalars()) == record


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("water_litres", {"water_litres": None}),
        ("rated_litres", {"rated_litres": "1400"}),
        ("unusable_psi", {"unusable_psi": "1850", "service_psi": "1000"}),
        ("crew_masks", {"crew_masks": None}),
        ("passenger_masks", {"passenger_masks": None}),
        ("crew_delivery", {"crew_delivery": None}),
        ("crew_modes", {"crew_modes": None}),
        ("crew_modes", {"crew_delivery": "continuous"}),
        ("flow_reference", {"passenger_flow": "80:0,150:1800"}),
        ("passenger_flow", {"passenger_flow": "80:1800", "flow_reference": "handbook"}),
        (
            "crew_full_flow",
            {
                "serves": "passengers",
                "crew_full_flow": "80:9000,410:2000",
                "flow_reference": "handbook",
            },
        ),
        ("crew_reserve_litres", {"serves": "crew", "crew_reserve_litres": "100"}),
    ],
)
def test_a_system_that_cannot_be_counted_is_refused(
    field: str, changes: dict[str, str | None]
) -> None:
    """What litres are counted by must be there, once, and must not contradict itself."""
    assert fault(**changes) == field


def test_the_unusable_pressure_lies_below_the_service_pressure() -> None:
    """One psi below is enough, the same is not."""
    OxygenInstallation.kind.parse(SYSTEM | {"service_psi": "201", "unusable_psi": "200"})
    assert fault(service_psi="200") == "unusable_psi"


def test_one_group_alone_needs_only_its_own_particulars() -> None:
    """A system for the crew says nothing of passengers, one for passengers nothing of the crew."""
    OxygenInstallation.kind.parse(SYSTEM | {"serves": "crew", "passenger_masks": None})
    crew = {"crew_masks": None, "crew_delivery": None, "crew_modes": None}
    record = OxygenInstallation.kind.parse(SYSTEM | crew | {"serves": "passengers"})
    assert record.scalars()["serves"] == Group.PASSENGERS.value


def test_a_nameless_system_is_the_main_one() -> None:
    """A reading and a system that name none belong together."""
    reading = OxygenReading.kind.parse(
        {"checked_at": "2026-05-01T08:20Z", "gauge_psi": "1720", "cylinder_c": "-14"}
    )
    assert isinstance(reading, OxygenReading)
    system = OxygenInstallation.kind.parse(SYSTEM)
    assert isinstance(system, OxygenInstallation)
    assert reading.name == system.name == "main"
    named = OxygenReading.kind.read(reading.scalars() | {"system": "crew"})
    assert isinstance(named, OxygenReading)
    assert named.name == "crew"


@pytest.mark.parametrize("missing", ["hold_level", "hold_minutes"])
def test_a_hold_has_a_level_and_a_time(missing: str) -> None:
    """One without the other is refused; both and neither are taken."""
    hold: dict[str, str | None] = {"name": "COAST", "hold_level": "140", "hold_minutes": "45"}
    RouteProfile.kind.parse(hold)
    RouteProfile.kind.parse({"name": "COAST"})
    with pytest.raises(FieldError) as caught:
        RouteProfile.kind.parse(hold | {missing: None})
    assert caught.value.field == missing
