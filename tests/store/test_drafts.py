"""Drafts that killed processes left behind are taken away; those of living ones never."""

import fcntl
import os
from pathlib import Path

import pytest

from rvsmlog.errors import StoreError
from rvsmlog.store.files import clear_drafts, new_file, put_text

DEAD = ".rvsmlog-0123456789abcdef"


def left_behind(folder: Path) -> None:
    """Leave what a process leaves that is killed while it builds a store: nobody holds the lock."""
    for suffix in (".lock", ".new", ".new-journal", ".new-wal", ".new-shm"):
        (folder / f"{DEAD}{suffix}").write_bytes(b"half")


@pytest.mark.parametrize("by", ["file", "text"])
def test_what_a_killed_process_left_is_taken_away(folder: Path, by: str) -> None:
    """The next file made in the folder clears it of the dead draft, its logs and its lock."""
    left_behind(folder)
    if by == "file":
        with new_file(folder / "new") as draft:
            draft.write_text("whole")
    else:
        put_text(folder / "new", "whole")
    assert [each.name for each in folder.iterdir()] == ["new"]
    assert (folder / "new").read_text() == "whole"


def test_a_draft_in_use_stays(folder: Path) -> None:
    """Another file made meanwhile does not touch a draft whose maker lives."""
    with new_file(folder / "one") as draft:
        draft.write_text("one")
        with new_file(folder / "two") as other:
            other.write_text("two")
            assert draft.read_text() == "one"
        assert clear_drafts(folder) == ()
    assert {each.name: each.read_text() for each in folder.iterdir()} == {
        "one": "one",
        "two": "two",
    }


def test_the_lock_of_another_process_counts(folder: Path) -> None:
    """A lock held by another process keeps its draft; once that process is gone, it is cleared."""
    left_behind(folder)
    reading, writing = os.pipe()
    child = os.fork()
    if not child:  # pragma: no cover - the other process
        os.close(writing)
        handle = os.open(folder / f"{DEAD}.lock", os.O_RDWR)
        fcntl.flock(handle, fcntl.LOCK_EX)
        (folder / "locked").touch()
        os.read(reading, 1)
        os._exit(0)
    os.close(reading)
    while not (folder / "locked").exists():
        pass
    assert clear_drafts(folder) == ()
    assert (folder / f"{DEAD}.new").exists()
    os.close(writing)
    os.waitpid(child, 0)
    assert clear_drafts(folder) == (folder / f"{DEAD}.new",)
    assert [each.name for each in folder.iterdir()] == ["locked"]


def test_only_files_named_so_are_taken_away(folder: Path) -> None:
    """Files of other names, and folders, are left alone."""
    names = [".rvsmlog-.lock", ".rvsmlog-0123.lock", "x.lock", f"{DEAD}.new", f"{DEAD}0.lock"]
    for name in names:
        (folder / name).touch()
    (folder / ".rvsmlog-fedcba9876543210.lock").mkdir()
    assert clear_drafts(folder) == ()
    assert len(list(folder.iterdir())) == len(names) + 1


def test_a_failure_leaves_nothing(folder: Path) -> None:
    """A draft that was given up is gone with its lock, and the place is free."""

    def fail() -> None:
        with new_file(folder / "new") as draft:
            draft.write_text("half")
            raise OSError(28, "no room")

    with pytest.raises(StoreError, match="no room"):
        fail()
    assert list(folder.iterdir()) == []
