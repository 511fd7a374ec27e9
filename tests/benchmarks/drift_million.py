"""Time going through a million readings for drift against the same with numpy's arrays.

Usage: ``python -m tests.benchmarks.drift_million [READINGS]`` (1,000,000 when left out).

A log of one airframe is made, flights of twenty readings. Its drift log is then made from all of
it, as the first check does when none is kept. With numpy the driver's rows become arrays, flights
are cut and their medians found by array operations; the detector itself goes from flight to flight
and is the same, as its next step hangs on the one before. Both must come to the same state.
"""

import sqlite3
import sys
import time
from collections.abc import Sequence
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from rvsmlog.facts import Question
from rvsmlog.records.trade_fields import scalar_to_instant
from rvsmlog.science.drift import DriftState
from rvsmlog.science.drift_log import settled
from rvsmlog.science.drift_readings import SAME_FLIGHT, Point, band_of
from rvsmlog.store.connection import open_store
from rvsmlog.store.reading.books import find_book
from rvsmlog.store.reading.facts_reader import read_facts
from tests.benchmarks.gonogo_flat import ASKED_AT, BOOK
from tests.benchmarks.raw_fill import fill_raw
from tests.science.drift_run import watch

READINGS = 1_000_000
_RESOLUTION_FT = 20.0


def by_the_program(path: Path) -> DriftState:
    """Read the facts of a check, the drift log among them."""
    with open_store(str(path)) as store, store.reading() as connection:
        book = find_book(connection, BOOK)
        assert book is not None
        facts = read_facts(connection, book, Question(at=ASKED_AT))
    assert facts.drift is not None
    (band,) = settled(facts.drift).bands
    return band.state


def arrays(path: Path) -> tuple["np.ndarray[tuple[int], np.dtype[np.int64]]", ...]:
    """Read instants and differences of all readings into arrays."""
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute(
            "SELECT taken_at, primary_1_ft - primary_2_ft FROM crosscheck_detail ORDER BY taken_at"
        ).fetchall()
    taken = np.fromiter((row[0] for row in rows), dtype=np.int64, count=len(rows))
    apart = np.fromiter((row[1] for row in rows), dtype=np.int64, count=len(rows))
    return taken, apart


def by_numpy(path: Path) -> tuple[DriftState, float]:
    """Cut flights and find medians by arrays; give the state, and the detector's own seconds."""
    taken, apart = arrays(path)
    longest = int(SAME_FLIGHT / timedelta(microseconds=1))
    flight = np.concatenate(([0], np.cumsum(np.diff(taken) > longest)))
    ranked = apart[np.lexsort((apart, flight))]
    counts = np.bincount(flight)
    starts = np.concatenate(([0], np.cumsum(counts)[:-1]))
    middles = (ranked[starts + (counts - 1) // 2] + ranked[starts + counts // 2]) / 2.0
    begun = time.process_time()
    band = band_of(310, 0.47)
    series = (
        Point(
            at=scalar_to_instant(int(at)),
            flight_index=index,
            band=band,
            readings=int(count),
            difference_ft=float(middle),
        )
        for index, (at, count, middle) in enumerate(
            zip(taken[starts], counts, middles, strict=True)
        )
    )
    state = watch(series, resolution_ft=_RESOLUTION_FT)
    return state, time.process_time() - begun


def main(arguments: Sequence[str]) -> None:
    """Fill, go through, print."""
    count = int(arguments[0]) if arguments else READINGS
    with TemporaryDirectory() as name:
        path = Path(name) / "log.sqlite3"
        fill_raw(path, count)
        begun = time.process_time()
        own = by_the_program(path)
        ours = time.process_time() - begun
        begun = time.process_time()
        other, detector = by_numpy(path)
        floor = time.process_time() - begun
    if own != other:
        raise SystemExit("the two come to different states")
    print(f"{count:,} readings, {own.count:,} flights; processor time, seconds; the same state")
    print(f"drift log made from the store     {ours:8.2f}  {ours / floor:5.2f} of numpy's")
    print(f"the same with numpy               {floor:8.2f}  {1.0:5.2f}")
    print(f"  of which the detector           {detector:8.2f}")


if __name__ == "__main__":
    main(sys.argv[1:])
