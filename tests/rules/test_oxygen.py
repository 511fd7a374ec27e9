"""Oxygen against need, with flows so simple that every figure can be worked out by hand.

The crew take 8 l/min at 100 % and 5 in the normal position, a passenger 3, at every altitude. The
rule is 14 CFR 91.211: ten minutes for each occupant above FL250, passengers above 15,000 ft. One
pilot and three passengers, 30 s to the start of a descent at 3,000 ft/min. At FL310 the ten
minutes are 10 x (8 + 9) = 170 l; the descent to 10,000 ft is 8 x 7.5 + 9 x (0.5 + 16/3) = 112.5 l.
"""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.facts import Facts
from rvsmlog.findings import Finding
from rvsmlog.rules.oxygen import (
    gauges_needed,
    oxygen_too_little,
)
from rvsmlog.standards.authorities import AUTHORITIES
from tests.rules.conftest import Make

MAKE = Make()
#: 70 F, at which a cylinder rated in usable litres holds just those when it is full.
RATED_C = 190 / 9


def facts(litres: float, *, level: int | None = 310, ceiling: int = 310, **parts: Any) -> Facts:
    """Give the flight with a full cylinder that delivers some litres."""
    fitted = {
        "water_litres": None,
        "usable_litres": litres,
        "in_use_c": RATED_C,
        **parts.pop("fitted", {}),
    }
    flight = MAKE.flight_data(**parts.pop("flight", {}))
    return MAKE.facts(
        airframe=MAKE.airframe(
            highest_level=ceiling,
            max_differential_psi=parts.pop("psi", 6.2),
            authority=parts.pop("authority", "us-91"),
        ),
        oxygen=(MAKE.oxygen_fitted(**fitted),),
        oxygen_readings=(MAKE.oxygen_reading(gauge_psi=1850.0, cylinder_c=RATED_C),),
        question=MAKE.question(level=level, flight=flight),
        **parts,
    )


def found(known: Facts) -> Finding:
    """Judge by the rule that finds one thing."""
    (finding,) = oxygen_too_little.findings(known)
    return finding


HOLD = {"hold_level": 140, "hold_minutes": 45}


@pytest.mark.parametrize(
    ("litres", "flight", "outcome", "highest", "margin"),
    [
        # The ten minutes above FL250, to the litre.
        (170.0, {}, "met", None, 0),
        (169.0, {}, "not met", 250, -1),
        # Below FL250 the descent alone: 8.5 + (17 L - 215,000) / 3,000 litres from level L.
        (60.0, {}, "not met", 217, -110),
        (78.5, {}, "not met", 250, -92),
        (78.0, {}, "not met", 249, -92),
        # With the hold: 45 x 5 + 4 x 5 for the last 4,000 ft + 8.5 + (17 L - 247,000) / 3,000.
        (347.0, HOLD, "met", None, 0),
        (330.0, HOLD, "not met", 280, -17),
        # From the hold itself 245 and half a minute of recognition at 8 l/min.
        (249.01, HOLD, "not met", 140, -98),
        (248.0, HOLD, "not met", 0, -99),
    ],
)
def test_the_highest_level_is_worked_out(
    litres: float, flight: dict[str, int], outcome: str, highest: int | None, margin: int
) -> None:
    """Each boundary lies where the litres by hand put it, and not at FL250 by rote."""
    finding = found(facts(litres, flight=flight))
    assert (str(finding.outcome), finding.highest_level) == (outcome, highest)
    assert finding.margin is not None
    assert (finding.margin.value, finding.margin.unit) == (margin, "l")
    assert [ref.entry for ref in finding.evidence] == [62, 63]


def test_it_says_what_is_there_and_what_is_needed() -> None:
    """One line with the numbers, and each case among the values."""
    finding = found(facts(330.0, flight=HOLD))
    assert finding.says == (
        "FL310 with 1+3: 330 l on board (1850 psi), 347 l needed (loss of pressure); enough for "
        "FL280"
    )
    values = finding.values
    assert (values["legal_litres"], values["descent_litres"]) == (170.0, 346.8)
    assert (values["needed_litres"], values["usable_litres"]) == (346.8, 330.0)
    assert values["gauge_needed_psi"] is None
    assert "have the cylinder filled" in finding.remedy


