"""What a flight needs, against sums done by hand, and what never makes it need less."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science.oxygen import (
    CaseName,
    CaseNeed,
    FlowBasis,
    FlowCurve,
    FlowTable,
    Mode,
    OxygenCase,
    oxygen_needed,
)
from rvsmlog.standards.oxygen import OXYGEN_RULES, Group

# Flows for one person of an invented system, chosen so that sums are easy.
POINTS = {
    (Group.CREW, Mode.UNDILUTED): ((8_000, 13.0), (10_000, 12.0), (20_000, 8.0), (40_000, 4.0)),
    (Group.CREW, Mode.NORMAL): ((8_000, 8.0), (10_000, 7.0), (20_000, 4.0), (40_000, 4.0)),
    (Group.PASSENGERS, Mode.CONTINUOUS): ((8_000, 4.0), (40_000, 4.0)),
}
TABLE = FlowTable(
    reference="invented table",
    curves=tuple(
        FlowCurve(group=group, mode=mode, points=points, reference="invented table")
        for (group, mode), points in POINTS.items()
    ),
)
CASE = OxygenCase(
    planned_level=300,
    crew=1,
    passengers=4,
    rule="us-91",
    ceiling_ft=40_000,
    differential_psi=6.5,
    cruise_minutes=180.0,
    recognition_minutes=0.5,
    descent_fpm=4_000.0,
    hold_ft=10_000,
    hold_minutes=0.0,
    final_descent_fpm=2_000.0,
    contaminated_minutes=15.0,
    flow_table=TABLE,
)


def of(case: OxygenCase, name: CaseName) -> CaseNeed:
    """Give one case of a need."""
    return next(item for item in oxygen_needed(case).cases if item.name is name)


def test_legal_minimum_of_us_91() -> None:
    """Ten minutes for all: 10 x 12 for the pilot, 10 x 4 x 4 for the passengers; cabin 8,000 ft."""
    legal = of(CASE, CaseName.LEGAL)
    assert legal.crew_litres == pytest.approx(120.0)
    assert legal.passenger_litres == pytest.approx(160.0)


def test_loss_of_pressure_leg_by_leg() -> None:
    """From FL300 to 10,000 ft at 4,000 ft/min without a hold, by hand.

    Recognition 0.5 min at the greatest flow, 12: 6 l; descent 5 min at a mean of
    (10,000 x 10 + 10,000 x 7) / 20,000 = 8.5: 42.5 l. Passengers above 15,000 ft only:
    0.5 x 4 x 4 = 8 l, and 15,000 ft in 3.75 min x 16 = 60 l.
    """
    phases = of(CASE, CaseName.DESCENT).phases
    assert [phase.phase for phase in phases] == [
        "recognition at the planned level",
        "emergency descent",
    ]
    assert [phase.crew_litres for phase in phases] == pytest.approx([6.0, 42.5])
    assert [phase.passenger_litres for phase in phases] == pytest.approx([8.0, 60.0])


def test_a_hold_over_terrain_is_counted() -> None:
    """Held at 16,000 ft for 40 minutes, then down at 2,000 ft/min in the normal position.

    Crew: 100 % to 16,000 ft, 9.6 there; normal is 5.2 at 16,000: 40 x 5.2 = 208 l, then 3 min at
    the mean of 5.2 and 7.0: 18.3 l. Passengers: 40 x 16 = 640 l, then 0.5 min to 15,000 ft: 8 l.
    """
    phases = of(replace(CASE, hold_ft=16_000, hold_minutes=40.0), CaseName.DESCENT).phases
    assert [phase.phase for phase in phases[2:]] == ["hold", "final descent"]
    assert [phase.crew_litres for phase in phases[2:]] == pytest.approx([208.0, 18.3])
    assert [phase.passenger_litres for phase in phases[2:]] == pytest.approx([640.0, 8.0])
    # The greatest flow from the hold up is that at the hold: 0.5 x 9.6.
    assert phases[0].crew_litres == pytest.approx(4.8)


def test_free_minutes_of_the_passengers_are_used_once() -> None:
    """Under 135 one in ten needs oxygen between 10,000 and 15,000 ft after 30 minutes.

    FL300 at 4,000 ft/min: 15,000 down to 14,000 ft takes 0.25 min; then 40 min at 14,000 ft and
    2 min down to 10,000 ft. Free: 30. Counted: 40.25 - 30 = 10.25, and 2: one of 4 passengers
    (0.4, rounded up) at 4 l: 49 l.
    """
    case = replace(CASE, rule="us-135", hold_ft=14_000, hold_minutes=40.0)
    phases = of(case, CaseName.DESCENT).phases
    assert [phase.passenger_litres for phase in phases[2:]] == pytest.approx([41.0, 8.0])


def test_free_minutes_may_end_within_a_descent() -> None:
    """At 100 ft/min from 15,000 ft the thirty minutes end at 12,000 ft: 20 min x 4 l count."""
    case = replace(CASE, rule="us-135", hold_ft=15_000, hold_minutes=0.0, final_descent_fpm=100.0)
    assert of(case, CaseName.DESCENT).phases[-1].passenger_litres == pytest.approx(80.0)


def test_two_hours_of_part_135() -> None:
    """Ten minutes at 12 and 110 at 7 for the pilot; thirty minutes x 16 for the passengers.

    FL300 to 15,000 ft takes 0.5 + 3.75 minutes, more than four: then an hour, 960 l. At
    5,000 ft/min it takes 3.5: half an hour.
    """
    slow = of(replace(CASE, rule="us-135"), CaseName.LEGAL)
    quick = of(replace(CASE, rule="us-135", descent_fpm=5_000.0), CaseName.LEGAL)
    assert slow.crew_litres == pytest.approx(120.0 + 770.0)
    assert slow.passenger_litres == pytest.approx(960.0)
    assert quick.passenger_litres == pytest.approx(480.0)


def test_a_hold_above_15000_ft_is_no_quick_descent() -> None:
    """Where terrain holds the flight above 15,000 ft, the hour is owed at any rate of descent."""
    case = replace(CASE, rule="us-135", descent_fpm=9_000.0, hold_ft=16_000, hold_minutes=1.0)
    assert of(case, CaseName.LEGAL).passenger_litres == pytest.approx(960.0)


def test_two_hours_of_cat_from_the_ceiling() -> None:
    """From 40,000 to 10,000 ft in ten minutes, then 110 at 10,000 ft; passengers to 15,000 ft.

    Mean of the crew's descent: (10,000 x 10 + 20,000 x 6) / 30,000 = 7.3333; 73.33 + 770.
    """
    legal = of(replace(CASE, rule="eu-cat"), CaseName.LEGAL)
    assert legal.crew_litres == pytest.approx(73.0 + 1.0 / 3.0 + 770.0)
    assert legal.passenger_litres == pytest.approx(160.0)


def test_cat_asks_half_an_hour_of_an_aeroplane_certificated_to_25000_ft() -> None:
    """Ten minutes of descent and twenty at 10,000 ft: CAT.IDE.A.235(f)."""
    legal = of(replace(CASE, rule="eu-cat", planned_level=250, ceiling_ft=25_000), CaseName.LEGAL)
    # 25,000 to 20,000 ft: 7.5; 20,000 to 10,000 ft: 10.
    mean = (5_000 * 7.5 + 10_000 * 10.0) / 15_000
    assert legal.crew_litres == pytest.approx(10 * mean + 20 * 7.0)


@pytest.mark.parametrize("descent_fpm", [3_000.0, 4_000.0])
def test_nco_asks_ten_minutes_at_any_level_above_fl100(descent_fpm: float) -> None:
    """NCO.IDE.A.150(b)(1)(i): no less for the crew and every passenger, whatever the descent.

    10 x (12 + 4 x 4) = 280 l; FL240 is left for 13,000 ft in four minutes at 4,000 ft/min, not at
    3,000. At 10,000 ft nothing is asked.
    """
    case = replace(CASE, rule="eu-nco", planned_level=240, descent_fpm=descent_fpm)
    assert of(case, CaseName.LEGAL).litres == pytest.approx(280.0)
    assert of(replace(case, planned_level=101), CaseName.LEGAL).litres == pytest.approx(280.0)
    assert of(replace(case, planned_level=100), CaseName.LEGAL).litres == 0.0


@pytest.mark.parametrize(
    ("hold_ft", "hold_minutes", "litres"),
    [
        # 14,000 to 13,000 ft takes 5 minutes. 20 + 5 leave 5 free: from 12,000 ft 10 x 4 l count.
        (14_000, 20.0, 40.0),
        # 25 + 5 leave none: 15 minutes below 13,000 ft.
        (14_000, 25.0, 60.0),
        # What is held above 14,000 ft does not count: 5 and 15 minutes are less than 30.
        (14_100, 90.0, 0.0),
        # The emergency descent crosses the last 1,000 ft in 0.25 minutes: 0.25 x 4 l, 5.25 x 4 l.
        (13_000, 15.0, 1.0),
        (13_000, 20.0, 21.0),
    ],
)
def test_the_free_minutes_of_nco_run_up_to_14000_ft(
    hold_ft: int, hold_minutes: float, litres: float
) -> None:
    """NCO.IDE.A.150(b)(1)(iii): a tenth beyond 30 minutes between 10,000 and 14,000 ft.

    Down at 200 ft/min; one of the four passengers at 4 l. Above 13,000 ft NCO.OP.190 counts all.
    """
    case = replace(
        CASE,
        rule="uk-nco",
        hold_ft=hold_ft,
        hold_minutes=hold_minutes,
        final_descent_fpm=200.0,
        descent_fpm=4_000.0,
    )
    (*_, last) = of(case, CaseName.DESCENT).phases
    above = max(hold_ft - 13_000, 0) / 200.0 * 16.0
    assert last.passenger_litres == pytest.approx(above + litres)


def test_normal_flight_with_a_high_cabin() -> None:
    """Under 91.211 a cabin at 14,000 ft counts after 30 minutes, a foot higher throughout.

    Unpressurised, FL140: 180 - 30 minutes at the greatest flow of the band, that at 12,500 ft:
    7 - 0.25 x 3 = 6.25 l. At FL141 all 180.
    """
    at_limit = replace(CASE, planned_level=140, differential_psi=0.0)
    above = replace(at_limit, planned_level=141)
    below = replace(at_limit, planned_level=125)
    assert of(at_limit, CaseName.LEGAL).crew_litres == pytest.approx(150 * 6.25)
    assert of(above, CaseName.LEGAL).crew_litres == pytest.approx(180 * 6.25)
    assert of(below, CaseName.LEGAL).crew_litres == 0.0


def test_contaminated_air_takes_undiluted_oxygen_at_8000_ft() -> None:
    """Fifteen minutes x 13 l for each of the crew, nothing for passengers; not asked, nothing."""
    case = of(replace(CASE, crew=2), CaseName.CONTAMINATED)
    assert (case.crew_litres, case.passenger_litres) == (390.0, 0.0)
    none = oxygen_needed(replace(CASE, contaminated_minutes=0.0))
    assert none.cases[2].litres == 0.0
    assert "contaminated air was not counted: no time was stated" in none.assumptions


def test_at_10000_ft_nothing_is_needed() -> None:
    """Where masks come off, neither rule nor descent asks for oxygen."""
    need = oxygen_needed(replace(CASE, planned_level=100, contaminated_minutes=0.0))
    assert need.litres == 0.0


def test_the_answer_names_the_largest_case_and_what_it_rests_on() -> None:
    """The largest case is named; with a table the answer rests on it, without on the rules."""
    need = oxygen_needed(CASE)
    assert need.largest.name is CaseName.LEGAL
    assert sum(phase.litres for phase in need.largest.phases) == pytest.approx(need.litres)
    assert need.litres == max(case.litres for case in need.cases)
    assert {flow.basis for flow in need.flows} == {FlowBasis.TABLE}
    assert not need.may_be_too_low
    bare = oxygen_needed(replace(CASE, flow_table=None))
    assert {flow.basis for flow in bare.flows} == {FlowBasis.UNDILUTED, FlowBasis.MINIMUM}
    assert bare.may_be_too_low
    assert any("0.2095" in text for text in bare.assumptions)
    assert {"91-211", "mask-to-10000"} <= {place.key for place in need.sources}


def test_a_table_that_does_not_reach_is_an_error() -> None:
    """A level above the table's top is refused, not guessed."""
    short = FlowTable(
        reference="invented short table",
        curves=(
            FlowCurve(
                group=Group.CREW,
                mode=Mode.UNDILUTED,
                points=((8_000, 13.0), (25_000, 6.0)),
                reference="invented short table",
            ),
        ),
    )
    oxygen_needed(replace(CASE, planned_level=250, flow_table=short))
    with pytest.raises(OutOfRangeError, match="26,000 ft"):
        oxygen_needed(replace(CASE, planned_level=260, flow_table=short))


