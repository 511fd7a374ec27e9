"""Readings of a test: entered, imported by point, shown with tolerance, margin and result.

Tolerances beside the readings: 14 CFR Part 43 Appendix E, Tables I to IV; 25.1325(c)(2); 2026
text; published.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cli

REG = "QX-ABC"
PASSES_TABLE_I = """\
check,point,reading_ft,dwell_s
scale,0,+5,60
scale,10000,-20,75
scale,30000,-120,59
hysteresis,15000,40,300
hysteresis,12000,35,60
after-effect,,10,
friction,1000,20,
case-leak,,30,
barometric,28.1,-1730,
static-leak,5.75,180,
correspondence,30000,-25,
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Give a file with the points of a test."""
    path = tmp_path / "bench.csv"
    path.write_text(PASSES_TABLE_I)
    return path


def own_limit(cli: "Cli") -> None:
    """Enter the airframe's own limit, 60 ft at FL290, and its cabin differential."""
    cli.ok(
        *("airframe", "add", "--registration", REG, "--type-designator", "VK71"),
        *("--serial-number", "1007", "--authority", "us-91", "--rvsm-basis", "group"),
        *("--type-certificate", "after-1997-04-09", "--highest-level", "310"),
        *("--altimeter-scale-limit", "290:60,350:80", "--max-differential-psi", "5.75"),
    )


def a_test(cli: "Cli") -> str:
    """Enter a test of altimeter 1 and give its entry."""
    ran = cli.ok(
        *("test", "add", REG, "--test", "altimeter-static", "--done-on", "2024-06-05"),
        *("--passed", "yes", "--tested-altitude-ft", "31000", "--position", "1", "--json"),
    )
    return str(ran.json["entry"])


def points(judgement: Any) -> dict[tuple[str, float | None], tuple[Any, ...]]:
    """Give each point with its tolerance, its margin, and whether it is within."""
    return {
        (point["item"], point["point"]): (
            point["tolerance_ft"],
            point["margin_ft"],
            point["within"],
        )
        for point in judgement["points"]
    }


def test_points_are_imported_and_judged(small: "Cli", file: Path) -> None:
    """Each point beside its published tolerance; Table I passed, the own limit not."""
    own_limit(small)
    entry = a_test(small)
    answer = small.ok("test", "import-points", REG, entry, str(file), "--json").json
    assert (answer["kind"], answer["test"]) == ("test-readings", int(entry))
    judged = answer["judgement"]
    assert points(judged) == {
        ("scale error", 0): (20, 15, True),
        ("scale error", 10_000): (80, 60, True),
        ("scale error", 30_000): (180, 60, True),
        ("hysteresis", 15_000): (75, 35, True),
        ("hysteresis", 12_000): (75, 40, True),
        ("after effect", None): (30, 20, True),
        ("friction", 1_000): (70, 50, True),
        ("case leak", None): (100, 70, True),
        ("barometric scale", 28.1): (25, 22, True),
        ("static leak", 5.75): (262.1, 82.1, True),
        ("correspondence", 30_000): (125, 100, True),
    }
    assert (judged["within_appendix_e"], judged["within_own_limit"]) == (True, False)
    own = {
        each["point"]: each["own_margin_ft"] for each in judged["points"] if each["own_limit_ft"]
    }
    assert own == {30_000: -60}
    kept = {step["says"]: step["kept"] for step in judged["steps"]}
    assert kept["30,000 ft kept 59 s, wanted 60 to 600"] is False
    assert kept["10,000 ft kept 75 s, wanted 60 to 600"] is True


def test_a_test_is_shown_with_its_readings(small: "Cli", file: Path) -> None:
    """By the entry of the test or of its readings, in words and within 80 columns."""
    own_limit(small)
    entry = a_test(small)
    bare = small.ok("test", "show", REG, entry).out
    assert "no readings on record" in bare
    small.ok("test", "import-points", REG, entry, str(file))
    out = small.ok("test", "show", REG, entry).out
    assert all(len(line) <= 80 for line in out.splitlines())
    flat = " ".join(out.split())
    assert "scale error 30,000 ft -120 180 +60 60 -60 BEYOND OWN" in flat
    assert "hysteresis 15,000 ft +40 75 +35 within" in flat
    assert "DEPARTS: scale error: 30,000 ft kept 59 s, wanted 60 to 600" in flat
    assert "Appendix E: each of 11 readings is within its tolerance; not all" in flat
    assert "Own RVSM limit: NOT kept: -120 ft at 30,000 ft, limit 60 ft." in flat
    assert "±175 to ±235 ft, wider than the 80 ft" in flat
    assert "An aid, not a release" in flat
    readings = small.ok("test", "list", REG, "--kind", "test-readings", "--json").json[0]["entry"]
    shown = small.ok("test", "show", REG, str(readings), "--json").json
    assert (shown["kind"], shown["judgement"]["test"]) == ("test-readings", int(entry))