def test_without_a_planned_level_the_certificated_one_is_asked() -> None:
    """The answer is the highest level, as for any planned one."""
    assert found(facts(330.0, flight=HOLD, level=None)).highest_level == 280
    assert found(facts(347.0, flight=HOLD, level=None)).highest_level is None


@pytest.mark.parametrize(("level", "outcome"), [(280, "met"), (281, "not met"), (140, "met")])
def test_what_remains_does_not_hang_on_the_planned_level(level: int, outcome: str) -> None:
    """FL280 remains whatever is planned; planned at it, it is met."""
    finding = found(facts(330.0, flight=HOLD, level=level))
    assert (str(finding.outcome), finding.highest_level) == (outcome, 280)


def test_where_nobody_needs_oxygen_an_empty_cylinder_will_do() -> None:
    """Up to 12,500 ft 91.211 asks nothing even of an unpressurised aeroplane."""
    finding = found(facts(0.1, level=125))
    assert (str(finding.outcome), finding.highest_level) == ("met", 125)
    assert finding.says == "FL125 asks no oxygen; enough for FL125"
    assert str(found(facts(0.1, level=126)).outcome) == "not met"


def test_an_aeroplane_that_stays_low_needs_none() -> None:
    """Certificated to FL125, the rule does not apply."""
    finding = found(facts(0.1, level=100, ceiling=125))
    assert (str(finding.outcome), finding.highest_level) == ("not applicable", None)


@pytest.mark.parametrize(
    ("fitted", "readings"), [({}, ()), (None, None)], ids=["no reading", "no system"]
)
def test_what_is_not_on_record_is_left_to_the_rule_of_that_name(
    fitted: dict[str, Any] | None, readings: tuple[()] | None
) -> None:
    """Without a reading there is nothing to count."""
    parts: dict[str, Any] = {"oxygen_readings": ()}
    if fitted is None:
        parts["oxygen"] = ()
    finding = oxygen_too_little.findings(MAKE.facts(**parts))[0]
    assert str(finding.outcome) == "not applicable"
    assert "oxygen-not-on-record" in finding.says


def test_a_continuous_flow_that_is_only_the_least_is_never_a_pass() -> None:
    """25.1443 states what equipment must give at the least: it may take more.

    With three passengers and no flow of theirs on record, levels remain at which none is counted:
    up to 15,000 ft (91.211(a)(3)).
    """
    no_flow = {"passenger_flow": None}
    finding = found(facts(50_000.0, fitted=no_flow))
    assert (str(finding.outcome), finding.highest_level) == ("not on record", 150)
    assert "flow of the passengers is not on record" in finding.says
    assert "rvsmlog oxygen fit" in finding.remedy
    alone = found(facts(50_000.0, fitted=no_flow, flight={"passengers": 0}))
    assert str(alone.outcome) == "met"


def test_a_short_supply_is_short_even_of_the_least() -> None:
    """Too little for the least flow is too little: not met, not merely unknown."""
    finding = found(facts(60.0, fitted={"passenger_flow": None}))
    assert str(finding.outcome) == "not met"


def test_the_crews_continuous_flow_without_a_table_is_not_on_record() -> None:
    """No demand mask, no table: the crew's least flow is no pass either, above FL125."""
    fitted = {
        "crew_delivery": "continuous",
        "crew_modes": None,
        "crew_normal_flow": None,
        "crew_full_flow": None,
    }
    finding = found(facts(50_000.0, fitted=fitted))
    assert (str(finding.outcome), finding.highest_level) == ("not on record", 125)
    assert "flow of the crew" in finding.says


def test_a_table_that_stops_short_is_not_on_record_above_it() -> None:
    """A flow table to FL250 counts no further, however much is on board."""
    fitted = {"crew_full_flow": ((50, 8000), (250, 8000))}
    finding = found(facts(50_000.0, fitted=fitted))
    assert (str(finding.outcome), finding.highest_level) == ("not on record", 250)
    assert "no oxygen flow at 31,000 ft" in finding.says
    below = found(facts(50_000.0, fitted=fitted, level=250))
    assert (str(below.outcome), below.highest_level) == ("met", 250)


