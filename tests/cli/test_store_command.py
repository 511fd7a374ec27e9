"""The store's own commands: their answers as JSON and their exit statuses."""

import json
import sqlite3
from pathlib import Path

from tests.cli.conftest import Cli


def test_a_new_store_is_made_once(empty: Cli) -> None:
    """What stands at a place is never overwritten; a folder that is missing is made."""
    place = empty.store.parent / "new folder" / "log.sqlite3"
    made = empty.ok("store", "init", "--store", str(place), "--json").json
    assert made["store"] == str(place)
    before = place.read_bytes()
    again = empty("store", "init", "--store", str(place))
    assert (again.status, again.out) == (3, "")
    assert f"error: {place} exists already" in again.err
    assert place.read_bytes() == before


def test_info_tells_the_schema_and_the_seals(small: Cli) -> None:
    """Each logbook with its newest entry and digest, as the store has them."""
    info = small.ok("store", "info", "--json").json
    assert {
        each["logbook"]: (each["entries"], each["digest"].upper()) for each in info["logbooks"]
    } == small.seals()


def test_a_backup_is_a_store_with_the_same_seals(small: Cli) -> None:
    """It is made beside the store, or as named, and never over a file."""
    copied = Cli(Path(small.ok("store", "backup", "--json").json["backup"]))
    assert copied.seals() == small.seals()
    assert copied.ok("store", "verify", "--json").json["as_written"] is True
    ran = small("store", "backup", str(copied.store))
    assert (ran.status, ran.out) == (3, "")
    assert "exists already" in ran.err


def test_verify_leaves_with_1_when_something_was_changed(small: Cli) -> None:
    """A reading changed behind the program's back is named by its entry."""
    before = small.ok("store", "verify", "--json").json
    assert (before["as_written"], before["faults"]) == (True, [])
    with sqlite3.connect(small.store) as database:
        triggers = database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in triggers.fetchall():
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute("UPDATE crosscheck_detail SET primary_2_ft = 31000 WHERE number = 3")
    database.close()
    ran = small("store", "verify", "--json")
    assert ran.status == 1
    found = json.loads(ran.out)
    assert found["as_written"] is False
    assert {(each["logbook"], each["entry"]) for each in found["faults"]} >= {("VK71-1007", 3)}
    screen = small("store", "verify")
    assert screen.status == 1
    assert "VK71-1007#3" in screen.out


def test_upgrade_of_a_new_store_does_nothing(small: Cli) -> None:
    """It says so, and makes no backup."""
    files = sorted(small.store.parent.iterdir())
    answer = small.ok("store", "upgrade", "--json").json
    assert answer["before"] == answer["after"]
    assert answer["backup"] is None
    assert sorted(small.store.parent.iterdir()) == files
