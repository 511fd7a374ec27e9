"""`crosscheck extract`: from recorded flight data to the log, by file and at once."""

import signal
import stat
import subprocess
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cli, Ran

HEAD = ("time", "primary_1_ft", "primary_2_ft", "standby_ft", "mach")
START = ("--start", "2026-05-01T09:00Z")


def rows(*levels: int, seconds: int = 600) -> list[tuple[object, ...]]:
    """Give ten minutes a level, each second, altimeter 2 40 ft below altimeter 1."""
    found: list[tuple[object, ...]] = []
    for number, level in enumerate(levels):
        for second in range(seconds):
            feet = level * 100 + (second % 3 - 1) * 10
            found.append((number * 1000 + second, feet, feet - 40, feet + 90, 0.46))
    return found


def write(path: Path, lines: Iterable[tuple[object, ...]], head: tuple[str, ...] = HEAD) -> str:
    """Write a recording."""
    texts = [",".join(head), *(",".join(map(str, line)) for line in lines)]
    path.write_text("\n".join(texts) + "\n", "utf-8")
    return str(path)


def test_extracted_to_a_file_and_imported(small: "Cli", tmp_path: Path) -> None:
    """What extract writes, import takes, and the list shows the median differences."""
    flight = write(tmp_path / "flight.csv", rows(290, 310))
    sheet = tmp_path / "crosschecks.csv"
    out = small.ok("crosscheck", "extract", flight, *START, "--out", str(sheet)).out
    assert "2 level stretches in 1,200 rows" in out
    small.ok("crosscheck", "import", str(sheet), "--airframe", "QX-ABC")
    listed = small.ok("crosscheck", "list", "QX-ABC", "--json").json[-2:]
    assert [(each["level"], each["difference_ft"], each["phase"]) for each in listed] == [
        (290, 40, "level"),
        (310, 40, "level"),
    ]
    # The middle of 599 s is 299.5 s; the samples beside it are at 299 and 300 s.
    assert [each["taken_at"][:16] for each in listed] == ["2026-05-01T09:04", "2026-05-01T09:21"]
    assert [each["standby_ft"] - each["primary_1_ft"] for each in listed] == [90, 90]


def test_without_options_it_prints_what_import_takes(small: "Cli", tmp_path: Path) -> None:
    """CSV on standard output, the account on standard error."""
    ran = small("crosscheck", "extract", write(tmp_path / "flight.csv", rows(310)), *START)
    assert (ran.status, ran.err) == (0, "1 level stretch in 600 rows\n")
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(ran.out, "utf-8")
    small.ok("crosscheck", "import", str(sheet), "--airframe", "QX-ABC")


def test_entered_at_once_and_only_once(small: "Cli", tmp_path: Path) -> None:
    """--record enters all in one transaction; a second time nothing is written."""
    flight = write(tmp_path / "flight.csv", rows(290, 310))
    ran = small.ok("crosscheck", "extract", flight, *START, "--record", "QX-ABC", "--json")
    first, last = ran.json["recorded"]["first"], ran.json["recorded"]["last"]
    assert last == first + 1
    assert [each["difference_ft"] for each in ran.json["crosschecks"]] == [40, 40]
    before = small.seals()
    again = small("crosscheck", "extract", flight, *START, "--record", "QX-ABC")
    assert again.status == 2
    assert f"on record already as VK71-1007#{first}" in again.err
    assert small.seals() == before


