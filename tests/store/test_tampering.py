"""A short run of the tamper benchmark: nothing is missed, and the count could tell."""

import random
import shutil
from pathlib import Path

from tests.benchmarks.tamper import (
    BY_SEAL,
    BYTES,
    FOUND,
    MISSED,
    ONLY_BY_SEAL,
    content,
    judge,
    make_log,
    run,
    tamper,
)
from tests.benchmarks.tamper_ways import CHANGES


def test_nothing_changed_behind_the_program_is_missed(folder: Path) -> None:
    """Five changes of every sort: each is found, by the digests or by a seal noted before."""
    tries = 5 * (len(CHANGES) + 1)
    counts = run(tries, seed=1, folder=folder)
    assert counts.missed == []
    assert counts.by_way.keys() == {*CHANGES, BYTES}
    for way in CHANGES:
        by_seal = counts.by_way[way][BY_SEAL]
        assert (by_seal > 0) == (way in ONLY_BY_SEAL), way
        assert counts.by_way[way][FOUND] + by_seal == counts.by_way[way].total()


def test_without_a_seal_a_cut_log_would_be_missed(folder: Path) -> None:
    """What the digests alone cannot find counts as missed when no seal was noted."""
    pattern, path = folder / "pattern.sqlite3", folder / "log.sqlite3"
    seals = make_log(pattern)
    before = content(pattern)
    shutil.copyfile(pattern, path)
    assert judge(path, seals, before, guarded=True) == "harmless"
    tamper(path, "the newest cut off", random.Random(1))
    assert judge(path, (), before, guarded=False) == MISSED
    assert judge(path, seals, before, guarded=False) == BY_SEAL
