"""Importing by command: bad rows by line, column and value; nothing written; CSV both ways."""

import csv
import io
from pathlib import Path

import pytest

from rvsmlog.cli.importing import SHOWN
from tests.cli.conftest import REG, Cli

HEAD = "airframe,taken_at,phase,level,primary_1_ft,primary_2_ft,remarks\n"


def row(minute: int, *, one: str = "31000", phase: str = "hourly", remarks: str = "") -> str:
    """Give one row of a file of cross-checks."""
    return f"{REG},2024-05-02T10:{minute:02}Z,{phase},310,{one},31040,{remarks}\n"


@pytest.fixture
def written(tmp_path: Path) -> Path:
    """Give a place for a file."""
    return tmp_path / "readings.csv"


def test_a_good_file_is_written_whole(small: Cli, written: Path) -> None:
    """It says how many entries were made, and which."""
    written.write_text(HEAD + row(0) + row(30), encoding="utf-8")
    ran = small.ok("crosscheck", "import", str(written))
    assert ran.out == "imported 2: altimeter cross-check\n  VK71-1007#4 to #5\n"
    assert [each["entry"] for each in small.ok("crosscheck", "list", REG, "--json").json] == [
        3,
        4,
        5,
    ]


def test_bad_rows_are_named_and_nothing_is_written(small: Cli, written: Path) -> None:
    """Each with line, column, value, what is wrong and what is wanted; status 2."""
    bad = row(1, one="31O00") + row(2, phase="cruise")
    written.write_text(HEAD + row(0) + bad + row(3), encoding="utf-8")
    before = small.seals()
    ran = small("crosscheck", "import", str(written))
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == (
        "error: 2 bad rows; nothing was written\n"
        "  line 3, primary_1_ft: '31O00' is no whole number; write a whole number from -2000 to "
        "60000\n"
        "  line 4, phase: 'cruise' is not known here; write one of ground, before-entry, level, "
        "hourly, leaving, after-flight\n"
        "hint: mend these rows, or leave them out with --skip-bad REJECTS\n"
    )
    assert small.seals() == before


def test_a_value_that_the_message_does_not_quote_is_added(small: Cli, written: Path) -> None:
    """The offending value always shows."""
    written.write_text(HEAD + row(0, one="310000"), encoding="utf-8")
    ran = small("crosscheck", "import", str(written))
    assert "line 2, primary_1_ft '310000': 310000 is out of range" in ran.err


def test_many_bad_rows_are_counted(small: Cli, written: Path) -> None:
    """A screen shows the first twenty and how many more; JSON has them all."""
    rows = "".join(row(minute, one="x") for minute in range(SHOWN + 5))
    written.write_text(HEAD + rows, encoding="utf-8")
    ran = small("crosscheck", "import", str(written))
    assert ran.err.count("  line ") == SHOWN == 20
    assert "\n  and 5 more\n" in ran.err
    answer = small("crosscheck", "import", str(written), "--json")
    assert answer.status == 2
    assert answer.json["written"] == 0
    assert len(answer.json["bad"]) == answer.json["rejected"] == 25
    assert answer.json["bad"][0] == {
        "line": 2,
        "column": "primary_1_ft",
        "value": "x",
        "says": "'x' is no whole number",
        "wanted": "write a whole number from -2000 to 60000",
    }


def test_bad_rows_may_be_left_out(small: Cli, written: Path) -> None:
    """--skip-bad writes the others, and the bad ones to a new file with the reason."""
    written.write_text(HEAD + row(0) + row(1, one="x"), encoding="utf-8")
    rejects = written.with_name("rejects.csv")
    ran = small("crosscheck", "import", str(written), "--skip-bad", str(rejects))
    assert (ran.status, ran.out.splitlines()[0]) == (0, "imported 1: altimeter cross-check")
    assert ran.out.splitlines()[1] == "  VK71-1007#4"
    assert ran.err.startswith(
        f"left out: 1 bad row, written to {rejects}\n  line 3, primary_1_ft: "
    )
    (kept,) = csv.DictReader(io.StringIO(rejects.read_text(encoding="utf-8")))
    assert kept["primary_1_ft"] == "x"
    assert "'x' is no whole number" in kept["rejected_because"]


