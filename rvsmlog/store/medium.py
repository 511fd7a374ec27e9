"""Whether nothing can write to the medium that a store is on: then it is read as it stands.

SQLite makes a file beside a store in write-ahead mode for any reader, unless it is told that the
file never changes ("Write-Ahead Logging", read-only databases). A read-only mount alone does not
prove that: the same files may be reached through another mount, or by the server that lends them.
A write-protected device does: its file system is this system's, and nothing here can write to it.
"""

import os
from pathlib import Path

#: Where Linux describes its devices by number; "ro" tells a write-protected one (from memory).
DEVICES = Path("/sys/dev/block")
#: What would have to be read, or played back, together with a store.
_BESIDE = ("-wal", "-journal")


def unchanging(path: Path) -> bool:
    """Say whether a file is whole by itself, and on a device that nothing here can write to.

    A disk that was written once, a card with its slide on "lock". Wherever that cannot be told, as
    on other systems than Linux, and of a file that is used as a device (loop), it is no.

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
        device = DEVICES / f"{os.major(number)}:{os.minor(number)}"
        locked = (device / "ro").read_text("utf-8").strip() == "1"
        beside = any(real.with_name(real.name + end).exists() for end in _BESIDE)
        return locked and not beside and not (device / "loop").exists()
    except (OSError, ValueError):
        return False
