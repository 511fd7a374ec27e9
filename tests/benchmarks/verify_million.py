"""Verification of a store of many entries: how long each takes, how much memory, with progress.

Against the floor of hashing as many texts of the same length with SHA-256, one after the other,
and of reading the same rows by the driver: nothing that verifies can do with less than both.

Run: ``python -m tests.benchmarks.verify_million 1000000``
"""

import hashlib
import resource
import sqlite3
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from rvsmlog.store.connection import open_store
from rvsmlog.store.safekeeping.verify import verify
from tests.benchmarks.import_million import ours, prepare, write_file

#: About as many bytes as an entry has in its canonical form.
_BYTES = 330


def _floor(path: Path, rows: int) -> float:
    """Read the rows by the driver and hash as many texts; give the processor time."""
    began = time.process_time()
    log = sqlite3.connect(path)
    for table in ("entry", "crosscheck_detail"):
        for _ in log.execute(f"SELECT * FROM {table} ORDER BY logbook_id, number"):  # noqa: S608 - our own names
            pass
    log.close()
    digest, content = bytes(32), bytes(_BYTES)
    for _ in range(rows):
        digest = hashlib.sha256(digest + content).digest()
    return time.process_time() - began


def bench(rows: int, folder: Path) -> tuple[float, float, int]:
    """Give the processor time of verifying and of the floor, and how often progress was told."""
    path, readings = folder / "log.sqlite3", folder / "readings.csv"
    write_file(readings, rows)
    prepare(str(path))
    ours(readings, str(path))
    floor = _floor(path, rows)
    told: list[int] = []
    began = time.process_time()
    with open_store(str(path)) as store, store.reading() as connection:
        found = verify(connection, told.append)
    taken = time.process_time() - began
    assert found.faults == ()
    assert found.entries == rows + 2
    return taken, floor, len(told)


def main_bench(arguments: Sequence[str]) -> None:
    """Run it, and print what was found."""
    rows = int(arguments[0]) if arguments else 100_000
    with TemporaryDirectory() as folder:
        taken, floor, told = bench(rows, Path(folder))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{rows:,} entries verified in {taken:.1f} s of processor, progress told {told} times")
    print(f"reading the rows and hashing alone: {floor:.1f} s; {taken / floor:.1f} times that")
    print(f"most memory, the import before it included: {memory:.0f} MiB")


if __name__ == "__main__":
    main_bench(sys.argv[1:])
