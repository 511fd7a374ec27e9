"""Time `crosscheck extract` on a million rows of invented flight data, and its peak memory.

Usage: ``python tests/benchmarks/extract_million.py [ROWS]`` (1,000,000 when left out).

The flights are simulated at 1 Hz with a fixed seed: climb, two hours and a half at levels, descent,
ten columns. The command runs as a process of its own with its output thrown away. What it takes is
printed with the number of comparisons found; the time wanted is a minute.
"""

import csv
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

COLUMNS = (
    "time",
    "primary_1_ft",
    "primary_2_ft",
    "standby_ft",
    "transponder_ft",
    "gnss_height_ft",
    "mach",
    "static_air_temperature_c",
    "latitude_deg",
    "longitude_deg",
)
WANTED_S = 60.0
_CLIMB_FT_S = 20.0
_LEVEL_S = 9000


def altitudes(rng: Random) -> Iterator[float]:
    """Give the true altitude of one flight after another, feet, each second."""
    while True:
        top = rng.choice((25000, 28000, 29000, 30000, 31000))
        altitude = 1000.0
        while altitude < top:
            yield altitude
            altitude += _CLIMB_FT_S
        for _ in range(_LEVEL_S):
            yield top + rng.gauss(0.0, 12.0)
        while altitude > 1000.0:
            yield altitude
            altitude -= _CLIMB_FT_S


def write(path: Path, rows: int) -> None:
    """Write the file."""
    rng = Random(7)
    with path.open("w", encoding="utf-8", newline="") as handle:
        out = csv.writer(handle)
        out.writerow(COLUMNS)
        for second, altitude in zip(range(rows), altitudes(rng), strict=False):
            out.writerow(
                (
                    second,
                    round(altitude + rng.gauss(0.0, 8.0), 1),
                    round(altitude + 30.0 + rng.gauss(0.0, 8.0), 1),
                    round(altitude + 90.0, 1),
                    round(altitude / 25.0) * 25,
                    round(altitude + 400.0, 1),
                    0.47,
                    -44.5,
                    round(39.0 + second * 1e-6, 5),
                    round(-103.0 + second * 1e-6, 5),
                )
            )


def main(arguments: list[str]) -> None:
    """Write, extract, print."""
    rows = int(arguments[0]) if arguments else 1_000_000
    with TemporaryDirectory() as name:
        path = Path(name) / "flights.csv"
        write(path, rows)
        command = [sys.executable, "-m", "rvsmlog", "crosscheck", "extract", str(path)]
        command += ["--start", "2026-01-01T00:00Z", "--gnss-kind", "ellipsoid"]
        command += ["--out", str(Path(name) / "crosschecks.csv")]
        start = time.perf_counter()
        # The child is waited for by its own number, which gives what it alone used.
        process = subprocess.Popen(command, stdout=subprocess.PIPE)
        assert process.stdout is not None
        said = process.stdout.readline().decode().strip()
        process.stdout.read()
        _, status, usage = os.wait4(process.pid, 0)
        seconds = time.perf_counter() - start
        process.returncode = os.waitstatus_to_exitcode(status)
        megabytes = path.stat().st_size / 1e6
    if process.returncode:
        raise SystemExit(f"left with {process.returncode}")
    print(said)
    print(
        f"{rows:,} rows, {megabytes:.0f} MB: {seconds:.1f} s on the clock (wanted {WANTED_S:.0f}), "
        f"{usage.ru_utime + usage.ru_stime:.1f} s of processor, "
        f"peak {usage.ru_maxrss / 1024:.0f} MB"
    )


if __name__ == "__main__":
    main(sys.argv[1:])
