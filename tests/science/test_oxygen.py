"""The highest level that the oxygen on board allows, and how long it lasts."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science.oxygen import (
    CaseName,
    Cylinder,
    Endurance,
    FlowCurve,
    FlowTable,
    GaugeReading,
    Mode,
    OxygenCase,
    OxygenSupply,
    gauge_for_need_psig,
    highest_level_for,
    how_long,
    lowest_level,
    oxygen_needed,
    oxygen_on_board,
)
from rvsmlog.standards.oxygen import OXYGEN_RULES, Group

CASE = OxygenCase(
    planned_level=310,
    crew=1,
    passengers=4,
    rule="us-91",
    ceiling_ft=35_000,
    differential_psi=5.75,
    cruise_minutes=120.0,
    recognition_minutes=0.5,
    descent_fpm=3_000.0,
    hold_ft=14_000,
    hold_minutes=30.0,
    final_descent_fpm=1_500.0,
    contaminated_minutes=10.0,
)
CYLINDER = Cylinder(service_psig=1_850, unusable_psig=200, rated_litres=1_400)


def supply_of(usable: float, reserve: float = 0.0, *serves: Group) -> OxygenSupply:
    """Make a supply of a quantity."""
    return OxygenSupply(
        total_litres=usable,
        unusable_litres=0.0,
        full_litres=max(usable, 1.0),
        crew_reserve_litres=reserve,
        ideal_litres=usable,
        serves=serves or tuple(Group),
        assumptions=(),
        sources=(),
    )


def flat_table(crew: float, passengers: float) -> FlowTable:
    """Make a table of flows that are the same at every altitude up to 31,000 ft."""
    pairs = [(Group.CREW, mode, crew) for mode in (Mode.NORMAL, Mode.UNDILUTED)]
    pairs.append((Group.PASSENGERS, Mode.CONTINUOUS, passengers))
    curves = tuple(
        FlowCurve(group=group, mode=mode, points=((0, flow), (31_000, flow)), reference="invented")
        for group, mode, flow in pairs
    )
    return FlowTable(reference="invented", curves=curves)


FLAT = replace(CASE, flow_table=flat_table(10.0, 4.0))


def lasts(supply: OxygenSupply, case: OxygenCase, name: CaseName) -> Endurance:
    """Give the endurance of one case."""
    return next(item for item in how_long(supply, case) if item.case is name)


def test_enough_oxygen_allows_the_planned_level() -> None:
    """What the need asks, to the litre, allows the planned level; a litre less does not."""
    need = oxygen_needed(CASE)
    assert highest_level_for(supply_of(need.litres), CASE) == 310
    allowed = highest_level_for(supply_of(need.litres - 1.0), CASE)
    assert allowed is not None
    assert allowed < 310


def test_the_level_is_worked_out_not_fl250_by_rote() -> None:
    """A descent that the oxygen covers only from lower down gives a level worked out by hand.

    Flows 10 and 4 at all altitudes, no passengers, no hold: the descent needs 10 x (0.5 +
    (L - 10,000) / 3,000) litres; the ten minutes above FL250 need 100 l. With 60 l the ten
    minutes are not covered, the descent is up to 26,500 ft: so FL250. With 40 l the descent
    is covered up to 20,500 ft: FL205.
    """
    alone = replace(FLAT, passengers=0, hold_ft=0, hold_minutes=0.0, contaminated_minutes=0.0)
    assert highest_level_for(supply_of(60.0), alone) == 250
    assert highest_level_for(supply_of(40.0), alone) == 205
    assert highest_level_for(supply_of(39.999), alone) == 204


def test_too_little_at_every_level_is_none() -> None:
    """Where not even the hold can be reached with oxygen, no level is allowed."""
    assert highest_level_for(supply_of(50.0), FLAT) is None


def test_levels_above_the_equipments_table_are_not_allowed() -> None:
    """A table that ends at 31,000 ft allows nothing higher, however much is on board."""
    higher = replace(FLAT, planned_level=340)
    assert highest_level_for(supply_of(10_000.0), higher) == 310


def test_a_flow_unknown_at_every_level_is_an_error() -> None:
    """A table that does not reach down to 8,000 ft cannot answer contaminated air."""
    curves = tuple(
        replace(curve, points=((10_000, 5.0), (31_000, 5.0)))
        for curve in flat_table(5.0, 5.0).curves
    )
    case = replace(CASE, flow_table=FlowTable(reference="short", curves=curves))
    with pytest.raises(OutOfRangeError, match="8,000 ft"):
        highest_level_for(supply_of(10_000.0), case)


def test_the_lowest_level_asked_is_that_of_the_hold() -> None:
    """14,000 ft is FL140, a hold a little higher the next level up, no hold FL100."""
    levels = [lowest_level(replace(CASE, hold_ft=ft)) for ft in (14_000, 14_050, 10_000, 0)]
    assert levels == [140, 141, 100, 100]


def test_a_planned_level_below_10000_ft_is_answered_itself() -> None:
    """Down there only contaminated air needs oxygen."""
    low = replace(FLAT, planned_level=90, hold_ft=0, hold_minutes=0.0)
    assert highest_level_for(supply_of(100.0), low) == 90
    assert highest_level_for(supply_of(99.0), low) is None


def test_how_long_by_hand() -> None:
    """500 l, flows 10 and 4: everyone 500 / 26; contaminated air 500 / 10.

    Hold at 14,000 ft: passengers need none there under 91.211. The crew's descents take 0.5 +
    17/3 + 4/1.5 = 8.8333 min x 10, the passengers above 15,000 ft 0.5 + 16/3 = 5.8333 min x 16:
    181.667 l; 318.333 are left for 31.83 min.
    """
    supply = supply_of(500.0)
    assert lasts(supply, FLAT, CaseName.LEGAL).minutes == pytest.approx(500.0 / 26.0)
    assert lasts(supply, FLAT, CaseName.CONTAMINATED).minutes == pytest.approx(50.0)
    assert lasts(supply, FLAT, CaseName.DESCENT).minutes == pytest.approx(31.83333, abs=1e-4)


def test_how_long_with_passengers_in_the_hold() -> None:
    """Held at 16,000 ft all breathe: what is left lasts for 26 l/min, or 16 without the reserve.

    Descents: crew 0.5 + 5 + 4 = 9.5 min x 10 = 95 l; passengers 0.5 + 5 + 2/3 = 6.1667 x 16 =
    98.667 l. Of 500 l 306.333 are left: 11.782 min. With 300 l kept for the crew the passengers
    have 200 - 98.667 = 101.333 l, 6.333 min.
    """
    held = replace(FLAT, hold_ft=16_000)
    free = lasts(supply_of(500.0), held, CaseName.DESCENT)
    kept = lasts(supply_of(500.0, 300.0), held, CaseName.DESCENT)
    crew = lasts(supply_of(500.0, 0.0, Group.CREW), held, CaseName.DESCENT)
    assert free.minutes == pytest.approx(11.7820, abs=1e-3)
    assert kept.minutes == pytest.approx(6.3333, abs=1e-3)
    assert crew.minutes == pytest.approx((500.0 - 95.0) / 10.0)


def test_how_long_at_the_ends() -> None:
    """Nothing for the descents leaves no hold; no hold and no smoke last for ever."""
    assert lasts(supply_of(10.0), FLAT, CaseName.DESCENT).minutes == 0.0
    none = replace(FLAT, hold_ft=0, contaminated_minutes=0.0)
    assert lasts(supply_of(10.0), none, CaseName.DESCENT).minutes == math.inf
    assert lasts(supply_of(10.0), none, CaseName.CONTAMINATED).minutes == math.inf


def test_the_gauge_needed_for_a_flight_covers_it() -> None:
    """At the reading needed the planned level is allowed, 1 psi lower it is not."""
    need = oxygen_needed(CASE)
    psig = gauge_for_need_psig(CYLINDER, need, temperature_c=15, in_use_temperature_c=-20)
    levels = [
        highest_level_for(
            oxygen_on_board(
                CYLINDER, GaugeReading(psig=value, temperature_c=15), in_use_temperature_c=-20
            ),
            CASE,
        )
        for value in (psig + 0.01, psig - 1.0)
    ]
    assert levels[0] == 310
    assert levels[1] != 310


def test_the_gauge_needed_counts_the_crews_reserve_and_who_is_served() -> None:
    """A reserve kept from the passengers raises the reading, a crew alone lowers it."""
    need = oxygen_needed(FLAT)
    both = gauge_for_need_psig(CYLINDER, need, temperature_c=15)
    kept = gauge_for_need_psig(CYLINDER, need, temperature_c=15, crew_reserve_litres=600)
    alone = gauge_for_need_psig(CYLINDER, need, temperature_c=15, serves=(Group.CREW,))
    assert alone < both < kept


@settings(max_examples=25, deadline=None)
@given(
    usable=st.floats(0.0, 2_500.0),
    rule=st.sampled_from(sorted(OXYGEN_RULES)),
    hold_ft=st.integers(90, 180).map(lambda level: level * 100),
    hold_minutes=st.floats(0.0, 90.0),
    passengers=st.integers(0, 8),
    fpm=st.floats(1_000.0, 8_000.0),
)
def test_one_level_up_and_one_level_down(
    usable: float, rule: str, hold_ft: int, hold_minutes: float, passengers: int, fpm: float
) -> None:
    """The highest level is covered, the next one up is not, and every one below is."""
    case = replace(
        CASE,
        rule=rule,
        hold_ft=hold_ft,
        hold_minutes=hold_minutes,
        passengers=passengers,
        descent_fpm=fpm,
    )
    supply = supply_of(usable)
    covered = [
        level
        for level in range(lowest_level(case), 311)
        if supply.covers(oxygen_needed(replace(case, planned_level=level)))
    ]
    highest = highest_level_for(supply, case)
    assert highest == (covered[-1] if covered else None)
    if highest is not None:
        assert covered == list(range(lowest_level(case), highest + 1))


def test_a_level_below_the_hold_is_refused() -> None:
    """Nobody plans below the altitude that terrain forbids."""
    with pytest.raises(InputError, match="may not leave"):
        replace(CASE, planned_level=130)
