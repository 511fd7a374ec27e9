"""The primary altimeters against the elevation of the field: the check on the ground.

75 ft: AMC to SPA.RVSM.105(b), published; there it holds for the two against each other as well,
which the circular of the United States leaves to the manual (from memory).
"""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.altimetry import ground_check_out_of_limit

if TYPE_CHECKING:
    from tests.rules.conftest import Make


PUBLISHED_GROUND_FT = 75
BELOW_RVSM = 280


def on_ground(make: "Make", one: int, two: int, **parts: object) -> Facts:
    """Give facts with one check on a field at 640 ft, by the errors of the two altimeters."""
    reading = make.crosscheck(
        200, "2027-03-12", "00:10", "ground", primary_1_ft=640 + one, primary_2_ft=640 + two
    )
    return make.facts(**({"crosschecks": (reading,)} | parts))


@pytest.mark.parametrize(
    ("one", "two", "expected"),
    [
        (75, 0, ("met", None, (200,), 0)),
        (0, -75, ("met", None, (200,), 0)),
        (76, 0, ("not met", BELOW_RVSM, (200,), -1)),
        (10, -76, ("not met", BELOW_RVSM, (200,), -1)),
        (75, -75, ("advice", None, (200,), 0)),
    ],
)
def test_ground_check_against_the_elevation(
    make: "Make", one: int, two: int, expected: tuple[str, int | None, tuple[int, ...], int]
) -> None:
    """Either altimeter more than 75 ft from the elevation fails, above or below it."""
    facts = on_ground(make, one, two)
    assert make.outcomes(ground_check_out_of_limit, facts) == [expected]
    assert make.numbers(ground_check_out_of_limit, facts) == [
        (
            {
                "error_1_ft": one,
                "error_2_ft": two,
                "difference_ft": one - two,
                "taken_at": "2027-03-12T00:10Z",
            },
            {"tolerance_ft": PUBLISHED_GROUND_FT},
        )
    ]


@pytest.mark.parametrize(("error", "outcome"), [(40, "met"), (41, "not met")])
def test_own_ground_tolerance_tightens(make: "Make", error: int, outcome: str) -> None:
    """The airframe's own tolerance on the ground takes the place of a looser published one."""
    facts = on_ground(make, error, 0, airframe=make.airframe(ground_tolerance_ft=40))
    (finding,) = ground_check_out_of_limit.findings(facts)
    assert (str(finding.outcome), finding.limits) == (outcome, {"tolerance_ft": 40})


@pytest.mark.parametrize(
    ("one", "two", "expected"),
    [
        (30, -20, ("met", None, (200,), 45)),
        (-20, 30, ("met", None, (200,), 45)),
        (30, -21, ("not met", BELOW_RVSM, (200,), -1)),
        (-21, 30, ("not met", BELOW_RVSM, (200,), -1)),
        (75, 24, ("not met", BELOW_RVSM, (200,), -1)),
        (76, 0, ("not met", BELOW_RVSM, (200,), -1)),
    ],
)
@pytest.mark.parametrize("code", ["us-91", "eu-nco"])
def test_primaries_agree_on_the_ground_within_the_own_tables_lowest_row(
    make: "Make",
    code: str,
    one: int,
    two: int,
    expected: tuple[str, int | None, tuple[int, ...], int],
) -> None:
    """Between the primaries on the ground a tighter row of the airframe's own table holds."""
    airframe = make.airframe(authority=code, primary_tolerance=((50, 50), (290, 120)))
    facts = on_ground(make, one, two, airframe=airframe)
    assert make.outcomes(ground_check_out_of_limit, facts) == [expected]
    assert make.numbers(ground_check_out_of_limit, facts)[0][1] == {
        "tolerance_ft": PUBLISHED_GROUND_FT,
        "difference_tolerance_ft": 50,
    }


