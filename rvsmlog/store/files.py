"""New files that appear whole or not at all, and never in place of another."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from errno import EMLINK, ENOSYS, ENOTSUP, EOPNOTSUPP, EPERM
from pathlib import Path

from rvsmlog.errors import StoreError

#: What file systems without hard links answer, those of memory sticks for example.
_NO_LINKS = {EPERM, ENOTSUP, EOPNOTSUPP, ENOSYS, EMLINK}
#: What SQLite may leave beside a file.
_BESIDE = ("-journal", "-wal", "-shm")


@contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """Give a draft to fill, readable and writable by its owner only, and put it in its place.

    Parameters
    ----------
    path : Path
        The file to be made; its folder is made where it is missing.

    Yields
    ------
    Path
        The draft, in the same folder.

    Raises
    ------
    StoreError
        When something stands at that place already, or the file cannot be made.
    """
    draft = path.parent / f".rvsmlog-{secrets.token_hex(8)}.new"
    try:
        if path.exists() or path.is_symlink():
            raise _exists(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        draft.touch(mode=0o600, exist_ok=False)
        try:
            yield draft
            _put(draft, path)
        finally:
            for left in (draft, *(Path(f"{draft}{suffix}") for suffix in _BESIDE)):
                left.unlink(missing_ok=True)
    except OSError as error:
        raise StoreError(
            f"{path} cannot be made: {error.strerror or error}",
            "name a folder that can be written to",
        ) from None


def _put(draft: Path, path: Path) -> None:
    """Give the draft its name unless that is taken, and force the folder to the disk."""
    try:
        os.link(draft, path)
    except FileExistsError:
        raise _exists(path) from None
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        _put_without_link(draft, path)
    if os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _put_without_link(draft: Path, path: Path) -> None:
    """Take the name with an empty file of our own, then replace that."""
    try:
        path.touch(mode=0o600, exist_ok=False)
    except FileExistsError:
        raise _exists(path) from None
    draft.replace(path)


def _exists(path: Path) -> StoreError:
    return StoreError(f"{path} exists already", "name a file that does not exist yet")