def test_readings_beyond_table_i_say_that_the_test_claims_otherwise(small: "Cli") -> None:
    """181 ft at 30,000 ft; without an own limit that is said too."""
    entry = a_test(small)
    out = small.ok("test", "readings", REG, entry, "--scale-error", "0:+5,30000:-181").out
    flat = " ".join(out.split())
    assert "scale error 30,000 ft -181 180 -1 BEYOND" in flat
    assert (
        "NOT passed: scale error -181 ft at 30,000 ft, limit 180 ft; the test is recorded" in flat
    )
    assert "Own RVSM limit of scale error: not on record" in flat


def test_readings_of_another_test_have_no_caution_about_table_i(small: "Cli") -> None:
    """A leak check has no scale error."""
    check = small.ok(
        *("test", "add", REG, "--test", "leak-check", "--done-on", "2024-06-05"),
        *("--passed", "yes", "--json"),
    ).json["entry"]
    out = small.ok("test", "readings", REG, str(check), "--static-leak", "5.75:90").out
    assert "Appendix E: the one reading is within its tolerance." in " ".join(out.split())
    assert "Table I" not in out


def test_bad_rows_are_named_and_nothing_is_written(small: "Cli", file: Path) -> None:
    """Every bad row by its line; the exit status is that of bad input."""
    entry = a_test(small)
    file.write_text("check,point,reading_ft\nscale,0,5\nscale,high,5\nwidth,0,5\n")
    before = small.seals()
    ran = small("test", "import-points", REG, entry, str(file))
    assert (ran.status, ran.out) == (2, "")
    assert "error: 2 bad rows; nothing was written" in ran.err
    assert "line 3, point: 'high' is no altitude in feet" in ran.err
    assert "line 4, check: is not known here" in ran.err
    assert small.seals() == before


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("friction,29000,5", "friction: 29000 ft is no test point of Table III"),
        ("barometric,28.11,5", "barometric: 28.11 inHg is no setting of Table IV"),
    ],
)
def test_points_between_the_rows_of_tables_iii_and_iv_are_refused(
    small: "Cli", file: Path, rows: str, says: str
) -> None:
    """They are not interpolated: the appendix lists where they are tested."""
    entry = a_test(small)
    file.write_text(f"check,point,reading_ft\n{rows}\n")
    ran = small("test", "import-points", REG, entry, str(file))
    assert ran.status == 2
    assert says in ran.err


def test_readings_belong_to_a_test(small: "Cli", file: Path) -> None:
    """Not to another entry, and to each test once."""
    ran = small("test", "import-points", REG, "2", str(file))
    assert ran.status == 2
    assert "test: VK71-1007#2 is equipment fitted" in ran.err
    entry = a_test(small)
    small.ok("test", "import-points", REG, entry, str(file))
    again = small("test", "import-points", REG, entry, str(file))
    assert "has its readings of a test already" in again.err


def test_a_makers_specification_is_told_apart(small: "Cli") -> None:
    """Appendix E(b)(2): 80 ft of hysteresis are the maker's business, the scale error is not."""
    entry = a_test(small)
    out = small.ok(
        *("test", "readings", REG, entry, "--specification", "maker"),
        *("--scale-error", "0:+5,30000:-60", "--hysteresis", "15000:+80"),
    ).out
    flat = " ".join(out.split())
    assert "hysteresis 15,000 ft +80 75 -5 the maker's" in flat
    assert "Appendix E: each of 3 readings is within its tolerance" not in flat
    assert "Appendix E: passed by each reading that it binds" in flat


def test_an_own_limit_kept_is_said_with_what_is_left(small: "Cli") -> None:
    """50 ft at 30,000 ft, limit 60 ft; without a reading at RVSM levels that is said."""
    own_limit(small)
    kept = small.ok("test", "readings", REG, a_test(small), "--scale-error", "0:0,30000:50").out
    assert "kept, 10 ft left at 30,000 ft (limit 60 ft)" in " ".join(kept.split())
    low = small.ok("test", "readings", REG, a_test(small), "--scale-error", "0:0,25000:50").out
    assert "no reading at RVSM levels on record" in " ".join(low.split())
