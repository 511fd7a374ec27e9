"""The self-check of `store info`: what is missing or off, each with what to do; always status 0."""

import os
import shutil
import sqlite3
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from rvsmlog.dates import now
from rvsmlog.store.safekeeping import self_check as module
from tests.cli.conftest import Cli


def looked(cli: Cli) -> dict[str, dict[str, str]]:
    """Run the self-check and give what is not in order, by what was looked at."""
    found = cli.ok("store", "info", "--json").json["self_check"]
    return {each["what"]: each for each in found if each["state"] != "good"}


def test_a_store_as_it_was_made_is_in_order(small: Cli) -> None:
    """Nothing is off, and the screen names what was looked at."""
    small.store.chmod(0o600)
    assert looked(small) == {}
    assert (
        "in order: schema, triggers and indexes, write-ahead log" in small.ok("store", "info").out
    )


def no_triggers(cli: Cli) -> None:
    """Drop a trigger."""
    lite = sqlite3.connect(cli.store)
    (name,) = lite.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchone()
    lite.execute(f"DROP TRIGGER {name}")
    lite.close()


def no_log(cli: Cli) -> None:
    """Write the file without a write-ahead log."""
    lite = sqlite3.connect(cli.store)
    lite.execute("PRAGMA journal_mode=DELETE")
    lite.close()


def no_such_zone(cli: Cli) -> None:
    """Let the operator live where nobody knows the time."""
    lite = sqlite3.connect(cli.store)
    names = lite.execute("SELECT name FROM sqlite_master WHERE tbl_name = 'operator_detail'")
    for (name,) in names.fetchall():
        if name.endswith("_no_change"):
            lite.execute(f"DROP TRIGGER {name}")
    for (name,) in lite.execute("SELECT name FROM sqlite_master WHERE type='trigger'").fetchall():
        lite.execute(f"DROP TRIGGER {name}")
    lite.execute("UPDATE operator_detail SET time_zone = 'Mars/Olympus'")
    lite.commit()
    lite.close()


def other_schema(cli: Cli) -> None:
    """Say that the store is older."""
    lite = sqlite3.connect(cli.store)
    lite.execute("UPDATE alembic_version SET version_num = '0000'")
    lite.commit()
    lite.close()


def wide_file(cli: Cli) -> None:
    """Let everybody read the file."""
    cli.store.chmod(0o644)


def wide_folder(cli: Cli) -> None:
    """Let everybody write the folder."""
    cli.store.parent.chmod(0o777)


@pytest.mark.parametrize(
    ("spoil", "what", "do"),
    [
        (no_triggers, "triggers and indexes", "run `rvsmlog store verify`"),
        (no_log, "write-ahead log", "make a backup and restore it"),
        (no_such_zone, "time zones", "pip install tzdata"),
        (other_schema, "schema", "run `rvsmlog store upgrade`"),
        pytest.param(
            *(wide_file, "permissions of the file", "chmod 600"),
            marks=pytest.mark.skipif(os.name != "posix", reason="modes of POSIX"),
        ),
        pytest.param(
            *(wide_folder, "permissions of the folder", "chmod go-w"),
            marks=pytest.mark.skipif(os.name != "posix", reason="modes of POSIX"),
        ),
    ],
)
def test_what_is_off_is_said_with_what_to_do(
    small: Cli, spoil: Callable[[Cli], None], what: str, do: str
) -> None:
    """One thing is spoilt, and that one is named; on the screen too, within 80 columns."""
    small.store.chmod(0o600)
    spoil(small)
    found = looked(small)
    assert what in found
    assert found[what]["state"] == "off"
    assert found[what]["do"].startswith(do)
    screen = small.ok("store", "info").out
    assert f"  x {what}: " in screen
    assert max(map(len, screen.splitlines()[1:])) <= 80


def test_the_clock_the_disk_and_the_extras(small: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    """A clock behind the newest entry, a full disk, and libraries that are not there."""
    small.store.chmod(0o600)
    usage: Any = shutil.disk_usage("/")._replace(free=1 << 20)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage)
    monkeypatch.setattr(module, "find_spec", lambda _: None)
    monkeypatch.setattr("rvsmlog.cli.store.now", lambda: now() - timedelta(hours=2))
    found = looked(small)
    assert found.keys() == {"clock", "free room", "extra plot", "extra postgres"}
    assert found["clock"]["do"].startswith("set the machine's clock; if it is right")
    assert found["extra plot"]["state"] == "not installed"
    assert found["extra plot"]["do"] == "pip install 'rvsmlog[plot]'"


def test_logbooks_of_another_schema_are_not_called_none(small: Cli) -> None:
    """What was not read is not said to be empty."""
    other_schema(small)
    told = small.ok("store", "info")
    assert "logbooks not read" in told.out
    assert "no logbook yet" not in told.out
    assert small.ok("store", "info", "--json").json["logbooks"] is None
