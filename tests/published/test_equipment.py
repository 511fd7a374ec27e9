"""Functions of equipment and the minimum that RVSM needs.

Sources: 14 CFR 91 appendix G section 2(c) and 9(a), 2026 text: published. UK and EU SPA.RVSM.110:
published. 14 CFR 91.215, 2021 text: published. ICAO Annex 6 Part II 2.5.2: from memory. AIM 4-6-3
(appendix G does not require TCAS): published. Items of minimum equipment lists: common practice.
"""

import pytest

from rvsmlog.standards.authorities import AUTHORITIES
from rvsmlog.standards.equipment import (
    EQUIPMENT,
    MINIMUM_SET,
    Function,
    MinimumItem,
    RvsmEffect,
)
from rvsmlog.standards.source import Status

ITEMS = {item.name: item for item in MINIMUM_SET}


def test_every_function_is_described() -> None:
    """Each function has one row, with a title."""
    assert set(EQUIPMENT) == set(Function)
    assert all(facts.function is key and facts.title for key, facts in EQUIPMENT.items())


@pytest.mark.parametrize(
    ("name", "number", "functions"),
    [
        (
            "altitude-systems",
            2,
            {Function.ALTIMETER, Function.AIR_DATA_COMPUTER, Function.STATIC_SOURCE},
        ),
        ("altitude-control", 1, {Function.ALTITUDE_CONTROL}),
        ("altitude-alerter", 1, {Function.ALTITUDE_ALERTER}),
        ("transponder", 1, {Function.TRANSPONDER}),
    ],
)
def test_minimum_set(name: str, number: int, functions: set[Function]) -> None:
    """SPA.RVSM.110: two altitude systems, one control, one alerter, one transponder."""
    item = ITEMS[name]
    assert (item.number, set(item.functions)) == (number, functions)


def test_nothing_else_is_in_the_minimum_set() -> None:
    """The minimum set has four items."""
    assert len(MINIMUM_SET) == len(ITEMS) == 4


def test_the_minimum_set_and_the_effects_agree() -> None:
    """RVSM is lost with a function exactly where the minimum set wants it."""
    wanted = {function for item in MINIMUM_SET for function in item.functions}
    lost = {key for key, facts in EQUIPMENT.items() if facts.rvsm_effect is RvsmEffect.LOST}
    assert lost == wanted


@pytest.mark.parametrize("item", MINIMUM_SET, ids=lambda item: item.name)
@pytest.mark.parametrize("code", sorted(AUTHORITIES))
def test_each_authority_has_a_source_for_each_item(item: MinimumItem, code: str) -> None:
    """No authority is left without a citation for an item of the minimum set."""
    assert item.source_for(code).key


@pytest.mark.parametrize(
    ("name", "us_key"),
    [
        ("altitude-systems", "appendix-g-2c-1"),
        ("altitude-control", "appendix-g-2c-2"),
        ("altitude-alerter", "appendix-g-2c-3"),
        ("transponder", "91-215"),
    ],
)
def test_sources_of_the_minimum_set(name: str, us_key: str) -> None:
    """The United States' appendix does not list the transponder; 91.215 and SPA.RVSM.110 do."""
    item = ITEMS[name]
    assert item.source_for("us-91").key == us_key
    assert item.source_for("us-135").key == us_key
    assert item.source_for("eu-nco").key == item.source_for("uk-cat").key == "spa-rvsm-110"
    assert item.source_for("nz-91").status is Status.MEMORY


@pytest.mark.parametrize(
    ("function", "effect"),
    [
        (Function.ACAS, RvsmEffect.NONE),
        (Function.ADS_B_OUT, RvsmEffect.LOST_ON_ADSB_ROUTE),
        (Function.STANDBY_ALTIMETER, RvsmEffect.SEE_LIST),
        (Function.STATIC_HEAT, RvsmEffect.SEE_LIST),
        (Function.OTHER, RvsmEffect.SEE_LIST),
        (Function.OXYGEN_MASK, RvsmEffect.NONE),
    ],
)
def test_effects_outside_the_minimum_set(function: Function, effect: RvsmEffect) -> None:
    """AIM 4-6-3: no TCAS is required; section 9(a) wants ADS-B Out; unknown items are reviewed."""
    assert EQUIPMENT[function].rvsm_effect is effect


@pytest.mark.parametrize(
    "function", [Function.ALTIMETER, Function.AIR_DATA_COMPUTER, Function.STATIC_SOURCE]
)
def test_a_pair_of_positions(function: Function) -> None:
    """Both sides of an altitude system have a position, so that a missing one shows."""
    assert EQUIPMENT[function].positions == ("1", "2")


def test_an_oxygen_mask_has_a_seat() -> None:
    """Masks are told apart by their seats."""
    assert "pilot" in EQUIPMENT[Function.OXYGEN_MASK].positions
