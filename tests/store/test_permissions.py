"""Files of a store are its owner's alone, whatever the umask lets through."""

import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.records.kinds import KIND
from rvsmlog.store.connection import open_store
from rvsmlog.store.files import own_file, put_text
from rvsmlog.store.importing.csv_import import import_csv
from rvsmlog.store.safekeeping.backup import backup
from rvsmlog.store.safekeeping.export import export_airframe, export_store
from rvsmlog.store.safekeeping.restore import restore
from rvsmlog.store.safekeeping.schema import create_store, upgrade_store
from tests.store.freeze import load

if TYPE_CHECKING:
    from tests.store.conftest import Clock

NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)
pytestmark = pytest.mark.skipif(os.name != "posix", reason="permissions as on POSIX systems")


@pytest.fixture
def open_umask() -> Iterator[None]:
    """Let everything through, as a careless login would."""
    before = os.umask(0)
    yield
    os.umask(before)


@pytest.mark.usefixtures("open_umask")
def test_every_file_is_its_owners_alone(folder: Path, clock: "Clock") -> None:
    """Store, write-ahead log and index, backup, export, rejects, restored and upgraded: 0600."""
    from tests.store.conftest import Log

    path = folder / "log.sqlite3"
    create_store(str(path)).close()
    bad = folder / "bad.csv"
    bad.write_text("code,name\nMKO,M. Example\n?,nobody\n", encoding="utf-8")
    bad.chmod(0o600)
    load("0001", folder / "old.sqlite3")
    (folder / "old.sqlite3").chmod(0o600)
    with open_store(str(path)) as store, closing(sqlite3.connect(path)) as another:
        # With a reader beside it, what SQLite keeps beside the file is there to be looked at.
        another.execute("SELECT count(*) FROM entry").fetchone()
        log = Log(store, clock)
        log.add("operator")
        log.add("airframe")
        import_csv(
            store,
            bad,
            KIND["pilot"],
            by="A. Example",
            clock=clock,
            reject_file=folder / "rejects.csv",
        )
        export_store(store, folder / "all.jsonl.gz")
        export_airframe(store, "QX-ABC", folder / "one.jsonl")
        copy = backup(store, now=NOW).file
        restore(copy, str(folder / "restored.sqlite3"), now=NOW)
        upgrade_store(str(folder / "old.sqlite3"), NOW)
        put_text(folder / "page.html", "a page, a calendar or a picture")
        os.close(own_file(folder / "extracted.csv"))
        names = {each.name for each in folder.iterdir()}
        modes = {
            each.name: stat.S_IMODE(each.stat().st_mode)
            for each in folder.iterdir()
            if stat.S_IMODE(each.stat().st_mode) != 0o600
        }
    assert {"log.sqlite3-wal", "log.sqlite3-shm", "rejects.csv", "one.jsonl"} <= names
    assert modes == {}


@pytest.mark.usefixtures("open_umask")
@pytest.mark.parametrize("mode", [0o644, 0o600, 0o640])
def test_what_is_replaced_keeps_its_permissions(folder: Path, mode: int) -> None:
    """Who was let read a page or a calendar before reads the new one too, and nobody else."""
    page = folder / "board.html"
    put_text(page, "one")
    page.chmod(mode)
    put_text(page, "two")
    assert (page.read_text(), stat.S_IMODE(page.stat().st_mode)) == ("two", mode)


@pytest.mark.usefixtures("open_umask")
def test_a_drawn_picture_is_its_owners_alone(folder: Path) -> None:
    """A .png is, as other pictures are; one that stands there gives its permissions on."""
    pytest.importorskip("matplotlib")
    from matplotlib.figure import Figure

    from rvsmlog.reports.plot_style import save

    target = folder / "drift.png"
    save(Figure(figsize=(1, 1)), target)
    assert stat.S_IMODE(target.stat().st_mode) == 0o600
    target.chmod(0o644)
    save(Figure(figsize=(1, 1)), target)
    assert stat.S_IMODE(target.stat().st_mode) == 0o644
