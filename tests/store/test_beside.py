"""What an import inserts in another thread: all of it or nothing, one at a time on a connection."""

import sqlite3
import sys
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unittest import mock

import psycopg
import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from rvsmlog.errors import StoreError
from rvsmlog.records.kinds import KIND
from rvsmlog.store.encoding import plain_digests
from rvsmlog.store.importing import csv_import
from rvsmlog.store.importing.csv_import import ImportResult, import_csv
from rvsmlog.store.writing import bulk, chain
from rvsmlog.store.writing.beside import Beside, short_turns
from rvsmlog.store.writing.bulk import insert_rows
from rvsmlog.store.writing.logbook import writing

if TYPE_CHECKING:
    from tests.store.conftest import Log

_HEADER = "taken_at,phase,primary_1_ft,primary_2_ft,level\n"


@pytest.fixture(autouse=True)
def batches_of_a_thousand(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read a thousand rows at a time from a server's file, too."""
    monkeypatch.setattr(csv_import, "_ON_SERVER", 1)


def _import(log: "Log", folder: Path, rows: int) -> ImportResult:
    """Import so many cross-checks."""
    start = datetime(2020, 1, 1, tzinfo=UTC)
    times = ((start + timedelta(minutes=each)).strftime("%Y-%m-%dT%H:%MZ") for each in range(rows))
    path = folder / "rows.csv"
    path.write_text(_HEADER + "".join(f"{at},level,31000,31040,310\n" for at in times), "utf-8")
    return import_csv(
        *(log.store, path, KIND["crosscheck"]),
        by="A. Example",
        clock=log.clock,
        registration="QX-ABC",
    )


def _threads() -> tuple[list[str], Callable[..., None]]:
    """Give an `insert_rows` that notes in which thread it was called."""
    seen: list[str] = []

    def insert(*given: Any) -> None:
        seen.append(threading.current_thread().name)
        insert_rows(*given)

    return seen, insert


@pytest.mark.parametrize(("rows", "other"), [(400, False), (2700, True)])
def test_only_a_big_import_has_a_thread(
    log: "Log", folder: Path, monkeypatch: pytest.MonkeyPatch, rows: int, *, other: bool
) -> None:
    """Few rows are inserted where they are read; many beside it, and all of them are there."""
    seen, insert = _threads()
    monkeypatch.setattr(chain, "insert_rows", insert)
    before = log.count()
    assert _import(log, folder, rows).written == rows
    assert log.count() == before + rows
    assert ("rvsmlog-insert" in seen) == other


@pytest.mark.parametrize("call", [1, 3, 4, 6])
def test_what_fails_in_the_thread_takes_all_back(
    log: "Log", folder: Path, monkeypatch: pytest.MonkeyPatch, call: int
) -> None:
    """A disk that is full in the first, a middle or the last batch: said as ever, nothing kept."""
    calls: list[str] = []
    full = psycopg.errors.DiskFull("no space left on device")

    def fails(*given: Any) -> None:
        calls.append(threading.current_thread().name)
        if len(calls) == call:
            if log.store.is_sqlite:
                raise sqlite3.OperationalError("database or disk is full")
            raise DBAPIError("COPY", None, full)
        insert_rows(*given)

    monkeypatch.setattr(chain, "insert_rows", fails)
    before = log.count()
    with pytest.raises(StoreError, match="disk is full"):
        _import(log, folder, 2700)
    assert calls[-1] == "rvsmlog-insert"
    assert len(calls) == call  # nothing follows what failed
    assert log.count() == before
    monkeypatch.setattr(chain, "insert_rows", insert_rows)
    assert _import(log, folder, 2700).written == 2700


def test_the_connection_is_given_when_nothing_goes_on(log: "Log") -> None:
    """Whoever asks for the connection waits till the rows that go in are in."""
    done: list[str] = []

    def work() -> None:
        time.sleep(0.2)
        done.append("inserted")

    with writing(log.store, "A. Example", log.clock) as writer:
        writer.expect_many()
        assert writer._beside is not None
        writer._beside.begin(work)
        assert done == []
        assert writer.connection is writer._connection
        assert done == ["inserted"]


def test_nothing_is_rolled_back_under_a_statement(log: "Log") -> None:
    """Ctrl-C while rows go in: they are waited for, then all is taken back."""
    begun, goes_on = threading.Event(), threading.Event()
    seen: list[bool] = []

    def stopped() -> None:
        with writing(log.store, "A. Example", log.clock) as writer:
            writer.expect_many()
            driver: Any = writer.connection.connection.driver_connection

            def work() -> None:
                begun.set()
                goes_on.wait(5)
                sqlite = log.store.is_sqlite
                seen.append(driver.in_transaction if sqlite else driver.info.transaction_status > 0)

            assert writer._beside is not None
            writer._beside.begin(work)
            begun.wait(5)
            threading.Timer(0.2, goes_on.set).start()
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert seen == [True]


@pytest.mark.parametrize("backend", ["postgresql"])
@pytest.mark.postgres
@pytest.mark.parametrize("ends", ["COPY entry", "COPY crosscheck_detail"])
def test_a_server_that_goes_in_mid_copy_keeps_nothing(
    log: "Log", folder: Path, monkeypatch: pytest.MonkeyPatch, ends: str
) -> None:
    """The server ends the connection while rows are under way, in the third batch."""
    before, copies = log.count(), list[str]()
    real = bulk._copy

    def copy(cursor: Any, statement: str, rows: str) -> None:
        copies.append(statement)
        third = sum(each.startswith(ends) for each in copies) == 3
        real(cursor, statement, _ending(log, cursor, rows) if third else rows)

    monkeypatch.setattr(bulk, "_copy", copy)
    with pytest.raises(StoreError, match="was closed") as caught:
        _import(log, folder, 4000)
    assert "nothing was written" in caught.value.hint
    monkeypatch.setattr(bulk, "_copy", real)
    assert copies[-1].startswith(ends)
    assert log.count() == before
    assert _import(log, folder, 4000).written == 4000
    assert log.faults() == []


def _ending(log: "Log", cursor: Any, rows: str) -> Any:
    """Give rows, and end their server's connection after the half."""
    lines = rows.splitlines()
    for at, line in enumerate(lines):
        if at == len(lines) // 2:
            gone = text("SELECT pg_terminate_backend(:pid, 9000)")
            with log.store.engine.connect() as other:
                assert other.execute(gone, {"pid": cursor.connection.info.backend_pid}).scalar()
        yield line.split("\t")


@pytest.mark.parametrize("backend", ["postgresql"])
@pytest.mark.postgres
def test_what_a_server_refuses_in_mid_copy_leaves_it_usable(log: "Log", folder: Path) -> None:
    """A row that the server's table does not take: said, all taken back, and the next goes in."""
    log.raw("ALTER TABLE crosscheck_detail ADD CONSTRAINT odd CHECK (taken_at % 7 <> 5)")
    before = log.count()
    try:
        with pytest.raises(StoreError, match="odd"):
            _import(log, folder, 2700)
        assert log.count() == before
    finally:
        log.raw("ALTER TABLE crosscheck_detail DROP CONSTRAINT odd")
    assert _import(log, folder, 2700).written == 2700
    assert log.faults() == []


@pytest.mark.parametrize("backend", ["postgresql"])
@pytest.mark.postgres
def test_a_server_holds_each_batch_to_its_digests(
    log: "Log", folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One wrong digest in the second of four batches: said before the fourth, nothing kept."""
    before, batches = log.count(), list[int]()

    def digests(*given: Any) -> list[bytes]:
        made = plain_digests(*given)
        batches.append(len(made))
        if len(batches) == 2:
            made[300] = bytes(32)
        return made

    monkeypatch.setattr(chain, "plain_digests", digests)
    with pytest.raises(StoreError, match="refused the change") as caught:
        _import(log, folder, 4000)
    assert "entry 1302 has a digest that is not its own" in str(caught.value.__cause__)
    assert len(batches) < 4
    assert log.count() == before
    monkeypatch.setattr(chain, "plain_digests", plain_digests)
    assert _import(log, folder, 4000).written == 4000
    assert (log.faults(), log.count("unsettled")) == ([], 0)


@pytest.mark.parametrize("backend", ["postgresql"])
@pytest.mark.postgres
def test_who_waits_for_a_server_gets_out(log: "Log") -> None:
    """Ctrl-C twice while the server gives no answer: out at once, and nothing written."""
    before = log.count()

    def stopped() -> None:
        with writing(log.store, "A. Example", log.clock) as writer:
            writer.newest(log.book())
            writer.expect_many()
            driver: Any = writer.connection.connection.driver_connection
            task = writer._beside
            assert task is not None
            task.begin(lambda: driver.execute("SELECT pg_sleep(3600)"))
            while driver.info.transaction_status != psycopg.pq.TransactionStatus.ACTIVE:
                time.sleep(0.01)
            _interrupt_the_wait(task)
            raise KeyboardInterrupt

    with pytest.raises((KeyboardInterrupt, StoreError)):
        stopped()
    assert log.count() == before
    # The server has let go of the logbook too.
    assert log.add("crosscheck") == before


def _interrupt_the_wait(task: Beside) -> list[KeyboardInterrupt | None]:
    """Have Ctrl-C come once while the end is waited for; give what has not come yet."""
    real, tries = task._lock, [KeyboardInterrupt(), None]
    lock = mock.MagicMock()

    def enter() -> None:
        fault = tries.pop(0)
        if fault is not None:
            raise fault
        real.acquire()

    lock.__enter__.side_effect = enter
    lock.__exit__.side_effect = lambda *_: real.release()
    task._lock = lock
    return tries


def test_a_second_interrupt_waits_too() -> None:
    """Ctrl-C while the end is waited for is raised only when nothing goes on any more."""
    task, done = Beside(), threading.Event()

    def work() -> None:
        time.sleep(0.2)
        done.set()

    task.begin(work)
    time.sleep(0.05)
    tries = _interrupt_the_wait(task)
    with pytest.raises(KeyboardInterrupt):
        task.give_up()
    assert tries == []
    assert done.is_set()


def test_nothing_begins_once_given_up() -> None:
    """A thread that comes late does nothing."""
    task, done = Beside(), list[str]()
    task.give_up()
    task.begin(lambda: done.append("too late"))
    task.wait()
    assert done == []


def test_a_fault_stays() -> None:
    """What went wrong is raised each time, and nothing more begins."""
    task, done = Beside(), list[str]()

    def work() -> None:
        raise sqlite3.OperationalError("disk I/O error")

    task.begin(work)
    for _ in range(2):
        with pytest.raises(sqlite3.OperationalError):
            task.wait()
    with pytest.raises(sqlite3.OperationalError):
        task.begin(lambda: done.append("more"))
    task.give_up()
    assert done == []


def test_without_threads_one_after_the_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the system gives no thread, the work is done all the same."""
    done: list[str] = []
    refused = mock.Mock(side_effect=RuntimeError("can't start new thread"))
    monkeypatch.setattr(threading.Thread, "start", refused)
    task = Beside()
    task.begin(lambda: done.append(threading.current_thread().name))
    task.wait()
    assert done == [threading.current_thread().name]


def test_turns_are_as_before_afterwards() -> None:
    """Short turns are for a while only."""
    before = sys.getswitchinterval()
    with short_turns():
        assert sys.getswitchinterval() < before
    assert sys.getswitchinterval() == before
