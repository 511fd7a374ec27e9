"""A database is a store by its tables; the number of a schema alone proves nothing."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import create_engine, text

from rvsmlog.errors import StoreError
from rvsmlog.library import (
    backup,
    create_store,
    describe_store,
    open_store,
    restore,
    upgrade_store,
    verify_store,
)
from rvsmlog.records.kinds import KINDS
from rvsmlog.store.connection import SCHEMA_REVISION, Store
from rvsmlog.store.shape import TABLES
from rvsmlog.store.tables import whole_metadata
from tests.store.freeze import REVISIONS, load

if TYPE_CHECKING:
    from tests.store.conftest import PostgresServer

NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)
OLD = [revision for revision in REVISIONS if revision != SCHEMA_REVISION]


def tables(path: Path) -> set[str]:
    """Give the tables of a file."""
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        return {name for (name,) in rows}


def change(path: Path, *statements: str) -> bytes:
    """Change a file behind the program's back, and give what it holds then."""
    with closing(sqlite3.connect(path)) as connection:
        for statement in statements:
            connection.execute(statement)
        connection.commit()
    return path.read_bytes()


def said(does: Callable[[], object]) -> StoreError:
    """Give what a store is refused with."""
    with pytest.raises(StoreError) as caught:
        does()
    assert caught.value.exit_status == 3
    return caught.value


def test_the_tables_of_every_revision_are_known() -> None:
    """The newest has those that the record kinds ask for."""
    assert list(TABLES)[-1] == SCHEMA_REVISION
    assert TABLES[SCHEMA_REVISION] == {*whole_metadata().tables, "alembic_version"}
    assert len(KINDS) < len(TABLES[SCHEMA_REVISION])


@pytest.mark.parametrize("revision", REVISIONS)
def test_they_are_those_of_the_frozen_stores(folder: Path, revision: str) -> None:
    """What stood in a store when a revision was the newest."""
    load(revision, folder / "old.sqlite3")
    assert tables(folder / "old.sqlite3") == TABLES[revision]


@pytest.mark.parametrize("revision", list(TABLES))
def test_somebody_else_s_database_is_left_alone(folder: Path, revision: str) -> None:
    """Another program numbers its schema in a table of the same name: nothing is written to it."""
    path = folder / "foreign.db"
    before = change(
        path,
        "CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL)",
        f"INSERT INTO alembic_version VALUES ('{revision}')",  # noqa: S608 - the test's own
        "CREATE TABLE customer (name TEXT)",
        "CREATE TABLE entry (number INTEGER)",
        "INSERT INTO customer VALUES ('invented')",
    )

    def opened() -> None:
        with open_store(path, any_revision=True) as store, store.reading() as connection:
            connection.execute(text("SELECT 1 FROM logbook"))

    def described() -> None:
        with open_store(path, any_revision=True) as store:
            describe_store(store)

    for does in (opened, described, *([] if revision == SCHEMA_REVISION else [upgrade(path)])):
        error = said(does)
        assert "is no rvsmlog store" in error.message
        assert "upgrade" not in error.hint
    assert path.read_bytes() == before
    assert list(folder.iterdir()) == [path]


def upgrade(path: Path) -> Callable[[], object]:
    """Give what upgrades a store."""
    return lambda: upgrade_store(path, NOW)


@pytest.mark.parametrize("lost", ["crosscheck_detail", "entry", "logbook", "alembic_version"])
@pytest.mark.parametrize("revision", OLD)
def test_an_old_store_that_lost_a_table_is_damaged(folder: Path, revision: str, lost: str) -> None:
    """It is not upgraded, and whatever is asked of it, it is called damaged."""
    path = folder / "old.sqlite3"
    load(revision, path)
    triggers = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    with closing(sqlite3.connect(path)) as connection:
        drops = [f"DROP TRIGGER {name}" for (name,) in connection.execute(triggers)]
    before = change(path, "PRAGMA foreign_keys=OFF", *drops, f"DROP TABLE {lost}")
    for does in (upgrade(path), lambda: open_store(path)):
        error = said(does)
        assert f"is damaged: it has lost {lost}" in error.message
        assert "backup" in error.hint
    assert path.read_bytes() == before
    assert list(folder.iterdir()) == [path]


@pytest.mark.parametrize("lost", ["crosscheck_detail", "entry", "person_detail"])
def test_a_store_of_today_that_lost_a_table_is_damaged(
    sqlite_pattern: Path, folder: Path, lost: str
) -> None:
    """Neither what is known of it nor what is read from it says that there is no store."""
    path = folder / "log.sqlite3"
    path.write_bytes(sqlite_pattern.read_bytes())
    change(path, "PRAGMA foreign_keys=OFF", f"DROP TABLE {lost}")
    with open_store(path) as store:
        for does in (
            lambda: describe_store(store),
            lambda: read(store, lost),
            lambda: verify_store(store),
        ):
            error = said(does)
            assert f"is damaged: it has lost {lost}" in error.message, does
            assert str(path) in error.message


def test_a_backup_that_fails_names_the_store(sqlite_pattern: Path, folder: Path) -> None:
    """Not the draft of the copy, which nobody knows and which is gone."""
    path = folder / "log.sqlite3"
    path.write_bytes(sqlite_pattern.read_bytes())
    change(path, "PRAGMA foreign_keys=OFF", "DROP TABLE entry")
    with open_store(path) as store:
        error = said(lambda: backup(store, folder / "copy.sqlite3", now=NOW))
    assert f"the store {path} is damaged: it has lost entry" in error.message
    error = said(lambda: restore(path, str(folder / "new.sqlite3"), now=NOW))
    assert f"the store {path} is damaged: it has lost entry" in error.message
    assert {each.name for each in folder.iterdir()} <= {
        *("log.sqlite3", "log.sqlite3-wal", "log.sqlite3-shm"),
    }


def read(store: Store, table: str) -> None:
    """Read a table."""
    with store.reading() as connection:
        connection.execute(text(f"SELECT 1 FROM {table}"))  # noqa: S608 - the test's own name


@pytest.mark.postgres
def test_the_same_on_a_server(postgres: "PostgresServer") -> None:
    """Another program's database there, and a store that lost a table."""
    where = postgres.empty()
    engine = create_engine(where)
    with engine.begin() as connection:
        for statement in (
            "CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL)",
            "INSERT INTO alembic_version VALUES ('0001')",
            "CREATE TABLE customer (name TEXT)",
        ):
            connection.execute(text(statement))
    for does in (lambda: upgrade_store(where, NOW), lambda: create_store(where)):
        error = said(does)
        assert "is no rvsmlog store: it holds another program's tables" in error.message
        assert "`rvsmlog store init`" not in error.hint
    with engine.begin() as connection:
        for name in TABLES["0001"] - {"alembic_version", "crosscheck_detail"}:
            connection.execute(text(f"CREATE TABLE {name} (a INTEGER)"))
    error = said(lambda: upgrade_store(where, NOW))
    assert "it has lost crosscheck_detail" in error.message
    with engine.connect() as connection:
        found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    assert found == "0001"
    engine.dispose()
