"""The mask that a pilot must wear draws oxygen all the while: 91.211(b)(1)(ii), 135.89(b).

The flows are those of test_oxygen.py, the same at every cabin altitude from 1,000 ft up: 5 l/min
in the normal position, so that five hours take 1,500 l. At FL370 with one pilot and three
passengers 91.211 asks 10 x (8 + 9) = 170 l besides.
"""

from typing import Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.findings import Finding
from rvsmlog.rules.flight_data import flight_data_missing
from rvsmlog.rules.oxygen import gauges_needed
from rvsmlog.rules.oxygen_contaminated import contaminated_air_oxygen_short
from tests.rules.test_oxygen import RATED_C, facts, found

FLOWS: dict[str, Any] = {
    "crew_normal_flow": ((10, 5000), (450, 5000)),
    "crew_full_flow": ((10, 8000), (450, 8000)),
    "passenger_flow": ((10, 3000), (450, 3000)),
}


def worn(
    litres: float, *, level: int | None = 370, ceiling: int = 410, psi: float = 9.0, **parts: Any
) -> Facts:
    """Give a flight to FL410 with five hours at the level, the cabin held by 9 psi."""
    flight = {"cruise_minutes": 300} | parts.pop("flight", {})
    fitted = FLOWS | parts.pop("fitted", {})
    return facts(
        litres, level=level, ceiling=ceiling, psi=psi, flight=flight, fitted=fitted, **parts
    )


def answer(known: Facts) -> tuple[str, int | None]:
    """Give outcome and highest level."""
    finding = found(known)
    return str(finding.outcome), finding.highest_level


@pytest.mark.parametrize(
    ("litres", "minutes", "level", "expected"),
    [
        (1_670.0, 300, 370, ("met", None)),
        (1_669.0, 300, 370, ("not met", 350)),
        # Nobody wears a mask at FL350: 170 l are enough there, and for none of the minutes above.
        (170.0, 300, 350, ("met", 350)),
        (170.0, 300, 351, ("not met", 350)),
        (169.0, 300, 370, ("not met", 250)),
        (170.0, 0, 370, ("met", None)),
        (175.0, 1, 370, ("met", None)),
        (174.0, 1, 370, ("not met", 350)),
        (1_669.0, 300, None, ("not met", 350)),
        (1_670.0, 300, None, ("met", None)),
    ],
)
def test_above_fl350_the_mask_of_a_single_pilot_is_counted(
    litres: float, minutes: int, level: int | None, expected: tuple[str, int | None]
) -> None:
    """91.211(b)(1)(ii): five litres for each minute, on top of the ten minutes of (b)(1)(i)."""
    assert answer(worn(litres, level=level, flight={"cruise_minutes": minutes})) == expected


def test_the_litres_that_are_said_add_up() -> None:
    """What the mask draws is part of what is needed, and the margin is the difference."""
    finding = found(worn(1_669.0))
    assert finding.says == (
        "FL370 with 1+3: 1669 l on board (1850 psi), 1670 l needed, 1500 l of it by the mask worn "
        "for 300 min (legal minimum); enough for FL350"
    )
    assert finding.margin is not None
    assert finding.margin.value == -1
    values = finding.values
    assert (values["worn_minutes"], values["worn_litres"]) == (300, 1500.0)
    # The descent at 3,000 ft/min: 8 x 9.5 and, above 15,000 ft, 9 x (0.5 + 22/3).
    assert (values["legal_litres"], values["descent_litres"]) == (1670.0, 1646.5)
    assert finding.remedy.endswith("or a shorter or lower hold, or fewer minutes at the level.")
    assert "worn_litres" not in found(worn(1_669.0, level=350)).values


@pytest.mark.parametrize(
    ("code", "crew", "level", "litres", "expected"),
    [
        # Two pilots with quick-donning masks wear none up to FL410. The descent from L needs
        # 16 x (0.5 + (L - 10,000) / 3,000) + 9 x (0.5 + (L - 15,000) / 3,000): 255.8 l.
        ("us-91", 2, 410, 256.0, ("met", 410)),
        ("us-91", 2, 410, 255.0, ("not met", 409)),
        # Above it one of them does, and one mask is counted: 256.7 + 1,500 l.
        ("us-91", 2, 411, 1_757.0, ("met", 411)),
        ("us-91", 2, 411, 1_756.0, ("not met", 410)),
        # 135.89(b)(3) knows no exception: 2 x (80 + 550) + 540 for the passengers + 1,500.
        ("us-135", 2, 351, 3_300.0, ("met", None)),
        ("us-135", 2, 351, 3_299.0, ("not met", 350)),
        # New Zealand as Part 91 (second-hand); in Europe the strictest stands in, as for the mask.
        ("nz-91", 1, 351, 1_669.0, ("not met", 350)),
        # Passengers breathe above 13,000 ft: 8 x 10.5 + 9 x 9.5 = 169.5 l from FL400.
        ("eu-nco", 1, 351, 1_670.0, ("met", 400)),
        ("eu-nco", 1, 351, 1_669.0, ("not met", 350)),
        ("au-91", 2, 351, 1_749.0, ("not met", 350)),
    ],
)
def test_where_a_mask_is_worn_hangs_on_rule_and_people(
    code: str, crew: int, level: int, litres: float, expected: tuple[str, int | None]
) -> None:
    """Both sides of the level above which one pilot wears a mask, and one pilot only."""
    flight = {"crew": crew, "cruise_minutes": 300}
    assert answer(worn(litres, level=level, ceiling=430, authority=code, flight=flight)) == expected