@pytest.mark.parametrize(
    "change",
    [
        {"crew": 0},
        {"passengers": -1},
        {"planned_level": 0},
        {"planned_level": 410},
        {"rule": "no-such"},
        {"descent_fpm": 0.0},
        {"final_descent_fpm": float("nan")},
        {"hold_minutes": -1.0},
        {"cruise_minutes": float("inf")},
        {"recognition_minutes": -0.1},
        {"contaminated_minutes": 1_441.0},
        {"hold_ft": 30_100},
    ],
)
def test_a_flight_that_cannot_be_is_refused(change: dict[str, Any]) -> None:
    """Nobody flying, a level above the ceiling or below the hold, times and rates that are none."""
    with pytest.raises(InputError):
        replace(CASE, **change)


RULES = st.sampled_from(sorted(OXYGEN_RULES))
#: Down to what certification asks of any mask at 40,000 ft, 1.52 l/min; less is no supply.
FLOWS = st.floats(1.53, 15.0)
KNOTS = (8_000, 10_000, 12_500, 15_000, 18_500, 25_000, 31_000, 40_000)


@st.composite
def tables(draw: st.DrawFn) -> FlowTable | None:
    """Draw no table, or one with any flows, rising or falling."""
    if draw(st.booleans()):
        return None
    curves = []
    for group, mode in POINTS:
        points = tuple((float(height), draw(FLOWS)) for height in KNOTS)
        curves.append(FlowCurve(group=group, mode=mode, points=points, reference="drawn"))
    return FlowTable(reference="drawn", curves=tuple(curves))


