"""Bad input: one clear line and a hint, the right exit status, nothing written, no traceback."""

import os
import shlex
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rvsmlog.cli.lazy import COMMANDS
from rvsmlog.cli.nouns import NOUNS
from tests.cli.conftest import REG, SMALL_LOG, Cli, Ran

OneLine = Callable[[Ran, int], None]
CHECK = (
    *("crosscheck", "log", REG, "--taken-at", "2024-05-02T10:00Z", "--phase", "hourly"),
    *("--primary-1-ft", "31000", "--primary-2-ft", "31040", "--level", "310"),
)
TEST = (
    *("test", "add", REG, "--test", "transponder", "--done-on", "2024-05-02", "--passed", "yes"),
)
AIRFRAME = next(words for words in SMALL_LOG if words[0] == "airframe")


def but(command: tuple[str, ...], **changed: str | None) -> tuple[str, ...]:
    """Give a command with some options changed, or left out."""
    words = list(command)
    for name, value in changed.items():
        option = "--" + name.replace("_", "-")
        if option in words:
            at = words.index(option)
            del words[at : at + 2]
        if value is not None:
            words += [option, value]
    return tuple(words)


# What is typed, and what the one line must name: the offending value or what is wanted.
REFUSED = {
    "unknown registration": (but(("gonogo", "QX-ZZZ")), "'QX-ZZZ'"),
    "near registration": (("gonogo", "QX-ABD"), "did you mean QX-ABC?"),
    "unknown command": (("gonow",), "'gonow'"),
    "unknown subcommand": (("crosscheck", "lst", REG), "lst"),
    "unknown option": ((*CHECK, "--colour", "red"), "--colour"),
    "option without value": ((*CHECK, "--remarks"), "--remarks"),
    "word too many": ((*CHECK, "extra"), "extra"),
    "no registration": (("crosscheck", "list"), "REG"),
    "missing field": (but(CHECK, phase=None), "--phase: is missing"),
    "missing by phase": (but(CHECK, level=None), "--level: is missing"),
    "30 February": (but(TEST, done_on="2024-02-30"), "'2024-02-30' is no calendar date"),
    "29 February of no leap year": (but(TEST, done_on="2023-02-29"), "'2023-02-29'"),
    "13th month": (but(CHECK, taken_at="2024-13-01T10:00Z"), "'2024-13-01T10:00Z'"),
    "25 o'clock": (but(CHECK, taken_at="2024-05-01T25:00Z"), "'2024-05-01T25:00Z'"),
    "a day for an instant": (
        ("gonogo", REG, "--at", "2024-05-01"),
        "write both, for example 2024-05-01T08:00Z",
    ),
    "naive instant": (but(CHECK, taken_at="2024-05-01T10:00"), "which time zone"),
    "day and month swapped": (but(TEST, done_on="03/14/2024"), "'03/14/2024'"),
    "a word for a day": (but(TEST, done_on="yesterday"), "'yesterday'"),
    "far future": (but(CHECK, taken_at="2190-01-01T00:00Z"), "in the future"),
    "out of the calendar": (but(CHECK, taken_at="0001-01-01T00:00Z"), "out of range"),
    "feet for a level": (but(CHECK, level="31000"), "write 310 or FL310"),
    "feet with unit for a level": (("gonogo", REG, "--level", "31000 ft"), "looks like feet"),
    "level of nought": (but(CHECK, level="0"), "out of range"),
    "negative level": (but(CHECK, level="-310"), "'-310'"),
    "level beyond all": (but(CHECK, level="999"), "out of range"),
    "absurd altitude": (but(CHECK, primary_1_ft="310000"), "310000 is out of range"),
    "negative altitude": (but(CHECK, primary_1_ft="-31000"), "-31000 is out of range"),
    "altitude in words": (but(CHECK, primary_1_ft="FL310"), "'FL310'"),
    "letter O for nought": (but(CHECK, primary_1_ft="31O00"), "'31O00'"),
    "decimal feet": (but(CHECK, primary_1_ft="31000.5"), "'31000.5'"),
    "digits that are not ASCII": (but(CHECK, primary_1_ft="٣١٠٠٠"), "is no whole number"),
    "not a number": (but(CHECK, mach="nan"), "'nan'"),
    "infinite": (but(CHECK, mach="inf"), "'inf'"),
    "Mach in hundredths": (but(CHECK, mach="55"), "55 is out of range"),
    "unknown phase": (but(CHECK, phase="cruise"), "'cruise'"),
    "control character": (but(CHECK, remarks="bell \x07"), "U+0007"),
    "escape sequence": (but(CHECK, remarks="\x1b[31mred"), "U+001B"),
    "too long": (but(CHECK, remarks="x" * 2001), "2001 characters"),
    "blank author": ((*CHECK, "--by", "\x1b"), "who records"),
    "reason without correction": ((*CHECK, "--reason", "because"), "a reason is given"),
    "correction without reason": (but((*CHECK, "--corrects", "3")), "--reason"),
    "correction of another kind": (
        (*CHECK, "--corrects", "2", "--reason", "wrong"),
        "is equipment fitted",
    ),
    "correction of nothing": ((*CHECK, "--corrects", "99", "--reason", "wrong"), "#99"),
    "entry that is no number": (("crosscheck", "show", REG, "three"), "'three'"),
    "entry that is not there": (("crosscheck", "show", REG, "77"), "VK71-1007#77"),
    "same check twice": (
        but(CHECK, taken_at="2024-05-01T10:00Z"),
        "the hourly check of that moment is on record as VK71-1007#3",
    ),
    "defect that is not there": (
        ("defect", "review", REG, "88", "--conclusion", "seen"),
        "VK71-1007#88",
    ),
    "removal of no unit": (
        ("equipment", "remove", REG, "3", "--removed-on", "2024-05-01"),
        "is an altimeter cross-check",
    ),
    "strike without reason": (("crosscheck", "strike", REG, "3"), "--reason"),
    "unknown time zone": (("operator", "set", "--name", "A", "--time-zone", "Mars"), "'Mars'"),
    "unknown authority": (but(AIRFRAME, authority="xx-1"), "--authority: 'xx-1'"),
    "registration of another": (but(AIRFRAME, serial_number="1008"), "borne by VK71-1007"),
    "unknown region": (("gonogo", REG, "--region", "NOWHERE"), "NOWHERE"),
    "unknown rule": (("rules", "altimeter-disagrees"), "did you mean altimeters-disagree?"),
    "as of a word": (("gonogo", REG, "--as-of", "before"), "'before'"),
    "as of nothing": (("gonogo", REG, "--as-of", "500"), "VK71-1007#500"),
    "as of an entry of no airframe": (("gonogo", "--as-of", "#3"), "needs its airframe"),
    "zero byte": (("gonogo", "QX\0"), "a zero byte"),
    "two forms": (("crosscheck", "list", REG, "--csv", "--json"), "do not go together"),
    "none of the newest": (("crosscheck", "list", REG, "--last", "0"), "--last"),
    "kind of another noun": (("crew", "list", "--kind", "flight"), "'flight'"),
    "no answers": (("crosscheck", "log", "--guided"), "stopped before the end"),
}


