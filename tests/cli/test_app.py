"""What surrounds every command: who records, faults nobody foresaw, Ctrl-C, readers who leave."""

import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import Connection, event

from rvsmlog.__main__ import run
from rvsmlog.cli import lazy
from rvsmlog.store.connection import Store
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


def interrupt(*_given: object, **_named: object) -> Any:
    """Be stopped."""
    raise KeyboardInterrupt


def test_ctrl_c_while_loading_is_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also before the command line is there: one line and status 2."""

    class Loading:
        """A module that is stopped while it is being loaded."""

        __getattr__ = interrupt

    monkeypatch.setitem(sys.modules, "rvsmlog.cli.app", Loading())
    monkeypatch.setattr("gc.disable", lambda: None)
    with pytest.raises(SystemExit) as left:
        run()
    assert left.value.code == 2
    told = capsys.readouterr().err
    assert told == "error: stopped before the end\nhint: nothing was written\n"


def test_ctrl_c_a_second_time_claims_nothing(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the command did before cannot be told there, and status 2 would say: nothing."""
    monkeypatch.setattr("rvsmlog.cli.app.main", interrupt)
    monkeypatch.setattr("gc.disable", lambda: None)
    with pytest.raises(SystemExit) as left:
        run()
    assert left.value.code == 3
    told = capsys.readouterr().err
    assert told.startswith("error: stopped before the end\nhint: look with")


# A process of its own: here the test's own handlers would take what is logged.
STOPPED = """
import sys
from rvsmlog.cli.app import main
from rvsmlog.store import connection
make = connection.make_engine
def made(*given, **named):
    def close(_):
        raise KeyboardInterrupt
    engine = make(*given, **named)
    engine.dialect.do_close = close
    return engine
connection.make_engine = made
sys.exit(main(sys.argv[1:]))
"""


def test_ctrl_c_while_a_connection_is_closed_is_no_traceback(small: Cli) -> None:
    """The database's library logs it with one; nobody asked for that."""
    ran = subprocess.run(
        (sys.executable, "-c", STOPPED, "crew", "list", "--store", str(small.store)),
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 2
    assert ran.stderr.startswith("error: stopped before the end\n")
    assert len(ran.stderr.splitlines()) == 2


SHEET = "taken_at,phase,level,primary_1_ft,primary_2_ft\n2024-05-02T10:00Z,level,310,31000,31020\n"


@pytest.mark.parametrize("what", ["import", "log", "strike"])
def test_ctrl_c_between_the_commit_and_its_report_says_what_is_on_record(
    small: Cli, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    """The rows are in: it must not say that nothing was written, nor leave with 2."""
    file = small.store.with_name("sheet.csv")
    file.write_text(SHEET, "utf-8")
    words, module = {
        "import": (("crosscheck", "import", str(file), "--airframe", REG), "importing._say"),
        "log": (
            tuple(
                f"crosscheck log {REG} --taken-at 2024-05-02T10:00Z --phase level --level 310 "
                "--primary-1-ft 31000 --primary-2-ft 31020".split()
            ),
            "crosscheck.say_recorded",
        ),
        "strike": (("crosscheck", "strike", REG, "3", "--reason", "twice"), "entries.show"),
    }[what]
    with monkeypatch.context() as patch:
        patch.setattr(f"rvsmlog.cli.{module}", interrupt)
        ran = small(*words)
    assert (ran.status, ran.out) == (3, "")
    assert ran.err == (
        "error: stopped before it said so: what was to be recorded is on record\n"
        "hint: look with `list` or `store info` before it is typed again\n"
    )
    assert small.seals()["VK71-1007"][0] == 4
    assert small(*words).status == 2
    assert small.seals()["VK71-1007"][0] == 4


def test_ctrl_c_among_the_readings_is_one_line(
    demo: Cli, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """The statement is closed before its connection; else the library writes a traceback itself."""

    def stopped_at_the_first(*given: Any) -> Any:
        next(iter(given[-1]))
        raise KeyboardInterrupt

    monkeypatch.setattr("rvsmlog.store.reading.drift_reader._kept", lambda *_given: None)
    monkeypatch.setattr("rvsmlog.store.reading.drift_reader.extended", stopped_at_the_first)
    ran = demo("gonogo", "QX-BRE", "--at", "2026-11-24T08:00Z")
    assert (ran.status, ran.err.splitlines()[0]) == (2, "error: stopped before the end")
    assert [each.getMessage() for each in caplog.records] == []


def test_ctrl_c_while_it_is_committed_says_that_it_may_be_on_record(
    small: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody can tell then; here it was taken back."""

    def begun(self: Store, options: Mapping[str, Any]) -> AbstractContextManager[Connection]:
        manager = transaction(self, options)
        if options.get("rvsmlog_writes"):
            event.listen(self.engine, "commit", interrupt)
        return manager

    transaction = Store._transaction
    monkeypatch.setattr(Store, "_transaction", begun)
    ran = small("crew", "add", "--code", "AB", "--name", "A")
    assert (ran.status, ran.out) == (3, "")
    assert ran.err.startswith("error: stopped while it was being recorded: it may be on record\n")


@pytest.mark.parametrize(
    ("words", "where"),
    [
        (("crosscheck", "list", REG), "crosscheck.show"),
        (("crew", "add", "--code", "AB", "--name", "A"), "recording.record_entry"),
    ],
)
def test_ctrl_c_before_anything_was_recorded_says_so(
    small: Cli, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], where: str
) -> None:
    """Reading a log, and a command that had not come so far; nor what the one before it did."""
    small.ok("crew", "add", "--code", "CD", "--name", "B")
    before = small.seals()
    monkeypatch.setattr(f"rvsmlog.cli.{where}", interrupt)
    ran = small(*words)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.splitlines()[0] == "error: stopped before the end"
    assert small.seals() == before


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
