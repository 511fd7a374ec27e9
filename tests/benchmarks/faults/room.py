"""No room on the disk, and no right to write: one line and a hint, and nothing half written.

Where a file system may be mounted, a small one in memory is filled up to a random rest. Everywhere
a process may be told that no file may grow beyond a random size, which fails in other places.
"""

import os
import random
import resource
import shutil
import signal
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.benchmarks.faults.jobs import SORTS, Job, Try
from tests.benchmarks.faults.kills import Count, Counts, after, show
from tests.benchmarks.faults.process import Call, Ended, command, run
from tests.benchmarks.faults.scene import REG, Scene, check_options, state, write_rows

_DISK_BYTES = 16_000_000
#: As much room at the most as a command is left; some need less, and come through.
_MOST_LEFT = 260_000
_NOBODY = 65534
_STORE_FAILS = 3
#: What takes long is starved once.
_TRIES = {"demo building": 1}


def no_room(tries: int, rng: random.Random, folder: Path) -> int:
    """Fill the disk, limit files, and take away the right to write: half as many as the kills."""
    each = max(1, tries // 40)
    bad = 0
    disk = folder / "disk"
    disk.mkdir()
    if os.geteuid() == 0:
        with _small_disk(disk) as mounted:
            if mounted:
                bad += show("disk full", _all(Scene(disk), each, rng, _full))
    place = folder / "limited"
    place.mkdir()
    bad += show("file too large", _all(Scene(place), each, rng, limited))
    if os.geteuid() == 0:
        bad += show("no right to write", read_only(folder / "rights"))
    return bad


def _all(
    scene: Scene, tries: int, rng: random.Random, starve: Callable[[Try, random.Random], Ended]
) -> Counts:
    """Starve commands of each sort."""
    counts: Counts = {}
    for name, (job, _) in SORTS.items():
        counts[name] = starved(name, job, scene, _TRIES.get(name, tries), rng, starve)
    return counts


def starved(
    name: str,
    job: Job,
    scene: Scene,
    tries: int,
    rng: random.Random,
    starve: Callable[[Try, random.Random], Ended],
) -> Count:
    """Starve commands of one sort; then there is room again, and they come through."""
    count = Count()
    for number in range(tries):
        each = job(scene)
        ended = starve(each, rng)
        lost = [*in_plain_words(ended), *each.judge(ended)]
        count.add(f"{name} {number}", after(each, lost), killed=ended.status == _STORE_FAILS)
    return count


def in_plain_words(ended: Ended) -> list[str]:
    """Hold that a command came through, or left with 3, one line and a hint."""
    if ended.status == 0:
        return []
    lines = ended.complained.splitlines()
    plain = len(lines) == 2 and lines[0].startswith("error: ") and lines[1].startswith("hint: ")
    if ended.status == _STORE_FAILS and plain and "unexpected" not in lines[0]:
        return []
    return [f"not in plain words: {ended}"]


def _full(each: Try, rng: random.Random) -> Ended:
    """Run a command on a disk that is full but for a random rest."""
    ballast = each.folder / "ballast"
    status = os.statvfs(each.folder)
    left = rng.randrange(_MOST_LEFT)
    ballast.write_bytes(bytes(max(0, status.f_bavail * status.f_frsize - left)))
    try:
        return run(each.call)
    finally:
        ballast.unlink()


def limited(each: Try, rng: random.Random) -> Ended:
    """Run a command none of whose files may grow beyond a random size."""
    limit = rng.randrange(_MOST_LEFT)

    def call() -> int:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))
        return each.call()

    return run(call)


@contextmanager
def _small_disk(place: Path) -> Iterator[bool]:
    """Mount a small file system in memory; False where that is not allowed."""
    mount, umount = shutil.which("mount"), shutil.which("umount")
    words = ("-t", "tmpfs", "-o", f"size={_DISK_BYTES}", "tmpfs", str(place))
    done = mount and umount and not subprocess.run([mount, *words], check=False).returncode
    try:
        yield bool(done)
    finally:
        if done and umount:
            subprocess.run([umount, str(place)], check=True)


def read_only(folder: Path) -> Counts:
    """Run commands as a user who may read the store or its folder, but not write."""
    folder.mkdir()
    for place in (folder.parent, folder):
        place.chmod(0o755)
    scene, counts = Scene(folder), {}
    for name, file_mode, folder_mode in (
        ("read-only file", 0o444, 0o777),
        ("read-only folder", 0o666, 0o555),
        ("both read-only", 0o444, 0o555),
        ("not readable", 0o600, 0o755),
    ):
        counts[name] = _as_nobody(scene, name, file_mode, folder_mode)
    return counts


def _as_nobody(scene: Scene, name: str, file_mode: int, folder_mode: int) -> Count:
    """Try what writes and what reads; what cannot be done says so, and changes nothing."""
    count = Count()
    place = scene.new_folder()
    where = scene.store(place, "half")
    before = state(where)
    rows = write_rows(place / "rows.csv", range(90, 99))
    export = place / "export.jsonl.gz"
    shutil.copyfile(scene.patterns / "whole-airframe.jsonl.gz", export)
    for beside in ("-wal", "-shm"):
        Path(f"{where}{beside}").unlink(missing_ok=True)
    Path(where).chmod(file_mode)
    place.chmod(folder_mode)
    writes = (
        check_options("read-only", 1),
        ("crosscheck", "import", rows, "--airframe", REG),
        ("airframe", "import", export),
    )
    reads = (("crosscheck", "list", REG), ("store", "verify"), ("store", "info"))
    for number, words in enumerate((*writes, *reads)):
        ended = run(_dropped(command(*words, "--store", where)))
        lost = in_plain_words(ended)
        if number < len(writes) and file_mode != 0o666 and ended.status == 0:
            lost.append("wrote to a store that may not be written to")
        count.add(f"{name}, {words[0]} {words[1]}", lost, killed=ended.status == _STORE_FAILS)
    place.chmod(0o755)
    if file_mode != 0o666 and state(where) != before:
        count.add(name, ["changed"], killed=False)
    return count


def _dropped(call: Call) -> Call:
    """Give a call as a user without rights would make it."""

    def as_nobody() -> int:
        os.setgroups([])
        os.setgid(_NOBODY)
        os.setuid(_NOBODY)
        return call()

    return as_nobody