def test_columns_are_named_by_options(small: "Cli", tmp_path: Path) -> None:
    """Another system's names, instants instead of seconds, sub-scales in inches of mercury."""
    head = ("UTC", "ALT L", "ALT R", "BARO L", "GPS ALT")
    lines = [
        (f"2026-05-01T10:{s // 60:02d}:{s % 60:02d}Z", 31000, 30990, setting, 31500)
        for s, setting in ((s, "29.92" if s < 1200 else "30.10") for s in range(2400))
    ]
    ran = small.ok(
        *("crosscheck", "extract", write(tmp_path / "flight.csv", lines, head)),
        *("--time-column", "UTC", "--primary-1-column", "ALT L", "--primary-2-column", "ALT R"),
        *("--setting-1-column", "BARO L", "--gnss-column", "GPS ALT"),
        *("--gnss-kind", "ellipsoid", "--json"),
    )
    (check,) = ran.json["crosschecks"]
    assert (check["taken_at"][:16], check["difference_ft"]) == ("2026-05-01T10:09", 10)
    assert (check["gnss_height_ft"], check["gnss_kind"]) == (31500, "ellipsoid")
    assert ran.json["left_out"] == {"rows not on 1013.25 hPa": 1200}


def test_bad_rows_are_left_out_and_counted(small: "Cli", tmp_path: Path) -> None:
    """A unit line, holes and nonsense leave the rest usable, and are said."""
    lines = rows(310)
    lines[50] = (50, "", 30960, 31090, 0.46)
    lines[60] = (60, 31000, 30960, "n/a", 9.99)
    lines[70] = ("", 31000, 30960, 31090, 0.46)
    lines[80] = (80,)
    path = tmp_path / "flight.csv"
    write(path, [("s", "ft", "ft", "ft", "-"), *lines])
    path.write_text("# recorder 7\n" + path.read_text("utf-8"), "utf-8")
    ran = small.ok("crosscheck", "extract", str(path), *START, "--json")
    assert [each["difference_ft"] for each in ran.json["crosschecks"]] == [40]
    assert ran.json["left_out"] == {
        "rows cut short": 1,
        "rows without a time": 2,
        "rows without both altitudes": 1,
        "values of mach out of range": 1,
        "values of standby_ft that are no number": 1,
    }


def test_a_height_of_no_kind_is_left_out(small: "Cli", tmp_path: Path) -> None:
    """What the GNSS height is above is never assumed."""
    head = (*HEAD, "gnss_height_ft")
    flight = write(tmp_path / "flight.csv", [(*row, 31400) for row in rows(310)], head)
    ran = small.ok("crosscheck", "extract", flight, *START, "--json")
    assert "gnss_height_ft" not in ran.json["crosschecks"][0]
    assert [what for what in ran.json["left_out"] if "--gnss-kind" in what] != []


@pytest.mark.parametrize(
    ("lines", "arguments", "says"),
    [
        (rows(310), (), "--start"),
        (rows(310), (*START, "--mach-column", "M"), "no column 'M'"),
        (rows(310), (*START, "--gnss-column", "mach"), "not said"),
        (rows(310, seconds=60), START, "no level flight in 60 rows"),
        ([*rows(310), (5, 31000, 30960, 31090, 0.46)], START, "line 602: time runs backwards"),
        ([("2026-05-01T10:00:00", 31000, 31000, 31000, 0.4)], (), "time zone"),
        (rows(310), (*START, "--least-minutes", "90"), "shortest"),
        (rows(310), (*START, "--steady-ft", "-3"), "--steady-ft"),
        (rows(310), (*START, "--gnss-kind", "baro"), "'baro' is not known"),
        (rows(310), ("--start", "yesterday"), "no date and time"),
        (rows(310), (*START, "--record", "QX-NIL"), "QX-NIL"),
    ],
)
def test_what_cannot_be_read_is_one_line(
    small: "Cli",
    tmp_path: Path,
    check_one_line: "Callable[[Ran, int], None]",
    lines: list[tuple[object, ...]],
    arguments: tuple[str, ...],
    says: str,
) -> None:
    """The fault is named with what to do, and nothing is written."""
    before = small.seals()
    flight = write(tmp_path / "flight.csv", lines)
    ran = small("crosscheck", "extract", flight, *arguments)
    check_one_line(ran, 2)
    assert says in ran.err
    assert small.seals() == before


