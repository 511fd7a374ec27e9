"""What a check loads: start-up is most of its time, so what it does not need stays out."""

import os
import subprocess
import sys

import pytest

from rvsmlog import dates
from tests.cli.conftest import REG, Cli

_RUN = """
import json, sys
from rvsmlog.cli.app import main
status = main(sys.argv[1:])
sys.stdout.flush()
sys.stderr.write("\\n" + json.dumps(sorted(sys.modules)))
sys.exit(status)
"""
#: What a check never needs.
UNWANTED = {
    *("alembic", "jinja2", "matplotlib", "numpy", "scipy", "pydantic", "pydantic_core", "rich"),
    *("platformdirs", "sqlalchemy.orm", "psycopg", "icalendar", "readline"),
    *(
        "rvsmlog.cli.nouns",
        "rvsmlog.cli.noun_commands",
        "rvsmlog.cli.guided",
        "rvsmlog.store.importing.csv_import",
    ),
    *("rvsmlog.store.safekeeping.schema", "sqlalchemy.dialects.postgresql"),
}


def loaded(cli: Cli, *words: str) -> set[str]:
    """Run a command in a process of its own; give the modules that it loaded."""
    ran = subprocess.run(
        [sys.executable, "-c", _RUN, *words],
        capture_output=True,
        text=True,
        env={**os.environ, "RVSMLOG_STORE": str(cli.store), "RVSMLOG_BY": "MKO"},
        check=False,
    )
    head, _, modules = ran.stderr.rpartition("\n")
    assert ran.returncode in {0, 1}
    assert head == ""
    return set(modules.strip('[]"').split('", "'))


@pytest.mark.parametrize(
    "words",
    [
        ("gonogo", REG, "--json"),
        ("gonogo", REG, "--level", "310", "--sources"),
        (),
    ],
    ids=" ".join,
)
def test_a_check_loads_no_more_than_it_needs(small: Cli, words: tuple[str, ...]) -> None:
    """No migrations, pages, plots, numbers, validation, terminal, or other commands."""
    modules = loaded(small, *words)
    assert "rvsmlog.verdict" in modules
    packages = {name.partition(".")[0] for name in modules} | modules
    assert sorted(UNWANTED & packages) == []


def test_the_parser_s_validation_stays_out_of_every_command(small: Cli) -> None:
    """Options are texts that our own field types read."""
    modules = loaded(small, "crosscheck", "list", REG, "--last", "5")
    assert "pydantic" not in modules
    assert "rich" not in modules


def test_a_check_reads_no_list_of_all_time_zones(
    small: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Listing the zones reads hundreds of files; the operator's one is enough."""

    def refuse(**_paths: object) -> set[str]:
        raise AssertionError("all time zones were listed")

    monkeypatch.setattr("rvsmlog.dates.available_timezones", refuse)
    dates._zones.cache_clear()
    assert small("gonogo", REG, "--level", "310").status == 1
    assert (
        "all time zones were listed"
        in small("operator", "set", "--name", "A", "--time-zone", "UTC").err
    )


@pytest.mark.parametrize(("grade", "status"), [("0", 0), ("1", 0), ("2", 1)])
@pytest.mark.parametrize("module", ["library", "verdict"])
def test_without_docstrings_the_library_says_so_too(module: str, grade: str, status: int) -> None:
    """An import error in plain words, with what mends it, in place of a fault of some rule."""
    done = subprocess.run(
        (sys.executable, "-c", f"import rvsmlog.{module}"),
        env={**os.environ, "PYTHONOPTIMIZE": grade},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == status, done.stderr
    last = done.stderr.splitlines()[-1:]
    assert [each.split(" ")[0] for each in last] == ([] if status == 0 else ["ImportError:"])
    assert all("docstrings" in each and "unset PYTHONOPTIMIZE" in each for each in last)


@pytest.mark.parametrize(("grade", "status"), [("0", 0), ("1", 0), ("2", 3)])
def test_without_docstrings_it_says_that_it_cannot_run(grade: str, status: int) -> None:
    """The rules' pages are their docstrings, which Python leaves out at grade 2."""
    done = subprocess.run(
        (sys.executable, "-m", "rvsmlog", "rules"),
        env={**os.environ, "PYTHONOPTIMIZE": grade},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == status, done.stderr
    lines = done.stderr.splitlines()
    assert [line.split(":")[0] for line in lines] == ([] if status == 0 else ["error", "hint"])
    assert ("PYTHONOPTIMIZE" in done.stderr) is (status == 3)
