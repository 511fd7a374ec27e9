"""Throw hostile command lines and files at the program, and count what it makes of them.

Usage: ``python -m tests.benchmarks.fuzz [TRIES [SEED]]`` (100,000 tries take the better part of an
hour on two cores).

Each try runs one command in a box: a folder with a log, files of every sort, and traps. What is
held of each: no traceback and no unexpected fault; exit status 0 to 3; an error is one line and a
hint; when it is refused no entry is there that was not there before, no seal is another, and no
file is left; otherwise the log has grown by just what was reported; what is printed holds no
character that steers a terminal; nothing outside the folder is touched through a link; it ends in
time, and takes no more than so much memory. Most tries run in a process that goes on to the next;
one in some hundred is a process of its own.
"""

import contextlib
import io
import multiprocessing
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from rvsmlog.cli.app import main as run_command
from rvsmlog.cli.lazy import LazyGroup
from rvsmlog.store import inputs
from tests.benchmarks.fuzz_files import SORTS, Try, faults_outside, make_box, make_master
from tests.benchmarks.fuzz_judge import Heads, heads, judge, names
from tests.benchmarks.fuzz_lines import answers, command_line
from tests.cli.conftest import Ran

BATCH = 100
#: One command line in this many is a process of its own.
ALONE = 250
#: A try that works for longer than this hangs, seconds of the processor; one that waits for
#: something hangs after so many times that on the clock, since machines are busy at times.
BOUND_S = 30
_ON_THE_CLOCK = 10
#: What a worker may grow by while it works through batch after batch, MiB.
GROWTH_MIB = 200
_ROOM = 3 << 30


class HangError(BaseException):
    """Raised by the alarm: the program's last resort must not catch it."""


@dataclass
class Counts:
    """What became of the tries of a batch."""

    tries: Counter[str] = field(default_factory=Counter)
    statuses: Counter[tuple[str, int]] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    slowest_s: float = 0.0
    grown_mib: float = 0.0

    def add(self, other: "Counts") -> None:
        """Add those of another batch."""
        self.tries += other.tries
        self.statuses += other.statuses
        self.faults += other.faults
        self.slowest_s = max(self.slowest_s, other.slowest_s)
        self.grown_mib = max(self.grown_mib, other.grown_mib)


def run_here(one: Try) -> Ran:
    """Run a command in this process."""
    out, err = io.StringIO(), io.StringIO()
    kept, sys.stdin = sys.stdin, io.StringIO(one.typed)
    signal.setitimer(signal.ITIMER_PROF, BOUND_S)
    signal.setitimer(signal.ITIMER_REAL, BOUND_S * _ON_THE_CLOCK)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            status = run_command(one.words)
    except HangError:
        status, _ = -1, err.write("Traceback: it did not end in time")
    except BaseException as error:  # whatever comes out is what is looked for
        status, _ = -2, err.write(f"Traceback: {type(error).__name__}: {error}")
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)
        sys.stdin = kept
    return Ran(status=status, out=out.getvalue(), err=err.getvalue())


