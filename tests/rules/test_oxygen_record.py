"""Oxygen on record: without it the flight stays where the authority's rule asks none."""

from typing import Any

import pytest

from rvsmlog.rules.level import level_above_certificated
from rvsmlog.rules.oxygen_record import (
    oxygen_equipment_inoperative,
    oxygen_not_on_record,
    oxygen_reading_too_old,
    oxygen_seats_not_checked,
)
from rvsmlog.verdict import Answer, judge
from tests.authority_tables import leaves_none_out
from tests.rules.conftest import Make, at

#: Altitudes up to which crew and passengers need no oxygen, the cabin unpressurised, as levels.
#: 91.211(a); 135.89(a) and 135.157(a); NCO.OP.190(b); CAT.IDE.A.235 table 1 and Part 91 MOS 26.43
#: (both from memory); CAR 91.209 (second-hand).
FREE = {
    "us-91": (125, 150),
    "us-135": (100, 100),
    "eu-nco": (100, 100),
    "eu-cat": (100, 100),
    "uk-nco": (100, 100),
    "uk-cat": (100, 100),
    "au-91": (125, 150),
    "nz-91": (100, 140),
}


@pytest.mark.parametrize("code", FREE)
def test_without_a_system_the_level_is_that_of_the_rule(make: Make, code: str) -> None:
    """Crew and passengers each stay where the authority asks nothing for them."""
    crew, passengers = FREE[code]
    known = make.facts(
        airframe=make.airframe(authority=code),
        oxygen=(),
        question=make.question(flight=make.flight_data(passengers=None)),
    )
    assert make.outcomes(oxygen_not_on_record, known) == [
        ("not on record", crew, (1,), None),
        ("not on record", passengers, (1,), None),
    ]


@pytest.mark.parametrize("code", FREE)
def test_the_level_that_remains_is_go_and_the_next_is_not(make: Make, code: str) -> None:
    """Both sides of each authority's threshold, in the verdict."""
    crew, _ = FREE[code]
    for level, answer in ((crew, Answer.GO), (crew + 1, Answer.NO_GO)):
        verdict = judge(
            make.facts(
                airframe=make.airframe(authority=code),
                oxygen=(),
                question=make.question(level=level),
            ),
            (level_above_certificated, oxygen_not_on_record),
        )
        assert verdict.answer is answer, level


def test_a_reading_is_wanted_too(make: Make) -> None:
    """A system whose gauge nobody has read holds nothing for certain."""
    known = make.facts(oxygen_readings=())
    assert make.rows(oxygen_not_on_record, known) == [
        ("not on record", "no reading of the oxygen gauge for the crew on record", 125, (62,)),
        (
            "not on record",
            "no reading of the oxygen gauge for the passengers on record",
            150,
            (62,),
        ),
    ]


def test_with_system_and_reading_it_is_met(make: Make) -> None:
    """Both are named as evidence."""
    says = "oxygen on record for crew and passengers"
    assert make.rows(oxygen_not_on_record, make.facts()) == [("met", says, None, (62, 63))]


@pytest.mark.parametrize(
    ("passengers", "rows"),
    [
        (0, [("met", None, (62, 63), None)]),
        (1, [("not on record", 150, (1,), None)]),
        (None, [("not on record", 150, (1,), None)]),
    ],
)
def test_passengers_without_a_system(make: Make, passengers: int | None, rows: list[Any]) -> None:
    """A system for the crew alone will do only where it is said that no one else is on board."""
    fitted = make.oxygen_fitted(serves=("crew",), passenger_flow=None, passenger_masks=None)
    flight = make.flight_data(passengers=passengers)
    known = make.facts(oxygen=(fitted,), question=make.question(flight=flight))
    assert make.outcomes(oxygen_not_on_record, known) == rows


def test_where_the_flight_may_not_go_so_low_nothing_remains(make: Make) -> None:
    """A hold at FL140 forbids FL125: no flight."""
    flight = make.flight_data(hold_level=140, hold_minutes=30, passengers=0)
    known = make.facts(oxygen=(), question=make.question(flight=flight))
    assert make.outcomes(oxygen_not_on_record, known) == [("not on record", 0, (1,), None)]


def test_an_aeroplane_that_stays_low_needs_no_record(make: Make) -> None:
    """Certificated to FL125 nobody needs any, by 91.211."""
    for rule in (oxygen_not_on_record, oxygen_equipment_inoperative):
        known = make.facts(oxygen=(), airframe=make.airframe(highest_level=125))
        assert make.outcomes(rule, known) == [("not applicable", None, (), None)]
    higher = make.facts(oxygen=(), airframe=make.airframe(highest_level=126))
    assert make.outcomes(oxygen_not_on_record, higher)[0][0] == "not on record"


@pytest.mark.parametrize(
    ("day", "outcome", "highest", "margin"),
    [("2027-03-07", "met", None, 0), ("2027-03-06", "not met", 125, -1)],
)
def test_a_reading_counts_for_seven_days(
    make: Make, day: str, outcome: str, highest: int | None, margin: int
) -> None:
    """Common practice, no source; the seventh day counts. The question is of 14 March."""
    reading = make.oxygen_reading(checked_at=at(day, "01:30"))
    known = make.facts(oxygen_readings=(reading,), flights=())
    assert make.outcomes(oxygen_reading_too_old, known) == [(outcome, highest, (63,), margin)]