def test_rows_on_record_are_bad_rows(small: Cli, written: Path) -> None:
    """A file imported twice writes nothing the second time, and names the entries."""
    written.write_text(HEAD + row(0), encoding="utf-8")
    small.ok("crosscheck", "import", str(written))
    ran = small("crosscheck", "import", str(written))
    assert ran.status == 2
    assert "line 2: is already on record as VK71-1007#4" in ran.err
    assert ran.err.endswith("hint: leave them out with --skip-bad REJECTS\n")


@pytest.mark.parametrize(
    ("content", "names"),
    [
        (b"", "is empty"),
        (b"airframe,taken_at\n", "columns missing: phase"),
        (b"airframe,when\n", "no such column: 'when'"),
        (b"\xff\xfea\x00", "UTF-16"),
        (HEAD.encode() + b"QX-ABC,\xe9t\xe9\n", "is not UTF-8"),
        (HEAD.encode("utf-8-sig"), "holds no rows"),
        (HEAD.encode() + b'QX-ABC,"open\n', "no well-formed CSV"),
        (b"a\0b\n", "no text file"),
        (HEAD.replace(",", ";").encode(), "separate the columns with commas"),
    ],
)
def test_a_file_that_cannot_be_read_is_said(
    small: Cli, written: Path, content: bytes, names: str
) -> None:
    """One line that names the file and the fault, a hint, and nothing written."""
    written.write_bytes(content)
    before = small.seals()
    ran = small("crosscheck", "import", str(written))
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith(f"error: {written}")
    assert names in ran.err
    assert ran.err.count("\n") == 2
    assert small.seals() == before


def test_a_file_that_is_not_there_is_said(small: Cli, written: Path) -> None:
    """The system's own word for it, in one line."""
    ran = small("crosscheck", "import", str(written))
    assert ran.status == 2
    assert ran.err.startswith(f"error: {written} cannot be read: No such file")


def test_a_header_of_a_hundred_thousand_columns_is_answered(small: Cli, written: Path) -> None:
    """Unknown ones are named up to a number; doubled ones are found without comparing all."""
    written.write_text(",".join(f"c{each}" for each in range(100_000)) + "\n", encoding="utf-8")
    ran = small("crosscheck", "import", str(written))
    assert (ran.status, "'c19', …" in ran.err, "c20" in ran.err) == (2, True, False)
    written.write_text(",".join(["airframe"] * 100_000) + "\n", encoding="utf-8")
    ran = small("crosscheck", "import", str(written))
    assert (ran.status, "columns named twice: airframe" in ran.err) == (2, True)


@pytest.mark.parametrize("name", ["x" * 300, "/proc/self/mem"])
def test_a_name_that_no_file_can_have_is_said(small: Cli, name: str) -> None:
    """Whatever the system makes of it, opening or reading."""
    ran = small("crosscheck", "import", name)
    assert (ran.status, ran.out) == (2, "")
    assert "unexpected fault" not in ran.err
    assert "cannot be read" in ran.err


def test_terminal_sequences_in_a_file_are_made_visible(small: Cli, written: Path) -> None:
    """What stands in somebody's file does not steer the terminal."""
    written.write_text(HEAD + row(0, one="\x1b[31m"), encoding="utf-8")
    ran = small("crosscheck", "import", str(written))
    assert "\x1b" not in ran.err
    assert "\\x1b[31m" in ran.err


def test_an_unknown_airframe_is_a_bad_row(small: Cli, written: Path) -> None:
    """With the nearest registration."""
    written.write_text(HEAD + row(0).replace(REG, "QX-ABD"), encoding="utf-8")
    ran = small("crosscheck", "import", str(written))
    assert "line 2, airframe: no airframe bears the registration 'QX-ABD'" in ran.err
    assert "did you mean QX-ABC?" in ran.err


