"""Large height errors: closed and confirmed, both sides of each limit.

Limits: 14 CFR 91 appendix G section 6, 245 ft of altimetry system error and 300 ft of total
vertical error (published); sections 2(e), 2(f) and 9(b), 200 ft for one aeroplane, and 2(d), 245 ft
(published). That a check must confirm the fix: AC 91-85B and JAA TGL 6, from memory.
"""

from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import DeviationCase, Facts
from rvsmlog.rules.deviations import deviation_open
from rvsmlog.rules.height_error import height_error_unconfirmed
from rvsmlog.rules.monitoring import height_monitoring_beyond_limits
from rvsmlog.standards.source import Status
from rvsmlog.standards.sources import source
from tests.rules.conftest import on

if TYPE_CHECKING:
    from tests.rules.conftest import Make

CHECK: dict[str, Any] = {"confirmation": "flight-check", "confirmed_on": on("2027-03-13")}


# A group applied for by 9 April 1997 has the limit at which an error is reported, 245 ft.
EARLIER = {"type_certificate": "to-1997-04-09"}


def closed(
    make: "Make", size: dict[str, int], airframe: dict[str, Any] | None = None, **closure: Any
) -> Facts:
    """Give facts with one deviation, entry 200, closed by entry 201."""
    closing = make.closure(201, 200, **closure)
    case: DeviationCase = make.deviation(200, **({"aad_ft": None} | size), closure=closing)
    return make.facts(
        airframe=make.airframe(**(airframe or {})), deviations=(case,), closures=(closing,)
    )


@pytest.mark.parametrize(
    ("size", "outcome"),
    [
        ({"ase_ft": 244}, "not applicable"),
        ({"ase_ft": 245}, "not met"),
        ({"ase_ft": -245}, "not met"),
        ({"tve_ft": 299}, "not applicable"),
        ({"tve_ft": -300}, "not met"),
        ({"aad_ft": 900}, "not applicable"),
        # Total vertical error is the algebraic sum: 200 + 150, 149 + 150, 200 - 150.
        ({"ase_ft": 200, "aad_ft": 150}, "not met"),
        ({"ase_ft": 149, "aad_ft": 150}, "not applicable"),
        ({"ase_ft": 150, "aad_ft": 150}, "not met"),
        ({"ase_ft": 200, "aad_ft": -150}, "not applicable"),
        ({"tve_ft": 100, "ase_ft": 200, "aad_ft": 150}, "not met"),
        # 290 - (-100) = 390 ft of altimetry system error.
        ({"tve_ft": 290, "aad_ft": -100}, "not met"),
        # The aeroplane was off the level, its altimetry in order: by itself that makes the total.
        ({"aad_ft": 310, "ase_ft": 0}, "not applicable"),
        ({"aad_ft": 310, "ase_ft": 0, "tve_ft": 310}, "not applicable"),
        ({"aad_ft": -310, "tve_ft": -310}, "not applicable"),
        ({"ase_ft": 0, "tve_ft": 310}, "not applicable"),
        ({"aad_ft": 310, "ase_ft": 244}, "not applicable"),
        ({"aad_ft": 310, "ase_ft": 245}, "not met"),
        ({"aad_ft": 300, "ase_ft": 1}, "not applicable"),
        ({"aad_ft": 299, "ase_ft": 1}, "not met"),
        ({"cleared_level": 310, "observed_level": 313, "tve_ft": 310}, "not applicable"),
        # Nothing of the altimetry on record, or parts that do not make the total.
        ({"tve_ft": 310}, "not met"),
        ({"tve_ft": 350, "aad_ft": 310, "ase_ft": 0}, "not met"),
        # 100 - (-200) = 300 ft of altimetry system error; 100 - (-100) = 200 ft.
        ({"cleared_level": 310, "observed_level": 308, "tve_ft": 100}, "not met"),
        ({"cleared_level": 310, "observed_level": 309, "tve_ft": 100}, "not applicable"),
    ],
)
def test_only_large_height_errors_want_a_confirmation(
    make: "Make", size: dict[str, int], outcome: str
) -> None:
    """Off the assigned level alone, at any size, the closure is enough."""
    facts = closed(make, size, EARLIER)
    rows = make.rows(height_error_unconfirmed, facts)
    assert [row[0] for row in rows] == [outcome]
    assert make.rows(deviation_open, facts)[0][0] in ("met", "advice")


