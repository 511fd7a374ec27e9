"""Backups: a consistent copy made while others go on writing, verified, rotated, restored."""

import os
import re
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from rvsmlog.dates import check_instant
from rvsmlog.errors import InputError, StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.store.connection import (
    SCHEMA_REVISION,
    Store,
    explain,
    make_engine,
    revision,
    store_url,
    uri_path,
)
from rvsmlog.store.files import new_file
from rvsmlog.store.medium import unchanging
from rvsmlog.store.safekeeping.verify import verify

Progress = Callable[[int], None]
_STAMP = "%Y%m%dT%H%M%SZ"
_STAMPED = r"\d{8}T\d{6}Z"


@dataclass(frozen=True, slots=True, kw_only=True)
class BackedUp:
    """A backup that was made.

    Parameters
    ----------
    file : Path
        The copy.
    entries : int or None
        How many entries were verified in it; None where its schema is not the present one.
    removed : tuple of Path
        Older backups that were removed.
    """

    file: Path
    entries: int | None
    removed: tuple[Path, ...] = ()


def backup(
    store: Store,
    target: Path | None = None,
    *,
    now: datetime,
    keep: int | None = None,
    progress: Progress | None = None,
) -> BackedUp:
    """Copy an SQLite store to a new file, and verify every digest in the copy.

    Parameters
    ----------
    store : Store
        Open.
    target : Path, optional
        The new file, or a folder that is there; when left out, the store's own folder. In a folder
        the name is made of the store's and the time.
    now : datetime
        The present instant, for that name.
    keep : int, optional
        Remove older backups of this store in the folder, so that this many are left. Only files
        whose names were made so are ever removed, and only after the new one was verified.
    progress : callable, optional
        Told the number of entries verified, now and then.

    Returns
    -------
    BackedUp
        The copy.

    Raises
    ------
    InputError
        When older ones are to be removed, but the new one is named by hand.
    StoreError
        When the store is on a server, the target exists, the copy fails, or an entry is not as it
        was written: no file is left then, and no older one is removed.
    """
    check_instant(now)
    if store.path is None:
        raise StoreError(
            f"{store.name} is on a server",
            "use the server's own backup, pg_dump for example, or `rvsmlog store export`",
        )
    folder = store.path.parent if target is None else target
    by_hand = target is not None and not target.is_dir()
    if by_hand and keep is not None:
        raise InputError("--keep goes with a folder, not with a file's name", "name the folder")
    if not by_hand:
        stamp = now.astimezone(UTC).strftime(_STAMP)
        folder_target = folder / f"{store.path.stem}.{stamp}.backup{store.path.suffix}"
    path = target if by_hand and target is not None else folder_target
    with new_file(path) as draft:
        try:
            copy(store.path, draft)
        except sqlite3.Error as error:
            raise explain(error, store.name) from error
        entries = verified(draft, store.path, progress)
    removed = () if keep is None else _rotate(store.path, folder, keep)
    return BackedUp(file=path, entries=entries, removed=removed)


def _rotate(store: Path, folder: Path, keep: int) -> tuple[Path, ...]:
    """Remove the oldest backups of a store, by the names that they were given."""
    name = re.compile(
        rf"{re.escape(store.stem)}\.{_STAMPED}\.backup{re.escape(store.suffix)}", re.ASCII
    )
    made = sorted(
        path
        for path in folder.iterdir()
        if name.fullmatch(path.name) and path.is_file() and not path.is_symlink()
    )
    removed = tuple(made[: max(0, len(made) - keep)])
    for path in removed:
        try:
            path.unlink()
        except OSError as error:
            raise StoreError(
                f"the backup was made, but {path} cannot be removed: {error.strerror}",
                "remove it by hand",
            ) from None
    return removed


def verified(path: Path, source: Path, progress: Progress | None = None) -> int | None:
    """Verify every digest in a copy; what is wrong with it is said of what was copied.

    Returns
    -------
    int or None
        How many entries there are; None where the schema is not the present one.

    Raises
    ------
    StoreError
        When an entry is not as it was written.
    """
    url = store_url(str(path.absolute()))
    with Store(make_engine(url), store_url(str(source.absolute()))) as store:
        if revision(store) != SCHEMA_REVISION:
            return None
        with store.reading() as connection:
            found = verify(connection, progress)
    if found.faults:
        raise StoreError(
            f"the store is not as it was written: {found.faults[0]}",
            "keep a plain copy of the file as evidence, run `rvsmlog store verify`, restore the "
            "newest backup that verifies",
        )
    return found.entries


def copy(source: Path, target: Path) -> None:
    """Copy by the database's own online backup, check the copy, and force it to the disk.

    Raises
    ------
    sqlite3.Error
        When the source cannot be read.
    StoreError
        When the copy is damaged.
    """
    # One that may only read would leave its write-ahead log behind.
    mode = "rw" if os.access(source, os.W_OK) else "ro"
    if unchanging(source):
        mode += "&immutable=1"
    place = f"file:{uri_path(source.absolute())}?mode={mode}"
    with (
        closing(sqlite3.connect(place, uri=True)) as reader,
        closing(sqlite3.connect(target)) as writer,
    ):
        reader.backup(writer)
        # One self-contained file: no write-ahead log beside it.
        writer.execute("PRAGMA journal_mode=DELETE")
        said = writer.execute("PRAGMA integrity_check").fetchone()[0]
    if said != "ok":
        raise StoreError(f"the copy of {source} is damaged: {said}", "run `rvsmlog store verify`")
    with target.open("rb+") as handle:
        os.fsync(handle.fileno())