@pytest.mark.parametrize(
    ("quick", "litres", "expected"),
    [
        # Two hours 630 l, passengers an hour 540 l, the mask for an hour 300 l.
        (False, 1_470.0, ("met", None)),
        # Up to FL255 15,000 ft are reached in four minutes: half an hour, 270 l, 1,200 in all.
        (False, 1_469.0, ("not met", 255)),
        (False, 1_199.0, ("not met", 250)),
        (True, 1_170.0, ("met", None)),
        (None, 1_469.0, ("not met", 255)),
    ],
)
def test_part_135_without_quick_donning_masks_wears_one_above_fl250(
    quick: bool | None, litres: float, expected: tuple[str, int | None]
) -> None:
    """135.89(b)(2): at FL310 one pilot wears a mask unless each has a quick-donning one."""
    known = worn(
        litres,
        level=310,
        ceiling=310,
        authority="us-135",
        psi=6.2,
        fitted={"quick_donning": quick},
        flight={"cruise_minutes": 60},
    )
    assert answer(known) == expected


#: A mask that delivers nothing up to a cabin altitude of 14,000 ft.
SLEEPS: dict[str, Any] = {"crew_normal_flow": ((10, 0), (140, 0), (150, 5000), (450, 5000))}


@pytest.mark.parametrize("minutes", [300, None])
def test_a_mask_that_waits_for_the_cabin_to_climb_draws_nothing(minutes: int | None) -> None:
    """Its table says 0 at the cabin altitudes of normal flight: no minutes need be said."""
    flight = {"cruise_minutes": minutes}
    assert answer(worn(170.0, fitted=SLEEPS, flight=flight)) == ("met", None)
    assert answer(worn(169.0, fitted=SLEEPS, flight=flight)) == ("not met", 250)


HELD: dict[str, Any] = {"hold_level": 130, "hold_minutes": 240, "final_descent_fpm": 1000}


@pytest.mark.parametrize(
    ("level", "litres", "expected"),
    [
        # Crew 8 x (0.5 + 22 / 3) + 240 x 5 + 3 x 5, passengers 9 x (0.5 + 20 / 3): 1,342.2 l.
        (350, 1_343.0, ("met", 350)),
        (350, 1_342.0, ("not met", 349)),
        # 8 x 8.5 + 1,215 + 9 x (0.5 + 22 / 3) = 1,353.5 l, and the worn mask 1,500 l.
        (370, 2_854.0, ("met", None)),
        # A level lower is 17 / 30 l less.
        (370, 2_853.0, ("not met", 369)),
        (370, 2_836.0, ("not met", 350)),
    ],
)
def test_a_flow_of_0_never_feeds_a_hold(
    level: int, litres: float, expected: tuple[str, int | None]
) -> None:
    """At 13,000 ft the crew breathe: by the flow that is entered, and by no flow of 0."""
    ceiling = 370
    assert answer(worn(litres, level=level, ceiling=ceiling, flight=HELD)) == expected
    for plenty in (litres, 50_000.0):
        known = worn(plenty, level=level, ceiling=ceiling, fitted=SLEEPS, flight=HELD)
        finding = found(known)
        assert (str(finding.outcome), finding.highest_level) == ("not on record", 0)
        assert "0 up to 14,000 ft is no supply" in finding.says
        assert "the flow that the mask delivers there" in finding.remedy
        assert list(gauges_needed(known)) == [("main", None, RATED_C)]


@pytest.mark.parametrize(
    ("zero_to", "litres", "expected"),
    [
        # The ten minutes above FL250 are counted from 10,000 ft up: the row there is enough.
        (90, 170.0, ("met", None)),
        (90, 169.0, ("not met", 250)),
        (100, 50_000.0, ("not on record", 150)),
        (160, 50_000.0, ("not on record", 150)),
    ],
)
def test_a_flow_of_0_is_no_supply_for_passengers(
    zero_to: int, litres: float, expected: tuple[str, int | None]
) -> None:
    """Up to FL150 91.211 asks nothing for them, and that remains."""
    rows = ((10, 0), (zero_to, 0), (zero_to + 10, 3000), (450, 3000))
    assert answer(worn(litres, level=350, ceiling=350, fitted={"passenger_flow": rows})) == expected


