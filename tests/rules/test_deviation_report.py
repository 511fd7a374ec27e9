"""Reports of deviations: appendix G section 6, SPA.RVSM.115 (72 h), European and regional forms."""

from datetime import timedelta
from typing import Any

import pytest

from rvsmlog.answers.deviation_report import (
    NOT_KNOWN,
    DeviationReport,
    deviation_report,
    due_text,
    sort_text,
)
from rvsmlog.rules.deviations import deviation_open, sizes_ft
from tests.rules.conftest import Make, at

OCCURRED = at("2027-03-12", "02:00")
NO_SIZE: dict[str, Any] = {"aad_ft": None}


def report(make: Make, code: str = "eu-nco", **fields: Any) -> DeviationReport:
    """Give the report of one deviation."""
    case = make.deviation(200, **fields)
    airframe = make.airframe(authority=code).record
    return deviation_report(case, airframe, make.operator(designator="QXA").record)


@pytest.mark.parametrize(
    ("sizes", "sorts"),
    [
        ({"tve_ft": 300}, "to be reported: total vertical error (TVE)"),
        ({"tve_ft": 299}, "below each limit of a report: total vertical error (TVE)"),
        ({"ase_ft": -245}, "to be reported: altimetry system error (ASE)"),
        ({"ase_ft": 244}, "below each limit of a report: altimetry system error (ASE)"),
        ({"aad_ft": -300}, "to be reported: assigned altitude deviation (AAD)"),
        ({"aad_ft": 299}, "below each limit of a report: assigned altitude deviation (AAD)"),
        (
            {"cleared_level": 310, "observed_level": 313},
            "to be reported: assigned altitude deviation (AAD)",
        ),
        # TVE is the algebraic sum of ASE and AAD: 100 + 200, and 100 - 200.
        ({"ase_ft": 100, "aad_ft": 200}, "to be reported: total vertical error (TVE)"),
        (
            {"ase_ft": 100, "aad_ft": 199},
            "below each limit of a report: total vertical error (TVE), "
            "altimetry system error (ASE), assigned altitude deviation (AAD)",
        ),
        (
            {"ase_ft": 245, "aad_ft": 300},
            "to be reported: total vertical error (TVE), altimetry system error (ASE), "
            "assigned altitude deviation (AAD)",
        ),
        ({"ase_ft": 100, "aad_ft": -300}, "to be reported: assigned altitude deviation (AAD)"),
        # A total that is stated does not take the place of the sum: the greater counts.
        (
            {"tve_ft": 0, "ase_ft": 200, "aad_ft": 200},
            "to be reported: total vertical error (TVE); total stated +0 ft, parts make +400 ft: "
            "the greater counts",
        ),
        (
            {"tve_ft": -310, "ase_ft": 20, "aad_ft": -200},
            "to be reported: total vertical error (TVE); total stated -310 ft, parts make -180 ft: "
            "the greater counts",
        ),
        (
            {"tve_ft": 350, "ase_ft": 200, "aad_ft": 150},
            "to be reported: total vertical error (TVE)",
        ),
        # 290 - (-100) = 390 of altimetry; 290 - (-60) = 350 off the level.
        ({"tve_ft": 290, "aad_ft": -100}, "to be reported: altimetry system error (ASE)"),
        ({"tve_ft": 290, "ase_ft": -60}, "to be reported: assigned altitude deviation (AAD)"),
        (
            {"tve_ft": 144, "aad_ft": -100},
            "below each limit of a report: total vertical error (TVE), "
            "altimetry system error (ASE), assigned altitude deviation (AAD)",
        ),
        # Levels are whole hundreds of feet; 290 - 0 and 100 - (-200) are large all the same.
        (
            {"tve_ft": 290, "cleared_level": 310, "observed_level": 310},
            "to be reported: altimetry system error (ASE)",
        ),
        (
            {"tve_ft": 100, "cleared_level": 310, "observed_level": 308},
            "to be reported: altimetry system error (ASE)",
        ),
        (
            {"tve_ft": 100, "cleared_level": 310, "observed_level": 309},
            "below each limit of a report: total vertical error (TVE), "
            "altimetry system error (ASE), assigned altitude deviation (AAD)",
        ),
    ],
)
def test_a_deviation_is_sorted(make: Make, sizes: dict[str, Any], sorts: str) -> None:
    """Each sort at its limit and a foot below it."""
    assert sort_text(make.deviation(200, **(NO_SIZE | sizes)).deviation.record) == sorts


def test_the_worked_out_total_bars_rvsm(make: Make) -> None:
    """100 ft of altimetry and 200 ft off the level are 300 ft: FL280 until it is closed."""
    case = make.deviation(200, ase_ft=100, aad_ft=200)
    row = make.rows(deviation_open, make.facts(deviations=(case,)))[0]
    assert row[0] == "not met"
    assert row[2] == 280
    assert "total vertical error +300 ft, limit 300 ft" in row[1]
    assert sizes_ft(case.deviation.record)["tve_ft"] == 300
    closed = make.deviation(
        200,
        ase_ft=100,
        aad_ft=200,
        reported_at=OCCURRED + timedelta(hours=3),
        closure=make.closure(201, 200),
    )
    assert make.rows(deviation_open, make.facts(deviations=(closed,)))[0][0] == "met"


