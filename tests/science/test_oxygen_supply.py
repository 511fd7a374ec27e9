"""Litres on board from a gauge reading, and the reading that a quantity asks."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.science.oxygen import CaseName, CaseNeed, OxygenNeed, PhaseNeed
from rvsmlog.science.oxygen_gas import density_mol_per_l, pressure_psig
from rvsmlog.science.oxygen_supply import (
    Cylinder,
    GaugeReading,
    OxygenSupply,
    gauge_needed_psig,
    oxygen_on_board,
)
from rvsmlog.standards.oxygen import Group

CYLINDER = Cylinder(service_psig=1_850, unusable_psig=200, rated_litres=1_400)
SEVENTY_F = (70.0 - 32.0) / 1.8


def need_of(crew: float, passengers: float) -> CaseNeed:
    """Make a case of one phase."""
    phase = PhaseNeed(
        phase="invented",
        minutes=1.0,
        from_ft=0,
        to_ft=0,
        crew_litres=crew,
        passenger_litres=passengers,
    )
    return CaseNeed(name=CaseName.LEGAL, phases=(phase,))


def supply_of(usable: float, reserve: float = 0.0, *serves: Group) -> OxygenSupply:
    """Make a supply of a quantity."""
    return OxygenSupply(
        total_litres=usable + 50.0,
        unusable_litres=50.0,
        full_litres=1_000.0,
        crew_reserve_litres=reserve,
        ideal_litres=usable,
        serves=serves or tuple(Group),
        assumptions=(),
        sources=(),
    )


def test_a_full_cylinder_holds_its_rated_litres() -> None:
    """At service pressure and 70 F all of the rated free gas is inside."""
    supply = oxygen_on_board(CYLINDER, GaugeReading(psig=1_850, temperature_c=SEVENTY_F))
    assert supply.total_litres == pytest.approx(1_400.0)
    assert supply.full_percent == pytest.approx(100.0)


def test_an_inner_volume_at_low_pressure_is_an_ideal_gas() -> None:
    """10 l at one atmosphere of gauge pressure hold some 20 l of free gas: two atmospheres.

    14.696 psi are one atmosphere (exact to the digits); oxygen departs from the ideal gas by
    less than 0.2 % there.
    """
    cylinder = Cylinder(service_psig=1_850, unusable_psig=0, water_litres=10)
    supply = oxygen_on_board(cylinder, GaugeReading(psig=14.696, temperature_c=SEVENTY_F))
    assert supply.total_litres == pytest.approx(20.0, rel=0.002)
    assert supply.ideal_litres == pytest.approx(20.0, rel=0.002)


def test_usable_litres_are_what_a_full_cylinder_delivers() -> None:
    """A handbook's usable capacity comes out at service pressure and 70 F, more is inside."""
    cylinder = Cylinder(service_psig=1_850, unusable_psig=200, usable_litres=1_200)
    supply = oxygen_on_board(cylinder, GaugeReading(psig=1_850, temperature_c=SEVENTY_F))
    assert supply.usable_litres == pytest.approx(1_200.0)
    assert supply.total_litres > 1_300.0


def test_joined_cylinders_add_up() -> None:
    """Two cylinders hold twice one."""
    reading = GaugeReading(psig=1_200, temperature_c=10)
    two = Cylinder(service_psig=1_850, unusable_psig=200, rated_litres=1_400, count=2)
    one = oxygen_on_board(CYLINDER, reading)
    assert oxygen_on_board(two, reading).usable_litres == pytest.approx(2 * one.usable_litres)


def test_below_the_unusable_pressure_nothing_is_left() -> None:
    """At the unusable pressure, and below it, no litre can be breathed."""
    for psig in (200, 100, 0):
        supply = oxygen_on_board(CYLINDER, GaugeReading(psig=psig, temperature_c=20))
        assert supply.usable_litres == pytest.approx(0.0, abs=1e-9)
        assert supply.full_percent == pytest.approx(0.0, abs=1e-9)


def test_an_error_of_the_gauge_is_taken_off() -> None:
    """A gauge that may read 50 psi high is worth what one 50 psi lower is."""
    sure = oxygen_on_board(CYLINDER, GaugeReading(psig=1_150, temperature_c=15))
    unsure = oxygen_on_board(CYLINDER, GaugeReading(psig=1_200, temperature_c=15, tolerance_psi=50))
    assert unsure.total_litres == pytest.approx(sure.total_litres)
    assert any("gauge's error" in text for text in unsure.assumptions)


