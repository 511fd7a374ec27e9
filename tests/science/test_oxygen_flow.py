"""Litres a minute: the equipment's table read between its points, refused outside them."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science.oxygen_breathing import (
    least_supply_lpm,
    minimum_lpm,
    tracheal_mmhg,
    undiluted_lpm,
)
from rvsmlog.science.oxygen_flow import (
    FlowBasis,
    FlowCurve,
    FlowTable,
    Mode,
    NoSupplyError,
    TooLittleError,
    certification_curve,
    flow_curve,
    lasting_minutes,
    shown_minutes,
)
from rvsmlog.standards.oxygen_figures import MINIMUM_FLOWS, Group

CURVE = FlowCurve(
    group=Group.CREW,
    mode=Mode.UNDILUTED,
    points=((10_000, 12.0), (20_000, 8.0), (30_000, 5.0)),
    reference="invented table",
)
TABLE = FlowTable(reference="invented table", curves=(CURVE,))


def curve(*points: tuple[float, float]) -> FlowCurve:
    """Make a crew's curve of points."""
    return FlowCurve(group=Group.CREW, mode=Mode.NORMAL, points=points, reference="invented")


def test_a_table_is_read_along_straight_lines() -> None:
    """Half-way between two points the flow is half-way between theirs; at a point it is its own."""
    assert [CURVE.lpm(ft) for ft in (10_000, 15_000, 20_000, 27_500, 30_000)] == [
        *(12.0, 10.0, 8.0, 5.75, 5.0)
    ]


def test_the_mean_of_a_descent_is_the_area_over_the_height() -> None:
    """From 30,000 to 10,000 ft: 10,000 x 10 and 10,000 x 6.5 over 20,000 ft are 8.25."""
    assert CURVE.mean_lpm(10_000, 30_000) == pytest.approx(8.25)
    assert CURVE.mean_lpm(15_000, 20_000) == pytest.approx(9.0)
    assert CURVE.mean_lpm(20_000, 20_000) == 8.0


def test_the_greatest_flow_of_a_stretch() -> None:
    """The greatest flow may lie at an end or at a point between."""
    assert CURVE.greatest_lpm(15_000, 30_000) == 10.0
    assert curve((0, 1.0), (1_000, 9.0), (2_000, 1.0)).greatest_lpm(500, 1_500) == 9.0


@pytest.mark.parametrize("cabin_ft", [9_999, 30_001, math.nan])
def test_outside_the_table_is_an_error(cabin_ft: float) -> None:
    """A table is never read beyond its points, and the error names its range."""
    with pytest.raises(OutOfRangeError) as caught:
        CURVE.lpm(cabin_ft)
    assert "10,000 to 30,000 ft" in caught.value.hint
    with pytest.raises(OutOfRangeError):
        CURVE.mean_lpm(5_000, 20_000)


@pytest.mark.parametrize(
    "points",
    [
        (),
        ((10_000, 1.0),),
        ((10_000, 1.0), (10_000, 2.0)),
        ((20_000, 1.0), (10_000, 2.0)),
        ((10_000, 1.0), (20_000, -0.1)),
        ((10_000, 1.0), (20_000, math.nan)),
        ((10_000, 1.0), (math.inf, 1.0)),
    ],
)
def test_points_that_are_no_table_are_refused(points: tuple[tuple[float, float], ...]) -> None:
    """A table needs two points or more, ascending, with flows that can be."""
    with pytest.raises(InputError):
        curve(*points)


def test_two_answers_to_one_question_are_refused() -> None:
    """A table has one flow for a group and mode."""
    with pytest.raises(InputError, match="two flows"):
        FlowTable(reference="invented", curves=(CURVE, CURVE))


def test_the_equipments_table_comes_first() -> None:
    """The table's own curve is used where it has one, the certification rules' elsewhere."""
    own = flow_curve(TABLE, Group.CREW, Mode.UNDILUTED, 31_000)
    other = flow_curve(TABLE, Group.CREW, Mode.NORMAL, 31_000)
    none = flow_curve(None, Group.CREW, Mode.UNDILUTED, 31_000)
    assert (own.basis, other.basis, none.basis) == (
        FlowBasis.TABLE,
        FlowBasis.UNDILUTED,
        FlowBasis.UNDILUTED,
    )


def test_the_emergency_position_needs_a_table() -> None:
    """No rule states its flow, so it is never guessed."""
    with pytest.raises(InputError, match="emergency position"):
        certification_curve(Group.CREW, Mode.EMERGENCY, 31_000)