@pytest.mark.parametrize(
    ("code", "fitted", "expected"),
    [
        # 6 psi (413.7 hPa) at FL360 (227.3 hPa) hold 641 hPa, 12,200 ft: 91.211 asks nothing.
        ("us-91", SLEEPS, ("met", None)),
        # 10,000 ft (696.8 hPa) are held up to 283.1 hPa: 287.4 at FL310, 274.5 at FL320.
        ("eu-nco", SLEEPS, ("not on record", 313)),
        ("eu-nco", {}, ("met", None)),
    ],
)
def test_who_must_breathe_from_the_worn_mask_is_not_fed_by_0(
    code: str, fitted: dict[str, Any], expected: tuple[str, int | None]
) -> None:
    """Where the cabin alone asks oxygen of the crew, a mask that draws nothing is none."""
    known = worn(9_000.0, level=360, ceiling=360, psi=6.0, authority=code, fitted=fitted)
    assert answer(known) == expected


def test_what_is_not_known_limits_the_level_though_higher_ones_are_known() -> None:
    """Crew's flows from FL120, the cabin above 10,000 ft from FL314, the mask worn above FL350.

    The mask is counted below the first row of its table, the crew without one are not.
    """
    rows = {"crew_normal_flow": ((120, 5000), (450, 5000))}
    parts: dict[str, Any] = {"psi": 6.0, "authority": "eu-nco", "fitted": rows}
    for level in (314, 340, 350):
        assert answer(worn(50_000.0, level=level, **parts)) == ("not on record", 313)
    for level in (313, 351, 410):
        assert answer(worn(50_000.0, level=level, **parts))[0] == "met"


@pytest.mark.parametrize(("litres", "outcome"), [(250.0, "met"), (249.0, "not met")])
def test_a_second_pilot_who_is_named_breathes_too(litres: float, outcome: str) -> None:
    """A check on record may say one crew and name two: 10 x (2 x 8 + 9) l."""
    flight = {"crew": 1, "second_pilot": "TQU", "cruise_minutes": 300}
    finding = found(worn(litres, level=310, ceiling=310, flight=flight))
    assert str(finding.outcome) == outcome
    assert finding.says.startswith("FL310 with 2+3")


def test_without_the_minutes_at_the_level_it_is_not_on_record() -> None:
    """What is not said is no pass; up to FL350 no mask is worn, and that remains."""
    silent = {"cruise_minutes": None}
    finding = found(worn(1_669.0, flight=silent))
    assert (str(finding.outcome), finding.highest_level) == ("not on record", 350)
    assert finding.says == (
        "how long the pilot's mask is worn above FL350 is not said; counted up to FL350"
    )
    assert "--cruise-minutes" in finding.remedy
    assert answer(worn(1_669.0, level=350, flight=silent)) == ("met", 350)
    # Too little without any minutes is too little, and says no litres of a day.
    short = found(worn(169.0, flight=silent))
    assert (str(short.outcome), short.highest_level) == ("not met", 250)
    assert "170 l needed (legal minimum)" in short.says
    # A whole day is covered: 1,440 x 5 + 170 l.
    assert answer(worn(7_370.0, flight=silent)) == ("met", None)
    assert answer(worn(7_369.0, flight=silent)) == ("not on record", 350)


def test_the_whole_day_that_stands_in_is_said() -> None:
    """flight-data-missing names it where a mask is worn, and not below."""
    silent = {"cruise_minutes": None}
    said = [each.says for each in flight_data_missing.findings(worn(1.0, flight=silent))]
    assert said == ["assumed: a whole day at the planned level"]
    below = flight_data_missing.findings(worn(1.0, level=350, flight=silent))
    assert [str(each.outcome) for each in below] == ["met"]


def test_a_flow_that_is_not_on_record_is_not_taken_for_too_little() -> None:
    """Without a table the mask counts as undiluted: enough is a pass, short of it not known."""
    bare = {"crew_normal_flow": None}
    finding = found(worn(1_669.0, fitted=bare))
    assert (str(finding.outcome), finding.highest_level) == ("not on record", 350)
    assert finding.says.startswith("the flow of the mask worn above FL350 is not on record")
    assert "rvsmlog oxygen fit" in finding.remedy
    # 25.1443 states no flow above 40,000 ft.
    assert answer(worn(50_000.0, fitted=bare)) == ("met", 400)
    assert answer(worn(169.0, fitted=bare)) == ("not met", 250)


