"""What SQLite says when something is wrong with a file, in plain words with what mends it."""

import os
from pathlib import Path

from rvsmlog.errors import DeniedError, LostTableError, StoreError
from rvsmlog.store.shape import NAME_ANOTHER

#: Where an SQLite file says how it is written, and how ("Database File Format",
#: file format version numbers).
_MODE_AT, _WRITE_AHEAD = 18, b"\2"
_DISK_FULL = ("could not be written: the disk is full", "free some room; nothing was written")


def explain_file(error: BaseException | None, where: str) -> StoreError:
    """Put the database's fault in plain words; one that is not known is told as it was said.

    Parameters
    ----------
    error : BaseException or None
        What the driver raised.
    where : str
        How messages call the store.
    """
    said = (str(error).splitlines() or ["unknown fault"])[0]
    known = {
        "locked": ("is in use by another program", "try again when the other program has ended"),
        "busy": ("is in use by another program", "try again when the other program has ended"),
        "readonly": ("is read-only", "check the permissions of the file and its folder"),
        "not a database": ("is not a store", NAME_ANOTHER),
        "malformed": (
            "is damaged",
            "do not write to it; restore the newest backup and run `rvsmlog store verify`",
        ),
        "unable to open": ("cannot be opened", "check that the file and its folder can be read"),
        **dict.fromkeys(("disk is full", "no space left"), _DISK_FULL),
        "disk i/o error": (
            "cannot be read or written: the disk reports a fault",
            "nothing was written; check the disk, its room and the limits on the size of files",
        ),
        # What the triggers say; a server that cannot be reached says "Connection refused".
        "refused: ": ("refused the change", "entries are never changed or removed; supersede them"),
    }
    lower = said.lower()
    if "permission denied" in lower or "row-level security" in lower:
        return DeniedError(
            f"the server refuses that to this login: {said}",
            "whoever runs the server gives logins their rights, with `rvsmlog store roles`",
        )
    if ("unable to open" in lower or "readonly" in lower) and _waits_for_room(Path(where)):
        what = "is read-only" if "readonly" in lower else "cannot be opened"
        return StoreError(
            f"the store {where} {what}",
            "its folder cannot be written to, and SQLite writes beside a store for readers too: "
            "copy it into a folder of your own, with the file -wal beside it where there is one, "
            "or check the permissions",
        )
    if "no such table" in lower:
        return LostTableError(f"{where} is no rvsmlog store", NAME_ANOTHER)
    for mark, (what, hint) in known.items():
        if mark in lower:
            return StoreError(f"the store {where} {what}", hint)
    return StoreError(f"the store {where} failed: {said}", "run `rvsmlog store info`")


def _waits_for_room(path: Path) -> bool:
    """Say whether a file can be read, but is in write-ahead mode where nothing can be written.

    SQLite then makes a file beside it for any reader ("Write-Ahead Logging", read-only databases).
    It is told that the file never changes where that is sure (``medium.py``). A read-only mount
    does not prove it: others may reach the same file by another way, and nobody would see that half
    of it is new.
    """
    try:
        with path.open("rb") as handle:
            start = handle.read(_MODE_AT + 1)
    except (OSError, ValueError):
        return False
    return start[_MODE_AT:] == _WRITE_AHEAD and not os.access(path.parent, os.W_OK)
