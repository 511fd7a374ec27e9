"""Let faults loose on stores, and count what is lost.

Usage: ``python -m tests.benchmarks.faults [KILLS [SEED [PART ...]]]``; 1,000 kills take some
minutes. Parts: ``kills``, ``server``, ``crashes``, ``room``, ``damage``, ``together``; all when
left out. Leaves with 1 when anything was lost.
"""

import random
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from tests.benchmarks.faults import damage, room, server, together
from tests.benchmarks.faults.jobs import SORTS
from tests.benchmarks.faults.kills import kill_all, show
from tests.benchmarks.faults.scene import Scene

Part = Callable[[int, random.Random, Path], int]


def kills(tries: int, rng: random.Random, folder: Path) -> int:
    """Kill commands on an SQLite store."""
    return show("SQLite, command killed", kill_all(SORTS, Scene(folder), tries, rng))


PARTS: Mapping[str, Part] = {
    "kills": kills,
    "server": server.clients_killed,
    "crashes": server.servers_killed,
    "room": room.no_room,
    "damage": damage.damaged,
    "together": together.together,
}


def main(tries: int, seed: int, wanted: Sequence[str] = ()) -> int:
    """Run the parts one after the other."""
    bad = 0
    for name in wanted or PARTS:
        with tempfile.TemporaryDirectory(prefix="rvsmlog-faults-") as folder:
            bad += PARTS[name](tries, random.Random(f"{seed} {name}"), Path(folder))
    print("\nlost:", bad)
    return 1 if bad else 0


def _arguments(given: Sequence[str]) -> tuple[int, int, tuple[str, ...]]:
    """Read the number of kills, the seed, and the parts."""
    tries, seed, *wanted = (*given, *("1000", "20270314")[len(given) :])
    return int(tries), int(seed), tuple(wanted)


if __name__ == "__main__":
    sys.exit(main(*_arguments(sys.argv[1:])))
