"""Files cut short and bits flipped: what changed is found, and no answer changes without a word.

Each try damages a fresh copy of the demo's store, asks about the whole fleet, and verifies. Answers
may only differ from those before when the command or the verification complains.
"""

import json
import random
import shutil
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from tests.benchmarks.faults.process import command, run
from tests.benchmarks.faults.room import in_plain_words
from tests.benchmarks.faults.scene import state

UNREADABLE, FOUND, HARMLESS, MISSED = (
    "cannot be read",
    "verify finds it",
    "nothing read changed",
    "missed",
)
OUTCOMES = (UNREADABLE, FOUND, HARMLESS, MISSED)
_ASKED = (
    *("gonogo", "--level", "310", "--pilot", "IVO", "--at", "2026-11-24T08:00Z"),
    "--dry-run",
)


def damaged(tries: int, rng: random.Random, folder: Path) -> int:
    """Cut files short and flip bits: a fifth as many of each as the kills."""
    pattern = folder / "pattern.sqlite3"
    run(command("demo", "--store", pattern))
    return damaged_copies(pattern, max(2, tries // 5), rng)


def damaged_copies(pattern: Path, tries: int, rng: random.Random) -> int:
    """Damage copies of one store, each in every way so often; give how often nobody complained."""
    answers, seals = _answers(pattern), state(pattern).seals
    if answers is None:
        raise AssertionError("the store gives no answers")
    counts: dict[str, Counter[str]] = {}
    bad = []
    for name, change in CHANGES.items():
        counts[name] = Counter()
        for number in range(tries):
            path = _fresh(pattern)
            change(path, rng)
            outcome, says = _judge(path, answers, seals)
            counts[name][outcome] += 1
            bad += [f"{name} {number}: {says}"] if says else []
    print(f"\n{'damage to the file':26}{'tries':>7}", *(f"{each:>21}" for each in OUTCOMES))
    for name, counter in counts.items():
        cells = (f"{counter[each]:>21}" for each in OUTCOMES)
        print(f"  {name:24}{sum(counter.values()):>7}", *cells)
    for each in bad:
        print("  missed:", each)
    return len(bad)


def _fresh(pattern: Path) -> Path:
    """Copy the store, with nothing beside it."""
    path = pattern.with_name("log.sqlite3")
    for beside in ("", "-wal", "-shm", "-journal"):
        Path(f"{path}{beside}").unlink(missing_ok=True)
    shutil.copyfile(pattern, path)
    return path


def _cut(path: Path, rng: random.Random) -> None:
    """Cut the file short anywhere."""
    with path.open("r+b") as file:
        file.truncate(rng.randrange(path.stat().st_size))


def _flip(path: Path, rng: random.Random, *, bits: int = 1) -> None:
    """Flip some bits anywhere."""
    with path.open("r+b") as file:
        for _ in range(bits):
            file.seek(rng.randrange(path.stat().st_size))
            (byte,) = file.read(1)
            file.seek(-1, 1)
            file.write(bytes([byte ^ 1 << rng.randrange(8)]))


def _zeroed(path: Path, rng: random.Random) -> None:
    """Lose one page, as a disk does that forgets a sector."""
    page = 4096
    with path.open("r+b") as file:
        file.seek(page * rng.randrange(path.stat().st_size // page))
        file.write(bytes(page))


CHANGES: Mapping[str, Callable[[Path, random.Random], None]] = {
    "cut short": _cut,
    "one bit flipped": _flip,
    "sixteen bits flipped": lambda path, rng: _flip(path, rng, bits=16),
    "a page of zeros": _zeroed,
}


def _answers(path: Path) -> Any:
    """Ask about the fleet; None when the store cannot be read."""
    ended = run(command(*_ASKED, "--json", "--store", path))
    return json.loads(ended.said) if ended.status in (0, 1) else None


def _judge(path: Path, answers: Any, seals: Mapping[str, str]) -> tuple[str, str]:
    """Say how one damaged store ended; the second text says what is wrong with that."""
    asked = run(command(*_ASKED, "--json", "--store", path))
    verified = run(command("store", "verify", "--json", "--store", path))
    for ended in (asked, verified):
        if ended.status not in (0, 1) and (wrong := in_plain_words(ended)):
            return MISSED, wrong[0]
    complains = verified.status != 0
    if asked.status not in (0, 1):
        # It may have been damage to what is derived, which a check only rebuilds.
        return UNREADABLE, "" if complains else f"only the check complains: {asked.complained}"
    if complains:
        return FOUND, ""
    if json.loads(asked.said) != answers:
        return MISSED, "another answer, and nobody complains"
    return HARMLESS, "" if state(path).seals == seals else "other seals, and nobody complains"
