"""Kill commands at random instants, one after the other, and count what is lost."""

import random
import re
import sys
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from statistics import median

from rvsmlog.store.connection import open_store
from rvsmlog.store.safekeeping.verify import verify
from tests.benchmarks.faults.jobs import Job, Try
from tests.benchmarks.faults.process import FAULT, Process, duration_s, run, run_killed
from tests.benchmarks.faults.scene import Scene, hidden

#: Names that are made of the time are taken for the rest of the second.
_STAMPED = re.compile(r"\.(backup|replaced)\S* exists already")


@dataclass(kw_only=True)
class Count:
    """How the tries of one sort ended."""

    tries: int = 0
    killed: int = 0
    survived: int = 0
    lost: list[str] = field(default_factory=list)

    def add(self, what: str, lost: list[str], *, killed: bool) -> None:
        """Count one try."""
        self.tries += 1
        self.killed += killed
        self.survived += not lost
        self.lost += [f"{what}: {each}" for each in lost]


Counts = dict[str, Count]


def kill_all(
    sorts: Mapping[str, tuple[Job, int]], scene: Scene, tries: int, rng: random.Random
) -> Counts:
    """Kill commands of each sort, by their shares of the tries; each sort once at the least."""
    counts: Counts = {}
    for name, (job, percent) in sorts.items():
        counts[name] = kill_some(name, job, scene, max(1, tries * percent // 100), rng)
    return counts


def kill_some(
    name: str, job: Job, scene: Scene, tries: int, rng: random.Random, *, measured: int = 3
) -> Count:
    """Kill commands of one sort at instants spread over how long one takes, as measured first."""
    count = Count()
    # Made one by one: a try looks at its store as it stands.
    usual = median(duration_s(job(scene).call) for _ in range(measured))
    for number in range(tries):
        each = job(scene)
        with _read_meanwhile(scene.lasting if each.lasts else None):
            ended = run_killed(each.call, rng.uniform(0, usual))
        lost = after(each, each.judge(ended))
        count.add(f"{name} {number}", lost, killed=ended.killed)
    return count


def after(each: Try, lost: list[str]) -> list[str]:
    """Run the command again; nothing may bar its way, and no draft may be left after it."""
    ended = run(each.call)
    if _STAMPED.search(ended.complained):
        time.sleep(1.0)
        ended = run(each.call)
    left = hidden(each.folder)
    # What was made by then is refused at once, without looking into the folder.
    bars = [f"left behind: {left}"] if left and ended.status == 0 else []
    return [*lost, *each.again(ended), *bars]


@contextmanager
def _read_meanwhile(where: str | None) -> Iterator[None]:
    """Let another process read and verify a store meanwhile, which is killed at the end."""
    if where is None:
        yield
        return
    process = Process(lambda: _read_on(where))
    try:
        yield
    finally:
        process.kill()
        ended = process.end()
    if not ended.killed:
        raise AssertionError(f"the reader saw {ended}")


def _read_on(where: str) -> int:
    """Verify a store again and again; ends only when something is wrong."""
    newest = 0
    while True:
        with open_store(where) as store, store.reading() as connection:
            found = verify(connection)
        entries = found.entries
        if found.faults or entries < newest:
            sys.stderr.write(f"{entries} after {newest} entries, {found.faults}\n")
            return FAULT
        newest = entries


def show(title: str, counts: Mapping[str, Count]) -> int:
    """Print counts, and give how many tries lost something."""
    print(f"\n{title:26}{'tries':>7}{'killed in time':>16}{'survived':>10}{'lost':>6}")
    rows = {**counts, "all": total(counts.values())}
    for name, count in rows.items():
        bad = count.tries - count.survived
        print(f"  {name:24}{count.tries:>7}{count.killed:>16}{count.survived:>10}{bad:>6}")
    for each in rows["all"].lost:
        print("  lost:", each)
    sys.stdout.flush()
    return rows["all"].tries - rows["all"].survived


def total(counts: Iterable[Count]) -> Count:
    """Add counts up."""
    result = Count()
    for each in counts:
        result.tries += each.tries
        result.killed += each.killed
        result.survived += each.survived
        result.lost += each.lost
    return result