def test_a_continuous_flow_is_counted_at_the_cabin_altitude() -> None:
    """The crew's continuous flow is that of the same table: 5 x (10 + 300) + 90 l."""
    continuous: dict[str, Any] = {
        "crew_delivery": "continuous",
        "crew_modes": None,
        "crew_full_flow": None,
    }
    assert answer(worn(1_640.0, fitted=continuous)) == ("met", None)
    assert answer(worn(1_639.0, fitted=continuous)) == ("not met", 350)


def test_a_table_that_begins_above_the_cabin_counts_with_its_first_row() -> None:
    """By as much more as the air is denser: at FL350 9 psi hold 859 hPa, dry 597.3 mmHg.

    ICAO's standard atmosphere: 238.4 hPa at 35,000 ft, 595.2 hPa (dry 399.5 mmHg) at 14,000 ft. So
    5 l/min from 14,000 ft up are 5 x 597.3 / 399.5 = 7.476 at the cabin altitude, 2,243 l in 300
    minutes.
    """
    late = {"crew_normal_flow": ((140, 5000), (450, 5000))}
    finding = found(worn(5_000.0, fitted=late))
    assert str(finding.outcome) == "met"
    assert finding.values["worn_litres"] == pytest.approx(2_243, abs=2)


#: A table that ends at 3,000 ft; 9 psi hold 4,500 ft and more above FL350.
ENDS: dict[str, Any] = {"crew_normal_flow": ((10, 5000), (30, 5000))}


def test_a_table_that_ends_below_the_cabin_is_not_on_record() -> None:
    """It is never read beyond its last row; up to FL350 nothing is asked of it."""
    finding = found(worn(9_000.0, fitted=ENDS))
    assert (str(finding.outcome), finding.highest_level) == ("not on record", 350)
    assert "no oxygen flow at" in finding.says


def test_the_gauge_that_is_needed_counts_the_mask() -> None:
    """A cylinder that delivers 1,670 l when full must be full."""
    assert list(gauges_needed(worn(1_670.0))) == [("main", 1850, RATED_C)]
    assert list(gauges_needed(worn(1_669.0))) == [("main", None, RATED_C)]


#: Nothing at the 8,000 ft at which contaminated air is counted.
NO_FLOW = ((10, 0), (80, 0), (90, 8000), (450, 8000))


def contaminated(litres: float, **parts: Any) -> Finding:
    """Judge twenty minutes in contaminated air at 8 l/min, 160 l, with nobody else on board."""
    flight = {"contaminated_minutes": 20, "passengers": 0} | parts.pop("flight", {})
    (finding,) = contaminated_air_oxygen_short.findings(worn(litres, flight=flight, **parts))
    return finding


@pytest.mark.parametrize(
    ("litres", "parts", "outcome", "highest", "says"),
    [
        (1_660.0, {}, "met", None, "1660 l needed, 1500 l of it by the mask worn for 300 min"),
        (1_659.0, {}, "not met", 350, "1660 l needed"),
        (159.0, {}, "not met", 0, "160 l needed"),
        (160.0, {"level": 350}, "met", 350, "160 l needed"),
        (1_659.0, {"flight": {"cruise_minutes": None}}, "not on record", 350, "is not said"),
        (1_659.0, {"fitted": {"crew_normal_flow": None}}, "not on record", 350, "not on record"),
        (9_000.0, {"fitted": {"crew_full_flow": NO_FLOW}}, "not on record", 0, "is no supply"),
        (1_659.0, {"flight": {"hold_level": 360, "hold_minutes": 9}}, "not met", 0, "1660 l"),
    ],
)
def test_contaminated_air_comes_after_the_mask(
    litres: float, parts: dict[str, Any], outcome: str, highest: int | None, says: str
) -> None:
    """What the mask drew before is not there when smoke comes; lower levels remain."""
    finding = contaminated(litres, **parts)
    assert (str(finding.outcome), finding.highest_level) == (outcome, highest), finding.says
    assert says in finding.says


def test_contaminated_air_where_no_mask_is_worn_asks_nothing_of_the_level() -> None:
    """Two pilots at FL410, no table: 25.1443 states no flow up there, but 8,000 ft is what counts.

    20 minutes x 2 x 12.92 l/min: 20 l BTPS x 517.5 / 760 x 273.15 / 310.15 x 294.26 / 273.15.
    """
    bare = {"crew_normal_flow": None, "crew_full_flow": None}
    finding = contaminated(600.0, level=410, fitted=bare, flight={"crew": 2})
    assert (str(finding.outcome), finding.highest_level) == ("met", None)
    assert finding.values["needed_litres"] == pytest.approx(516.8, abs=0.5)


def test_contaminated_air_after_a_mask_of_unknown_flow() -> None:
    """A table that ends below the cabin leaves the levels at which no mask is worn."""
    finding = contaminated(9_000.0, fitted=ENDS)
    assert (str(finding.outcome), finding.highest_level) == ("not on record", 350)
    assert "no oxygen flow at" in finding.says
