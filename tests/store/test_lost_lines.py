"""A line to a server that breaks, or on which no answer comes: what is said is what is known.

A stand-in between program and server cuts the line at an instant of the test's choosing. Codes are
those of PostgreSQL's manual, appendix A.
"""

import os
import signal
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Event, Thread
from typing import TYPE_CHECKING, Any

import psycopg
import pytest

from rvsmlog.errors import StoreError
from rvsmlog.store.connection import Store, make_engine, store_url
from rvsmlog.store.writing.beside import Beside
from rvsmlog.store.writing.bulk import hang_up, insert_rows
from rvsmlog.store.writing.logbook import writing
from tests.store.samples import sample

if TYPE_CHECKING:
    from tests.store.conftest import Log

pytestmark = [pytest.mark.postgres, pytest.mark.parametrize("backend", ["postgresql"])]


@contextmanager
def cut_at_commit(log: "Log", folder: Path, *, passes_it_on: bool) -> Iterator[str]:
    """Give the URL of a line that is cut when the program commits, for one call."""

    def run() -> None:
        with suppress(OSError), socket.socket(socket.AF_UNIX) as server:
            server.connect(f"{log.store.url.query['host']}/.s.PGSQL.5432")
            program, _ = listens.accept()
            with program:
                back = Thread(target=_pass_on, args=(server, program))
                back.start()
                _until_commit(program, server, passes_it_on=passes_it_on)
                for line in (program, server):
                    with suppress(OSError):
                        line.shutdown(socket.SHUT_RDWR)
                back.join()

    with socket.socket(socket.AF_UNIX) as listens:
        listens.bind(f"{folder}/.s.PGSQL.5432")
        listens.listen()
        call = Thread(target=run)
        call.start()
        url = log.store.url.update_query_dict({"host": str(folder)})
        yield url.render_as_string(hide_password=False)
        call.join()


def _pass_on(here: socket.socket, there: socket.socket) -> None:
    """Pass on what is said here until nobody listens there."""
    with suppress(OSError):
        while said := here.recv(65536):
            there.sendall(said)


def _until_commit(program: socket.socket, server: socket.socket, *, passes_it_on: bool) -> None:
    """Pass on what the program says until it commits; hang up on it before the server answers."""
    while said := program.recv(65536):
        if b"COMMIT\0" in said:
            program.shutdown(socket.SHUT_RDWR)
            if passes_it_on:
                server.sendall(said)
                time.sleep(1)
            return
        server.sendall(said)


@pytest.mark.parametrize("passes_it_on", [True, False])
def test_a_commit_without_an_answer_may_be_on_record(
    log: "Log", folder: Path, passes_it_on: bool
) -> None:
    """Whether the server heard it or not, the program cannot know, and does not say it does."""
    before, book = log.count(), log.book()

    def record(store: Store) -> None:
        with writing(store, "A. Example", log.clock) as writer:
            writer.append(book, sample("crosscheck"))

    with cut_at_commit(log, folder, passes_it_on=passes_it_on) as url:
        engine = make_engine(store_url(url))
        with (
            Store(engine, log.store.url) as store,
            pytest.raises(StoreError, match="it may be on record") as caught,
        ):
            record(store)
    assert "nothing was written" not in f"{caught.value} {caught.value.hint}"
    assert "look" in caught.value.hint
    until = time.monotonic() + 20
    while passes_it_on and log.count() == before and time.monotonic() < until:
        time.sleep(0.05)
    assert log.count() == before + passes_it_on


def test_a_commit_that_the_server_refuses_is_none(log: "Log") -> None:
    """The server's own word counts: nothing is left open then."""
    before, book = log.count(), log.book()
    log.raw(
        "CREATE FUNCTION never() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION 'at commit'; END $$",
        "CREATE CONSTRAINT TRIGGER never AFTER INSERT ON entry DEFERRABLE INITIALLY DEFERRED "
        "FOR EACH ROW EXECUTE FUNCTION never()",
    )
    try:
        with (
            pytest.raises(StoreError) as caught,
            writing(log.store, "A. Example", log.clock) as writer,
        ):
            writer.append(book, sample("crosscheck"))
        assert "may be on record" not in caught.value.message
        assert log.count() == before
    finally:
        log.raw("DROP TRIGGER never ON entry", "DROP FUNCTION never")


