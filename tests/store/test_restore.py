"""Backups verified and rotated; restoring overwrites nothing without a word."""

import os
import shutil
import sqlite3
import stat
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import InputError, StoreError
from rvsmlog.store.connection import open_store
from rvsmlog.store.safekeeping.backup import BackedUp, backup
from rvsmlog.store.safekeeping.restore import restore
from rvsmlog.store.safekeeping.verify import verify

if TYPE_CHECKING:
    from tests.store.conftest import Log

NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)
pytestmark = pytest.mark.parametrize("backend", ["sqlite"])


def newest(path: Path) -> dict[str, int]:
    """Verify a store, and give the newest number of each logbook."""
    with open_store(str(path)) as store, store.reading() as connection:
        found = verify(connection)
    assert found.faults == ()
    return {seal.logbook: seal.entry for seal in found.seals}


def names(folder: Path) -> list[str]:
    """Name the files of a folder."""
    return sorted(path.name for path in folder.iterdir())


@pytest.fixture
def path(log: "Log") -> Path:
    """Give the store's file."""
    assert log.store.path is not None
    return log.store.path


@pytest.fixture
def made(log: "Log") -> Path:
    """Make a backup, then one more entry."""
    copy = backup(log.store, now=NOW).file
    log.add("crosscheck")
    return copy


@pytest.fixture
def days(log: "Log") -> Callable[..., list[BackedUp]]:
    """Give what makes a backup a day."""

    def make(count: int, target: Path | None = None, keep: int | None = None) -> list[BackedUp]:
        return [
            backup(log.store, target, now=NOW + timedelta(days=day), keep=keep)
            for day in range(count)
        ]

    return make


def test_a_backup_says_how_much_was_verified(log: "Log") -> None:
    """Every digest in the copy was computed, and progress was told."""
    told: list[int] = []
    copy = backup(log.store, now=NOW, progress=told.append)
    assert (copy.entries, copy.removed) == (2, ())


def test_the_newest_backups_are_kept(
    log: "Log", path: Path, folder: Path, days: Callable[..., list[BackedUp]]
) -> None:
    """With three to keep, the fourth removes the first; nothing else is ever removed."""
    mine = [
        "log.backup.sqlite3",
        "log.20270101T000000Z.backup.sqlite3.old",
        "log.20270101T000000Z.replaced.sqlite3",
        "other.20270101T000000Z.backup.sqlite3",
        "xlog.20270101T000000Z.backup.sqlite3",
        "log.2027.backup.sqlite3",
    ]
    for name in mine:
        (folder / name).write_text("mine")
    (folder / "log.20260101T000000Z.backup.sqlite3").mkdir()
    (folder / "log.20260102T000000Z.backup.sqlite3").symlink_to(folder / mine[0])
    copies = days(5, keep=3)
    assert [[each.name for each in copy.removed] for copy in copies] == [
        *([], [], []),
        ["log.20270314T023000Z.backup.sqlite3"],
        ["log.20270315T023000Z.backup.sqlite3"],
    ]
    assert [copy.file.exists() for copy in copies] == [False, False, True, True, True]
    assert all((folder / name).read_text() == "mine" for name in mine)
    assert {"log.20260101T000000Z.backup.sqlite3", "log.20260102T000000Z.backup.sqlite3"} <= set(
        names(folder)
    )


def test_backups_rotate_in_a_folder_of_their_own(
    log: "Log", folder: Path, days: Callable[..., list[BackedUp]]
) -> None:
    """A folder that is there takes the backup, under a name made for it."""
    stick = folder / "stick"
    stick.mkdir()
    days(1)
    days(4, stick, keep=2)
    assert names(stick) == [f"log.202703{day}T023000Z.backup.sqlite3" for day in (16, 17)]
    assert "log.20270314T023000Z.backup.sqlite3" in names(folder)
    with pytest.raises(InputError, match="--keep goes with a folder"):
        backup(log.store, folder / "named.sqlite3", now=NOW, keep=2)


def test_a_store_that_was_changed_costs_no_older_backup(log: "Log", folder: Path) -> None:
    """What is not as it was written is not backed up over good copies: no file, none removed."""
    good = backup(log.store, now=NOW, keep=1).file
    log.tamper("UPDATE airframe_detail SET remarks = 'x'")
    with pytest.raises(StoreError, match="VK71-1007#1 was changed"):
        backup(log.store, now=NOW + timedelta(days=1), keep=1)
    assert names(folder) == sorted(["log.sqlite3", good.name])


