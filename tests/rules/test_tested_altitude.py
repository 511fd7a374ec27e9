"""How high the altimeters were tested: 14 CFR 91.411(d) bars flight above that altitude."""

from typing import Any

import pytest

from rvsmlog.rules.tests_due import tested_too_low
from tests.rules.conftest import Make, on
from tests.rules.test_tests_due import having, with_unit


@pytest.mark.parametrize(
    ("tested_ft", "planned", "outcome", "highest"),
    [
        (31000, 310, "met", None),
        (30999, 310, "not met", 309),
        (30000, 300, "met", 300),
        (30000, 310, "not met", 300),
        (30000, None, "not met", 300),
        (31000, None, "met", None),
        (35000, 330, "met", None),
        (25000, 280, "not met", 250),
        (30000, 301, "not met", 300),
    ],
)
def test_the_tested_altitude_caps_the_level(
    make: Make, tested_ft: int, planned: int | None, outcome: str, highest: int | None
) -> None:
    """91.411(d): no higher than tested; below the certificated level the cap is always given."""
    facts = having(
        make,
        make.test(200, tested_altitude_ft=tested_ft),
        question=make.question(level=planned),
    )
    (row,) = make.rows(tested_too_low, facts)
    assert (row[0], row[2], row[3]) == (outcome, highest, (200,))


def test_the_lowest_tested_of_them_counts(make: Make) -> None:
    """All altimeters and the altitude reporting: the least altitude of them is the cap."""
    pair = (make.test(200, position="1"), make.test(201, position="2", tested_altitude_ft=29000))
    says = "altimeters tested to 29,000 ft only, FL310 wanted"
    assert make.rows(tested_too_low, having(make, *pair)) == [("not met", says, 290, (201,))]
    reporting = make.test(203, test="correspondence", tested_altitude_ft=20000)
    assert make.rows(tested_too_low, having(make, *pair, reporting))[0][2:] == (200, (203,))
    unstated = make.test(204, test="correspondence", done_on=on("2026-07-01"))
    newer = having(make, *pair, reporting, unstated)
    assert make.rows(tested_too_low, newer)[0][2] == 290


@pytest.mark.parametrize(
    ("later", "highest", "evidence"),
    [
        # System 1 keeps its 25,000 ft until system 1 itself is tested higher.
        ({"position": "2", "tested_altitude_ft": 35000}, 250, (210,)),
        ({"position": "2"}, 250, (210,)),
        ({"position": "standby", "tested_altitude_ft": 35000}, 250, (210,)),
        ({"position": "standby"}, 250, (210,)),
        ({"position": "2", "tested_altitude_ft": 20000}, 200, (211,)),
        ({"position": "1", "tested_altitude_ft": 29000}, 290, (211,)),
        ({"position": "all", "tested_altitude_ft": 30000}, 300, (211,)),
    ],
)
def test_a_correspondence_test_of_one_system_hides_none_of_the_other(
    make: Make, later: dict[str, Any], highest: int, evidence: tuple[int, ...]
) -> None:
    """91.411(d): no higher than all of the automatic altitude reporting was tested."""
    first = make.test(210, test="correspondence", position="1", tested_altitude_ft=25000)
    later = {"tested_altitude_ft": None} | later
    second = make.test(211, test="correspondence", done_on=on("2026-07-01"), **later)
    facts = having(make, make.test(200), first, second)
    assert make.rows(tested_too_low, facts)[0][2:] == (highest, evidence)


@pytest.mark.parametrize(
    ("stated", "top_ft", "tested_ft", "highest"),
    [
        (None, 31000, 31000, None),
        (None, 30999, 30999, 309),
        (None, 20000, 20000, 200),
        (35000, 31000, 31000, None),
        (35000, 30999, 30999, 309),
        (31000, 35000, 31000, None),
        (30000, 35000, 30000, 300),
    ],
)
def test_readings_tell_how_high_the_reporting_was_tested(
    make: Make, stated: int | None, top_ft: int, tested_ft: int, highest: int | None
) -> None:
    """91.411(d): readings that end below what is stated count, and where nothing is stated.

    The altimeters were tested to 35,000 ft; FL310 is planned and certificated.
    """
    reporting = make.test(53, test="correspondence", tested_altitude_ft=stated)
    read = make.readings(200, 53, correspondence=((0, 10), (top_ft, 20)))
    facts = having(make, make.test(50), reporting, readings=(read,))
    says = f"altimeters tested to {tested_ft:,} ft"
    ends = ": FL310 or lower" if highest is None else " only, FL310 wanted"
    outcome = "met" if highest is None else "not met"
    assert make.rows(tested_too_low, facts) == [(outcome, says + ends, highest, (53,))]


def test_an_altimeter_test_is_not_measured_by_the_altitude_reported(make: Make) -> None:
    """Its scale readings tell how high it went, not those of the altitude reported beside them."""
    read = make.readings(200, 50, scale_error=((0, 0), (35_000, 0)), correspondence=((0, 10),))
    facts = having(make, make.test(50), readings=(read,))
    rows = [("met", "altimeters tested to 35,000 ft: FL350 or lower", None, (50,))]
    assert make.rows(tested_too_low, facts) == rows


def test_a_correspondence_test_of_the_standby_limits_nothing(make: Make) -> None:
    """A standby reports no altitude to anybody: what it was compared to is not counted."""
    standby = make.test(210, test="correspondence", position="standby", tested_altitude_ft=20000)
    assert make.rows(tested_too_low, having(make, make.test(200), standby))[0][3] == (200,)


def test_a_bench_test_of_a_new_unit_caps_too(make: Make) -> None:
    """A unit fitted since and bench-tested to less limits the aeroplane."""
    units = with_unit(make, 200, "altimeter", "1", fitted_on=on("2027-02-01"), serial_number="N77")
    bench = make.test(
        201,
        position="1",
        unit_serial="N77",
        done_on=on("2026-01-20"),
        tested_altitude_ft=30000,
    )
    facts = having(make, bench, make.test(50), equipment=units)
    assert make.rows(tested_too_low, facts)[0][2:] == (300, (201,))


def test_without_a_good_test_no_altitude_is_on_record(make: Make) -> None:
    """Not tested, failed, or tested in one position only: nothing is proved."""
    says = "no passed altimeter test with its altitude on record for altimeter"
    old = make.test(203)
    object.__setattr__(old.record, "tested_altitude_ft", None)
    for tests, which in (
        ((), "s 1 and 2"),
        ((make.test(200, passed=False),), "s 1 and 2"),
        ((make.test(201, position="2"),), " 1"),
        ((old,), "s 1 and 2"),
    ):
        rows = [("not on record", says + which, 0, (1,))]
        assert make.rows(tested_too_low, having(make, *tests)) == rows


def test_met_says_up_to_which_level(make: Make) -> None:
    """The healthy airframe was tested to 35,000 ft."""
    rows = [("met", "altimeters tested to 35,000 ft: FL350 or lower", None, (50,))]
    assert make.rows(tested_too_low, make.facts()) == rows
    (margin,) = make.margins(tested_too_low, make.facts())
    assert str(margin) == "+4,000 ft"
