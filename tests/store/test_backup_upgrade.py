"""Backups made while others write, and upgrades that keep everything or change nothing."""
# ruff: noqa: S608 - the statements are the tests' own

import shutil
import sqlite3
import stat
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from rvsmlog.errors import StoreError
from rvsmlog.records.base import Record
from rvsmlog.shipped import shipped
from rvsmlog.store.connection import SCHEMA_REVISION, Store, open_store, revision
from rvsmlog.store.safekeeping.backup import backup
from rvsmlog.store.safekeeping.schema import upgrade_store
from rvsmlog.store.safekeeping.verify import verify
from rvsmlog.store.writing.logbook import writing
from tests.store.freeze import load

if TYPE_CHECKING:
    from tests.store.conftest import Log

NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)
pytestmark = pytest.mark.parametrize("backend", ["sqlite"])


def seals(where: Path) -> list[tuple[str, int]]:
    """Verify a store and give its newest numbers."""
    with open_store(str(where)) as store, store.reading() as connection:
        found = verify(connection)
    assert found.faults == ()
    return [(seal.logbook, seal.entry) for seal in found.seals]


def test_backup_is_a_whole_store(log: "Log") -> None:
    """A backup is one private file beside the store, named after the time, and verifies."""
    log.add("crosscheck")
    copy = backup(log.store, now=NOW).file
    assert copy.name == "log.20270314T023000Z.backup.sqlite3"
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    # Bytes 18 and 19 of SQLite's file format: 1 is a file of its own, 2 one with a log beside it.
    assert copy.read_bytes()[18:20] == b"\x01\x01"
    assert log.store.path is not None
    assert sorted(each.name for each in copy.parent.iterdir()) == sorted(["log.sqlite3", copy.name])
    log.add("crosscheck", taken_at="2027-03-12T02:01Z")
    assert seals(copy) == [("operator", 1), ("VK71-1007", 2)]
    assert log.standing("crosscheck")[-1].ref.entry == 3


def test_backup_overwrites_nothing(log: "Log", folder: Path) -> None:
    """A second backup of the same second is refused, as is a target that exists."""
    copy = backup(log.store, now=NOW).file
    before = copy.read_bytes()
    with pytest.raises(StoreError, match="exists already"):
        backup(log.store, now=NOW)
    with pytest.raises(StoreError, match="exists already"):
        backup(log.store, log.store.path, now=NOW)
    assert copy.read_bytes() == before
    with pytest.raises(StoreError, match="cannot be made"):
        backup(log.store, copy / "inside.sqlite3", now=NOW)
    elsewhere = folder / "new folder" / "100%.sqlite3"
    assert backup(log.store, elsewhere, now=NOW).file == elsewhere
    assert seals(elsewhere) == seals(copy)


def test_backup_of_a_damaged_store_leaves_nothing(log: "Log", folder: Path) -> None:
    """No file that looks like a backup is left when the store cannot be copied."""
    path = log.store.path
    assert path is not None
    path.write_bytes(b"x" * 8192)
    with pytest.raises(StoreError, match="not a store"):
        backup(log.store, now=NOW)
    assert [each.name for each in folder.iterdir()] == ["log.sqlite3"]


def test_backup_while_another_writes(
    log: "Log", sample: Callable[..., Record], folder: Path
) -> None:
    """Each copy made while entries are added holds whole transactions: tens of entries."""
    stop = threading.Event()
    faults: list[BaseException] = []

    def write() -> None:
        try:
            batch = [sample("work", remarks=f"no. {number}") for number in range(10)]
            while not stop.is_set():
                with writing(log.store, "B. Example", log.clock) as writer:
                    writer.append_many(log.book(), batch)
        except BaseException as error:
            faults.append(error)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        copies = [backup(log.store, folder / f"{number}.db", now=NOW).file for number in range(8)]
    finally:
        stop.set()
        writer.join()
    assert faults == []
    newest = [dict(seals(copy))["VK71-1007"] for copy in copies]
    assert [number % 10 for number in newest] == [1] * 8
    assert newest == sorted(newest)
    assert newest[-1] > newest[0]


MORE = """
import sqlalchemy as sa
from alembic import op

revision = "9000"
down_revision = "{before}"
branch_labels = None
depends_on = None


def upgrade():
    op.add_column("work_detail", sa.Column("hours", sa.BigInteger()))
    op.create_table("added", sa.Column("id", sa.Integer, primary_key=True))
    {fails}
"""