def test_the_help_lists_the_columns(small: Cli) -> None:
    """Those that must be there are marked; for a noun with several kinds, each has its own."""
    page = " ".join(small.ok("crosscheck", "import", "--help").out.split())
    assert "Columns of crosscheck (* must be there): airframe*, taken_at*, phase*" in page
    page = " ".join(small.ok("crew", "import", "--help").out.split())
    assert "Columns of pilot (* must be there): code*, name*, licence, remarks" in page
    assert "Columns of knowledge" in page


REMARKS = ("=1+1", "+41 79", "-5 at first", "@home", "'=quoted", "'plain'", 'a "b", c', "x\ny")


def test_csv_is_read_back_as_it_was(small: Cli, written: Path) -> None:
    """The export of one log is the import of another: text, numbers, choices, all the same."""
    for minute, remarks in enumerate(REMARKS):
        small.ok(
            *("crosscheck", "log", REG, "--taken-at", f"2024-05-02T10:{minute:02}Z"),
            *("--phase", "hourly", "--level", "310", "--primary-1-ft", "-50"),
            *("--primary-2-ft", "31040", "--static-air-temperature-c", "-45.5"),
            *("--remarks", remarks, "--readings-confirmed"),
        )
    exported = small.ok("crosscheck", "list", REG, "--csv").out
    assert max(len(line) for line in exported.splitlines()) > 80
    cells = list(csv.DictReader(io.StringIO(exported)))
    assert [cell["remarks"] for cell in cells[1:5]] == [
        "'=1+1",
        "'+41 79",
        "'-5 at first",
        "'@home",
    ]
    # Numbers stay numbers, also those below zero.
    assert {cell["static_air_temperature_c"] for cell in cells[1:]} == {"-45.5"}
    assert cells[1]["primary_1_ft"] == "-50"
    before = small.ok("crosscheck", "list", REG, "--json").json
    for each in before:
        small.ok("crosscheck", "strike", REG, str(each["entry"]), "--reason", "test")
    written.write_text(exported, encoding="utf-8", newline="")
    small.ok("crosscheck", "import", str(written), "--readings-confirmed")
    changing = ("entry", "first_entry", "recorded_at", "recorded_by")
    after = small.ok("crosscheck", "list", REG, "--json").json
    assert [{k: v for k, v in each.items() if k not in changing} for each in after] == [
        {k: v for k, v in each.items() if k not in changing} for each in before
    ]


def test_csv_of_a_noun_with_several_kinds_is_one_kind(small: Cli) -> None:
    """The noun's first, or the one that is named."""
    pilots = small.ok("crew", "list", "--csv").out
    assert pilots == "code,name,licence,remarks\nMKO,M. Kovo,,\n"
    knowledge = small.ok("crew", "list", "--csv", "--kind", "knowledge").out
    assert knowledge.startswith("pilot,completed_on,training,")
    fleet = small.ok("airframe", "list", "--csv").out.splitlines()
    assert fleet[0].startswith("registration,type_designator,serial_number,")
    assert fleet[1].startswith("QX-ABC,VK71,1007,us-91,group,")


def test_a_file_of_bad_rows_only_says_where_they_are(small: Cli, tmp_path: Path) -> None:
    """With --skip-bad nothing is recorded, but the file of rejects is there, and is named."""
    sheet, rejects = tmp_path / "sheet.csv", tmp_path / "rejects.csv"
    sheet.write_text("code,name\n,\x22 \x22\nABCDEFGHIJ,x\n", "utf-8")
    ran = small("crew", "import", str(sheet), "--skip-bad", str(rejects))
    assert ran.status == 2
    assert f"written to {rejects}; nothing was recorded" in ran.err
    assert rejects.exists()


@pytest.mark.parametrize("noun", ["crosscheck", "test", "equipment"])
def test_a_column_of_airframes_and_the_option_do_not_go_together(
    small: Cli, written: Path, noun: str
) -> None:
    """Whichever noun: the option is to be left out, or the column."""
    written.write_text("airframe,remarks\nQX-ABC,x\n", encoding="utf-8")
    ran = small(noun, "import", str(written), "--airframe", REG)
    assert ran.status == 2
    assert "has the column 'airframe', which names the airframe of each row" in ran.err
    assert ran.err.endswith("hint: leave out --airframe, or the column\n")
    assert "columns missing" in small(noun, "import", str(written)).err
