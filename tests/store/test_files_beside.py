"""No file of ours is put where SQLite keeps what belongs to a store beside it."""

import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rvsmlog import library
from rvsmlog.errors import RvsmlogError
from rvsmlog.library import Store, create_store, open_store
from rvsmlog.store.files import new_file, put_text

NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)
SUFFIXES = ("-wal", "-shm", "-journal", "-WAL")


def made(path: Path) -> None:
    """Make a new file."""
    with new_file(path) as draft:
        draft.write_bytes(b"made")


WAYS: dict[str, Callable[[Store, Path], object]] = {
    "new file": lambda _, path: made(path),
    "text": lambda _, path: put_text(path, "text"),
    "backup": lambda store, path: library.backup(store, path, now=NOW),
    "export": library.export_store,
    "board": lambda store, path: library.write_board(store, path, NOW, NOW),
    "calendar": lambda _, path: library.write_calendar(
        path, (), (), seals=(), today=NOW.date(), stamp=NOW
    ),
    "store": lambda _, path: create_store(str(path)),
}


@pytest.mark.parametrize("suffix", SUFFIXES)
@pytest.mark.parametrize("way", WAYS)
def test_the_store_s_own_names_are_refused(
    sqlite_pattern: Path, folder: Path, way: str, suffix: str
) -> None:
    """Whatever is written, and whether something stands there or not."""
    path = Path(shutil.copy(sqlite_pattern, folder / "log.sqlite3"))
    with open_store(str(path)) as store:
        before = library.describe_store(store)
        beside = {each.name for each in folder.iterdir()}
        with pytest.raises(
            RvsmlogError, match=r"belongs to the database .*log\.sqlite3:"
        ) as caught:
            WAYS[way](store, Path(f"{path}{suffix}"))
        assert caught.value.hint == "name another file"
        assert {each.name for each in folder.iterdir()} <= beside | {
            *("log.sqlite3-wal", "log.sqlite3-shm"),
        }
        assert library.describe_store(store) == before


def test_such_a_name_beside_no_database_is_a_name(folder: Path) -> None:
    """A text of that name is nobody's log."""
    (folder / "notes").write_text("a text")
    put_text(folder / "notes-wal", "text")
    made(folder / "nothing-journal")
    assert (folder / "notes-wal").read_text() == "text"
