"""Which flow of oxygen is missing, held against what the rule makes of it."""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.rules.oxygen import oxygen_too_little
from rvsmlog.rules.oxygen_flows import flows_missing

if TYPE_CHECKING:
    from tests.rules.conftest import Make

NO_CREW = {"crew_normal_flow": None, "crew_full_flow": None}
CONTINUOUS = NO_CREW | {"crew_delivery": "continuous", "crew_modes": None}


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        ({}, ()),
        ({"passenger_flow": None}, ("passenger_flow",)),
        (NO_CREW, ()),
        (CONTINUOUS, ("crew_normal_flow",)),
        (NO_CREW | {"crew_modes": ("emergency",)}, ("crew_emergency_flow",)),
    ],
)
def test_what_is_missing_is_what_holds_the_level(
    make: "Make", changes: dict[str, Any], missing: tuple[str, ...]
) -> None:
    """The rule finds the need not known just where a flow is missing; oxygen there is plenty."""
    fitted = make.oxygen_fitted(water_litres=80.0, **changes)
    assert flows_missing(fitted.record) == missing
    (found,) = oxygen_too_little.findings(make.facts(oxygen=(fitted,)))
    assert str(found.outcome) == ("not on record" if missing else "met")