@pytest.mark.parametrize(
    ("airframe", "ase_ft", "outcome"),
    [
        ({}, 200, "not applicable"),
        ({}, -201, "not met"),
        ({"rvsm_basis": "non-group"}, 200, "not applicable"),
        ({"rvsm_basis": "non-group"}, 201, "not met"),
        (EARLIER, 201, "not applicable"),
        (EARLIER, 244, "not applicable"),
        (EARLIER | {"rvsm_basis": "non-group"}, 201, "not met"),
    ],
)
@pytest.mark.parametrize("aad_ft", [None, 310])
def test_an_error_beyond_the_airframes_limit_wants_one_too(
    make: "Make", airframe: dict[str, str], ase_ft: int, outcome: str, aad_ft: int | None
) -> None:
    """Sections 2(e), 2(f): 200 ft; 2(d): 245 ft; whether or not the aeroplane was off its level."""
    sizes = {"ase_ft": ase_ft} | ({} if aad_ft is None else {"aad_ft": aad_ft})
    facts = closed(make, sizes, airframe)
    assert [row[0] for row in make.rows(height_error_unconfirmed, facts)] == [outcome]
    confirmed = closed(make, sizes, airframe, **CHECK)
    ends = "met" if outcome == "not met" else outcome
    assert [row[0] for row in make.rows(height_error_unconfirmed, confirmed)] == [ends]


def test_closed_is_not_enough(make: "Make") -> None:
    """Closed without a check: no RVSM, and the finding names both entries."""
    says = (
        "deviation #200: altimetry system error +260 ft closed 2027-03-13, "
        "no check confirms it put right"
    )
    rows = [("not met", says, 280, (200, 201))]
    assert make.rows(height_error_unconfirmed, closed(make, {"ase_ft": 260})) == rows


@pytest.mark.parametrize("check", ["functional-check", "flight-check", "monitored-flight"])
def test_a_check_confirms(make: "Make", check: str) -> None:
    """Each of the three checks does."""
    facts = closed(make, {"tve_ft": 320}, **(CHECK | {"confirmation": check}))
    says = "each large height error is closed and confirmed: 1, the last of 2027-03-12"
    rows = [("met", says, None, (200, 201))]
    assert make.rows(height_error_unconfirmed, facts) == rows


@pytest.mark.parametrize(("day", "outcome"), [("2027-03-14", "met"), ("2027-03-15", "not met")])
def test_a_check_of_tomorrow_confirms_nothing_today(make: "Make", day: str, outcome: str) -> None:
    """The question is asked on 14 March."""
    facts = closed(make, {"ase_ft": 260}, **(CHECK | {"confirmed_on": on(day)}))
    assert make.rows(height_error_unconfirmed, facts)[0][0] == outcome


@pytest.mark.parametrize(
    ("entry", "fields", "outcome"),
    [
        (202, {"measured_on": on("2027-03-14")}, "met"),
        (202, {"measured_on": on("2027-03-13")}, "met"),
        (199, {"measured_on": on("2027-03-13")}, "not met"),
        (202, {"measured_on": on("2027-03-12")}, "not met"),
        (202, {"measured_on": on("2027-03-14"), "ase_ft": 200}, "met"),
        (202, {"measured_on": on("2027-03-14"), "ase_ft": 201}, "not met"),
        (202, {"measured_on": on("2027-03-14"), "tve_ft": 300}, "not met"),
    ],
)
def test_a_later_monitoring_result_within_the_limits_confirms(
    make: "Make", entry: int, fields: dict[str, Any], outcome: str
) -> None:
    """It must come after the closure; of one day the order of the entries decides."""
    closing = make.closure(201, 200)
    case = make.deviation(200, ase_ft=260, aad_ft=None, closure=closing)
    facts = make.facts(
        deviations=(case,), closures=(closing,), monitoring=(make.monitoring(entry, **fields),)
    )
    assert make.rows(height_error_unconfirmed, facts)[0][0] == outcome


def test_an_open_deviation_is_a_finding_of_its_own(make: "Make") -> None:
    """Nothing is said twice."""
    facts = make.facts(deviations=(make.deviation(200, ase_ft=260, aad_ft=None),))
    assert make.rows(deviation_open, facts)[0][0] == "not met"
    assert make.rows(height_error_unconfirmed, facts)[0][0] == "not applicable"


def test_a_monitored_error_is_closed_too(make: "Make") -> None:
    """A good result after a bad one does not say what was wrong; closure and check do."""
    bad = make.monitoring(200, measured_on=on("2027-02-01"), ase_ft=201)
    good = make.monitoring(201, measured_on=on("2027-02-10"), ase_ft=60)
    parts: dict[str, Any] = {"monitoring": (bad, good)}
    says = "monitoring #200: altimetry system error +201 ft on 2027-02-01 is not closed"
    rows = [("not met", says, 280, (200,))]
    assert make.rows(height_error_unconfirmed, make.facts(**parts)) == rows
    assert make.rows(height_monitoring_beyond_limits, make.facts(**parts))[0][0] == "met"
    for closed_on, outcome in (("2027-02-09", "met"), ("2027-02-11", "not met")):
        closing = (make.closure(202, 200, closed_on=on(closed_on)),)
        facts = make.facts(closures=closing, **parts)
        assert make.rows(height_error_unconfirmed, facts)[0][0] == outcome
    checked = (make.closure(202, 200, closed_on=on("2027-02-11"), **CHECK),)
    facts = make.facts(closures=checked, **parts)
    assert make.rows(height_error_unconfirmed, facts)[0][0] == "met"


