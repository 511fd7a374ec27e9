"""What surrounds every command: who records, faults nobody foresaw, Ctrl-C, readers who leave."""

import os
import subprocess
import sys
from collections.abc import Callable

import pytest

from rvsmlog.__main__ import run
from rvsmlog.cli import lazy
from rvsmlog.verdict import CAUTION
from tests.cli.conftest import REG, Cli, Ran

OneLine = Callable[[Ran, int], None]


def fail_with(error: BaseException) -> Callable[[str], object]:
    """Give what takes the place of loading a command, and fails."""

    def load(_name: str) -> object:
        raise error

    return load


def test_a_fault_that_nobody_foresaw_is_one_line(
    small: Cli, check_one_line: OneLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Status 3, the fault's own words, and how to see more."""
    monkeypatch.setattr(lazy, "import_module", fail_with(ZeroDivisionError("by \x1b nought")))
    ran = small("rules")
    assert ran.status == 3
    assert ran.err == (
        "error: unexpected fault: ZeroDivisionError: by \\u001b nought\n"
        "hint: set RVSMLOG_DEBUG=1 to see where, and report it\n"
    )


def test_the_traceback_can_be_asked_for(small: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    """RVSMLOG_DEBUG shows where an unexpected fault came from."""
    monkeypatch.setattr(lazy, "import_module", fail_with(ZeroDivisionError("by nought")))
    monkeypatch.setenv("RVSMLOG_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        small("rules")


@pytest.mark.parametrize("error", [KeyboardInterrupt(), EOFError()], ids=["Ctrl-C", "Ctrl-D"])
def test_a_command_that_is_stopped_leaves_with_2(
    small: Cli, monkeypatch: pytest.MonkeyPatch, error: BaseException
) -> None:
    """It says that nothing else was written than what was reported."""
    monkeypatch.setattr(lazy, "import_module", fail_with(error))
    ran = small("rules")
    assert ran.status == 2
    assert "error: stopped before the end\n" in ran.err


def test_ctrl_c_while_loading_is_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also before the command line is there: one line and status 2."""

    def stopped(_words: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("rvsmlog.cli.app.main", stopped)
    monkeypatch.setattr("gc.disable", lambda: None)
    with pytest.raises(SystemExit) as left:
        run()
    assert left.value.code == 2
    assert capsys.readouterr().err.startswith("error: stopped before the end\n")


def test_who_records_is_named_by_option_or_environment(small: Cli) -> None:
    """The option goes before RVSMLOG_BY."""
    small.ok("crew", "add", "--code", "AB", "--name", "A", "--by", "Somebody")
    small.ok("crew", "add", "--code", "CD", "--name", "B")
    rows = small.ok("crew", "list", "--json").json
    assert [each["recorded_by"] for each in rows[-2:]] == ["Somebody", "MKO"]


def test_the_login_name_stands_in(small: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nobody is named, the machine's user records; where it knows none, that is an error."""
    monkeypatch.setattr("getpass.getuser", lambda: "pilot")
    add = ("crew", "add", "--name", "A", "--by", " ")
    monkeypatch.setattr("rvsmlog.cli.options.AUTHOR_VARIABLE", "RVSMLOG_NOBODY")
    small.ok(*add, "--code", "AB")
    assert small.ok("crew", "list", "--json").json[-1]["recorded_by"] == "pilot"

    def unknown() -> str:
        raise OSError("no such user")

    monkeypatch.setattr("getpass.getuser", unknown)
    ran = small(*add, "--code", "CD")
    assert (ran.status, ran.err) == (
        2,
        "error: who records is not known\nhint: name yourself with --by\n",
    )


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("gonogo", REG, "--level", "310", "--dry-run"), 1),
        (("gonogo", REG, "--level", "310", "--dry-run", "--json"), 1),
        (("rules", "--json"), 0),
        (("crosscheck", "list", REG, "--csv"), 0),
    ],
    ids=["screen", "JSON", "long JSON", "CSV"],
)
def test_a_reader_who_leaves_does_not_change_the_status(
    small: Cli, words: tuple[str, ...], status: int
) -> None:
    """The exit status is the answer: NO-GO stays 1 though nobody reads the reasons."""
    reading, writing = os.pipe()
    os.close(reading)
    ran = subprocess.run(
        [sys.executable, "-m", "rvsmlog", *words],
        stdout=writing,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "RVSMLOG_STORE": str(small.store)},
        check=False,
    )
    os.close(writing)
    assert (ran.returncode, ran.stderr) == (status, "")


def test_rules_are_listed_and_shown(empty: Cli) -> None:
    """As JSON each rule carries its page and its sources; one rule is an array of one."""
    rules = empty.ok("rules", "--json").json
    assert {"rule", "summary", "checks", "why", "remedy", "known_problems", "sources"} <= set(
        rules[0]
    )
    assert all(rule["sources"] for rule in rules)
    (one,) = empty.ok("rules", "altimeters-disagree", "--json").json
    assert one in rules
    page = empty.ok("rules", "Altimeters-Disagree").out
    assert " ".join(page.split()).endswith(CAUTION)
    assert page.startswith("altimeters-disagree\n")
    assert "NAT Doc 001" in page
