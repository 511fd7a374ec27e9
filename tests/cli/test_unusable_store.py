"""Stores that cannot be used: damaged, locked, none of ours; one line and a hint, status 3."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from rvsmlog.store import connection
from tests.cli.conftest import REG, Cli
from tests.cli.test_bad_input import CHECK, OneLine


def damaged(path: Path, how: str) -> None:
    """Put something else in the place of a store."""
    content = path.read_bytes()
    if how == "truncated":
        path.write_bytes(content[: len(content) // 2])
    elif how == "text":
        path.write_text("airframe,taken_at\n" * 100, encoding="utf-8")
    elif how == "empty file":
        path.write_bytes(b"")
    elif how == "missing":
        path.unlink()
    elif how == "folder":
        path.unlink()
        path.mkdir()
    elif how == "other database":
        path.unlink()
        with sqlite3.connect(path) as database:
            database.execute("CREATE TABLE notes (text)")
        database.close()
    else:
        revision = {"newer": "9999", "older": "0000"}[how]
        with sqlite3.connect(path) as database:
            database.execute("UPDATE alembic_version SET version_num = ?", (revision,))
        database.close()


@pytest.mark.parametrize(
    ("how", "names"),
    [
        ("truncated", "damaged"),
        ("text", "is not a store"),
        ("empty file", "is no rvsmlog store"),
        ("missing", "does not exist"),
        ("folder", "is a folder"),
        ("other database", "is no rvsmlog store"),
        ("newer", "newer than this program's"),
        ("older", "this program needs"),
    ],
)
@pytest.mark.parametrize("words", [CHECK, ("gonogo", REG), ("store", "verify")], ids="-".join)
def test_a_store_that_cannot_be_used_is_said(
    small: Cli, check_one_line: OneLine, how: str, names: str, words: tuple[str, ...]
) -> None:
    """Status 3, one line that names the store, a hint; what is there stays as it is."""
    damaged(small.store, how)
    before = small.store.read_bytes() if small.store.is_file() else None
    ran = small(*words)
    check_one_line(ran, 3)
    assert str(small.store) in ran.err
    assert names in ran.err
    assert "hint: " in ran.err
    assert (small.store.read_bytes() if small.store.is_file() else None) == before


def test_a_locked_store_is_said(
    small: Cli, check_one_line: OneLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another program writes, a record waits, then says so with status 3."""
    monkeypatch.setattr(connection, "BUSY_MILLISECONDS", 30)
    before = small.seals()
    other = sqlite3.connect(small.store, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        ran = small(*CHECK)
    finally:
        other.rollback()
        other.close()
    check_one_line(ran, 3)
    assert "is in use by another program" in ran.err
    assert small.seals() == before


# Run as root the process loads all it needs, then goes on as a user without rights: file modes
# do not bind root.
_AS_NOBODY = """
import os, sys
from rvsmlog.cli.app import main
writable, *words = sys.argv[1:]
assert main([*words, "--store", writable]) == 0
if os.geteuid() == 0:
    os.setuid(65534)
sys.stdout.write("as nobody\\n")
sys.exit(main(words))
"""


def test_a_read_only_store_is_said(small: Cli) -> None:
    """Where the file may only be read, a record is refused with status 3."""
    folder = small.store.parent
    writable = folder / "writable.sqlite3"
    writable.write_bytes(small.store.read_bytes())
    places = (small.store, folder, folder.parent)
    modes = [place.stat().st_mode & 0o777 for place in places]
    before = small.seals()
    try:
        for place, mode in zip(places, (0o444, 0o755, 0o755), strict=True):
            place.chmod(mode)
        ran = subprocess.run(
            [sys.executable, "-c", _AS_NOBODY, str(writable), *CHECK],
            capture_output=True,
            text=True,
            env={**os.environ, "RVSMLOG_STORE": str(small.store), "RVSMLOG_BY": "MKO"},
            check=False,
        )
    finally:
        for place, mode in zip(places, modes, strict=True):
            place.chmod(mode)
    assert (ran.returncode, ran.stdout.partition("as nobody\n")[2]) == (3, "")
    # Which of the two depends on whether the folder may be written: SQLite's log stands beside.
    assert ran.stderr.startswith(
        (
            f"error: the store {small.store} is read-only\nhint: ",
            f"error: the store {small.store} cannot be opened\nhint: ",
        )
    )
    assert small.seals() == before


@pytest.mark.parametrize(
    "words", [("store", "export", "out.jsonl"), ("store", "verify"), ("airframe", "list")]
)
def test_a_text_in_the_store_that_is_none_is_damage(
    small: Cli, check_one_line: OneLine, words: tuple[str, ...]
) -> None:
    """Bytes that are no text, in a name that is read by itself, are the store's fault."""
    lite = sqlite3.connect(small.store)
    lite.execute("DROP TRIGGER logbook_no_update")
    lite.execute("UPDATE logbook SET name = CAST(x'564bff' AS TEXT) WHERE kind = 'airframe'")
    lite.commit()
    lite.close()
    ran = small(*words)
    check_one_line(ran, 3)


def test_a_text_that_cannot_be_written_is_the_store_s_unless_it_was_typed(
    small: Cli, check_one_line: OneLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where every argument was text, what cannot be written came from the store."""

    def fail(*_given: object, **_named: object) -> None:
        "A\udcff".encode()

    monkeypatch.setattr("rvsmlog.store.safekeeping.export.export_store", fail)
    check_one_line(small("store", "export", "out.jsonl"), 3)
    check_one_line(small("store", "export", "out\udcff.jsonl"), 2)


def test_a_url_whose_port_is_no_number_is_refused(small: Cli, check_one_line: OneLine) -> None:
    """The reader of URLs itself stumbles over it."""
    check_one_line(small("store", "info", "--store", "postgresql://[::1"), 3)


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("entry", "recorded_at", b"\xff"),
        ("entry", "number", "x"),
        ("entry", "digest", "x"),
        ("crosscheck_detail", "primary_1_ft", "x"),
        ("entry", "recorded_at", 2**62),
        ("equipment_detail", "function", b"\xff"),
        ("equipment_detail", "function", "no such function"),
    ],
)
def test_a_field_of_another_type_is_damage(
    small: Cli, check_one_line: OneLine, table: str, column: str, value: object
) -> None:
    """A database file that was changed may hold anything in any column."""
    lite = sqlite3.connect(small.store)
    for (name,) in lite.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        lite.execute(f"DROP TRIGGER {name}")
    lite.execute(f"UPDATE OR IGNORE {table} SET {column} = ?", (value,))  # noqa: S608 - our own names
    lite.commit()
    lite.close()
    ran = small("gonogo", REG, "--at", "2024-05-02T08:00Z", "--dry-run")
    check_one_line(ran, 3)
    assert "the store is damaged" in ran.err


@pytest.mark.parametrize("revision", ["-1", "0000", "$(id)", "0" * 300, "0.5"])
def test_a_schema_that_is_none_is_not_upgraded(
    small: Cli, check_one_line: OneLine, revision: str
) -> None:
    """No backup is made of what cannot be upgraded, and nothing unforeseen happens."""
    lite = sqlite3.connect(small.store)
    lite.execute("UPDATE alembic_version SET version_num = ?", (revision,))
    lite.commit()
    lite.close()
    before = set(small.store.parent.iterdir())
    ran = small("store", "upgrade")
    check_one_line(ran, 3)
    assert "is not one of rvsmlog's" in ran.err
    assert set(small.store.parent.iterdir()) == before
