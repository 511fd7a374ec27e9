"""Restoring a store from a backup: verified first, and nothing is overwritten without a word."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path

from rvsmlog.errors import StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.store.connection import (
    BUSY_MILLISECONDS,
    SCHEMA_REVISION,
    Store,
    explain,
    make_engine,
    revision,
    store_path,
    store_url,
    uri_path,
)
from rvsmlog.store.files import new_file
from rvsmlog.store.safekeeping.backup import copy, verified

Progress = Callable[[int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """A store that was restored.

    Parameters
    ----------
    store : Path
        Where it is.
    entries : int or None
        How many entries were verified; None where its schema is older than the program's.
    kept : Path or None
        Where the store that stood there before is now.
    """

    store: Path
    entries: int | None
    kept: Path | None = None


def restore(
    source: Path,
    where: str,
    *,
    now: datetime,
    replace: bool = False,
    progress: Progress | None = None,
) -> Restored:
    """Make a store of a backup.

    Parameters
    ----------
    source : Path
        The backup, or any other SQLite store.
    where : str
        The store to be made: a file.
    now : datetime
        The present instant, for the name of the store that is replaced.
    replace : bool
        Replace a store that is there; it is kept beside, under another name.
    progress : callable, optional
        Told the number of entries verified, now and then.

    Raises
    ------
    StoreError
        When the backup is no store or not as it was written, something stands at the place and is
        not to be replaced, or another program uses it. Nothing is changed then.
    """
    path = store_path(store_url(where))
    if path is None:
        raise StoreError(
            "a backup is a file, not a database on a server",
            "restore it to a file, export that with `rvsmlog store export`, and take the export in "
            "with `rvsmlog store import`",
        )
    source = source.absolute()
    _check_source(source)
    there = path.exists() or path.is_symlink()
    if there:
        _check_taken(path, source, replace=replace)
        _one_name(path)
    stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    kept = path.with_name(f"{path.stem}.{stamp}.replaced{path.suffix}") if there else None
    # The hold is let go after the new file is in its place.
    with ExitStack() as hold, new_file(path, kept=kept) as draft:
        try:
            copy(source, draft)
        except sqlite3.Error as error:
            raise explain(error, str(source)) from error
        entries = verified(draft, source, progress)
        with closing(sqlite3.connect(draft)) as connection:
            # As a new store has it: readers need not wait for a writer.
            connection.execute("PRAGMA journal_mode=WAL")
        if there:
            hold.enter_context(_held(path))
    return Restored(store=path, entries=entries, kept=kept)


def _check_taken(path: Path, source: Path, *, replace: bool) -> None:
    """Refuse to replace what stands at the place, where that is not asked for or is no store."""
    if not replace:
        raise StoreError(
            f"{path} exists already",
            "name another place, or add --replace: the old store is then kept beside it",
        )
    if path.is_symlink() or not path.is_file():
        raise StoreError(f"{path} is no plain file", "name the store's own file")
    if source.samefile(path):
        raise StoreError(f"{path} is the backup itself", "name another backup")


def _one_name(path: Path) -> None:
    """Take away the second name that a restoration left which was killed half-way.

    Replacing gives the old store its new name before the old one goes to the new store, so that
    there is a store at every instant. A database must not go on under two names.
    """
    for kept in path.parent.glob("*.replaced*"):
        with suppress(OSError):
            if kept.samefile(path) and not kept.is_symlink():
                kept.unlink()


def _check_source(source: Path) -> None:
    """Refuse what is no store, or of a schema that this program does not know."""
    if not source.is_file():
        what = "is no file" if source.exists() else "does not exist"
        raise StoreError(f"{source} {what}", "name a backup")
    url = store_url(str(source))
    with Store(make_engine(url), url) as store:
        found = revision(store)
    if found is None:
        raise StoreError(f"{source} is no rvsmlog store", "name a backup")
    if found > SCHEMA_REVISION:
        raise StoreError(
            f"{source} has schema {found}, newer than this program's {SCHEMA_REVISION}",
            "install a newer rvsmlog",
        )


@contextmanager
def _held(path: Path) -> Iterator[None]:
    """Keep every other program out of a store that is about to be replaced.

    What stands in a log beside it is brought into the file first. A damaged file, which may be why
    it is replaced, cannot be held.

    Raises
    ------
    StoreError
        When another program has it open.
    """
    with closing(
        sqlite3.connect(f"file:{uri_path(path)}?mode=rw", uri=True, isolation_level=None)
    ) as old:
        if not _hold(old, path):
            raise explain(sqlite3.OperationalError("database is locked"), str(path))
        try:
            yield
        except BaseException:
            # It was not replaced: it goes on as it was.
            with suppress(sqlite3.Error):
                old.execute("ROLLBACK")
                old.execute("PRAGMA journal_mode=WAL")
            raise


def _hold(old: sqlite3.Connection, path: Path) -> bool:
    """Lock a store; False when another program has it open."""
    try:
        old.execute(f"PRAGMA busy_timeout={BUSY_MILLISECONDS}")
        # Only whoever is alone with a store can change how it writes.
        alone = bool(old.execute("PRAGMA journal_mode=DELETE").fetchone()[0] == "delete")
        if alone:
            old.execute("BEGIN EXCLUSIVE")
    except sqlite3.OperationalError as error:
        if "disk i/o" not in str(error).lower():
            raise explain(error, str(path)) from error
        return True  # a file cut short
    except sqlite3.DatabaseError:
        return True  # it is no database any more: nothing of it is in use
    return alone