@st.composite
def cases(draw: st.DrawFn) -> OxygenCase:
    """Draw a flight."""
    hold_ft = draw(st.integers(80, 200)) * 100
    return OxygenCase(
        planned_level=draw(st.integers(max(hold_ft // 100, 90), 380)),
        crew=draw(st.integers(1, 2)),
        passengers=draw(st.integers(0, 11)),
        rule=draw(RULES),
        ceiling_ft=40_000,
        differential_psi=draw(st.floats(3.0, 8.0)),
        cruise_minutes=draw(st.floats(0.0, 400.0)),
        recognition_minutes=draw(st.floats(0.0, 3.0)),
        descent_fpm=draw(st.floats(500.0, 9_000.0)),
        hold_ft=hold_ft,
        hold_minutes=draw(st.floats(0.0, 120.0)),
        final_descent_fpm=draw(st.floats(500.0, 5_000.0)),
        contaminated_minutes=draw(st.floats(0.0, 60.0)),
        flow_table=draw(tables()),
    )


def never_less(case: OxygenCase, more: OxygenCase) -> bool:
    """Tell whether no case of one flight needs less than the same case of another."""
    pairs = zip(oxygen_needed(case).cases, oxygen_needed(more).cases, strict=True)
    return all(
        a.crew_litres <= b.crew_litres * (1 + 1e-9) + 1e-9
        and a.passenger_litres <= b.passenger_litres * (1 + 1e-9) + 1e-9
        for a, b in pairs
    )


@settings(max_examples=60, deadline=None)
@given(case=cases(), more=st.integers(1, 5))
def test_more_people_never_need_less(case: OxygenCase, more: int) -> None:
    """Another pilot or passenger never lowers any case's need."""
    assert never_less(case, replace(case, crew=case.crew + more))
    assert never_less(case, replace(case, passengers=case.passengers + more))


@settings(max_examples=60, deadline=None)
@given(case=cases(), more=st.floats(0.0, 60.0))
def test_more_time_never_needs_less(case: OxygenCase, more: float) -> None:
    """Longer cruise, recognition, hold or contaminated air never lowers any case's need."""
    for name in ("cruise", "recognition", "hold", "contaminated"):
        field = f"{name}_minutes"
        assert never_less(case, replace(case, **{field: getattr(case, field) + more}))


@settings(max_examples=100, deadline=None)
@given(case=cases(), more=st.integers(1, 60))
def test_a_higher_level_never_needs_less(case: OxygenCase, more: int) -> None:
    """A higher planned level never lowers any case's need, whatever the equipment's flows do."""
    assert never_less(case, replace(case, planned_level=min(case.planned_level + more, 400)))


@settings(max_examples=60, deadline=None)
@given(case=cases(), less=st.floats(0.0, 3.0))
def test_a_higher_cabin_never_needs_less(case: OxygenCase, less: float) -> None:
    """A smaller differential, so a higher cabin in normal flight, never lowers any case's need."""
    assert never_less(case, replace(case, differential_psi=case.differential_psi - less))
