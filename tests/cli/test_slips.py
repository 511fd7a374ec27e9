"""A reading that lost a digit is asked for again, by whatever way it comes; confirmed it stands."""

import xml.etree.ElementTree as ET
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.records.slips import SLIP_FT
from tests.cli.conftest import REG, Cli

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Ran

SLIP = ("crosscheck", "log", REG, "--taken-at", "2024-05-02T10:00Z", "--phase", "before-entry")
READ = ("--level", "270", "--primary-1-ft", "27000")
SHORT = ("--primary-2-ft", "2698")
SURE = "--readings-confirmed"
SVG = "{http://www.w3.org/2000/svg}"


def readings(cli: Cli) -> list[int]:
    """Give altimeter 2 of each standing check."""
    return [each["primary_2_ft"] for each in cli.ok("crosscheck", "list", REG, "--json").json]


def test_a_lost_digit_is_refused_until_it_is_confirmed(
    small: Cli, check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """2,698 ft for 26,980 at FL270 is 24,302 ft off; what confirms it is named."""
    before = small.seals()
    ran = small(*SLIP, *READ, *SHORT)
    check_one_line(ran, 2)
    assert "--primary-2-ft: 2698 ft is 24302 ft from FL270" in ran.err
    assert SURE in ran.err
    assert small.seals() == before
    said = small.ok(*SLIP, *READ, *SHORT, SURE).out
    assert "BEYOND TOLERANCE: altimeters 24302 ft apart" in said
    assert readings(small)[-1] == 2698


def test_once_confirmed_it_judges_as_any_reading(small: Cli) -> None:
    """It is never dropped: the rule finds the altimeters apart."""
    small.ok(*SLIP, *READ, *SHORT, SURE)
    answer = small("gonogo", REG, "--level", "310", "--at", "2024-05-03T08:00Z", "--json").json
    found = [each for each in answer["findings"] if each["rule"] == "altimeters-disagree"]
    assert [(each["outcome"], each["values"]["difference_ft"]) for each in found] == [
        ("not met", 24302)
    ]


@pytest.mark.parametrize(("off", "status"), [(SLIP_FT, 0), (SLIP_FT + 1, 2)])
def test_both_sides_of_the_bound(small: Cli, off: int, status: int) -> None:
    """At the bound a reading is taken as it is, one foot further it is asked for again."""
    assert small(*SLIP, *READ, "--primary-2-ft", str(27000 - off)).status == status


def test_a_correction_is_asked_for_what_it_changes_only(small: Cli) -> None:
    """A slip in the correction is refused; one that was confirmed before need not be again."""
    (entry,) = small.ok("crosscheck", "list", REG, "--json").json
    change = ("crosscheck", "log", REG, "--corrects", str(entry["entry"]), "--reason", "test")
    assert small(*change, "--primary-2-ft", "3104").status == 2
    small.ok(*change, "--primary-2-ft", "3104", SURE)
    newest = small.ok("crosscheck", "list", REG, "--json").json[-1]["entry"]
    again = ("crosscheck", "log", REG, "--corrects", str(newest), "--reason", "test")
    small.ok(*again, "--remarks", "read so, twice")
    assert readings(small)[-1] == 3104


def test_what_came_with_the_command_is_asked_for_again_in_the_dialogue(small: Cli) -> None:
    """Enter confirms nothing; the reading typed again does, and the one line says so."""
    guided = (*SLIP, *READ, *SHORT, "--guided")
    passed = "\n" * 8
    ran = small.ok(*guided, typed=f"{passed}\n2698\nyes\nno\n")
    assert "2698 ft is 24302 ft from FL270: type it again to keep it" in ran.out
    assert SURE in ran.out.split("in one line:")[1]
    assert readings(small)[-1] == 2698


def test_a_level_changed_at_the_end_puts_the_readings_in_doubt(small: Cli) -> None:
    """FL270 typed for FL310: the readings are held against the level that counts at last."""
    guided = ("crosscheck", "log", REG, "--guided", "--taken-at", "2024-05-02T10:00Z")
    flown = (*("--phase", "hourly", "--primary-1-ft", "31000"), "--primary-2-ft", "31040")
    passed = "\n" * 8
    typed = f"310\n{passed}level\n270\n31000\n31040\nlevel\n310\nyes\nno\n"
    ran = small.ok(*guided, *flown, typed=typed)
    assert "31000 ft is 4000 ft from FL270: type it again" in " ".join(ran.out.split())
    assert readings(small)[-1] == 31040


def sheet(folder: Path, two: int) -> Path:
    """Write a file of two rows, the second with a reading of altimeter 2."""
    path = folder / "sheet.csv"
    path.write_text(
        "airframe,taken_at,phase,level,primary_1_ft,primary_2_ft\n"
        f"{REG},2024-05-02T09:00Z,level,270,27000,26980\n"
        f"{REG},2024-05-02T10:00Z,level,270,27000,{two}\n",
        encoding="utf-8",
    )
    return path


def test_in_a_file_it_is_a_bad_row_until_it_is_confirmed(small: Cli, tmp_path: Path) -> None:
    """All rows or none, as with every bad row; left out it stands in the file of rejects."""
    path = sheet(tmp_path, 2698)
    ran = small("crosscheck", "import", str(path))
    assert (ran.status, len(readings(small))) == (2, 1)
    assert "line 3, primary_2_ft '2698': 2698 ft is 24302 ft from FL270" in " ".join(
        ran.err.split()
    )
    assert SURE in ran.err
    rejects = tmp_path / "rejects.csv"
    assert small("crosscheck", "import", str(path), "--skip-bad", str(rejects)).status == 0
    assert "2698" in rejects.read_text("utf-8")
    assert readings(small) == [31040, 26980]


def test_in_a_file_it_is_taken_once_it_is_confirmed(small: Cli, tmp_path: Path) -> None:
    """The option is that of the command in one line; imports of other kinds have none."""
    small.ok("crosscheck", "import", str(sheet(tmp_path, 2698)), SURE)
    assert readings(small) == [31040, 26980, 2698]
    assert SURE in small.ok("crosscheck", "import", "--help").out
    assert SURE not in small.ok("flight", "import", "--help").out
    assert small("flight", "import", str(sheet(tmp_path, 2698)), SURE).status == 2


def test_the_picture_of_drift_keeps_its_scale(demo: Cli, tmp_path: Path) -> None:
    """What lies beyond is marked at the edge and named; the trend stays inside the frame."""
    log = ("crosscheck", "log", "QX-BRE", "--phase", "level", "--level", "300")
    read = ("--taken-at", "2026-11-23T06:27Z", "--primary-1-ft", "30000")
    path = tmp_path / "drift.svg"
    drawn = ("drift", "QX-BRE", "--at", "2026-11-24T08:00Z", "--plot", str(path))
    demo.ok(*drawn)
    plain, marks = _ticks(path), _marks(path)
    demo.ok(*log, *read, "--primary-2-ft", "3000", SURE)
    demo.ok(*drawn)
    assert _ticks(path) == plain
    assert _marks(path) == [*marks, "mark up", "mark up"]  # in the picture, and in its key
    said = " ".join(" ".join(part for part in ET.parse(path).getroot().itertext()).split())  # noqa: S314  # the test drew it
    assert said.count("Beyond the scale: 2026-11-23 +27,000 ft.") == 2
    assert "1 beyond the scale, above" in said
    clipped = ET.parse(path).getroot().find(f"{SVG}g[@clip-path]")  # noqa: S314  # the test drew it
    assert clipped is not None
    assert len(clipped.findall(f"{SVG}path[@class='line dashed']")) == 1


def _ticks(path: Path) -> list[str]:
    """Give the numbers on the vertical axis."""
    (grid,) = ET.parse(path).getroot().findall(f"{SVG}g[@class='grid']")  # noqa: S314  # the test drew it
    return [each.text or "" for each in grid.findall(f"{SVG}text[@class='left']")]


def _marks(path: Path) -> list[str]:
    """Give the sorts of marks, those of the picture first."""
    root = ET.parse(path).getroot()  # noqa: S314  # the test drew it
    found = [each.get("class", "") for each in root.findall(f"{SVG}path")]
    return sorted(each for each in found if each.startswith("mark "))
