"""Whether nothing can write to the medium that a store is on: then it is read as it stands.

SQLite makes a file beside a store in write-ahead mode for any reader, unless it is told that the
file never changes ("Write-Ahead Logging", read-only databases). A read-only mount alone does not
prove that: the same files may be reached through another mount, or by the server that lends them.
A write-protected device does, when its file system was never mounted for writing either: it is this
system's, and nothing here can write to it.
"""

import os
import re
from pathlib import Path

#: Where Linux describes its devices by number; "ro" tells a write-protected one (from memory).
DEVICES = Path("/sys/dev/block")
#: Where Linux lists its mounts: of each the number of the device and, last, the options of the file
#: system itself, which begin with "rw" where another mount of it may write ("proc_pid_mountinfo").
MOUNTS = Path("/proc/self/mountinfo")
#: In the path of a device that is none of its own: made of a file or of other devices (loop and its
#: partitions, device mapper, md), or of what another machine has (nbd, rbd, virtio, iSCSI, Fibre
#: Channel); from memory.
_LENT = re.compile(r"/devices/(?:virtual|rbd)/|/virtio\d+/|/session\d+/|/rport-")
_DEVICE = 2
#: What would have to be read, or played back, together with a store.
_BESIDE = ("-wal", "-journal")


def unchanging(path: Path) -> bool:
    """Say whether a file is whole by itself, and on a device that nothing here can write to.

    A disk that was written once, a card with its slide on "lock". Wherever that cannot be told, as
    on other systems than Linux, and of a device that is none of its own, it is no.

    Parameters
    ----------
    path : Path
        The file of a store.
    """
    if not hasattr(os, "statvfs"):
        return False
    try:
        real = path.resolve(strict=True)
        if not os.statvfs(real).f_flag & os.ST_RDONLY:
            return False
        number = real.stat().st_dev
        name = f"{os.major(number)}:{os.minor(number)}"
        beside = any(real.with_name(real.name + end).exists() for end in _BESIDE)
        return not beside and _is_protected(DEVICES / name) and not _is_written(name)
    except (OSError, ValueError):
        return False


def _is_protected(device: Path) -> bool:
    """Say whether a device is one of its own, and write-protected."""
    locked = (device / "ro").read_text("utf-8").strip() == "1"
    return locked and _LENT.search(f"{device.resolve(strict=True)}/") is None


def _is_written(name: str) -> bool:
    """Say whether the file system of a device was mounted for writing, wherever; also in doubt."""
    rows = (line.split() for line in MOUNTS.read_text("utf-8", "replace").splitlines())
    options = [row[-1].split(",") for row in rows if len(row) > _DEVICE and row[_DEVICE] == name]
    return not options or any("ro" not in each for each in options)
