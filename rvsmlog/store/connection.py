"""Opening a store: engine, settings, transactions, revision check, errors in plain words."""

import os
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.pool import NullPool

from rvsmlog.errors import DeniedError, LostTableError, StoreError
from rvsmlog.store.file_errors import explain_file
from rvsmlog.store.medium import unchanging
from rvsmlog.store.server_errors import explain_server
from rvsmlog.store.shape import NAME_ANOTHER, check_shape

#: The newest schema revision that this edition of the program knows.
SCHEMA_REVISION = "0004"
#: Milliseconds to wait for another program's write to end.
BUSY_MILLISECONDS = 10_000
#: Environment variable that names the store.
STORE_VARIABLE = "RVSMLOG_STORE"

_WRITES = {"rvsmlog_writes": True}
_POSTGRES = "postgresql+psycopg"
#: Seconds to wait for a server to answer at all.
_ANSWER_SECONDS = 10
#: Parameters of a URL that no message shows.
_SECRET = ("password", "sslpassword")
_MALFORMED = "database disk image is malformed"


def default_store() -> str:
    """Give the store named by the environment, else a file in the user's data folder."""
    named = os.environ.get(STORE_VARIABLE, "").strip()
    if named:
        return named
    from platformdirs import user_data_path  # imported here: only this path needs it

    return str(user_data_path("rvsmlog", appauthor=False) / "rvsmlog.sqlite3")


def store_url(where: str | os.PathLike[str]) -> URL:
    """Give the SQLAlchemy URL of a file name or URL.

    Raises
    ------
    StoreError
        When it is neither.
    """
    where = os.fspath(where) if isinstance(where, os.PathLike) else where
    if not isinstance(where, str):
        raise StoreError(f"{where!r} names no store", "name a file, or an SQLAlchemy URL")
    if "://" not in where:
        return _file_url(where)
    try:
        url = make_url(where)
    except (ArgumentError, ValueError):  # a port that is no number
        raise StoreError(
            "the store's URL cannot be read",
            "name a file, or an SQLAlchemy URL such as sqlite:///log.sqlite3",
        ) from None
    if url.get_backend_name() not in {"sqlite", "postgresql"}:
        raise StoreError(
            f"{url.drivername!r} is no store", "stores are SQLite files or PostgreSQL databases"
        )
    if url.get_backend_name() == "postgresql":
        if url.drivername not in {"postgresql", _POSTGRES}:
            raise StoreError(
                f"the driver {url.drivername!r} is not used here", f"write {_POSTGRES}://"
            )
        return url.set(drivername=_POSTGRES)
    if url.query:
        # Whatever stands there is shown to nobody: it may be a password.
        raise StoreError(
            "the store's URL names no file: with SQLite nothing follows the name",
            "write sqlite:/// and the file's name, without the question mark and what follows",
        )
    if not url.database or url.database == ":memory:":
        shown = url.render_as_string(hide_password=True)
        raise StoreError(f"{shown!r} names no file", "write sqlite:/// and the file's name")
    return _file_url(url.database)


def _file_url(name: str) -> URL:
    """Give the URL of an SQLite file; a name without folders counts from the present folder."""
    try:
        path = Path(name).expanduser().absolute()
    except RuntimeError:
        raise StoreError(f"{name!r} is no file here", "there is no such user") from None
    return URL.create("sqlite", database=str(path))


def store_path(url: URL) -> Path | None:
    """Give the file of an SQLite store; None for a server."""
    if url.get_backend_name() != "sqlite":
        return None
    return Path(url.database) if url.database else None


def explain(error: Exception, where: str) -> StoreError:
    """Put a database error in plain words."""
    original = error.orig if isinstance(error, DBAPIError) else error
    on_server = explain_server(original, where)
    if on_server is not None:
        return on_server
    return explain_file(original, where)