def test_no_rule_states_a_flow_above_40000_ft() -> None:
    """25.1443 ends at 40,000 ft."""
    assert certification_curve(Group.CREW, Mode.UNDILUTED, 40_000).highest_ft == 40_000
    with pytest.raises(OutOfRangeError, match="40,100"):
        certification_curve(Group.CREW, Mode.UNDILUTED, 40_100)


def test_continuous_flow_for_the_crew_ends_where_pure_oxygen_does() -> None:
    """149 mmHg is pure oxygen's at 196 mmHg ambient, which lies between FL330 and FL332.

    The reading of the standard atmosphere: 33,000 ft is 262.0 hPa, 196 mmHg are 261.3 hPa.
    """
    assert certification_curve(Group.CREW, Mode.CONTINUOUS, 33_000).basis is FlowBasis.MINIMUM
    with pytest.raises(OutOfRangeError, match="149 mmHg"):
        certification_curve(Group.CREW, Mode.CONTINUOUS, 33_200)


def test_a_continuous_flow_is_sized_for_the_highest_altitude() -> None:
    """Equipment without altitude compensation delivers everywhere what it needs at the top."""
    flow = certification_curve(Group.PASSENGERS, Mode.CONTINUOUS, 31_000)
    top = minimum_lpm(MINIMUM_FLOWS[-1], 31_000)
    assert flow.lpm(10_000) == flow.lpm(31_000) == pytest.approx(top)


def test_where_air_is_enough_no_oxygen_is_added() -> None:
    """100 mmHg is what air gives just below 10,000 ft (9,918 ft), so at 9,000 ft none is added."""
    passengers = MINIMUM_FLOWS[3]
    assert minimum_lpm(passengers, 9_000) == 0.0
    assert minimum_lpm(passengers, 10_000) > 0.0


@settings(max_examples=50)
@given(cabin_ft=st.integers(10_000, 18_500))
def test_the_least_flow_gives_the_pressure_asked(cabin_ft: int) -> None:
    """Mixing the least flow into the minute volume gives back the tracheal pressure of the rule."""
    need = MINIMUM_FLOWS[3]
    assert need.tracheal_mmhg is not None
    share = minimum_lpm(need, cabin_ft) / undiluted_lpm(cabin_ft, need.litres_btps)
    oxygen = share + 0.2095 * (1.0 - share)
    assert tracheal_mmhg(cabin_ft, oxygen) == pytest.approx(need.tracheal_mmhg)


@settings(max_examples=50)
@given(cabin_ft=st.floats(0.0, 40_000.0))
def test_laid_down_points_are_never_below_the_formula(cabin_ft: float) -> None:
    """A chord lies above the curve of undiluted flow, by less than a ten-thousandth."""
    laid = certification_curve(Group.CREW, Mode.UNDILUTED, 31_000).lpm(cabin_ft)
    exact = undiluted_lpm(cabin_ft)
    assert exact * (1.0 - 1e-12) <= laid <= exact * 1.0002


def test_minutes_are_cut_not_rounded() -> None:
    """Handbooks cut durations to tenths: 170.69 minutes are shown as 170.6."""
    assert shown_minutes(170.69) == 170.6
    assert shown_minutes(math.inf) == math.inf


def test_no_flow_lasts_for_ever_and_nonsense_is_refused() -> None:
    """Where nobody breathes the supply lasts; a negative or endless quantity is no quantity."""
    assert lasting_minutes(100.0, 0.0) == math.inf
    for litres, flow in ((-1.0, 1.0), (1.0, -1.0), (math.inf, 1.0), (math.nan, 1.0)):
        with pytest.raises(InputError):
            lasting_minutes(litres, flow)


#: A mask that delivers something at 8,000 ft, nothing up to 14,000 ft, and 5 l/min from 15,000 up.
SLEEPS = curve((8_000, 3.0), (10_000, 0.0), (14_000, 0.0), (15_000, 5.0), (20_000, 5.0))


@pytest.mark.parametrize("cabin_ft", [8_000, 9_000, 10_000, 12_000, 14_000, 14_500, 14_999])
def test_a_flow_of_0_is_no_supply(cabin_ft: float) -> None:
    """Neither up to the last row of 0 nor between that and the next; a stretch neither."""
    with pytest.raises(NoSupplyError, match="0 up to 14,000 ft is no supply"):
        SLEEPS.lpm(cabin_ft)
    with pytest.raises(NoSupplyError):
        SLEEPS.mean_lpm(cabin_ft, 20_000)
    with pytest.raises(NoSupplyError):
        SLEEPS.greatest_lpm(cabin_ft, 20_000)