def test_no_more_than_a_full_cylinder_is_counted() -> None:
    """A reading above that of a full cylinder is no promise of more, and the answer says so."""
    supply = oxygen_on_board(CYLINDER, GaugeReading(psig=2_500, temperature_c=20))
    assert supply.total_litres == pytest.approx(1_400.0)
    assert any("above that of a full cylinder" in text for text in supply.assumptions)


def test_a_shared_source_without_reserve_says_so() -> None:
    """Where passengers can use up the crew's oxygen the answer says so; a reserve ends that."""
    reading = GaugeReading(psig=1_200, temperature_c=15)
    shared = oxygen_on_board(CYLINDER, reading)
    kept = oxygen_on_board(CYLINDER, reading, crew_reserve_litres=200)
    alone = oxygen_on_board(CYLINDER, reading, serves=(Group.CREW,))
    told = [any("share it" in text for text in item.assumptions) for item in (shared, kept, alone)]
    assert told == [True, False, False]


@pytest.mark.parametrize(
    ("crew", "passengers", "reserve", "missing"),
    [
        (300, 700, 0, 0),
        (301, 700, 0, 1),
        (100, 700, 300, 0),
        (100, 701, 300, 1),
        (900, 0, 300, 0),
    ],
)
def test_both_limits_of_a_shared_supply(
    crew: float, passengers: float, reserve: float, missing: float
) -> None:
    """1,000 l cover crew and passengers together, and passengers without the crew's reserve."""
    shortfall = supply_of(1_000, reserve).shortfall_litres(need_of(crew, passengers))
    assert shortfall == pytest.approx(missing)


def test_those_with_a_supply_of_their_own_are_not_counted() -> None:
    """A supply that serves the crew alone need not hold the passengers' litres."""
    assert supply_of(300, 0, Group.CREW).shortfall_litres(need_of(300, 700)) == 0.0
    assert supply_of(300, 0, Group.PASSENGERS).shortfall_litres(need_of(300, 700)) == 400.0


def test_a_full_cylinder_cannot_be_asked_for_more() -> None:
    """The litres of a full cylinder less its unusable part are the most that a gauge can show."""
    full = oxygen_on_board(CYLINDER, GaugeReading(psig=1_850, temperature_c=SEVENTY_F))
    psig = gauge_needed_psig(CYLINDER, full.usable_litres - 0.001, temperature_c=SEVENTY_F)
    assert psig == pytest.approx(1_850, abs=0.01)
    with pytest.raises(InputError, match="more than"):
        gauge_needed_psig(CYLINDER, full.usable_litres + 0.001, temperature_c=SEVENTY_F)


def test_an_error_of_the_gauge_is_added_to_what_is_needed() -> None:
    """A gauge that may read 40 psi high must show 40 psi more."""
    sure = gauge_needed_psig(CYLINDER, 500, temperature_c=20)
    assert gauge_needed_psig(CYLINDER, 500, temperature_c=20, tolerance_psi=40) == sure + 40


def test_a_reading_beyond_the_gauge_is_refused() -> None:
    """What no gauge can show is no answer: 3,000 psi is the end."""
    high = Cylinder(service_psig=2_900, unusable_psig=100, rated_litres=1_000)
    most = oxygen_on_board(high, GaugeReading(psig=2_900, temperature_c=SEVENTY_F)).usable_litres
    with pytest.raises(InputError, match="out of range"):
        gauge_needed_psig(high, most * 0.99, temperature_c=60)


@pytest.mark.parametrize(
    "change",
    [
        {"rated_litres": None},
        {"water_litres": 10.0},
        {"usable_litres": 10.0},
        {"rated_litres": 0.0},
        {"rated_litres": math.nan},
        {"count": 0},
        {"service_psig": 3_001.0},
        {"unusable_psig": 1_850.0},
        {"unusable_psig": -1.0},
        {"unusable_psig": math.nan},
    ],
)
def test_a_cylinder_that_cannot_be_is_refused(change: dict[str, Any]) -> None:
    """A cylinder has one volume, one service pressure and a lower unusable one."""
    good: dict[str, Any] = {
        "service_psig": 1_850.0,
        "unusable_psig": 200.0,
        "rated_litres": 1_400.0,
    }
    with pytest.raises(InputError):
        Cylinder(**(good | change))