@pytest.mark.parametrize(
    ("who", "flow_ml", "says", "highest"),
    [
        # 83.8 mmHg at 15 l/min BTPS: 819 ml at FL250 (376.0 hPa), by 25.1443(c).
        ("passenger_flow", 819, "", None),
        ("passenger_flow", 818, "25,000 ft for passengers, continuous flow: 0.819", 249),
        ("crew_full_flow", 819, "", None),
        ("crew_full_flow", 818, "25,000 ft for crew, 100 %: 0.819", 249),
        # Litres entered for millilitres; the crew's 122 mmHg at 10,000 ft (696.8 hPa).
        ("crew_full_flow", 8, "10,000 ft for crew, 100 %: 0.529", 125),
        ("passenger_flow", 3, "25,000 ft for passengers, continuous flow: 0.819", 150),
    ],
)
def test_a_flow_below_what_any_mask_delivers_is_no_supply(
    who: str, flow_ml: int, says: str, highest: int | None
) -> None:
    """However much is on board: not on record from where the flow would be too little."""
    fitted = {who: ((50, flow_ml), (410, flow_ml))}
    finding = found(facts(50_000.0, fitted=fitted, level=250, ceiling=250))
    if not says:
        assert (str(finding.outcome), finding.highest_level) == ("met", None)
        return
    assert (str(finding.outcome), finding.highest_level) == ("not on record", highest)
    where, _, least = says.rpartition(": ")
    assert finding.says == (
        f"the need is not known: 0.{flow_ml:03d} l/min at {where}, is less than the {least} l/min "
        f"that certification asks of any mask; counted up to FL{highest}"
    )
    assert "millilitres a minute" in finding.remedy
    assert list(gauges_needed(facts(50_000.0, fitted=fitted, level=250, ceiling=250))) == [
        ("main", None, RATED_C)
    ]


def test_a_table_that_begins_above_the_hold_leaves_no_flight() -> None:
    """Where not even the hold can be counted nothing remains; nor is a pressure named."""
    fitted = {"crew_normal_flow": ((150, 5000), (410, 5000))}
    known = facts(50_000.0, fitted=fitted, flight=HOLD)
    finding = found(known)
    assert (str(finding.outcome), finding.highest_level) == ("not on record", 0)
    assert finding.says.endswith("counted up to no level")
    assert list(gauges_needed(known)) == [("main", None, RATED_C)]


def test_demand_masks_without_a_table_count_as_undiluted() -> None:
    """No table at all, crew alone: the answer is known, by 20 l/min BTPS."""
    fitted = {"crew_full_flow": None, "crew_normal_flow": None}
    finding = found(facts(50_000.0, fitted=fitted, flight={"passengers": 0}))
    assert str(finding.outcome) == "met"


def test_the_crews_reserve_is_kept_from_the_passengers() -> None:
    """A system that keeps 100 l for the crew leaves passengers the rest.

    Ten minutes are 80 l for the crew and 90 for the passengers: 190 l in all are needed.
    """
    fitted = {"crew_reserve_litres": 100.0}
    assert str(found(facts(190.0, fitted=fitted)).outcome) == "met"
    short = found(facts(189.0, fitted=fitted))
    assert short.highest_level == 250
    assert short.says == (
        "FL310 with 1+3: 189 l on board (1850 psi), 100 l of it kept back for the crew, 90 l "
        "needed by the passengers (legal minimum); enough for FL250"
    )
    assert short.margin is not None
    assert short.margin.value == -1


def test_two_systems_must_each_cover_their_people() -> None:
    """The crew's 80 l of the ten minutes in one cylinder, the passengers' 90 l in another."""

    def split(crew: float, passengers: float) -> Finding:
        shared: dict[str, Any] = {"water_litres": None, "in_use_c": RATED_C}
        nothing: dict[str, Any] = {
            "crew_normal_flow": None,
            "crew_full_flow": None,
            "crew_modes": None,
            "crew_delivery": None,
            "crew_masks": None,
        }
        return found(
            MAKE.facts(
                oxygen=(
                    MAKE.oxygen_fitted(
                        serves=("crew",), passenger_flow=None, usable_litres=crew, **shared
                    ),
                    MAKE.oxygen_fitted(
                        64,
                        system="cabin",
                        serves=("passengers",),
                        usable_litres=passengers,
                        **shared,
                        **nothing,
                    ),
                ),
                oxygen_readings=(
                    MAKE.oxygen_reading(gauge_psi=1850.0, cylinder_c=RATED_C),
                    MAKE.oxygen_reading(65, system="cabin", gauge_psi=1850.0, cylinder_c=RATED_C),
                ),
            )
        )

    enough = split(80.0, 90.0)
    assert str(enough.outcome) == "met"
    assert [ref.entry for ref in enough.evidence] == [62, 63, 64, 65]
    assert split(79.0, 900.0).highest_level == 250
    assert split(800.0, 89.0).highest_level == 250


