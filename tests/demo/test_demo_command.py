"""The command `demo`, as a person calls it."""

import json
import shlex
from pathlib import Path

import pytest

from rvsmlog.cli.app import main
from rvsmlog.cli.demo import make
from rvsmlog.store.safekeeping.schema import create_store


def test_it_makes_the_named_store_and_shows_the_fleet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It leaves with 0 though not every aeroplane may go: the demo itself worked."""
    path = tmp_path / "demo.sqlite3"
    assert main(["demo", "--store", str(path)]) == 0
    out = capsys.readouterr().out
    assert out.startswith(f"made the demo store {path}\n")
    for line in (
        "QX-ALD    GO      FL310",
        "QX-BRE    NO-GO   FL280      altimeter-beyond-rvsm-limit, altimeters-disagree",
        "QX-CYR    NO-GO   no flight  deferral-overdue",
        "QX-ESK    GO      FL310",
    ):
        assert line in out
    assert "pilot in command decide" in out
    assert path.is_file()


def test_the_environment_names_the_store_too(
    demo_copy: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """RVSMLOG_STORE serves as --store does."""
    monkeypatch.setenv("RVSMLOG_STORE", str(demo_copy))
    assert main(["demo"]) == 0
    assert capsys.readouterr().out.startswith(f"the demo store was there already: {demo_copy}\n")


@pytest.mark.usefixtures("ready_made")
def test_without_a_name_it_has_a_file_of_its_own(
    data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The user's own log, the default store, is never where the demo goes."""
    assert main(["demo"]) == 0
    assert [path.name for path in data_folder.glob("*.sqlite3")] == ["demo.sqlite3"]
    assert f"{data_folder / 'demo.sqlite3'}" in capsys.readouterr().out


@pytest.mark.usefixtures("ready_made")
def test_it_says_which_store_it_left_alone(
    tmp_path: Path, data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A store with other records is named, and where the demo is instead."""
    other = tmp_path / "mine.sqlite3"
    create_store(str(other)).close()
    assert main(["demo", "--store", str(other)]) == 0
    # A long path is folded, so blanks do not count.
    out = "".join(capsys.readouterr().out.split())
    assert f"leftalone:{other}isnodemostore" in out
    assert f"madethedemostore{data_folder / 'demo.sqlite3'}" in out


def test_the_screen_fits_80_columns(
    demo_copy: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Lines that do not hold the store's path, which has the length it has, fit."""
    monkeypatch.chdir(demo_copy.parent)
    assert main(["demo", "--store", "copy.sqlite3"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line for line in lines if len(line) > 80 and str(demo_copy) not in line] == []


def test_the_commands_it_offers_work_as_they_stand(
    demo_copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each can be copied: three flights that may not go as planned, and what explains them."""
    assert main(["demo", "--store", str(demo_copy), "--json"]) == 0
    offered = json.loads(capsys.readouterr().out)["try"]
    statuses = []
    for command in offered:
        program, *arguments = shlex.split(command)
        assert program == "rvsmlog"
        statuses.append(main(arguments))
    assert statuses == [1, 1, 1, 0, 0, 0]


def test_on_the_screen_they_are_folded_for_a_shell(
    demo_copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the screen offers is what JSON offers, once the shell has joined the lines."""
    assert main(["demo", "--store", str(demo_copy), "--json"]) == 0
    offered = json.loads(capsys.readouterr().out)["try"]
    assert main(["demo", "--store", str(demo_copy)]) == 0
    screen = capsys.readouterr().out.partition("Go on with\n")[2].replace("\\\n", " ")
    assert [shlex.split(line) for line in screen.splitlines()] == [
        shlex.split(command) for command in offered
    ]


def test_json_says_where_and_what(demo_copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One object: the store, whether it was made, and a flat row for each airframe."""
    assert main(["demo", "--store", str(demo_copy), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["store"] == str(demo_copy)
    assert answer["made"] is False
    assert answer["at"] == "2026-11-24T08:00:00Z"
    assert [(row["registration"], row["highest_level"]) for row in answer["fleet"]] == [
        ("QX-ALD", 310),
        ("QX-BRE", 280),
        ("QX-CYR", None),
        ("QX-DAN", None),
        ("QX-ESK", 310),
    ]
    assert "pilot in command" in answer["caution"]


def test_a_place_that_cannot_be_written_leaves_with_3(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line and a hint on standard error."""
    (tmp_path / "file").write_text("", "utf-8")
    assert main(["demo", "--store", str(tmp_path / "file" / "demo.sqlite3")]) == 3
    err = capsys.readouterr().err.splitlines()
    assert [line.partition(":")[0] for line in err] == ["error", "hint"]


def test_the_command_is_made_under_the_name_asked_for() -> None:
    """The root asks for the command by its name."""
    assert make("demo").registered_commands[0].name == "demo"