def test_quantities_that_are_none_are_refused() -> None:
    """Negative or endless litres and pressures out of range are errors."""
    reading = GaugeReading(psig=1_200, temperature_c=15)
    for value in (-1.0, math.inf, math.nan):
        with pytest.raises(InputError):
            gauge_needed_psig(CYLINDER, value, temperature_c=15)
        with pytest.raises(InputError):
            oxygen_on_board(CYLINDER, reading, crew_reserve_litres=value)
        with pytest.raises(InputError):
            GaugeReading(psig=value, temperature_c=15)
        with pytest.raises(InputError):
            GaugeReading(psig=1_200, temperature_c=15, tolerance_psi=value)


def test_an_unusable_part_above_a_full_cylinder_leaves_nothing() -> None:
    """In the cold the unusable part may be all there is; then nothing is usable, of nothing."""
    odd = Cylinder(service_psig=500, unusable_psig=499, rated_litres=100)
    supply = oxygen_on_board(
        odd, GaugeReading(psig=500, temperature_c=SEVENTY_F), in_use_temperature_c=-60
    )
    assert (supply.usable_litres, supply.full_percent) == (0.0, 0.0)


TEMPERATURES = st.floats(-55.0, 45.0)


@settings(max_examples=60)
@given(litres=st.floats(0.0, 900.0), read_c=TEMPERATURES, use_c=TEMPERATURES)
def test_the_reading_needed_is_worth_what_was_asked(
    litres: float, read_c: float, use_c: float
) -> None:
    """A cylinder read at the needed pressure delivers the quantity, neither more nor less."""
    psig = gauge_needed_psig(CYLINDER, litres, temperature_c=read_c, in_use_temperature_c=use_c)
    supply = oxygen_on_board(
        CYLINDER, GaugeReading(psig=psig, temperature_c=read_c), in_use_temperature_c=use_c
    )
    assert supply.usable_litres == pytest.approx(litres, abs=1e-3)


@settings(max_examples=60)
@given(
    litres=st.floats(0.0, 800.0),
    more=st.floats(0.0, 80.0),
    use_c=st.floats(-50.0, 40.0),
    colder=st.floats(0.0, 10.0),
)
def test_more_litres_or_a_colder_cylinder_in_use_never_need_less(
    litres: float, more: float, use_c: float, colder: float
) -> None:
    """At one ramp temperature more litres, or more cold in flight, never need a lower reading."""
    here = gauge_needed_psig(CYLINDER, litres, temperature_c=20, in_use_temperature_c=use_c)
    richer = gauge_needed_psig(
        CYLINDER, litres + more, temperature_c=20, in_use_temperature_c=use_c
    )
    colder_use = gauge_needed_psig(
        CYLINDER, litres, temperature_c=20, in_use_temperature_c=use_c - colder
    )
    assert richer >= here - 1e-9
    assert colder_use >= here - 1e-9


@settings(max_examples=60)
@given(psig=st.floats(200.0, 1_800.0), from_c=TEMPERATURES, colder=st.floats(0.1, 5.0))
def test_the_same_reading_on_a_colder_cylinder_is_worth_more(
    psig: float, from_c: float, colder: float
) -> None:
    """One reading means more oxygen in a colder cylinder, and cold alone lowers a reading."""
    warm = oxygen_on_board(CYLINDER, GaugeReading(psig=psig, temperature_c=from_c))
    cold = oxygen_on_board(CYLINDER, GaugeReading(psig=psig, temperature_c=from_c - colder))
    assert cold.total_litres >= warm.total_litres
    assert pressure_psig(density_mol_per_l(psig, from_c), from_c - colder) < psig


LITRES = st.integers(0, 6).map(lambda step: step * 20.0)


@given(
    usable=LITRES,
    reserve=LITRES,
    serves=st.sampled_from([tuple(Group), (Group.CREW,), (Group.PASSENGERS,)]),
    drawn=st.lists(st.tuples(LITRES, LITRES), min_size=1, max_size=3),
)
def test_a_need_is_covered_when_nothing_is_missing_for_any_case(
    usable: float, reserve: float, serves: tuple[Group, ...], drawn: list[tuple[float, float]]
) -> None:
    """All cases at once say the same as each by itself, to the last litre."""
    supply = supply_of(usable, reserve, *serves)
    need = OxygenNeed(
        planned_level=310,
        cabin_ft=8_000.0,
        cases=tuple(need_of(*each) for each in drawn),
        flows=(),
        assumptions=(),
        sources=(),
    )
    assert supply.covers(need) == all(supply.margin_litres(case) >= 0.0 for case in need.cases)
