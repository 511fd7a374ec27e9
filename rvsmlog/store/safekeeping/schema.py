"""Making a store, and bringing an older one up to the present schema."""

import re
from datetime import datetime
from os import PathLike
from pathlib import Path
from typing import Any

from sqlalchemy import Connection

from rvsmlog.dates import check_instant
from rvsmlog.errors import StoreError
from rvsmlog.shipped import shipped
from rvsmlog.store.connection import (
    SCHEMA_REVISION,
    Store,
    make_engine,
    open_store,
    plain_errors,
    revision,
    store_path,
    store_url,
)
from rvsmlog.store.files import new_file
from rvsmlog.store.safekeeping.backup import backup
from rvsmlog.store.shape import check_shape

#: How schemas are numbered: from 0001 on.
_REVISION = "SELECT version_num FROM alembic_version"
_RELEASED = re.compile(r"(?!0000)\d{4}", re.ASCII)


def migrate(connection: Connection, target: str) -> None:
    """Run the migrations up to a revision within the connection's transaction."""
    from alembic import command  # imported here: who only reads a store needs none of it
    from alembic.config import Config
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", str(shipped("migrations")).replace("%", "%%"))
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, target)
    except CommandError as error:
        raise StoreError(
            f"the store's schema is not one of rvsmlog's: {error}", "name another store"
        ) from error


def create_store(where: str | PathLike[str]) -> Store:
    """Make a new, empty store.

    An SQLite store is built beside its place and put there whole, readable and writable by its
    owner only; what stands there is never overwritten.

    Parameters
    ----------
    where : str or path
        A file or an SQLAlchemy URL.

    Raises
    ------
    StoreError
        When there is something at that place already, or it cannot be made.
    """
    url = store_url(where)
    path = store_path(url)
    if path is None:
        _create_on_server(Store(make_engine(url), url))
    else:
        _create_file(path)
    return open_store(where)


def open_or_create(where: str | PathLike[str]) -> Store:
    """Open a store, or make one where there is none.

    Parameters
    ----------
    where : str or path
        A file or an SQLAlchemy URL.

    Raises
    ------
    StoreError
        When what is there is no store, or none can be made.
    """
    url = store_url(where)
    path = store_path(url)
    if path is None:
        with Store(make_engine(url), url) as store:
            there = revision(store) is not None
    else:
        there = path.exists() or path.is_symlink()
    return open_store(where) if there else create_store(where)


def _create_on_server(store: Store) -> None:
    """Make the tables in an empty database."""
    with plain_errors(store.name):
        if revision(store) is not None:
            store.check_whole()
            raise StoreError(f"{store.name} is a store already", "open it instead")
    with store.changing() as connection:
        migrate(connection, SCHEMA_REVISION)
    store.close()


def _create_file(path: Path) -> None:
    """Build the file under another name, then put it into place."""
    with new_file(path) as draft:
        make_tables(draft)


def make_tables(path: Path) -> None:
    """Make an empty file into an empty store."""
    url = store_url(str(path))
    with Store(make_engine(url, create=True), url) as store:
        with plain_errors(store.name), store.engine.connect() as connection:
            # A journal mode is set outside of any transaction, so by the driver itself.
            driver: Any = connection.connection.driver_connection
            driver.execute("PRAGMA journal_mode=WAL")
        with store.changing() as connection:
            migrate(connection, SCHEMA_REVISION)


def upgrade_store(where: str | PathLike[str], now: datetime) -> tuple[str, str, Path | None]:
    """Bring a store up to the present schema, after a backup.

    Returns
    -------
    tuple
        The revision before, the revision after, and the backup's file (None for a server, whose
        own backup is the server's business, and when there was nothing to do).

    Raises
    ------
    StoreError
        When it is no store or a damaged one, or newer than this program.
    """
    check_instant(now)
    with open_store(where, any_revision=True) as store:
        before = revision(store) or ""
        if before == SCHEMA_REVISION:
            return before, before, None
        if before > SCHEMA_REVISION:
            raise StoreError(
                f"the store {store.name} has schema {before}, newer than this program's",
                "install a newer rvsmlog",
            )
        if not _RELEASED.fullmatch(before):
            raise StoreError(
                f"the schema {before!r} of the store {store.name} is not one of rvsmlog's",
                "restore the newest backup",
            )
        with store.changing() as connection:
            if not store.is_sqlite:
                # There a write takes its turn by itself; here two would make the same tables.
                connection.exec_driver_sql("LOCK TABLE alembic_version IN SHARE ROW EXCLUSIVE MODE")
            found = str(connection.exec_driver_sql(_REVISION).scalar())
            if found == SCHEMA_REVISION:
                return found, found, None  # somebody else did it meanwhile
            check_shape(connection, found, store.name)
            copy = backup(store, now=now).file if store.path is not None else None
            migrate(connection, SCHEMA_REVISION)
        return before, revision(store) or "", copy