def test_a_file_that_is_there_is_not_overwritten(
    small: "Cli", tmp_path: Path, check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """--out names a new file."""
    flight = write(tmp_path / "flight.csv", rows(310))
    check_one_line(small("crosscheck", "extract", flight, *START, "--out", flight), 2)
    assert Path(flight).read_text("utf-8").startswith("time,")


_KILLED = """
import os, signal, sys
from rvsmlog.cli.app import main
from rvsmlog.reports import csv_text

def half(kind, records, handle):
    handle.write("taken_at,phase,prim")
    handle.flush()
    os.kill(os.getpid(), signal.SIGKILL)

csv_text.write_csv = half
main(sys.argv[1:])
"""


def test_a_kill_leaves_nothing_half(tmp_path: Path) -> None:
    """A file of readings is there whole, or not; the next one that is made clears up."""
    flight = write(tmp_path / "flight.csv", rows(310))
    sheet = tmp_path / "sheet.csv"
    words = ("crosscheck", "extract", flight, *START, "--out", str(sheet))
    done = subprocess.run((sys.executable, "-c", _KILLED, *words), check=False)
    assert done.returncode == -signal.SIGKILL
    assert not sheet.exists()
    subprocess.run((sys.executable, "-m", "rvsmlog", *words), check=True, capture_output=True)
    assert {each.name for each in tmp_path.iterdir()} == {"flight.csv", "sheet.csv"}
    assert stat.S_IMODE(sheet.stat().st_mode) == 0o600


def test_the_screen_fits_80_columns(small: "Cli", tmp_path: Path) -> None:
    """With many stretches the newest twenty are shown."""
    flight = write(tmp_path / "flight.csv", rows(*([290, 310] * 15), seconds=400))
    out = small.ok("crosscheck", "extract", flight, *START, "--record", "QX-ABC").out
    assert max(map(len, out.splitlines())) <= 80
    assert "the newest 20 of 30" in out


def test_a_file_is_not_left_when_the_log_refuses(small: "Cli", tmp_path: Path) -> None:
    """Where both are asked for, both are done or neither."""
    flight = write(tmp_path / "flight.csv", rows(290))
    sheet = tmp_path / "crosschecks.csv"
    ran = small("crosscheck", "extract", flight, *START, "--out", str(sheet), "--record", "QX-NIL")
    assert (ran.status, sheet.exists()) == (2, False)


@pytest.mark.parametrize(
    ("column", "off", "refused"),
    [
        ("primary_2_ft", 1000, False),
        ("primary_2_ft", -1001, True),
        ("standby_ft", 1001, True),
        ("standby_ft", -1000, False),
        ("transponder_ft", 10_000, True),
    ],
)
def test_readings_that_no_altimeter_shows_are_to_be_confirmed(
    small: "Cli",
    tmp_path: Path,
    check_one_line: "Callable[[Ran, int], None]",
    column: str,
    off: int,
    refused: bool,
) -> None:
    """As when one is logged or imported: beyond 1,000 ft from the level, none is entered."""
    head = ("time", "primary_1_ft", "primary_2_ft", "standby_ft", "transponder_ft")
    lines: list[tuple[object, ...]] = []
    for start, level in ((0, 290), (1000, 310)):
        feet = dict.fromkeys(head[1:], level * 100)
        if level == 310:
            feet[column] += off
        lines += [(start + second, *feet.values()) for second in range(600)]
    flight = write(tmp_path / "flight.csv", lines, head)
    sheet, before = tmp_path / "sheet.csv", small.seals()
    extract = ("crosscheck", "extract", flight, *START, "--out", str(sheet), "--record", "QX-ABC")
    ran = small(*extract)
    if refused:
        check_one_line(ran, 2)
        says = f"{column}: {31000 + off} ft is {abs(off)} ft from FL310; nothing was written"
        assert f"the comparison of 2026-05-01T09:21:39Z: {says}" in ran.err
        assert "--readings-confirmed" in ran.err
        assert (small.seals(), sheet.exists()) == (before, False)
        ran = small(*extract, "--readings-confirmed")
    assert (ran.status, ran.err) == (0, "")
    listed = small.ok("crosscheck", "list", "QX-ABC", "--json").json[-1]
    assert listed[column] == 31000 + off
