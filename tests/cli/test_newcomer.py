"""What helps somebody new: the next step without a store, completion, the nearest word."""

from pathlib import Path

import pytest

from rvsmlog.cli.app import main
from tests.cli.conftest import REG, Cli


@pytest.mark.parametrize("words", [(), ("due",), ("gonogo", REG), ("crosscheck", "list", REG)])
def test_without_a_store_the_next_step_is_said(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Status 3, and the commands that make one."""
    ran = Cli(tmp_path / "none.sqlite3")(*words)
    assert (ran.status, ran.out) == (3, "")
    assert "`rvsmlog store init`" in ran.err
    assert "`rvsmlog demo`" in ran.err


@pytest.mark.parametrize(
    ("words", "near"),
    [
        (("crosscheck", "lst", REG), "did you mean `rvsmlog crosscheck list`?"),
        (("crosscheck", "lst", REG), "error: there is no command 'crosscheck lst'"),
        (("nosuch",), "error: there is no command 'nosuch'"),
        (("crosscheck", "nosuch"), "error: there is no command 'crosscheck nosuch'"),
        (("gonogo", "QX-ABD"), "did you mean QX-ABC?"),
        (("gonow",), "did you mean `rvsmlog gonogo`?"),
        (("gonogo", REG, "--levl", "310"), "--level"),
        (("flight", "list", REG, "--kind", "fligth"), "did you mean flight?"),
        (("crew", "import", "x.csv", "--kind", "pilto"), "did you mean pilot?"),
        (("rules", "altimeter-disagrees"), "did you mean altimeters-disagree?"),
        (("gonogo", REG, "--region", "NAMM"), "did you mean NAM?"),
        (("test", "add", REG, "--test", "transpondr"), "did you mean transponder?"),
        (
            ("equipment", "work", REG, "--work", "altimeter,static-sytem-opened"),
            "did you mean static-system-opened?",
        ),
        (("gonogo", REG, "--route", "COST"), "did you mean COAST?"),
    ],
)
def test_errors_name_the_nearest_word(small: Cli, words: tuple[str, ...], near: str) -> None:
    """A slip of the finger is answered with what was most likely meant."""
    small.ok("route", "set", "--name", "COAST")
    ran = small(*words)
    assert ran.status == 2
    assert near in ran.err


@pytest.mark.parametrize(
    ("words", "place"),
    [
        (("due", REG, "--ics"), "rvsmlog due"),
        (("--nothing",), "rvsmlog"),
        (("nosuch",), "rvsmlog"),
        (("crosscheck", "nosuch"), "rvsmlog crosscheck"),
        (("crosscheck", "--nothing"), "rvsmlog crosscheck"),
    ],
)
def test_wrong_usage_names_the_help_of_the_command(
    small: Cli, words: tuple[str, ...], place: str
) -> None:
    """Who leaves out what an option takes is sent to that command's help."""
    ran = small(*words)
    assert ran.status == 2
    assert f"hint: see `{place} --help`" in ran.err


def test_a_level_that_lost_a_digit_is_asked_for_again(small: Cli) -> None:
    """No answer is given for FL031 where FL310 was meant."""
    ran = small("gonogo", REG, "--level", "31")
    assert (ran.status, ran.out) == (2, "")
    assert "310 for FL310" in ran.err


def completed(
    cli: Cli, patch: pytest.MonkeyPatch, shell: str, line: str, capsys: pytest.CaptureFixture[str]
) -> str:
    """Ask as a shell's function does, with the line up to the cursor; give what it is told."""
    patch.setenv("RVSMLOG_STORE", str(cli.store))
    patch.setenv("_RVSMLOG_COMPLETE", f"complete_{shell}")
    patch.setenv("COMP_WORDS", line)
    patch.setenv("COMP_CWORD", str(len(line.split(" ")) - 1))
    patch.setenv("_TYPER_COMPLETE_ARGS", line)
    patch.setenv("_TYPER_COMPLETE_FISH_ACTION", "get-args")
    with pytest.raises(SystemExit) as left:
        main([])
    assert left.value.code == 0
    return capsys.readouterr().out


LINES = {
    "rvsmlog cross": "crosscheck",
    "rvsmlog crosscheck im": "import",
    "rvsmlog gonogo --dry": "--dry-run",
    "rvsmlog gonogo QX": REG,
    "rvsmlog defect list QX-": REG,
    f"rvsmlog crosscheck log {REG} --phase hou": "hourly",
    f"rvsmlog equipment work {REG} --work altimeter,static-system-o": "static-system-opened",
    "rvsmlog rules altimeters-dis": "altimeters-disagree",
    f"rvsmlog gonogo {REG} --region NA": "NAT",
    f"rvsmlog levels {REG} --split 090": "090-269",
    "rvsmlog flight list --kind fl": "flight",
    "rvsmlog crosscheck import x.csv --airframe QX": REG,
    "rvsmlog gonogo --pilot ": "MKO",
}


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_shells_complete_commands_options_words_and_registrations(
    small: Cli, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], shell: str
) -> None:
    """As the functions ask that --install-completion writes for bash, zsh and fish."""
    found = {line: completed(small, monkeypatch, shell, line, capsys) for line in LINES}
    assert {line: word in found[line] for line, word in LINES.items()} == dict.fromkeys(LINES, True)
    assert "gonogo" not in found["rvsmlog cross"]


def test_completion_is_silent_without_a_store(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An error in the midst of typing helps nobody."""
    none = Cli(tmp_path / "none.sqlite3")
    assert completed(none, monkeypatch, "bash", "rvsmlog gonogo QX", capsys).strip() == ""


@pytest.mark.parametrize(
    ("words", "option", "hint"),
    [
        (("gonogo", "--levl", "310"), "--levl", "--hold-level or --level? see `rvsmlog gonogo -"),
        (("--store", "log.sqlite3", "board"), "--store", "a command's options follow it"),
        (("board", "--zzzz"), "--zzzz", "see `rvsmlog board --help`"),
    ],
)
def test_an_option_that_is_not_there(
    small: Cli, words: tuple[str, ...], option: str, hint: str
) -> None:
    """It is named, with those that are near, or with where options belong."""
    ran = small(*words)
    first, second = ran.err.splitlines()
    assert (ran.status, first) == (2, f"error: there is no option {option!r}")
    assert hint in second
    assert second.count("--help") <= 1