def of_text(wanted_mmhg: float, ambient_hpa: float) -> float:
    """Work out the least flow by hand, litres NTPD a minute.

    14 CFR 25.1443(c), published: tracheal pressures of 100 mmHg up to 18,500 ft and 83.8 mmHg
    above; (a) and (c)(1): 15 l/min BTPS; (b): the crew's 122 mmHg. What is breathed is ambient less
    47 mmHg, 20.95 per cent of air are oxygen, BTPS is 37 C, NTPD 70 F. Ambient pressures are those
    of the ICAO standard atmosphere.
    """
    dry = ambient_hpa / 1.333224 - 47.0
    added = (wanted_mmhg / dry - 0.2095) / 0.7905
    return added * 15.0 * dry / 760.0 * 294.261 / 310.15


@pytest.mark.parametrize(
    ("cabin_ft", "wanted_mmhg", "ambient_hpa"),
    [
        (14_000, 100.0, 595.2386),
        (15_000, 100.0, 571.8194),
        (18_000, 100.0, 505.9982),
        (25_000, 83.8, 376.0089),
        (31_000, 83.8, 287.4465),
        (35_000, 83.8, 238.4227),
        (40_000, 83.8, 187.5388),
        (41_000, 83.8, 187.5388),
    ],
)
def test_what_is_less_than_any_mask_delivers_is_no_supply(
    cabin_ft: int, wanted_mmhg: float, ambient_hpa: float
) -> None:
    """Both sides of the flow worked out by hand; above 40,000 ft that of 40,000 ft counts on."""
    least = of_text(wanted_mmhg, ambient_hpa)
    assert least_supply_lpm(cabin_ft) == pytest.approx(least, rel=1e-4)
    enough = curve((8_000, least + 0.001), (cabin_ft, least + 0.001), (45_000, 9.0))
    assert enough.lpm(cabin_ft) == least + 0.001
    token = curve((8_000, least - 0.001), (cabin_ft, least - 0.001), (45_000, 9.0))
    for ask in (token.mean_lpm, token.greatest_lpm):
        with pytest.raises(TooLittleError, match="less than the"):
            ask(10_000, cabin_ft)
    with pytest.raises(TooLittleError):
        token.lpm(cabin_ft)
    # A mask that is worn draws what it draws.
    assert token.drawn_lpm(cabin_ft) == token.greatest_drawn_lpm(8_000, cabin_ft) == least - 0.001


def test_up_to_10_000_ft_only_undiluted_oxygen_is_held_to_a_least() -> None:
    """Diluted, a mask may draw next to nothing there; 100 % at 8,000 ft (752.6236 hPa) may not."""
    least = of_text(122.0, 752.6236)
    assert (least_supply_lpm(8_000), least_supply_lpm(10_000)) == (0.0, 0.0)
    assert least_supply_lpm(8_000, undiluted=True) == pytest.approx(least, rel=1e-4)
    assert curve((5_000, 0.001), (10_000, 0.001)).lpm(8_000) == 0.001
    for mode in (Mode.UNDILUTED, Mode.EMERGENCY):
        for flow, good in ((least + 0.001, True), (least - 0.001, False)):
            points = ((8_000.0, flow), (10_000.0, 9.0))
            table = FlowCurve(group=Group.CREW, mode=mode, points=points, reference="invented")
            if good:
                assert table.lpm(8_000) == flow
            else:
                with pytest.raises(TooLittleError):
                    table.lpm(8_000)


def test_what_a_rule_asks_is_never_too_little() -> None:
    """Where there is no table, certification's own least counts as before."""
    least = certification_curve(Group.PASSENGERS, Mode.CONTINUOUS, 12_000)
    assert least.lpm(40_000) < least_supply_lpm(40_000)


def test_above_a_flow_of_0_the_table_counts_from_its_next_row() -> None:
    """And where a rule itself asks for nothing, 0 is the answer."""
    found = (SLEEPS.lpm(15_000), SLEEPS.lpm(16_000), SLEEPS.mean_lpm(15_000, 20_000))
    assert found == (5.0, 5.0, 5.0)
    assert certification_curve(Group.PASSENGERS, Mode.CONTINUOUS, 5_000).lpm(4_000) == 0.0