@pytest.mark.parametrize(("time", "count"), [("03:40", 1), ("03:39", 2)])
def test_a_reading_from_before_the_last_flight_is_taken_again(
    make: Make, time: str, count: int
) -> None:
    """The flight of 12 March landed at 03:40: a minute before, its reading wants another."""
    reading = make.oxygen_reading(checked_at=at("2027-03-12", time))
    rows = make.rows(oxygen_reading_too_old, make.facts(oxygen_readings=(reading,)))
    assert [row[0] for row in rows] == ["met", "advice"][:count]
    if count > 1:
        says = "oxygen (main) was read before the flight that landed 2027-03-12T03:40Z"
        assert rows[1][1:] == (says, None, (63, 71))


def test_without_a_reading_there_is_no_age(make: Make) -> None:
    """That there is none is the other rule's finding."""
    rows = make.outcomes(oxygen_reading_too_old, make.facts(oxygen_readings=()))
    assert rows == [("not applicable", None, (), None)]


def test_a_reading_from_before_the_system_was_fitted_is_none(make: Make) -> None:
    """A cylinder exchanged on the 14th was not read on the 13th; one read that day may be it."""
    fitted = make.oxygen_fitted(200, fitted_on=make.on("2027-03-14"))
    before = make.oxygen_reading(checked_at=at("2027-03-13", "23:00"))
    known = make.facts(oxygen=(make.oxygen_fitted(), fitted), oxygen_readings=(before,))
    assert make.outcomes(oxygen_not_on_record, known)[0] == ("not on record", 125, (200,), None)
    known = make.facts(oxygen=(make.oxygen_fitted(), fitted))
    assert make.outcomes(oxygen_not_on_record, known) == [("met", None, (200, 63), None)]


SEATS: list[tuple[dict[str, Any], int, str]] = [
    ({}, 1, ""),
    ({"copilot_seat": None}, 1, ""),
    (
        {"copilot_seat": None},
        2,
        "second crew seat (valve, pressure, flow, mask, microphone)",
    ),
    (
        {"pilot_seat": ("valve", "pressure", "flow", "mask")},
        1,
        "pilot's seat (microphone)",
    ),
    (
        {"pilot_seat": None, "passenger_seats": ("mask",)},
        1,
        "pilot's seat (valve, pressure, flow, mask, microphone); passenger seats (valve, flow)",
    ),
]


@pytest.mark.parametrize(("fields", "crew", "gaps"), SEATS)
def test_each_seat_in_use_is_looked_at(
    make: Make, fields: dict[str, Any], crew: int, gaps: str
) -> None:
    """What was not found good is named, for seats in use only; it never limits the level."""
    known = make.facts(
        oxygen_readings=(make.oxygen_reading(**fields),),
        question=make.question(flight=make.flight_data(crew=crew)),
    )
    (finding,) = oxygen_seats_not_checked.findings(known)
    assert str(finding.outcome) == ("advice" if gaps else "met")
    assert finding.highest_level is None
    expected = f"not on record as checked: {gaps}" if gaps else "oxygen checked at each seat in use"
    assert finding.says == expected


def test_seats_of_nobody_are_not_asked_for(make: Make) -> None:
    """Without passengers their seats need no look; without a system nothing does."""
    alone = make.question(flight=make.flight_data(passengers=0))
    reading = make.oxygen_reading(passenger_seats=None)
    known = make.facts(oxygen_readings=(reading,), question=alone)
    assert make.outcomes(oxygen_seats_not_checked, known)[0][0] == "met"
    assert make.outcomes(oxygen_seats_not_checked, make.facts(oxygen=())) == [
        ("not applicable", None, (), None)
    ]


@pytest.mark.parametrize("function", ["oxygen-cylinder", "oxygen-regulator", "oxygen-mask"])
def test_an_open_defect_leaves_a_level_without_oxygen(make: Make, function: str) -> None:
    """Deferred without a level, the equipment is taken as lost; with one, that level decides."""
    defect = make.defect(200, function=function)
    for deferral, row in (
        (make.deferral(201, 200), ("not met", 125, (200, 201), None)),
        (make.deferral(201, 200, highest_level=250), ("advice", None, (200, 201), None)),
    ):
        known = make.facts(defects=(make.case(defect, deferral=deferral),))
        assert make.outcomes(oxygen_equipment_inoperative, known) == [row]


def test_without_a_defect_the_equipment_is_in_order(make: Make) -> None:
    """Defects of other functions do not count."""
    known = make.facts(defects=(make.case(make.defect(200)),))
    assert make.outcomes(oxygen_equipment_inoperative, known) == [("met", None, (1,), None)]


def test_no_authority_is_left_out() -> None:
    """Each has its row in the table."""
    leaves_none_out(FREE, "FREE")