@pytest.mark.parametrize(("words", "names"), REFUSED.values(), ids=REFUSED)
def test_bad_input_is_named_and_nothing_is_written(
    small: Cli, check_one_line: OneLine, words: tuple[str, ...], names: str
) -> None:
    """Status 2, one line and a hint that name the value or what is wanted, and the same seals."""
    before = small.seals()
    ran = small(*words)
    out = ran.out
    if "--guided" in words:
        ran = Ran(status=ran.status, out="", err=ran.err)
    check_one_line(ran, 2)
    assert names in ran.err
    assert "recorded" not in out
    assert small.seals() == before


def test_a_field_at_fault_is_named_as_its_option(small: Cli) -> None:
    """The person typed an option, so the error names it, with the value and what is wanted."""
    ran = small(*but(CHECK, primary_1_ft="31O00"))
    assert ran.err == (
        "error: --primary-1-ft: '31O00' is no whole number\n"
        "hint: write a whole number from -2000 to 60000\n"
    )


def shell(small: Cli, words: Sequence[str], streams: str) -> subprocess.CompletedProcess[str]:
    """Run a command with streams closed or redirected by a shell."""
    line = f"exec {shlex.join([sys.executable, '-m', 'rvsmlog', *words])} {streams}"
    return subprocess.run(
        ["/bin/sh", "-c", line],
        capture_output=True,
        text=True,
        env={**os.environ, "RVSMLOG_STORE": str(small.store), "RVSMLOG_BY": "MKO"},
        check=False,
    )


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("words", [("rules",), ("--help",), ("crosscheck", "list", REG, "--csv")])
def test_an_unwritable_answer_is_no_traceback(small: Cli, words: tuple[str, ...]) -> None:
    """A full disk under standard output is one line as well."""
    ran = shell(small, words, ">/dev/full")
    assert ran.returncode == 3
    assert len(ran.stderr.splitlines()) == 2
    assert ran.stderr.startswith("error: ")
    assert "unexpected fault" not in ran.stderr
    assert "No space left on device" in ran.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_what_was_recorded_is_said_to_stay_when_the_answer_is_lost(small: Cli) -> None:
    """Who reads the error does not take it for a command that wrote nothing."""
    before = small.seals()
    ran = shell(small, CHECK, ">/dev/full")
    assert ran.returncode == 3
    assert "what the command recorded stays recorded" in ran.stderr
    assert small.seals() != before