def test_a_backup_becomes_a_store(made: Path, folder: Path) -> None:
    """A new place is filled whole: private, verified, and ready for several programs."""
    told = restore(made, str(folder / "new" / "log.sqlite3"), now=NOW)
    assert (told.entries, told.kept) == (2, None)
    assert newest(told.store) == {"operator": 1, "VK71-1007": 1}
    assert stat.S_IMODE(told.store.stat().st_mode) == 0o600
    with closing(sqlite3.connect(told.store)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert names(told.store.parent) == ["log.sqlite3"]


def test_what_stands_there_is_not_touched(made: Path, path: Path, folder: Path) -> None:
    """A store, another file, a folder or a link at the place is refused and left as it is."""
    (folder / "text").write_text("mine")
    (folder / "link").symlink_to(folder / "nowhere")
    before = path.read_bytes()
    for place in (path, folder / "text", folder / "link", folder):
        with pytest.raises(StoreError, match="exists already"):
            restore(made, str(place), now=NOW)
    assert path.read_bytes() == before
    assert (folder / "text").read_text() == "mine"
    assert not (folder / "nowhere").exists()


def test_what_is_replaced_is_kept_beside(made: Path, path: Path, folder: Path) -> None:
    """The store of before has all its entries, those still in its log beside it as well."""
    told = restore(made, str(path), now=NOW, replace=True)
    assert told.kept == folder / "log.20270314T023000Z.replaced.sqlite3"
    assert newest(path) == {"operator": 1, "VK71-1007": 1}
    assert newest(told.kept) == {"operator": 1, "VK71-1007": 2}
    assert names(folder) == sorted([made.name, "log.sqlite3", told.kept.name])
    with pytest.raises(StoreError, match=r"replaced\.sqlite3 exists already"):
        restore(made, str(path), now=NOW, replace=True)
    back = restore(told.kept, str(path), now=NOW + timedelta(hours=1), replace=True)
    assert back.entries == 3


def test_an_open_store_is_not_replaced(
    made: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another program has it open, or writes to it, it stays; a writer loses nothing."""
    monkeypatch.setattr("rvsmlog.store.safekeeping.restore.BUSY_MILLISECONDS", 50)
    with closing(sqlite3.connect(path)) as other:
        other.execute("SELECT count(*) FROM entry").fetchone()
        with pytest.raises(StoreError, match="is in use by another program"):
            restore(made, str(path), now=NOW, replace=True)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match="is in use by another program"):
            restore(made, str(path), now=NOW, replace=True)
    assert newest(path) == {"operator": 1, "VK71-1007": 2}


@pytest.mark.parametrize("damage", ["no database", "cut short", "a page overwritten", "empty"])
def test_a_damaged_store_is_replaced_and_kept(
    made: Path, path: Path, folder: Path, damage: str
) -> None:
    """What cannot be opened any more is set aside as it is, with any log beside it."""
    whole = path.read_bytes()
    ruined = {
        "no database": b"x" * 8192,
        "cut short": whole[: len(whole) // 2 + 100],
        "a page overwritten": whole[:4096] + b"\xff" * 4096 + whole[8192:],
        "empty": b"",
    }[damage]
    path.write_bytes(ruined)
    (folder / "log.sqlite3-wal").write_bytes(b"left behind")
    told = restore(made, str(path), now=NOW, replace=True)
    assert newest(path) == {"operator": 1, "VK71-1007": 1}
    assert told.kept is not None
    assert told.kept.exists()
    if damage == "no database":
        assert told.kept.read_bytes() == ruined
        kept_log = folder / f"{told.kept.name}-wal"
        assert kept_log.read_bytes() == b"left behind"
    assert not (folder / "log.sqlite3-wal").exists()


def test_what_is_no_good_backup_is_not_restored(
    log: "Log", made: Path, path: Path, folder: Path
) -> None:
    """A changed, damaged or foreign file, one of a newer schema, the store itself: refused."""
    changed, newer, empty = folder / "changed", folder / "newer", folder / "empty"
    text, other = folder / "text", folder / "other"
    for target in (changed, newer):
        shutil.copyfile(made, target)
    with closing(sqlite3.connect(changed)) as connection, connection:
        connection.execute("DROP TRIGGER airframe_detail_no_update")
        connection.execute("UPDATE airframe_detail SET remarks = 'x'")
    with closing(sqlite3.connect(newer)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    with closing(sqlite3.connect(other)) as connection, connection:
        connection.execute("CREATE TABLE t (x)")
    text.write_text("no store at all")
    empty.touch()
    before = path.read_bytes()
    for source, says in (
        (changed, "VK71-1007#1 was changed"),
        (newer, "newer than this program's"),
        (text, "is not a store"),
        (empty, "is no rvsmlog store"),
        (other, "is no rvsmlog store"),
        (folder / "none", "does not exist"),
        (folder, "is no file"),
        (path, "is the backup itself"),
    ):
        with pytest.raises(StoreError, match=says):
            restore(source, str(path), now=NOW, replace=True)
    assert path.read_bytes() == before
    assert not list(folder.glob("*.replaced.*"))
    with pytest.raises(StoreError, match="not a database on a server"):
        restore(made, "postgresql+psycopg://nowhere/x", now=NOW)


def test_an_older_backup_is_restored_as_it_is(made: Path, folder: Path) -> None:
    """Its digests are for the edition that made it; upgrading comes after."""
    with closing(sqlite3.connect(made)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '0000'")
    told = restore(made, str(folder / "new.sqlite3"), now=NOW)
    assert told.entries is None
    with pytest.raises(StoreError, match="has schema 0000") as refused:
        open_store(str(told.store))
    assert "store upgrade" in refused.value.hint


def test_a_file_system_without_links(
    made: Path, path: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a file cannot have two names, as on a memory stick, it is renamed instead."""

    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    told = restore(made, str(path), now=NOW, replace=True)
    assert told.kept is not None
    assert newest(told.kept)["VK71-1007"] == 2
    assert newest(path)["VK71-1007"] == 1


def test_a_restoration_killed_half_way_leaves_no_second_name(log: "Log", folder: Path) -> None:
    """Where the old store bears both names, the next restoration first takes one of them away."""
    assert log.store.path is not None
    copy = backup(log.store, now=NOW).file
    half = folder / "log.20270101T000000Z.replaced.sqlite3"
    half.hardlink_to(log.store.path)
    kept = restore(copy, str(log.store.path), now=NOW, replace=True).kept
    assert not half.exists()
    assert kept is not None
    assert (kept.stat().st_nlink, log.store.path.stat().st_nlink) == (1, 1)