@pytest.fixture
def newer(monkeypatch: pytest.MonkeyPatch, folder: Path) -> Callable[[str], None]:
    """Make this program one revision newer, with a migration that may fail."""

    def make(fails: str) -> None:
        migrations = folder / "migrations"
        shutil.copytree(
            shipped("migrations"), migrations, ignore=shutil.ignore_patterns("__pycache__")
        )
        (migrations / "versions" / "9000_more.py").write_text(
            MORE.format(fails=fails, before=SCHEMA_REVISION)
        )
        monkeypatch.setattr("rvsmlog.store.safekeeping.schema.shipped", lambda _: migrations)
        for module in ("safekeeping.schema", "connection"):
            monkeypatch.setattr(f"rvsmlog.store.{module}.SCHEMA_REVISION", "9000")

    return make


def columns(store: Store) -> set[str]:
    """Give the names of the tables and of the columns of one table."""
    with closing(sqlite3.connect(str(store.path))) as connection:
        tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        fields = connection.execute("SELECT name FROM pragma_table_info('work_detail')")
        return {row[0] for row in (*tables.fetchall(), *fields.fetchall())}


def test_upgrade_after_a_backup(log: "Log", newer: Callable[[str], None]) -> None:
    """An older store is brought up to date, every entry verifies, and a copy as before is kept."""
    log.add("work")
    newer("pass")
    where = str(log.store.path)
    with pytest.raises(StoreError, match=f"has schema {SCHEMA_REVISION}; this program needs 9000"):
        open_store(where)
    before, after, copy = upgrade_store(where, NOW)
    assert (before, after) == (SCHEMA_REVISION, "9000")
    assert {"hours", "added"} <= columns(log.store)
    assert log.faults() == []
    assert copy is not None
    with open_store(str(copy), any_revision=True) as kept:
        assert revision(kept) == SCHEMA_REVISION
        assert not {"hours", "added"} & columns(kept)
    assert upgrade_store(where, NOW) == ("9000", "9000", None)


def test_upgrade_that_fails_changes_nothing(log: "Log", newer: Callable[[str], None]) -> None:
    """A migration that stops half-way is taken back whole; the backup stays."""
    newer('op.execute("SELECT no_such_function()")')
    where = str(log.store.path)
    with pytest.raises(StoreError, match="no_such_function"):
        upgrade_store(where, NOW)
    with open_store(where, any_revision=True) as store:
        assert revision(store) == SCHEMA_REVISION
        assert not {"hours", "added"} & columns(store)
    assert log.faults() == []
    assert len(list(Path(where).parent.glob("*.backup.sqlite3"))) == 1


def test_upgrade_refuses_what_it_does_not_know(log: "Log", folder: Path) -> None:
    """A newer store, one of an unknown schema, and no store at all are left as they are."""
    where = str(log.store.path)
    assert upgrade_store(where, NOW) == (SCHEMA_REVISION, SCHEMA_REVISION, None)
    for found, says in (("9999", "newer than this program's"), ("0000", "not one of rvsmlog's")):
        log.raw(f"UPDATE alembic_version SET version_num = '{found}'")
        with pytest.raises(StoreError, match=says):
            upgrade_store(where, NOW)
        with open_store(where, any_revision=True) as store, store.reading() as connection:
            query = text("SELECT version_num FROM alembic_version")
            assert connection.execute(query).scalar() == found
    with pytest.raises(StoreError, match="does not exist"):
        upgrade_store(str(folder / "none"), NOW)


@pytest.mark.usefixtures("backend")
def test_three_upgrades_at_once(folder: Path) -> None:
    """One does it, after one backup; the others find it done."""
    path = folder / "old.sqlite3"
    load("0001", path)
    with ThreadPoolExecutor(3) as pool:
        done = list(pool.map(lambda _: upgrade_store(str(path), NOW), range(3)))
    after = (SCHEMA_REVISION, SCHEMA_REVISION, None)
    assert sorted(each == after for each in done) == [False, True, True]
    assert len(list(folder.glob("*.backup.sqlite3"))) == 1
    assert revision_of(path) == SCHEMA_REVISION


def revision_of(path: Path) -> str | None:
    """Read the schema of a store."""
    with open_store(str(path), any_revision=True) as store:
        return revision(store)
