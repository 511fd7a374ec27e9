"""The migrations build exactly what the record kinds say, on both databases."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, create_engine, inspect, text
from sqlalchemy.engine import Inspector

from rvsmlog.records.kinds import KINDS
from rvsmlog.shipped import shipped
from rvsmlog.store.connection import SCHEMA_REVISION, Store
from rvsmlog.store.tables import table_name, whole_metadata

if TYPE_CHECKING:
    from tests.store.conftest import PostgresServer

pytestmark = [
    # SQLite's indexes over expressions, which SQLAlchemy does not read back; the statements are
    # compared below.
    pytest.mark.filterwarnings("ignore:Skipped unsupported reflection of expression-based"),
    pytest.mark.filterwarnings("ignore:autogenerate skipping metadata-specified expression-based"),
]


#: What is there for a server's own triggers, and never holds anything after a commit.
SERVER_ONLY = ("unsettled",)


def described(inspector: Inspector, table: str) -> dict[str, Any]:
    """Describe a table as the database has it."""
    columns = [
        (each["name"], str(each["type"]), each["nullable"], each["default"])
        for each in inspector.get_columns(table)
    ]
    keys = [
        (
            each["name"],
            each["constrained_columns"],
            each["referred_table"],
            each["referred_columns"],
        )
        for each in inspector.get_foreign_keys(table)
    ]
    checks = [
        (each["name"], re.sub(r"[\s()]|::text", "", each["sqltext"]))
        for each in inspector.get_check_constraints(table)
    ]
    uniques = [
        (each["name"], each["column_names"]) for each in inspector.get_unique_constraints(table)
    ]
    return {
        "columns": columns,
        "key": inspector.get_pk_constraint(table)["constrained_columns"],
        "keys": sorted(keys, key=str),
        "checks": sorted(checks),
        "uniques": sorted(uniques, key=str),
    }


def indexes(connection: Connection) -> list[tuple[str, str]]:
    """Give the statements of all indexes that were made by name."""
    if connection.dialect.name == "sqlite":
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
    else:
        query = "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'"
    rows = connection.execute(text(query)).all()
    return sorted(
        (str(name), " ".join(str(sql).split()))
        for name, sql in rows
        if "alembic" not in str(name) and not str(name).endswith(SERVER_ONLY)
    )


def test_migrations_are_the_metadata(store: Store) -> None:
    """Alembic finds nothing to do between a fresh store and the tables in rvsmlog.store.tables.

    On SQLite it does not look at indexes over expressions, and on a server it is not to look at
    keys that are SQLite's alone; the next test does.
    """
    keys = "foreign_key_constraint"
    with store.reading() as connection:
        options = {
            "compare_type": True,
            "compare_server_default": True,
            "include_name": lambda name, sort, _: sort != "table" or name not in SERVER_ONLY,
            "include_object": lambda _, __, sort, *___: store.is_sqlite or sort != keys,
        }
        context = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(context, whole_metadata()) == [], (
            "a migration is wanted: see DEVELOPERS.md, How to add a migration"
        )


def test_every_column_and_index_is_the_same(
    store: Store, backend: str, folder: Path, request: pytest.FixtureRequest
) -> None:
    """Column by column, key by key, check by check: migrated and declared tables are alike."""
    if backend == "sqlite":
        url = f"sqlite:///{folder}/declared.sqlite3"
    else:
        server: PostgresServer = request.getfixturevalue("postgres")
        url = server.empty()
    engine = create_engine(url)
    metadata = whole_metadata()
    metadata.create_all(engine)
    with engine.connect() as declared, store.reading() as migrated:
        one, other = inspect(declared), inspect(migrated)
        names = set(other.get_table_names()) - {"alembic_version", *SERVER_ONLY}
        assert names == set(one.get_table_names()) == set(metadata.tables)
        for name in sorted(names):
            assert described(other, name) == described(one, name), name
        assert indexes(migrated) == indexes(declared)
    engine.dispose()


@pytest.mark.parametrize("backend", ["postgresql"])
@pytest.mark.postgres
def test_the_server_packs_every_field(store: Store) -> None:
    """The function that packs a kind's details for the digest names each of its columns."""
    with store.reading() as connection:
        for kind in KINDS:
            table = table_name(kind)
            body = connection.execute(
                text("SELECT prosrc FROM pg_proc WHERE oid = to_regprocedure(:name)"),
                {"name": f"rvsmlog_packed({table})"},
            ).scalar_one()
            assert set(re.findall(r"\(\$1\)\.(\w+)", body)) == set(kind.by_name), table


@pytest.mark.parametrize("backend", ["sqlite"])
def test_details_have_no_row_numbers_of_their_own(store: Store) -> None:
    """Entries and details are kept in the order of their numbers, without a second key."""
    with store.reading() as connection:
        rows = connection.execute(
            text("SELECT name, sql FROM sqlite_master WHERE type = 'table'")
        ).all()
    with_rowid = {str(name) for name, sql in rows if "WITHOUT ROWID" not in str(sql)}
    assert with_rowid == {"logbook", "alembic_version"}


def test_program_knows_the_newest_revision() -> None:
    """The revision that the program asks for is the migrations' only head."""
    config = Config()
    config.set_main_option("script_location", str(shipped("migrations")))
    assert ScriptDirectory.from_config(config).get_heads() == [SCHEMA_REVISION]