@pytest.mark.parametrize("code", ["eu-nco", "eu-cat", "uk-nco", "uk-cat", "au-91", "nz-91"])
@pytest.mark.parametrize("table", [None, ((250, 180),)])
@pytest.mark.parametrize(
    ("one", "two", "outcome", "left"),
    [
        (37, -38, "met", 37),
        (38, -38, "not met", -1),
        (-38, 38, "not met", -1),
        (75, -75, "not met", -75),
    ],
)
def test_europes_75_ft_hold_between_the_primaries_too(
    make: "Make", code: str, table: Any, one: int, two: int, outcome: str, left: int
) -> None:
    """AMC1 SPA.RVSM.105(b)(iii): one greatest value for the known altitude and the agreement."""
    airframe = make.airframe(authority=code, primary_tolerance=table)
    facts = on_ground(make, one, two, airframe=airframe)
    level = BELOW_RVSM if outcome == "not met" else None
    assert make.outcomes(ground_check_out_of_limit, facts) == [(outcome, level, (200,), left)]
    if outcome == "not met":
        says = f"altimeters {abs(one - two)} ft apart, limit 75 ft, on 2027-03-12T00:10Z"
        assert make.says(ground_check_out_of_limit, facts) == says


@pytest.mark.parametrize("code", ["us-91", "us-135"])
@pytest.mark.parametrize(
    ("table", "one", "two", "outcome"),
    [
        (None, 37, -38, "met"),
        (None, 38, -38, "advice"),
        (None, 76, -75, "not met"),
        (((250, 180),), 37, -38, "met"),
        (((250, 180),), 75, -75, "advice"),
        (((250, 140),), 75, -65, "advice"),
        (((250, 140),), 75, -66, "not met"),
    ],
)
def test_the_united_states_leave_it_to_the_manual(
    make: "Make", code: str, table: Any, one: int, two: int, outcome: str
) -> None:
    """From memory: the circular ties 75 ft to the elevation; of the rest the manual speaks."""
    airframe = make.airframe(authority=code, primary_tolerance=table)
    facts = on_ground(make, one, two, airframe=airframe)
    ((found, level, _, _),) = make.outcomes(ground_check_out_of_limit, facts)
    assert (found, level) == (outcome, BELOW_RVSM if outcome == "not met" else None)
    known = "none on record" if table is None else f"{table[0][1]} ft by the lowest row on record"
    note = f"; altimeters {one - two} ft apart, the manual's limit: {known}"
    assert make.says(ground_check_out_of_limit, facts).endswith(note) == (outcome == "advice")


def test_newest_ground_check_counts(make: "Make") -> None:
    """A good check after a bad one passes, and a bad one after a good one fails."""
    good = make.crosscheck(200, "2027-03-12", "00:10", "ground")
    bad = make.crosscheck(201, "2027-03-12", "03:50", "after-flight", primary_1_ft=740)
    assert make.outcomes(ground_check_out_of_limit, make.facts(crosschecks=(bad, good))) == [
        ("met", None, (200,), 65)
    ]
    assert make.outcomes(ground_check_out_of_limit, make.facts(crosschecks=(good, bad))) == [
        ("not met", BELOW_RVSM, (201,), -25)
    ]


def test_no_ground_check_is_advice(make: "Make") -> None:
    """Without any check on the ground the finding asks for one and limits nothing."""
    in_flight = (make.crosscheck(200, "2027-03-12", "02:10"),)
    facts = make.facts(crosschecks=in_flight)
    assert make.outcomes(ground_check_out_of_limit, facts) == [("advice", None, (1,), None)]
    unknown = on_ground(make, 90, 0)
    object.__setattr__(unknown.crosschecks[0].record, "field_elevation_ft", None)
    assert make.outcomes(ground_check_out_of_limit, unknown) == [("advice", None, (1,), None)]


def test_ground_check_from_before_work_is_set_aside(make: "Make") -> None:
    """A bad check no longer counts after later work; one of the day of the work does."""
    after = on_ground(make, 90, 0, work=(make.work(201, "2027-03-13"),))
    same_day = on_ground(make, 90, 0, work=(make.work(201, "2027-03-12"),))
    since = make.facts(
        work=(make.work(201, "2027-03-13"),),
        crosschecks=(
            make.crosscheck(200, "2027-03-12", "00:10", "ground"),
            make.crosscheck(202, "2027-03-14", "00:10", "ground"),
        ),
    )
    assert make.outcomes(ground_check_out_of_limit, since) == [("met", None, (202,), 65)]
    assert make.outcomes(ground_check_out_of_limit, after) == [("advice", None, (201,), None)]
    assert "2027-03-13" in make.says(ground_check_out_of_limit, after)
    assert make.outcomes(ground_check_out_of_limit, same_day) == [
        ("not met", BELOW_RVSM, (200,), -15)
    ]