@contextmanager
def plain_errors(where: str) -> Iterator[None]:
    """Turn database errors raised inside into :class:`StoreError`."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        raise explain(error, where) from error
    except UnicodeDecodeError as error:
        # A text, or the database's own message about a damaged name, is no text any more.
        raise explain(sqlite3.DatabaseError(_MALFORMED), where) from error


def _prepare_sqlite(engine: Engine) -> None:
    """Set durability and transactions as the log needs them."""

    @event.listens_for(engine, "connect")
    def connect(dbapi_connection: Any, _record: object) -> None:
        # The driver's own transaction handling begins too late and commits too early.
        dbapi_connection.isolation_level = None
        cursor = dbapi_connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout={BUSY_MILLISECONDS}")
        cursor.execute("PRAGMA synchronous=FULL")
        cursor.execute("PRAGMA foreign_keys=ON")
        cursor.execute("PRAGMA trusted_schema=OFF")
        cursor.close()

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # A write takes its lock at once, so that numbers are taken one at a time.
        writes = connection.get_execution_options().get("rvsmlog_writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def make_engine(url: URL, *, create: bool = False) -> Engine:
    """Make the engine of a store; SQLite files are only created when asked to.

    Raises
    ------
    StoreError
        When the driver of the database is not installed.
    """
    path, arguments = store_path(url), dict[str, Any]()
    if path is not None:
        # An import inserts in another thread; Chain.connection lets only one at a time use it.
        arguments["check_same_thread"] = False
        query = {"mode": "rwc" if create else "rw"}
        if not create and unchanging(path):
            query = {"mode": "ro", "immutable": "1"}
        target = f"file:{uri_path(path)}"
        url = URL.create("sqlite", database=target, query={**query, "uri": "true"})
    else:
        # Somebody else's write is waited for as long as on SQLite; the URL may say otherwise.
        waits = {
            "connect_timeout": str(_ANSWER_SECONDS),
            "options": f"-c lock_timeout={BUSY_MILLISECONDS} -c standard_conforming_strings=on",
        }
        # Texts are Unicode, whatever the role, the database or PGCLIENTENCODING says of others.
        url = url.update_query_dict({**waits, **url.query, "client_encoding": "utf8"})
    try:
        engine = create_engine(url, poolclass=NullPool, connect_args=arguments)
    except (NoSuchModuleError, ModuleNotFoundError):
        raise StoreError(
            f"no driver for {url.get_backend_name()} is installed",
            "install the extra: pip install 'rvsmlog[postgres]'",
        ) from None
    if path is not None:
        _prepare_sqlite(engine)
    return engine


def uri_path(path: Path) -> str:
    """Escape what has a meaning in an SQLite URI."""
    escaped = str(path).replace("%", "%25").replace("?", "%3f").replace("#", "%23")
    return escaped if escaped.startswith("/") else "/" + escaped.replace("\\", "/")


class Store:
    """An open store.

    Use as a context manager, or call :meth:`close`.

    Parameters
    ----------
    engine : Engine
        The engine of the database.
    url : URL
        What was asked for.
    """

    def __init__(self, engine: Engine, url: URL) -> None:
        self.engine = engine
        self.url = url
        #: Whether a writer's entries are on record: None while they are being committed.
        self.kept: bool | None = False

    @property
    def path(self) -> Path | None:
        """The file of an SQLite store; None for a server."""
        return store_path(self.url)

    @property
    def name(self) -> str:
        """How messages call the store; a password never shows."""
        if self.path:
            return str(self.path)
        return self.url.difference_update_query(_SECRET).render_as_string(hide_password=True)

    @property
    def is_sqlite(self) -> bool:
        """Whether it is an SQLite file."""
        return self.path is not None

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection in one transaction that sees one state of the store."""
        options = {} if self.is_sqlite else {"isolation_level": "REPEATABLE READ"}
        with self._transaction(options) as connection:
            yield connection

    @contextmanager
    def changing(self) -> Iterator[Connection]:
        """Give a connection in one write transaction; an exception rolls all of it back."""
        # On a server the logbook's row is locked; what is read after that must be as it is then.
        options = {} if self.is_sqlite else {"isolation_level": "READ COMMITTED"}
        with self._transaction({**_WRITES, **options}) as connection:
            yield connection

    @contextmanager
    def _transaction(self, options: Mapping[str, Any]) -> Iterator[Connection]:
        """Give a connection in one transaction; where a table is not there, say what that means."""
        try:
            with plain_errors(self.name), self.engine.connect() as plain:
                connection = plain.execution_options(**options)
                with connection.begin():
                    yield connection
        except LostTableError:
            self.check_whole()
            raise

    def check_whole(self) -> None:
        """Look whether the database has all tables of its schema.

        Raises
        ------
        StoreError
            When it is no store, or a damaged one.
        """
        found = revision(self)
        with plain_errors(self.name), self.engine.connect() as connection:
            check_shape(connection, found, self.name)

    def close(self) -> None:
        """Close the store."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()


def revision(store: Store) -> str | None:
    """Read the schema revision by one plain query; None where there is none.

    Raises
    ------
    StoreError
        When the file is no database or cannot be read.
    """
    try:
        with store.engine.connect() as connection:
            found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    except (DBAPIError, sqlite3.Error) as error:
        said = explain(error, store.name)
        if "alembic_version" in str(getattr(error, "orig", error)) and not isinstance(
            said, DeniedError
        ):
            return None
        raise said from error
    except UnicodeDecodeError as error:
        raise explain(sqlite3.DatabaseError(_MALFORMED), store.name) from error
    return str(found) if found else None


def check_revision(store: Store, connection: Connection) -> None:
    """Check within a transaction that the schema is the one this program knows.

    Raises
    ------
    StoreError
        When it is older or newer.
    """
    found = str(connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar())
    if found != SCHEMA_REVISION:
        raise _wrong_revision(store, found)


def open_store(where: str | os.PathLike[str] | None = None, *, any_revision: bool = False) -> Store:
    """Open a store and check that its schema is the one this program knows.

    Parameters
    ----------
    where : str or path, optional
        A file or an SQLAlchemy URL; the environment or the user's data folder when left out.
    any_revision : bool
        Open it even when its schema is older or newer.

    Returns
    -------
    Store
        Open; use it as a context manager.

    Raises
    ------
    StoreError
        When there is no store, it is not a store, or its schema is older or newer.

    Notes
    -----
    An older store is never upgraded on the way: ``rvsmlog store upgrade`` does, after a backup.
    """
    url = store_url(default_store() if where is None else where)
    path = store_path(url)
    if path is not None and not path.is_file():
        what = "does not exist"
        if path.exists():
            what = "is a folder" if path.is_dir() else "is no file but a device or a pipe"
        raise StoreError(
            f"the store {path} {what}",
            "make one with `rvsmlog store init`, try `rvsmlog demo`, or name one with --store",
        )
    store = Store(make_engine(url), url)
    found = revision(store)
    if found != SCHEMA_REVISION:
        store.check_whole()
    if found is None:
        raise StoreError(f"{store.name} is no rvsmlog store", NAME_ANOTHER)
    if found != SCHEMA_REVISION and not any_revision:
        raise _wrong_revision(store, found)
    return store


def _wrong_revision(store: Store, found: str) -> StoreError:
    """Say whether the store is behind or ahead."""
    if found < SCHEMA_REVISION:
        return StoreError(
            f"the store {store.name} has schema {found}; this program needs {SCHEMA_REVISION}",
            "run `rvsmlog store upgrade`; it makes a backup first",
        )
    return StoreError(
        f"the store {store.name} has schema {found}, newer than this program's {SCHEMA_REVISION}",
        "install a newer rvsmlog; an older one must not write to it",
    )
