"""Each help page's example, typed as it stands in a clone where the demo has just been made."""

import csv
import shlex
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rvsmlog.cli.helping import split_example
from rvsmlog.cli.nouns import EXAMPLE_ENTRY, EXAMPLE_FILES, NOUNS
from rvsmlog.shipped import shipped
from tests.cli.conftest import Cli, Ran
from tests.cli.test_help import EVERY

Names = tuple[str, ...]

#: What cannot be run so, and why.
NOT_RUN: dict[Names, str] = {
    ("store", "copy"): "wants a PostgreSQL server of one's own",
    ("store", "roles"): "wants a PostgreSQL server of one's own",
    ("store", "clock"): "wants the machine's clock to say the time that it gives",
}
#: Examples that read what another one makes, and which.
MADE_BY: dict[Names, tuple[Names, ...]] = {
    ("store", "restore"): (("store", "backup"),),
    ("store", "import"): (("store", "init"), ("store", "export")),
}


@pytest.fixture
def clone(copy_of: Callable[[str], Cli], monkeypatch: pytest.MonkeyPatch) -> Cli:
    """Give a command line in a folder with the demo store and the sample data."""
    cli = copy_of("demo")
    cli.store = cli.store.rename(cli.store.with_name("demo.sqlite3"))
    (cli.store.parent / "sample_data").symlink_to(shipped("sample_data"))
    monkeypatch.chdir(cli.store.parent)
    return cli


def typed(cli: Cli, path: Names) -> Ran:
    """Type a command's example."""
    program, *words = shlex.split(split_example(EVERY[path].help)[1])
    assert program == "rvsmlog"
    return cli.ok(*words)


@pytest.mark.parametrize("path", [path for path in EVERY if path not in NOT_RUN], ids=" ".join)
def test_the_example_runs_on_the_demo(clone: Cli, path: Names) -> None:
    """It leaves with 0, complains of nothing and says something."""
    for before in MADE_BY.get(path, ()):
        typed(clone, before)
    assert typed(clone, path).out


def test_what_is_not_run_is_there(clone: Cli) -> None:
    """The list of what cannot be run names commands, and is short."""
    assert NOT_RUN.keys() | MADE_BY.keys() <= EVERY.keys()
    assert len(NOT_RUN) <= 3


def test_the_time_of_the_clock_is_taken_on_its_day(
    clone: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The example that corrects the clock runs where the clock says the time that it gives."""
    monkeypatch.setattr("rvsmlog.cli.keeping.now", lambda: datetime(2026, 5, 1, 12, tzinfo=UTC))
    assert typed(clone, ("store", "clock")).out


@pytest.mark.parametrize("noun", NOUNS)
def test_the_entry_that_examples_name_is_of_the_noun(clone: Cli, noun: str) -> None:
    """An entry of another kind would show and strike out something else."""
    shown = clone.ok(noun, "show", *EXAMPLE_ENTRY[noun].split(), "--json").json
    assert shown["kind"] == NOUNS[noun][0].kind.name


def test_every_sheet_is_some_example() -> None:
    """No file lies there that no help page names, and each has rows."""
    folder = shipped("sample_data") / Path(EXAMPLE_FILES).name
    named = [word for command in EVERY.values() for word in split_example(command.help)[1].split()]
    there = sorted(folder.iterdir())
    assert [path for path in there if f"{EXAMPLE_FILES}/{path.name}" not in named] == []
    for path in there:
        with path.open(encoding="utf-8", newline="") as handle:
            assert list(csv.DictReader(handle)), path


def test_an_entry_that_the_demo_lacks_is_found(clone: Cli) -> None:
    """The check itself can fail: neither a missing entry nor a missing file leaves with 0."""
    assert clone("crosscheck", "show", "QX-ALD", "999999").status == 2
    assert (
        clone("flight", "import", f"{EXAMPLE_FILES}/none.csv", "--airframe", "QX-ALD").status == 2
    )
    assert clone("store", "restore", "none.sqlite3", "--store", "new.sqlite3").status == 3
