"""New files that appear whole or not at all; what they replace, when told to, is kept beside.

A file is filled as a hidden draft beside its place. A process that is killed cannot take its draft
away; the next one that makes a draft in the folder does. Whether a draft's maker still lives is
told by a lock on a small file of its own, which the system lets go when the maker ends: locking the
draft itself would get in the way of the database's own locks on it.
"""

import os
import re
import secrets
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import EMLINK, ENOSYS, ENOTSUP, EOPNOTSUPP, EPERM
from pathlib import Path

from rvsmlog.errors import InputError, StoreError

#: What file systems without hard links answer, those of memory sticks for example.
_NO_LINKS = {EPERM, ENOTSUP, EOPNOTSUPP, ENOSYS, EMLINK}
#: What SQLite may leave beside a file.
_BESIDE = ("-journal", "-wal", "-shm")
#: What an SQLite database begins with.
_SQLITE = b"SQLite format 3\0"
#: How often a lock file may be snatched away by somebody clearing up before it is locked.
_TRIES = 20
_LOCK = re.compile(r"\.rvsmlog-[0-9a-f]{16}\.lock", re.ASCII)


def check_new(path: Path) -> None:
    """Refuse a place for a new file that is taken, or in a folder that is not there.

    Raises
    ------
    InputError
        Either; nothing was made.
    """
    if path.exists() or path.is_symlink():
        raise InputError(f"{path} exists already", "name a file that does not exist yet")
    if "\0" in str(path) or not path.parent.is_dir():
        raise InputError(f"{str(path)!r} cannot be written: no such folder", "name another file")


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
    try:
        _check_not_beside(path)
        clear_drafts(path.parent)
        taken = path if kept is None else kept
        if taken.exists() or taken.is_symlink():
            raise _exists(taken)
        path.parent.mkdir(parents=True, exist_ok=True)
        with _draft(path.parent) as draft:
            draft.touch(mode=0o600, exist_ok=False)
            yield draft
            if kept is None:
                _put(draft, path)
            else:
                _replace(draft, path, kept)
            _settle(path.parent)
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
        The file; what stands there is replaced, and who may read or write it stays as it was. A
        new one is its owner's alone, as the store is.
    text : str
        Written as UTF-8, line ends as they are.

    Raises
    ------
    OSError
        When it cannot be written; what stands there is untouched then.
    InputError
        When SQLite keeps a log of a database under that name.
    """
    _check_not_beside(path)
    clear_drafts(path.parent)
    with _draft(path.parent) as draft:
        with os.fdopen(own_file(draft), "wb") as file:
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        keep_mode(path, draft)
        draft.replace(path)


def behind(path: Path) -> Path:
    """Give the file that a name stands for, which a link may lead to.

    Raises
    ------
    InputError
        When it is a link that leads nowhere, or back to itself.
    """
    if path.is_symlink() and not path.exists():
        says = f"{path} is a link that leads nowhere"
        raise InputError(says, "name a file that does not exist yet")
    return path.resolve()


def own_file(path: Path) -> int:
    """Make a new file to write that is its owner's alone, whatever the umask lets through.

    Raises
    ------
    OSError
        When something stands at that place, or it cannot be made.
    """
    return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)


def keep_mode(path: Path, draft: Path) -> None:
    """Give what is to replace a file that file's permissions; the owner's alone where none is."""
    draft.chmod(stat.S_IMODE(path.stat().st_mode) if path.is_file() else 0o600)


def _check_not_beside(path: Path) -> None:
    """Refuse the names at which SQLite keeps what belongs to a database beside it.

    A file of ours at that place would be taken for the database's log, or take the place of one
    that holds entries.
    """
    for suffix in _BESIDE:
        if path.name.lower().endswith(suffix):
            database = path.with_name(path.name[: -len(suffix)])
            if _is_database(database):
                raise InputError(
                    f"{path} belongs to the database {database}: its log is kept there",
                    "name another file",
                )


def _is_database(path: Path) -> bool:
    """Say by its first bytes whether a file is an SQLite database."""
    try:
        with path.open("rb") as handle:
            return path.is_file() and handle.read(len(_SQLITE)) == _SQLITE
    except OSError:
        return False


@contextmanager
def _draft(folder: Path) -> Iterator[Path]:
    """Give the name of a draft of this process alone, and take it away at the end."""
    lock, handle = _own_lock(folder)
    draft = lock.with_suffix(".new")
    try:
        yield draft
    finally:
        try:
            _remove_draft(draft)
        finally:
            os.close(handle)
            # Last, so that no draft is ever without a lock file.
            lock.unlink(missing_ok=True)


def clear_drafts(folder: Path) -> tuple[Path, ...]:
    """Take away the drafts of processes that were killed; those of living ones stay.

    Returns
    -------
    tuple of Path
        The drafts taken away. What cannot be told or removed stays, without a word.
    """
    cleared = []
    with suppress(OSError):
        for lock in [each for each in folder.iterdir() if _LOCK.fullmatch(each.name)]:
            with suppress(OSError):
                handle = os.open(lock, os.O_RDWR | getattr(os, "O_NOFOLLOW", 0))
                try:
                    if _locked(handle):
                        draft = lock.with_suffix(".new")
                        _remove_draft(draft)
                        lock.unlink(missing_ok=True)
                        cleared.append(draft)
                finally:
                    os.close(handle)
    return tuple(cleared)


def _own_lock(folder: Path) -> tuple[Path, int]:
    """Make a lock file and hold it as long as the handle is open."""
    for _ in range(_TRIES):
        lock = folder / f".rvsmlog-{secrets.token_hex(8)}.lock"
        handle = os.open(lock, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
        # Where files cannot be locked nobody clears up either, and the draft is safe without.
        if _locked(handle) is None or (_locked(handle) and os.fstat(handle).st_nlink):
            return lock, handle
        os.close(handle)  # somebody who clears up came in between, and takes it away
    raise BlockingIOError("locks in this folder are taken away again and again")


def _locked(handle: int) -> bool | None:
    """Lock a file; False when another process holds it, None where that cannot be told."""
    try:
        import fcntl
    except ImportError:  # not on this system
        return None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return None
    return True


def _remove_draft(draft: Path) -> None:
    """Remove a draft, and what the database may have left beside it."""
    for left in (draft, *(Path(f"{draft}{suffix}") for suffix in _BESIDE)):
        left.unlink(missing_ok=True)


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