@pytest.mark.parametrize(
    ("setting", "ask"),
    [
        ("statement_timeout = '50ms'", "SELECT pg_sleep(5)"),
        ("idle_in_transaction_session_timeout = '50ms'", None),
    ],
)
def test_what_a_server_has_no_time_for(log: "Log", setting: str, ask: str | None) -> None:
    """The role's own limits (57014, 25P03): what was lost, and whom to ask."""

    def record() -> None:
        with writing(log.store, "A. Example", log.clock) as writer:
            writer.connection.exec_driver_sql(f"SET LOCAL {setting}")
            if ask is None:
                time.sleep(1)
            writer.connection.exec_driver_sql(ask or "SELECT 1")

    with pytest.raises(StoreError) as caught:
        record()
    assert "nothing was written" in caught.value.hint
    assert setting.split(" ", maxsplit=1)[0] in caught.value.hint


def _stopped(log: "Log", work: Callable[[Any], None]) -> None:
    """Begin work beside, have Ctrl-C come, and the line hung up as at the second."""
    with writing(log.store, "A. Example", log.clock) as writer:
        writer.newest(log.book())
        writer.expect_many()
        driver: Any = writer.connection.connection.driver_connection
        task = writer._beside
        assert task is not None
        task.begin(lambda: work(writer._connection))
        while driver.info.transaction_status != psycopg.pq.TransactionStatus.ACTIVE:
            time.sleep(0.01)
        with suppress(KeyboardInterrupt):
            hang_up(driver)
        raise KeyboardInterrupt


def test_ctrl_c_while_the_server_is_asked_to_stop(
    log: "Log", monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pressed a third time while that takes its seconds, the line is broken all the same."""
    before = log.count()

    def pressed(*_: Any, **__: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(psycopg.Connection, "cancel_safe", pressed)
    begun, sleep = time.monotonic(), "SELECT pg_sleep(60)"
    try:
        with pytest.raises(KeyboardInterrupt):
            _stopped(log, lambda connection: connection.exec_driver_sql(sleep))
        assert time.monotonic() - begun < 50
        assert log.count() == before
    finally:  # nobody told the server; asleep, it would keep the tables from the next test
        log.raw(
            f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE query = '{sleep}'"  # noqa: S608 - the test's own
        )


def test_a_server_that_reads_no_more(log: "Log", capfd: pytest.CaptureFixture[str]) -> None:
    """Its process is held while lines for COPY go out: Ctrl-C gets out, with no other fault."""
    before = log.count()
    held: list[int] = []

    def work(connection: Any) -> None:
        pid = connection.connection.driver_connection.info.backend_pid
        held.append(pid)
        os.kill(pid, signal.SIGSTOP)
        columns = ("logbook_id", "number", "kind", "recorded_at", "recorded_by", "digest")
        insert_rows(
            connection, "entry", columns, "1\t2\tflight\t0\tA. Example\t\\\\x00\n" * 400_000
        )

    try:
        with pytest.raises(KeyboardInterrupt):
            _stopped(log, work)
    finally:
        for pid in held:
            os.kill(pid, signal.SIGCONT)
    assert held
    assert log.count() == before
    assert "Traceback" not in capfd.readouterr().err


def test_the_end_is_waited_for_however_often_it_is_pressed(backend: str) -> None:
    """Ctrl-C in the cutting itself: nothing is given up before the work has ended."""
    assert backend
    ended, done = Event(), list[str]()

    def cut() -> None:
        ended.set()
        raise KeyboardInterrupt

    def work() -> None:
        ended.wait(10)
        time.sleep(0.2)
        done.append("ended")

    task = Beside(cut=cut)
    task.begin(work)
    time.sleep(0.05)
    _pressed_once(task)
    with pytest.raises(KeyboardInterrupt):
        task.give_up()
    assert done == ["ended"]


def _pressed_once(task: Beside) -> None:
    """Have Ctrl-C come once while the end is waited for."""
    real = task._lock

    class Pressed:
        """A lock at which it is pressed at the first try."""

        tries = 0

        def __enter__(self) -> None:
            self.tries += 1
            if self.tries == 1:
                raise KeyboardInterrupt
            real.acquire()

        def __exit__(self, *_: object) -> None:
            real.release()

    task._lock = Pressed()  # type: ignore[assignment]  # a stand-in