@pytest.mark.parametrize("code", ["eu-nco", "eu-cat", "uk-nco", "uk-cat"])
def test_europe_and_the_united_kingdom_give_72_hours(make: Make, code: str) -> None:
    """SPA.RVSM.115: from 12 March 02:00 until 15 March 02:00."""
    made = report(make, code)
    assert made.due_at == at("2027-03-15", "02:00")
    due = "report due 2027-03-15T02:00Z"
    assert due_text(made, at("2027-03-15", "02:00")) == due
    assert due_text(made, at("2027-03-15", "02:01")) == f"{due}, overdue"


@pytest.mark.parametrize("code", ["us-91", "us-135", "au-91", "nz-91"])
def test_elsewhere_no_time_is_set(make: Make, code: str) -> None:
    """Appendix G section 6 states none; none was found for Australia and New Zealand."""
    made = report(make, code)
    assert made.due_at is None
    assert "sets no time for the report" in due_text(made, at("2027-04-01"))


@pytest.mark.parametrize(
    ("told", "ending"),
    [
        ("02:00", "; reported at 2027-03-15T02:00Z"),
        ("02:01", "; reported at 2027-03-15T02:01Z, late"),
    ],
)
def test_a_report_that_was_made(make: Make, told: str, ending: str) -> None:
    """In time up to the last minute, then late."""
    made = report(make, reported_at=at("2027-03-15", told))
    assert due_text(made, at("2027-04-01")) == f"report due 2027-03-15T02:00Z{ending}"


def test_a_small_one_asks_no_report(make: Make) -> None:
    """Below each limit nothing is due."""
    made = report(make, aad_ft=299)
    assert (made.reportable, made.due_at) == (False, None)
    assert due_text(made, at("2027-04-01")) == "no report is asked"


def test_every_field_of_the_forms_is_there(make: Make) -> None:
    """Boxes 1 to 13 of the European form and the fields of the regional one; N/K where unknown."""
    bare = report(make)
    assert [title for title, value in bare.fields.items() if value == NOT_KNOWN] == [
        "FIR or air traffic unit",
        "ATS route",
        "position",
        "cleared level",
        "level displayed to the controller",
        "observed level",
        "time off the level",
        "level cleared afterwards",
        "cause",
        "other traffic and separation",
    ]
    full = report(
        make,
        unit="QXXX FIR",
        route="UX 12",
        position="38N 100W",
        callsign="qxa12",
        cleared_level=310,
        displayed_level=313,
        observed_level=313,
        subsequent_level=290,
        duration_s=45,
        cause="acas",
        traffic="none near",
        remarks="crew told at once",
    )
    assert NOT_KNOWN not in full.fields.values()
    assert full.fields["date of the event"] == "2027-03-12"
    assert full.fields["time (UTC)"] == "02:00"
    assert full.fields["operator designator"] == "QXA"
    assert full.fields["callsign"] == "qxa12"
    assert full.fields["aircraft type"] == "VK71"
    assert full.fields["time off the level"] == "45 s"
    assert full.fields["level cleared afterwards"] == "FL290"
    assert full.fields["assigned altitude deviation (AAD)"] == (
        "+300 ft, limit 300 ft, to be reported"
    )


def test_general_aviation_and_unknown_operators(make: Make) -> None:
    """Without a designator the regional form writes IGA; an operator unknown is N/K."""
    airframe = make.airframe().record
    made = deviation_report(make.deviation(200), airframe, make.operator().record)
    assert made.fields["operator designator"] == "IGA"
    nobody = deviation_report(make.deviation(200), airframe, None)
    assert nobody.fields["operator"] == NOT_KNOWN
    assert nobody.fields["callsign"] == "QXABC"


@pytest.mark.parametrize(
    ("sizes", "side"),
    [
        ({"aad_ft": 300}, "above"),
        ({"aad_ft": -300}, "below"),
        ({"aad_ft": None, "tve_ft": -400}, "below"),
        ({"aad_ft": None, "ase_ft": 250}, NOT_KNOWN),
        ({"aad_ft": 0, "tve_ft": 300}, NOT_KNOWN),
    ],
)
def test_on_which_side_it_was(make: Make, sizes: dict[str, Any], side: str) -> None:
    """By the sign of the deviation from the level, else of the total."""
    assert report(make, **sizes).fields["above or below"] == side


def test_a_closure_is_part_of_the_report(make: Make) -> None:
    """Cause found, measures, and who confirmed them."""
    case = make.deviation(200, closure=make.closure(201, 200))
    made = deviation_report(case, make.airframe().record, None)
    assert made.closed
    assert made.fields["cause found and measures"] == "autopilot computer exchanged"
    assert made.fields["confirmed by"] == "R. Tan, 2027-03-13"
