"""New files that appear whole or not at all; what they replace, when told to, is kept beside."""

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
def new_file(path: Path, *, kept: Path | None = None) -> Iterator[Path]:
    """Give a draft to fill, readable and writable by its owner only, and put it in its place.

    Parameters
    ----------
    path : Path
        The file to be made; its folder is made where it is missing.
    kept : Path, optional
        Another name, in the same folder, for what stands at that place; with it, that is replaced.

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
        taken = path if kept is None else kept
        if taken.exists() or taken.is_symlink():
            raise _exists(taken)
        path.parent.mkdir(parents=True, exist_ok=True)
        draft.touch(mode=0o600, exist_ok=False)
        try:
            yield draft
            if kept is None:
                _put(draft, path)
            else:
                _replace(draft, path, kept)
            _settle(path.parent)
        finally:
            for left in (draft, *(Path(f"{draft}{suffix}") for suffix in _BESIDE)):
                left.unlink(missing_ok=True)
    except OSError as error:
        raise StoreError(
            f"{path} cannot be made: {error.strerror or error}",
            "name a folder that can be written to",
        ) from None


def put_text(path: Path, text: str) -> None:
    """Write a text beside its place, force it to the disk, and put it there in one step.

    Parameters
    ----------
    path : Path
        The file; what stands there is replaced.
    text : str
        Written as UTF-8, line ends as they are.

    Raises
    ------
    OSError
        When it cannot be written; what stands there is untouched then.
    """
    draft = path.with_name(f".{path.name[:100]}.{secrets.token_hex(4)}.new")
    try:
        with draft.open("xb") as file:
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def _put(draft: Path, path: Path) -> None:
    """Give the draft its name unless that is taken."""
    try:
        os.link(draft, path)
    except FileExistsError:
        raise _exists(path) from None
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        _put_without_link(draft, path)


def _settle(folder: Path) -> None:
    """Force the names in a folder to the disk."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _replace(draft: Path, path: Path, kept: Path) -> None:
    """Give what stands at a place another name, and the draft that place."""
    try:
        # With both names for a moment, there is a file at the place at every instant.
        os.link(path, kept)
    except FileExistsError:
        raise _exists(kept) from None
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        path.rename(kept)
    for suffix in _BESIDE:
        # A log left beside the old file must not be taken for the new one's.
        beside = Path(f"{path}{suffix}")
        if beside.exists():
            beside.rename(f"{kept}{suffix}")
    draft.replace(path)


def _put_without_link(draft: Path, path: Path) -> None:
    """Take the name with an empty file of our own, then replace that."""
    try:
        path.touch(mode=0o600, exist_ok=False)
    except FileExistsError:
        raise _exists(path) from None
    draft.replace(path)


def _exists(path: Path) -> StoreError:
    return StoreError(f"{path} exists already", "name a file that does not exist yet")
