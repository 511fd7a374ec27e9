"""Time whole processes: a go/no-go check against importing the libraries that it stands on.

Usage: ``python tests/benchmarks/gonogo_startup.py [ROUNDS]`` (21 when left out).

A wheel is built and installed with compiled bytecode, and the demo store is made. Each round then
starts every command once, one after the other, so that a busy moment of the machine falls on all of
them. The ratio of a command is the median over the rounds of its time divided by the floor's time
in the same round. Time on the clock counts; processor time stands beside it, as it suffers less
from other programs.
"""

import os
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

CHECKOUT = Path(__file__).parents[2]
FLOOR = "import sqlalchemy.orm, typer, rich"
#: The same with the collector of garbage stopped, as the program stops it while it loads.
FLOOR_WITHOUT_GC = f"import gc; gc.disable(); {FLOOR}"
ASKED = ("--level", "310", "--pilot", "IVO", "--at", "2026-11-24T08:00Z")
#: Commands, each with the ratio it is to stay below (None: shown only).
COMMANDS: tuple[tuple[tuple[str, ...], float | None], ...] = (
    (("gonogo", "QX-ALD", *ASKED), 1.15),
    (("gonogo", "QX-ALD", *ASKED, "--json"), 1.15),
    (("gonogo", "QX-ALD", *ASKED, "--dry-run"), 1.15),
    (("gonogo", *ASKED), None),
    (("--help",), 0.6),
    (("rules",), 0.6),
    (("crosscheck", "list", "QX-ALD", "--json"), None),
)
#: What a check or a list may leave with: GO or done, NO-GO.
FINE = (0, 1)


@dataclass(frozen=True, slots=True)
class Cost:
    """What one process took, milliseconds."""

    clock_ms: float
    processor_ms: float


def install(folder: Path) -> tuple[Path, dict[str, str]]:
    """Build and install the wheel; give the program and the environment to run it in."""
    build = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir"]
    subprocess.run([*build, str(folder / "dist"), str(CHECKOUT)], check=True, capture_output=True)
    (wheel,) = (folder / "dist").glob("*.whl")
    target = folder / "installed"
    pip = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index"]
    subprocess.run([*pip, "--target", str(target), str(wheel)], check=True)
    environment = {
        name: value for name, value in os.environ.items() if not name.startswith("PYTHON")
    }
    environment |= {
        "PYTHONPATH": str(target),
        "RVSMLOG_STORE": str(folder / "demo.sqlite3"),
        "RVSMLOG_BY": "benchmark",
    }
    return target / "bin" / "rvsmlog", environment


def run(command: Sequence[str], environment: Mapping[str, str]) -> Cost:
    """Run one process to its end."""
    start = time.perf_counter()
    # The child is waited for by its own number, which gives what it alone used.
    process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    clock = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in FINE:
        raise SystemExit(f"{' '.join(command)} left with {process.returncode}")
    return Cost(clock * 1000, (usage.ru_utime + usage.ru_stime) * 1000)


def measure(
    commands: Sequence[Sequence[str]], environment: Mapping[str, str], rounds: int
) -> list[list[Cost]]:
    """Run all commands in turn, round after round; the first round only warms the caches."""
    costs = [[run(command, environment) for command in commands] for _ in range(rounds + 1)]
    return costs[1:]


def row(name: str, own: Sequence[Cost], floor: Sequence[Cost], limit: float | None) -> str:
    """Give one row of the table."""
    clock = median(a.clock_ms / b.clock_ms for a, b in zip(own, floor, strict=True))
    processor = median(a.processor_ms / b.processor_ms for a, b in zip(own, floor, strict=True))
    wanted = "" if limit is None else f"{limit:.2f}"
    return (
        f"{name:38} {median(each.clock_ms for each in own):7.0f} {clock:6.2f}"
        f" {median(each.processor_ms for each in own):7.0f} {processor:6.2f} {wanted:>6}"
    )


def main(arguments: Sequence[str]) -> None:
    """Install, measure and print the table."""
    rounds = int(arguments[0]) if arguments else 21
    with TemporaryDirectory() as name:
        program, environment = install(Path(name))
        subprocess.run([program, "demo"], env=environment, check=True, capture_output=True)
        floor = [sys.executable, "-c", FLOOR]
        bare = [sys.executable, "-c", FLOOR_WITHOUT_GC]
        commands = [floor, bare, *([str(program), *command] for command, _ in COMMANDS)]
        costs = measure(commands, environment, rounds)
    by_command = list(zip(*costs, strict=True))
    print(f"{rounds} rounds        clock ms  ratio  proc ms  ratio wanted".rjust(73))
    print(row(FLOOR, by_command[0], by_command[0], None))
    print(row("the same without garbage collection", by_command[1], by_command[0], None))
    for (command, limit), own in zip(COMMANDS, by_command[2:], strict=True):
        shown = " ".join(word for word in command if word not in ASKED)
        print(row(f"rvsmlog {shown}", own, by_command[0], limit))


if __name__ == "__main__":
    main(sys.argv[1:])