@pytest.mark.parametrize(("ase_ft", "outcome"), [(200, "not applicable"), (201, "not met")])
def test_both_sides_of_the_monitored_limit(make: "Make", ase_ft: int, outcome: str) -> None:
    """Appendix G section 2(e): 200 ft."""
    bad = make.monitoring(200, measured_on=on("2027-02-01"), ase_ft=ase_ft)
    good = make.monitoring(201, measured_on=on("2027-02-10"), ase_ft=60)
    facts = make.facts(monitoring=(bad, good))
    assert make.rows(height_error_unconfirmed, facts)[0][0] == outcome


def test_the_newest_result_beyond_limits_is_judged_by_its_own_rule(make: "Make") -> None:
    """Closed with a check it is advice to measure again; without one it bars."""
    bad = (make.monitoring(200, measured_on=on("2027-02-01"), ase_ft=-260, tve_ft=320),)
    bare = make.facts(monitoring=bad)
    assert [row[0] for row in make.rows(height_monitoring_beyond_limits, bare)] == ["not met"] * 2
    assert make.rows(height_error_unconfirmed, bare)[0][0] == "not applicable"
    uncertain = make.facts(monitoring=bad, closures=(make.closure(201, 200),))
    rows = make.rows(height_monitoring_beyond_limits, uncertain)
    assert [row[0] for row in rows] == ["not met"] * 2
    settled = make.facts(monitoring=bad, closures=(make.closure(201, 200, **CHECK),))
    assert make.rows(height_monitoring_beyond_limits, settled) == [
        (
            "advice",
            "altimetry system error -260 ft on 2027-02-01, limit 200 ft; "
            "put right, flight check 2027-03-13",
            None,
            (200, 201),
        ),
        (
            "advice",
            "total vertical error +320 ft on 2027-02-01, limit 300 ft; "
            "put right, flight check 2027-03-13",
            None,
            (200, 201),
        ),
    ]


def test_a_reportable_result_within_an_earlier_types_limit_is_closed_too(make: "Make") -> None:
    """A group type of before 9 April 1997 has 245 ft, from where it must be reported."""
    airframe = make.airframe(type_certificate="to-1997-04-09")
    result = (make.monitoring(200, measured_on=on("2027-02-01"), ase_ft=245),)
    facts = make.facts(airframe=airframe, monitoring=result)
    assert make.rows(height_monitoring_beyond_limits, facts)[0][0] == "advice"
    assert make.rows(height_error_unconfirmed, facts)[0][0] == "not met"


def test_it_says_that_the_source_is_from_memory() -> None:
    """Nothing recalled is passed off as read."""
    for key in ("ac-91-85b-4", "jaa-tgl-6"):
        assert key in height_error_unconfirmed.sources
        assert source(key).status is Status.MEMORY


@pytest.mark.parametrize(("day", "outcome"), [("2027-03-11", "not met"), ("2027-03-12", "met")])
def test_a_check_from_before_the_error_confirms_nothing(
    make: "Make", day: str, outcome: str
) -> None:
    """An error of 12 March is not put right by a flight check of the day before."""
    facts = closed(make, {"ase_ft": 245}, **(CHECK | {"confirmed_on": on(day)}))
    assert make.outcomes(height_error_unconfirmed, facts)[0][0] == outcome


@pytest.mark.parametrize(("day", "outcome"), [("2027-02-28", "not met"), ("2027-03-01", "advice")])
def test_a_result_beyond_limits_is_not_put_right_beforehand(
    make: "Make", day: str, outcome: str
) -> None:
    """A result of 1 March beyond the limit stands until a check of that day or later."""
    result = make.monitoring(200, ase_ft=230, measured_on=on("2027-03-01"))
    closing = make.closure(201, 200, **(CHECK | {"confirmed_on": on(day)}))
    facts = make.facts(monitoring=(result,), closures=(closing,))
    assert make.outcomes(height_monitoring_beyond_limits, facts)[0][0] == outcome


def test_the_worked_out_total_is_named(make: "Make") -> None:
    """What was typed as one figure or as its parts is the same error."""
    says = (
        "deviation #200: total vertical error +350 ft{} closed 2027-03-13, "
        "no check confirms it put right"
    )
    for size, more in (
        ({"tve_ft": 350}, ""),
        ({"ase_ft": 200, "aad_ft": 150}, ""),
        (
            {"tve_ft": 100, "ase_ft": 200, "aad_ft": 150},
            " (total stated +100 ft, parts make +350 ft: the greater counts)",
        ),
    ):
        rows = [("not met", says.format(more), 280, (200, 201))]
        assert make.rows(height_error_unconfirmed, closed(make, size)) == rows
