"""Backups: a consistent copy made while others go on writing."""

import os
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

from rvsmlog.errors import StoreError
from rvsmlog.store.connection import Store, explain, uri_path
from rvsmlog.store.files import new_file


def backup(store: Store, target: Path | None = None, *, now: datetime) -> Path:
    """Copy an SQLite store to a new file.

    Parameters
    ----------
    store : Store
        Open.
    target : Path, optional
        The new file; beside the store, with the time in its name, when left out.
    now : datetime
        The present instant, for that name.

    Returns
    -------
    Path
        The copy.

    Raises
    ------
    StoreError
        When the store is on a server, the target exists, or the copy fails.
    """
    if store.path is None:
        raise StoreError(
            f"{store.name} is on a server", "use the server's own backup, for example pg_dump"
        )
    if target is None:
        stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
        target = store.path.with_name(f"{store.path.stem}.{stamp}.backup{store.path.suffix}")
    with new_file(target) as draft:
        try:
            _copy(store.path, draft)
        except sqlite3.Error as error:
            raise explain(error, store.name) from error
    return target


def _copy(source: Path, target: Path) -> None:
    """Copy by the database's own online backup, check the copy, and force it to the disk."""
    # One that may only read would leave its write-ahead log behind.
    reader = sqlite3.connect(f"file:{uri_path(source)}?mode=rw", uri=True)
    writer = sqlite3.connect(target)
    try:
        reader.backup(writer)
        # One self-contained file: no write-ahead log beside it.
        writer.execute("PRAGMA journal_mode=DELETE")
        said = writer.execute("PRAGMA quick_check").fetchone()[0]
    finally:
        writer.close()
        reader.close()
    if said != "ok":
        raise StoreError(f"the copy {target} is damaged: {said}", "run `rvsmlog store verify`")
    with target.open("rb+") as handle:
        os.fsync(handle.fileno())
