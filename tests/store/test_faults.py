"""A short run of the fault benchmark: killed, starved, damaged, and several at once."""

import random
import shutil
from pathlib import Path

import pytest

from tests.benchmarks.faults import damage, jobs, kills, room, server, together
from tests.benchmarks.faults.process import Ended
from tests.benchmarks.faults.scene import Scene, add_checks

#: Those that are done in a moment; the benchmark kills the others too.
QUICK = ("single records", "CSV imports", "migrations")


@pytest.fixture
def scene(folder: Path) -> Scene:
    """Give stores to begin from."""
    return Scene(folder)


def test_killed_at_random_instants(scene: Scene) -> None:
    """Killed commands lose nothing acknowledged and leave nothing half, nor in the way."""
    for name in QUICK:
        job = jobs.SORTS[name][0]
        count = kills.kill_some(name, job, scene, 1, random.Random(name), measured=1)
        assert (count.lost, count.tries, count.survived) == ([], 1, 1)


@pytest.mark.postgres
def test_clients_of_a_server_are_killed(folder: Path) -> None:
    """The same on a server, which ends by itself what its client began."""
    with server.served(folder) as own:
        for name in ("single records", "migrations"):
            job = jobs.ON_SERVER[name][0]
            count = kills.kill_some(name, job, own.scene, 1, random.Random(name), measured=1)
            assert (count.lost, count.tries, count.survived) == ([], 1, 1)


def test_a_loss_would_be_counted(scene: Scene) -> None:
    """An entry that was acknowledged and is not there counts, as does half of an import."""
    each = jobs.record(scene)
    assert each.judge(Ended(status=0, said="recorded VK71-1007#62: ...", complained="")) == [
        "acknowledged, but 0 of 1 entries are there",
        "said `recorded`, but it is not there",
    ]
    each = jobs.csv_import(scene)
    add_checks(str(each.folder / "log.sqlite3"), 500, 501)
    assert each.judge(Ended(status=None, said="", complained="")) == ["1 of 60 entries"]


def test_no_room_to_write(scene: Scene) -> None:
    """Where no file may grow, a command says so in plain words, and nothing is half written."""
    for name in ("single records", "exports"):
        count = room.starved(name, jobs.SORTS[name][0], scene, 1, random.Random(3), room.limited)
        assert (count.lost, count.survived) == ([], 1)


def test_bits_flipped_and_files_cut(scene: Scene) -> None:
    """No answer changes without a complaint."""
    pattern = scene.folder / "pattern.sqlite3"
    shutil.copyfile(scene.patterns / "half.sqlite3", pattern)
    assert damage.damaged_copies(pattern, 1, random.Random(1)) == 0


def test_two_editions_and_a_wrong_clock(scene: Scene) -> None:
    """Neither edition writes to the other's schema, and no entry is made before the one before."""
    for counts in (together.editions(scene), together.clocks(scene)):
        assert [each for count in counts.values() for each in count.lost] == []


def test_eight_writers(scene: Scene) -> None:
    """Eight processes at once, two of them killed: numbers without gaps, nothing lost."""
    where = scene.store(scene.new_folder(), "half")
    count = together.writers(where, 2, random.Random(1))
    assert count.lost == []
