"""Several processes and sudden death: what was not finished is not there, and numbers hold."""

import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import rvsmlog

if TYPE_CHECKING:
    from tests.store.conftest import Log

ROOT = Path(rvsmlog.__file__).parents[1]
HEADER = "airframe,taken_at,phase,primary_1_ft,primary_2_ft,level\n"
IMPORT = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from rvsmlog.records.kinds import KIND
from rvsmlog.store.connection import open_store
from rvsmlog.store.importing.csv_import import import_csv

def clock():
    return datetime(2027, 3, 14, 2, 30, tzinfo=UTC)

with open_store(sys.argv[1]) as store:
    import_csv(store, Path(sys.argv[2]), KIND["crosscheck"], by="B. Example", clock=clock,
               progress=lambda rows: print(rows, flush=True))
print("done", flush=True)
"""
WRITE = """
import sys
from datetime import UTC, datetime
from rvsmlog.records.kinds import KIND
from rvsmlog.store.reading.books import find_book
from rvsmlog.store.connection import open_store
from rvsmlog.store.writing.logbook import writing

with open_store(sys.argv[1]) as store:
    print("ready", flush=True)
    sys.stdin.readline()
    for step in range(int(sys.argv[3])):
        record = KIND["work"].parse({"work": "altimeter", "done_on": "2027-02-01",
                                     "description": f"{sys.argv[2]} {step}"})
        with writing(store, sys.argv[2], lambda: datetime(2027, 3, 14, 2, 30, tzinfo=UTC)) as log:
            log.append(find_book(log.connection, "VK71-1007"), record)
"""


def start(code: str, *arguments: object) -> "subprocess.Popen[str]":
    """Start another Python with some code."""
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, arguments)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )


def lines_of(other: "subprocess.Popen[str]", count: int) -> Sequence[str]:
    """Read some lines of another process's output."""
    assert other.stdout is not None
    return [other.stdout.readline().strip() for _ in range(count)]


def where(log: "Log") -> str:
    """Give the store's file or URL."""
    return str(log.store.path or log.store.url.render_as_string(hide_password=False))


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_killed_in_the_middle_of_an_import(log: "Log", folder: Path) -> None:
    """After kill -9 the store holds what it held before, verifies, and takes the next entry.

    SIGKILL cannot be caught: no line of the import runs after it. On a server it is the server
    that takes the transaction back.
    """
    rows = folder / "rows.csv"
    rows.write_text(
        HEADER
        + "".join(
            f"QX-ABC,2026-{month:02}-{day:02}T{hour:02}:{minute:02}Z,level,31000,31040,310\n"
            for month in range(1, 11)
            for day in range(1, 5)
            for hour in range(10)
            for minute in range(60)
        )
    )
    batch = 1000 if log.store.is_sqlite else 4000
    with start(IMPORT, where(log), rows) as other:
        # After some of the batches, of 24,000 rows: more than one is in, and more are to come.
        assert lines_of(other, 3) == [f"{count * batch}" for count in (1, 2, 3)]
        other.send_signal(signal.SIGKILL)
        assert other.wait() == -signal.SIGKILL
    assert log.add("crosscheck") == 2
    assert log.count("crosscheck_detail") == 1
    assert log.faults() == []


def test_two_processes_writing_at_once(log: "Log") -> None:
    """Two writers leave one chain without gaps, with every entry of both in its own order."""
    each = 15
    with start(WRITE, where(log), "B", each) as one, start(WRITE, where(log), "C", each) as two:
        for other in (one, two):
            assert lines_of(other, 1) == ["ready"]
        for other in (one, two):
            assert other.stdin is not None
            other.stdin.write("go\n")
            other.stdin.flush()
        assert [other.wait(timeout=60) for other in (one, two)] == [0, 0]
    assert log.faults() == []
    made = log.standing("work")
    assert [logged.ref.entry for logged in made] == list(range(2, 2 + 2 * each))
    for author in ("B", "C"):
        said = [logged.record.description for logged in made if logged.recorded_by == author]
        assert said == [f"{author} {step}" for step in range(each)]
