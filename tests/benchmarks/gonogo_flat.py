"""Time whole go/no-go processes as the readings of one airframe grow: the cost is to stay flat.

Usage: ``python -m tests.benchmarks.gonogo_flat [ROUNDS [READINGS ...]]`` (15 rounds and 100,
10,000, 1,000,000 and 10,000,000 readings when left out; the last takes a quarter of an hour and
3 GB of the temporary folder, another size is quickly added or left out).

For each size a store with one airframe is filled: flights of 20 readings, five minutes apart, the
next flight four and a half later, the last one just before the question. Ten million would begin
before 1950 so, which no entry may: theirs are flights of 100 readings, a minute apart. The first
check after that goes through what the drift log beside the logbook does not know yet, and is told
apart; then the drift log is forgotten and made as `crosscheck import` makes it, and the first check
after that is told apart too. Then the checks of all stores are run in turn, round after round, so
that a busy moment of the machine falls on all of them; what counts is the median over the rounds of
the time divided by that of the smallest store in the same round, clock and processor.
"""

import os
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from statistics import median
from tempfile import TemporaryDirectory

from sqlalchemy import text

from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import Logbook
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.operator import Operator
from rvsmlog.store.connection import open_store
from rvsmlog.store.importing.drift_keeping import refresh_drift
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.writing.logbook import writing

SIZES = (100, 10_000, 1_000_000, 10_000_000)
#: More than these are written past the logbook's writer, as it would write them.
BY_THE_WRITER = 1_000_000
ROUNDS = 15
WANTED = 1.2
ASKED_AT = datetime(2026, 3, 14, 2, 30, tzinfo=UTC)
_PER_FLIGHT = 20
_LASTS = timedelta(minutes=100)
#: A flight of so many readings instead where there are more than :data:`BY_THE_WRITER`.
_MANY_PER_FLIGHT = 100
_NEXT_FLIGHT = timedelta(hours=4.5)
BOOK = "VK71-1007"
#: GO and NO-GO.
_FINE = (0, 1)


@dataclass(frozen=True, slots=True)
class Cost:
    """What one process took, milliseconds."""

    clock_ms: float
    processor_ms: float


Costs = Sequence[Cost]


def instants(count: int) -> Iterator[datetime]:
    """Give when the readings are taken, the last one shortly before the question."""
    each = _PER_FLIGHT if count <= BY_THE_WRITER else _MANY_PER_FLIGHT
    flights, apart, period = -(-count // each), _LASTS / each, _LASTS + _NEXT_FLIGHT
    start = ASKED_AT - period * flights
    for number in range(count):
        yield start + period * (number // each) + apart * (number % each)


def readings(count: int) -> Iterator[CrossCheck]:
    """Give readings with scatter and no drift."""
    rng = Random(11)
    for taken_at in instants(count):
        yield CrossCheck(
            taken_at=taken_at,
            phase="level",
            primary_1_ft=31000 + round(rng.gauss(0.0, 15.0) / 20.0) * 20,
            primary_2_ft=31000,
            standby_ft=31100,
            transponder_ft=31000,
            level=310,
            mach=0.47,
        )


def filled(path: Path, count: int) -> float:
    """Make a store with so many readings; give the seconds that it took."""
    from tests.benchmarks.raw_fill import fill_raw  # it builds on this module

    begun = time.perf_counter()
    (fill if count <= BY_THE_WRITER else fill_raw)(path, count)
    return time.perf_counter() - begun


def fill(path: Path, count: int) -> None:
    """Make a store with so many readings by the logbook's own writer."""
    with (
        create_store(str(path)) as store,
        writing(store, "benchmark", lambda: ASKED_AT) as log,
    ):
        log.append(
            log.open_book(Logbook.OPERATOR, "operator"),
            Operator(name="Invented Air", time_zone="UTC", region="NAM"),
        )
        book = log.open_book(Logbook.AIRFRAME, BOOK)
        log.append(
            book,
            Airframe(
                registration="QX-ABC",
                type_designator="VK71",
                serial_number="1007",
                authority="us-91",
                rvsm_basis="group",
                type_certificate="after-1997-04-09",
                highest_level=310,
                altimeter_resolution_ft=20,
            ),
        )
        log.append_many(book, readings(count))


def check(path: Path) -> Cost:
    """Run one check as a process of its own, recorded as every check is."""
    command = [sys.executable, "-m", "rvsmlog", "gonogo", "QX-ABC", "--level", "310"]
    command += ["--at", ASKED_AT.isoformat(), "--store", str(path), "--by", "benchmark"]
    start = time.perf_counter()
    # The child is waited for by its own number, which gives what it alone used.
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    clock = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in _FINE:
        raise SystemExit(f"{' '.join(command)} left with {process.returncode}")
    return Cost(clock * 1000, (usage.ru_utime + usage.ru_stime) * 1000)


def keep(path: Path) -> float:
    """Make the drift log anew as an import does; give the seconds that it took."""
    begun = time.perf_counter()
    with open_store(str(path)) as store:
        with store.changing() as connection:
            connection.execute(text("DELETE FROM derived"))
        refresh_drift(store, BOOK, ASKED_AT)
    return time.perf_counter() - begun


def row(
    size: int, seconds: tuple[float, float], first: Cost, kept: Cost, pair: tuple[Costs, Costs]
) -> str:
    """Give one row of the table."""
    own, base = pair
    clock = median(a.clock_ms / b.clock_ms for a, b in zip(own, base, strict=True))
    processor = median(a.processor_ms / b.processor_ms for a, b in zip(own, base, strict=True))
    return (
        f"{size:10,} {seconds[0]:7.1f} {first.clock_ms:8.0f} {first.processor_ms:8.0f} "
        f"{seconds[1]:6.1f} {kept.clock_ms:8.0f} "
        f"{median(each.clock_ms for each in own):7.0f} {clock:6.2f} "
        f"{median(each.processor_ms for each in own):6.0f} {processor:6.2f} {WANTED:6.2f}"
    )


def main(arguments: Sequence[str]) -> None:
    """Fill, measure, print."""
    rounds = int(arguments[0]) if arguments else ROUNDS
    sizes = tuple(map(int, arguments[1:])) or SIZES
    with TemporaryDirectory() as name:
        paths = [Path(name) / f"{size}.sqlite3" for size in sizes]
        filling = [filled(path, size) for path, size in zip(paths, sizes, strict=True)]
        check(paths[0])  # warms the caches of the machine
        first = [check(path) for path in paths]
        keeping = [keep(path) for path in paths]
        kept = [check(path) for path in paths]
        costs = [[check(path) for path in paths] for _ in range(rounds)]
    later = list(zip(*costs, strict=True))
    print(f"{rounds} rounds; whole processes, milliseconds; filling and keeping in seconds")
    print(
        f"{'readings':>10} {'filled':>7} {'1st':>8} {'1st proc':>8} {'kept':>6} {'1st kept':>8} "
        f"{'later':>7} {'ratio':>6} {'proc':>6} {'ratio':>6} {'wanted':>6}"
    )
    for number, size in enumerate(sizes):
        pair = (later[number], later[0])
        print(row(size, (filling[number], keeping[number]), first[number], kept[number], pair))


if __name__ == "__main__":
    main(sys.argv[1:])
