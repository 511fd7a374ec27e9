"""What grows with the readings of a log, and what does not: bytes a row, and what a check reads.

Usage: ``python -m tests.benchmarks.growth [READINGS ...]`` (100,000, 1,000,000 and 10,000,000 when
left out; the last takes a quarter of an hour and 4 GB of the temporary folder).

For each size a log of one airframe is made, and read as a check reads it. Printed are the bytes
that each table and index takes for one reading, and the microseconds of each thing that a check
asks for, the least of many tries. The slope is by how much the time is multiplied when the rows
are multiplied by ten: 1.0 is flat, 10 is reading all there is.
"""

import sqlite3
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from math import log10
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import Connection

from rvsmlog.records.airframe import Airframe
from rvsmlog.records.flights import CrossCheck, Flight
from rvsmlog.store.connection import open_store
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.books import find_book, seal
from rvsmlog.store.reading.comparisons import exceedances, newest_crosschecks
from rvsmlog.store.reading.reader import head_at, read, view
from tests.benchmarks.gonogo_flat import ASKED_AT, BOOK
from tests.benchmarks.raw_fill import fill_raw

SIZES = (100_000, 1_000_000, 10_000_000)
_TRIES = 60
_MICRO = 1e6


def room(path: Path) -> Mapping[str, int]:
    """Give the bytes that each table and index takes."""
    with closing(sqlite3.connect(path)) as connection:
        return dict(
            connection.execute("SELECT name, sum(pgsize) FROM dbstat GROUP BY name").fetchall()
        )


def asked(connection: Connection) -> Iterator[tuple[str, Callable[[], object]]]:
    """Give what a check asks for."""
    book = find_book(connection, BOOK)
    assert book is not None
    seen = view(connection, book)
    (particulars,) = read(connection, seen, Airframe.kind)
    yield "airframe by registration", lambda: find_airframe(connection, "QX-ABC")
    yield "newest entry and corrections", lambda: view(connection, book)
    yield "seal", lambda: seal(connection, book)
    yield "known at an instant", lambda: head_at(connection, book, ASKED_AT)
    yield "newest 60 readings", lambda: newest_crosschecks(connection, seen, ASKED_AT)
    yield (
        "readings beyond tolerance",
        lambda: exceedances(connection, seen, ASKED_AT, particulars.record),
    )
    yield "flights", lambda: read(connection, seen, Flight.kind, limit=20)
    yield (
        "all readings (no check does)",
        lambda: read(connection, seen, CrossCheck.kind, where="d.level = 0"),
    )


def least(work: Callable[[], object]) -> float:
    """Give the shortest of several tries, microseconds; of a long one, one try."""
    best = float("inf")
    for number in range(_TRIES):
        begun = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begun)
        if number == 1 and best > 1.0:
            break
    return best * _MICRO


def main(arguments: Sequence[str]) -> None:
    """Fill, read, print."""
    sizes = tuple(map(int, arguments)) or SIZES
    times: dict[str, list[float]] = {}
    bytes_a_row: dict[str, list[float]] = {}
    for size in sizes:
        with TemporaryDirectory() as name:
            path = Path(name) / "log.sqlite3"
            fill_raw(path, size)
            for table, taken in room(path).items():
                bytes_a_row.setdefault(table, []).append(taken / size)
            with open_store(str(path)) as store, store.reading() as connection:
                for what, work in asked(connection):
                    times.setdefault(what, []).append(least(work))
    heads = "".join(f"{size:>14,}" for size in sizes)
    print(f"{'bytes a reading':34}{heads}")
    for table, found in sorted(bytes_a_row.items(), key=lambda item: -item[1][-1]):
        if found[-1] >= 1:
            print(f"{table:34}" + "".join(f"{each:14.1f}" for each in found))
    print(
        f"{'together':34}"
        + "".join(f"{sum(each):14.1f}" for each in zip(*_full(bytes_a_row), strict=True))
    )
    print(f"\n{'asked for by a check, microseconds':34}{heads}     slope")
    decades = log10(sizes[-1] / sizes[0]) if len(sizes) > 1 else 1.0
    for what, found in times.items():
        slope = (found[-1] / found[0]) ** (1.0 / decades)
        print(f"{what:34}" + "".join(f"{each:14.1f}" for each in found) + f"{slope:10.2f}")


def _full(found: Mapping[str, list[float]]) -> list[list[float]]:
    """Leave out what is not there in every size."""
    longest = max(map(len, found.values()))
    return [each for each in found.values() if len(each) == longest]


if __name__ == "__main__":
    main(sys.argv[1:])