def run_alone(one: Try) -> Ran:
    """Run a command as a process of its own."""
    try:
        ran = subprocess.run(
            [sys.executable, "-m", "rvsmlog", *one.words],
            input=one.typed.encode("utf-8", "surrogatepass"),
            capture_output=True,
            timeout=BOUND_S * _ON_THE_CLOCK,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return Ran(status=-1, out="", err="Traceback: it did not end in time")
    return Ran(status=ran.returncode, out=ran.stdout.decode(), err=ran.stderr.decode())


def can_be_typed(words: tuple[str, ...]) -> bool:
    """Say whether a system can hand a command line to a process."""
    try:
        return all(b"\0" not in os.fsencode(word) for word in words)
    except UnicodeEncodeError:
        return False


def choose(rng: random.Random) -> Try:
    """Make one try."""
    if rng.random() < 0.6:
        return Try("command lines", tuple(command_line(rng)), answers(rng))
    return rng.choices(tuple(SORTS), tuple(SORTS.values()))[0](rng)


def run_batch(master: Path, seed: int, count: int) -> Counts:
    """Run the tries of one batch in a box of their own."""
    counts, rng = Counts(), random.Random(seed)
    after: Heads | None = None
    box = Path(tempfile.mkdtemp(prefix="box", dir=master.parent))
    home, environment = Path.cwd(), dict(os.environ)
    try:
        os.chdir(make_box(master, box))
        os.environ.update(RVSMLOG_STORE="log.sqlite3", RVSMLOG_BY="MKO", HOME=str(box / "home"))
        for number in range(count):
            one, where = choose(rng), f"seed {seed} try {number}"
            before = (heads(), names()) if after is None else (after, names())
            after = _run_one(one, counts, where, before, alone=rng.random() < 1 / ALONE)
        counts.faults += [f"seed {seed}: {each}" for each in faults_outside(box)]
    finally:
        os.chdir(home)
        os.environ.clear()
        os.environ.update(environment)
        shutil.rmtree(box)
    return counts


def _run_one(
    one: Try, counts: Counts, where: str, before: tuple[Heads, set[str]], *, alone: bool
) -> Heads:
    """Run one try, note what came of it, and give the newest entries after it."""
    start = time.process_time()
    alone = alone and can_be_typed(one.words)
    ran = run_alone(one) if alone else run_here(one)
    counts.slowest_s = max(counts.slowest_s, time.process_time() - start)
    sort = "processes of their own" if alone else one.sort
    counts.tries[sort] += 1
    counts.statuses[sort, ran.status] += 1
    after = heads(), names()
    for fault in judge(one, ran, before, after):
        line = " ".join(ascii(word)[:120] for word in one.words)
        counts.faults.append(f"{where}: {fault}\n    {line}\n    {ran.err[-400:]!r}")
    return after[0]


def _start_worker() -> None:
    """Bound what a worker may take, let the alarm end what hangs, and build each command once."""

    def alarm(*_: object) -> None:
        raise HangError

    signal.signal(signal.SIGALRM, alarm)
    signal.signal(signal.SIGPROF, alarm)
    _keep_commands()
    inputs.LONGEST_WAIT_S = 0.1
    resource.setrlimit(resource.RLIMIT_AS, (_ROOM, _ROOM))


def _keep_commands() -> None:
    """Build each command once: to do so anew takes longer than most tries."""
    build = LazyGroup.get_command
    built: dict[str, Any] = {}

    def get_command(self: LazyGroup, ctx: object, cmd_name: str) -> Any:
        if cmd_name not in built:
            built[cmd_name] = build(self, ctx, cmd_name)
        return built[cmd_name]

    LazyGroup.get_command = get_command  # type: ignore[method-assign]  # see above


def _work(task: tuple[Path, int, int]) -> Counts:
    """Run one batch in a worker."""
    master, seed, count = task
    before = _most_mib()
    counts = run_batch(master, seed, count)
    # The first batch of a worker loads what there is to load.
    counts.grown_mib = _most_mib() - before if _work.__dict__.setdefault("warm", False) else 0.0
    _work.__dict__["warm"] = True
    return counts


def _most_mib() -> float:
    """Give the most memory that this process has had so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def fuzz(tries: int, seed: int, workers: int) -> Counts:
    """Run many tries on several processes."""
    counts = Counts()
    fast = Path("/dev/shm")  # noqa: S108  # a folder of our own is made in it
    with tempfile.TemporaryDirectory(dir=fast if os.access(fast, os.W_OK) else None) as folder:
        master = Path(folder) / "master"
        master.mkdir()
        make_master(master)
        tasks = [
            (master, seed + batch, min(BATCH, tries - batch * BATCH))
            for batch in range(-(-tries // BATCH))
        ]
        context = multiprocessing.get_context("spawn")
        with context.Pool(workers, _start_worker, maxtasksperchild=50) as pool:
            done = pool.imap_unordered(_work, tasks)
            for number, _ in enumerate(tasks):
                try:
                    batch = done.next(timeout=BATCH * BOUND_S)
                    counts.add(batch)
                    sys.stderr.write("".join(f"{fault}\n" for fault in batch.faults))
                except multiprocessing.TimeoutError:
                    counts.faults.append("a worker does not answer any more")
                    pool.terminate()
                    break
                if sys.stderr.isatty() or (number + 1) % 50 == 0:
                    sys.stderr.write(f"{(number + 1) * BATCH} tries, {len(counts.faults)} faults\n")
    if counts.grown_mib > GROWTH_MIB:
        counts.faults.append(f"a worker grew by {counts.grown_mib:.0f} MiB in a batch")
    return counts


def show(counts: Counts) -> None:
    """Print the counts."""
    print(f"{'sort':26}{'tries':>8}{'accepted':>10}{'no-go':>8}{'refused':>9}{'no store':>10}")
    for sort in sorted(counts.tries):
        numbers = [counts.statuses[sort, status] for status in range(4)]
        cells = f"{numbers[0]:>10}{numbers[1]:>8}{numbers[2]:>9}{numbers[3]:>10}"
        print(f"{sort:26}{counts.tries[sort]:>8}{cells}")
    print(
        f"{sum(counts.tries.values())} tries, {len(counts.faults)} faults; slowest "
        f"{counts.slowest_s:.1f} s of processor time; a worker grew by {counts.grown_mib:.0f} MiB "
        "at the most in a batch"
    )


def main() -> int:
    """Run the tries and print what came of them; 1 when there was a fault."""
    tries = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    counts = fuzz(tries, seed * 10**6, len(os.sched_getaffinity(0)))
    for fault in counts.faults[:200]:
        print(fault)
    show(counts)
    return 1 if counts.faults else 0


if __name__ == "__main__":
    sys.exit(main())