@pytest.mark.skipif(os.name != "posix", reason="needs a shell that closes streams")
@pytest.mark.parametrize(
    ("words", "streams", "status"),
    [
        (CHECK, ">&-", 0),
        (CHECK, "<&- >&- 2>&-", 0),
        (("store", "verify"), ">&-", 0),
        (("gonogo", REG, "--at", "2024-05-02T08:00Z", "--dry-run"), ">&-", 1),
        (("nonsense",), "2>&-", 2),
        (("nonsense",), "2>/dev/full", 2),
        (("crosscheck", "log", REG, "--guided"), "<&-", 2),
    ],
)
def test_the_exit_status_does_not_hang_on_who_listens(
    small: Cli, words: tuple[str, ...], streams: str, status: int
) -> None:
    """With closed streams a command does its work as ever, and no fault looks like a NO-GO."""
    ran = shell(small, words, streams)
    assert (ran.returncode, "unexpected fault" in ran.stderr) == (status, False), ran
    small.ok("store", "verify")


def test_csv_that_the_output_cannot_hold_is_refused_not_changed(
    small: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    """CSV is read back by the import: a character is never swapped for another on the way."""
    small.ok(*CHECK, "--remarks", "Tāmaki")
    monkeypatch.setenv("PYTHONIOENCODING", "ascii")
    ran = shell(small, ("crosscheck", "list", REG, "--csv"), "")
    assert ran.returncode == 2
    assert ran.stderr.startswith("error: the output's encoding ascii has no ")
    assert "PYTHONIOENCODING=utf-8" in ran.stderr


def test_an_argument_that_is_not_utf8_is_refused(small: Cli, check_one_line: OneLine) -> None:
    """Bytes of another encoding reach a program as lone surrogates."""
    before = small.seals()
    check_one_line(small("crosscheck", "list", "QX\udcff"), 2)
    check_one_line(small(*CHECK, "--remarks", "\udcff"), 2)
    sheet = small.store.with_name("sheet.csv")
    options = dict(zip(CHECK[3::2], CHECK[4::2], strict=True))
    names = ",".join(option.removeprefix("--").replace("-", "_") for option in options)
    sheet.write_text(f"{names}\n{','.join(options.values())}\nbad\n", "utf-8")
    words = ("crosscheck", "import", str(sheet), "--airframe", REG, "--skip-bad")
    check_one_line(small(*words, "y\udcff"), 2)
    assert small.seals() == before
    assert small(*words, str(sheet.with_name("rejects.csv"))).status == 0
    assert small.seals() != before


def test_an_error_is_one_line_and_not_endless(small: Cli, check_one_line: OneLine) -> None:
    """Line ends in what was given do not make lines, and a pasted file is not repeated."""
    check_one_line(small("crosscheck", "import", "a\nerror: b"), 2)
    ran = small("crosscheck", "list", "x" * 70_000)
    check_one_line(ran, 2)
    assert len(ran.err) < 3_000


_WORDS = st.sampled_from(
    sorted(
        {
            *COMMANDS,
            *(each.name for recordings in NOUNS.values() for each in recordings),
            *("list", "show", "strike", "init", "info", "verify", REG, "QX-ABD", "1", "3", "#3"),
            *("310", "FL310", "31000", "2024-05-01", "2024-05-01T10:00Z", "--json", "--csv"),
            *("--level", "--at", "--as-of", "--dry-run", "--last", "--kind", "--guided", "--by"),
            *("--taken-at", "--phase", "hourly", "--primary-1-ft", "--remarks", "", "-", "--", "?"),
            *("\x1b[31m", "[red]", "=1+1", "\ud800", "\u202e", "é" * 300, "--help", "-h"),
        }
        - {"demo"}
    )
)


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    derandomize=True,
)
@given(words=st.lists(_WORDS, max_size=7), typed=st.text(max_size=40))
def test_no_command_line_ends_in_a_traceback(small: Cli, words: list[str], typed: str) -> None:
    """Whatever is typed: a status of the four, no fault that nobody foresaw, nothing unescaped."""
    ran = small(*words, typed=typed)
    assert ran.status in {0, 1, 2, 3}
    assert "Traceback" not in ran.err
    assert "unexpected fault" not in ran.err
    assert "\x1b" not in ran.out + ran.err