def test_the_newest_entry_of_a_system_holds() -> None:
    """A system fitted anew replaces the old one, and old readings count no more."""
    newer = MAKE.oxygen_fitted(200, fitted_on=MAKE.on("2027-03-14"))
    known = MAKE.facts(oxygen=(MAKE.oxygen_fitted(), newer))
    assert [ref.entry for ref in found(known).evidence] == [200, 63]
    later = MAKE.facts(oxygen=(MAKE.oxygen_fitted(fitted_on=MAKE.on("2027-03-15")),))
    assert str(oxygen_too_little.findings(later)[0].outcome) == "not applicable"


PEOPLE = st.integers(1, 2), st.integers(0, 4)
FLIGHTS = st.fixed_dictionaries(
    {
        "crew": PEOPLE[0],
        "passengers": PEOPLE[1],
        "hold_level": st.sampled_from([100, 120, 140, 170]),
        "hold_minutes": st.integers(0, 90),
        "descent_fpm": st.integers(1000, 5000),
        "recognition_s": st.integers(0, 120),
    }
)
CODES = st.sampled_from(list(AUTHORITIES))


def remaining(known: Facts) -> int:
    """Give the level that the rule leaves; the certificated one where it sets none."""
    level = found(known).highest_level
    return 310 if level is None else level


@settings(max_examples=40, deadline=None)
@given(
    litres=st.floats(20, 2_000),
    flight=FLIGHTS,
    code=CODES,
    more=st.sampled_from(
        [
            {"crew": 1},
            {"passengers": 1},
            {"hold_minutes": 10},
            {"recognition_s": 30},
            {"descent_fpm": -300},
        ]
    ),
)
def test_more_people_and_more_time_never_raise_the_level(
    litres: float, flight: dict[str, int], code: str, more: dict[str, int]
) -> None:
    """Whatever makes a flight need more oxygen leaves the same level or a lower one."""
    worse = flight | {name: flight[name] + step for name, step in more.items()}
    before = remaining(facts(litres, flight=flight, authority=code))
    after = remaining(facts(litres, flight=worse, authority=code))
    assert after <= before


@settings(max_examples=40, deadline=None)
@given(litres=st.floats(20, 2_000), flight=FLIGHTS, code=CODES)
def test_the_level_that_remains_is_met_and_the_next_is_not(
    litres: float, flight: dict[str, int], code: str
) -> None:
    """Planned at the level that remains the rule is met, one level up it is not."""
    level = remaining(facts(litres, flight=flight, authority=code))
    if level == 0:
        return
    assert str(found(facts(litres, flight=flight, authority=code, level=level)).outcome) == "met"
    if level < 310:
        above = found(facts(litres, flight=flight, authority=code, level=level + 1))
        assert str(above.outcome) == "not met"


@settings(max_examples=25, deadline=None)
@given(gauge=st.floats(250, 1_850), colder=st.floats(1, 40))
def test_a_lower_gauge_or_a_colder_flight_never_raises_the_level(
    gauge: float, colder: float
) -> None:
    """Less on the gauge, or more left behind in a cold cylinder, leaves no higher level."""

    def level(psi: float, in_use_c: float) -> int:
        flight = MAKE.flight_data(hold_level=140, hold_minutes=60)
        known = MAKE.facts(
            oxygen=(MAKE.oxygen_fitted(in_use_c=in_use_c),),
            oxygen_readings=(MAKE.oxygen_reading(gauge_psi=psi),),
            question=MAKE.question(flight=flight),
        )
        return remaining(known)

    assert level(gauge - 50, 0.0) <= level(gauge, 0.0)
    assert level(gauge, -colder) <= level(gauge, 0.0)
