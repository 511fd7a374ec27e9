"""Opening stores: whatever is wrong with one is said in plain words, and nothing is made."""
# ruff: noqa: S608 - the statements are the tests' own

import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import StoreError
from rvsmlog.store import connection as connection_module
from rvsmlog.store.connection import open_store
from rvsmlog.store.file_errors import explain_file
from rvsmlog.store.safekeeping.schema import create_store, open_or_create
from rvsmlog.store.safekeeping.verify import verify

if TYPE_CHECKING:
    from tests.store.conftest import Clock, Log

sqlite_only = pytest.mark.parametrize("backend", ["sqlite"])


def refused(path: Path | str, says: str) -> StoreError:
    """Try to open a store that cannot be opened."""
    with pytest.raises(StoreError, match=says) as error:
        open_store(str(path)).close()
    assert error.value.exit_status == 3
    assert error.value.hint
    return error.value


@pytest.mark.postgres
def test_server_that_is_not_there() -> None:
    """A server that does not answer is no refusal of a change."""
    error = refused("postgresql+psycopg://user@127.0.0.1:1/db", "127.0.0.1")
    assert "supersede" not in error.hint


def test_opening_never_makes_a_file(folder: Path) -> None:
    """A store that does not exist is named as missing, with what to do, and stays missing."""
    error = refused(folder / "missing.sqlite3", "does not exist")
    assert "rvsmlog store init" in error.hint
    refused(folder, "is a folder")
    assert list(folder.iterdir()) == []


def test_files_that_are_no_store(folder: Path) -> None:
    """An empty file, a text, another program's database: each is refused and left as it was."""
    path = folder / "file"
    path.touch()
    leads_on(refused(path, "is no rvsmlog store: it is empty"), path)
    path.write_text("registration,taken_at\n" * 100)
    leads_on(refused(path, "is not a store"), path)
    path.unlink()
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE entry (number INTEGER)")
        other.commit()
    before = path.read_bytes()
    leads_on(refused(path, "is no rvsmlog store: it holds another program's tables"), path)
    assert path.read_bytes() == before


def leads_on(error: StoreError, path: Path) -> None:
    """Hold that the hint names what can be done, not what is refused in its turn."""
    assert "--store or RVSMLOG_STORE" in error.hint
    assert "`rvsmlog store init --store NEW`" in error.hint
    assert "`rvsmlog store init`" not in error.hint
    with pytest.raises(StoreError, match="exists already"):
        create_store(str(path))
    create_store(str(path.with_name("NEW"))).close()
    path.with_name("NEW").unlink()


def test_truncated_store(folder: Path, sqlite_pattern: Path) -> None:
    """A store cut off in the middle is called damaged, at the latest by verification."""
    path = folder / "log.sqlite3"
    content = sqlite_pattern.read_bytes()
    for keep in (100, len(content) // 2, len(content) - 4096):
        path.write_bytes(content[:keep])
        with pytest.raises(StoreError, match=r"damaged|not a store"):
            verify_file(path)


def verify_file(path: Path) -> None:
    """Verify a store."""
    with open_store(str(path)) as store, store.reading() as connection:
        verify(connection)


@sqlite_only
def test_scribbled_store(log: "Log") -> None:
    """Bytes overwritten in the file are faults or a damaged store, never a sound log."""
    for minute in range(60):
        log.add("crosscheck", taken_at=f"2027-03-12T02:{minute:02}Z", remarks="x" * 200)
    path = log.store.path
    assert path is not None
    sound = path.read_bytes()
    path.write_bytes(sound.replace(b"x" * 200, b"x" * 199 + b"y"))
    assert len(log.faults()) == 60
    path.write_bytes(sound[:4096] + b"".join(b"\xff" * 8 + page[8:] for page in pages(sound)[1:]))
    with pytest.raises(StoreError, match="is damaged"):
        log.verify()
    path.write_bytes(sound)
    assert log.faults() == []


def test_names_that_are_no_text_any_more(folder: Path, sqlite_pattern: Path) -> None:
    """Where the database's own message about a damaged table holds no text, it is damage too."""
    path = folder / "log.sqlite3"
    content = sqlite_pattern.read_bytes()
    assert b"CREATE TABLE entry (" in content
    path.write_bytes(content.replace(b"CREATE TABLE entry (", b"CREATE TABLE \x89ntry ("))
    with pytest.raises(StoreError, match="is damaged"):
        verify_file(path)


@sqlite_only
@pytest.mark.parametrize("stored", ["'2024m01-15'", "x'ff'", "17"])
def test_a_value_that_is_no_value_of_its_field_is_damage(log: "Log", stored: str) -> None:
    """Reading it says so in plain words, and names the field."""
    log.add("work", done_on="2027-02-01")
    log.tamper(f"UPDATE work_detail SET done_on = {stored}")
    with pytest.raises(StoreError, match="is damaged: done_on of an entry"):
        log.standing("work")


def pages(content: bytes) -> list[bytes]:
    """Cut an SQLite file into its pages of 4096 bytes."""
    return [content[at : at + 4096] for at in range(0, len(content), 4096)]


@pytest.mark.parametrize(
    ("found", "says", "hint"),
    [
        ("0000", "has schema 0000; this program needs", "store upgrade"),
        ("9999", "newer than this program's", "install a newer rvsmlog"),
        ("", "is no rvsmlog store", "store init"),
    ],
)
def test_other_revisions_are_refused(log: "Log", found: str, says: str, hint: str) -> None:
    """An older store is not upgraded on the way, a newer one not touched."""
    log.raw(f"UPDATE alembic_version SET version_num = '{found}'")
    with pytest.raises(StoreError, match=says) as error:
        open_store(log.store.url.render_as_string(hide_password=False))
    assert hint in error.value.hint


HOLD = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("PRAGMA locking_mode=EXCLUSIVE")
connection.execute("BEGIN EXCLUSIVE")
connection.execute(sys.argv[2])
print("held", flush=True)
sys.stdin.read()
"""


@sqlite_only
def test_store_held_by_another_program(log: "Log", monkeypatch: pytest.MonkeyPatch) -> None:
    """While another program holds the store, writing is refused after the wait, and exit is 3."""
    monkeypatch.setattr(connection_module, "BUSY_MILLISECONDS", 50)
    command = [sys.executable, "-c", HOLD, str(log.store.path), "SELECT 1"]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        with pytest.raises(StoreError, match="in use by another program") as error:
            log.add("crosscheck")
        other.communicate("")
    assert error.value.exit_status == 3
    assert log.add("crosscheck") == 2


@sqlite_only
def test_read_only_store(log: "Log", clock: "Clock", folder: Path) -> None:
    """A store on a read-only file system is read, and says so when it is written to.

    Permissions do not bind root, so the file is opened as SQLite does one that it may only read.
    """
    from sqlalchemy import URL, create_engine
    from sqlalchemy.pool import NullPool

    from rvsmlog.store.connection import Store, _prepare_sqlite

    url = URL.create(
        "sqlite", database=f"file:{log.store.path}", query={"mode": "ro", "uri": "true"}
    )
    engine = create_engine(url, poolclass=NullPool)
    _prepare_sqlite(engine)
    read_only = type(log)(Store(engine, log.store.url), clock)
    assert read_only.standing("airframe")[0].ref.entry == 1
    with pytest.raises(StoreError, match="is read-only") as error:
        read_only.add("crosscheck")
    assert error.value.exit_status == 3


OPEN = """
import sys
from rvsmlog.errors import StoreError
from rvsmlog.store.connection import open_store
try:
    open_store(sys.argv[1])
except StoreError as error:
    print(error, error.exit_status)
"""


@sqlite_only
@pytest.mark.skipif(
    os.name != "posix" or os.geteuid() != 0 or not shutil.which("setpriv"),
    reason="needs a second user, whom only root can be",
)
@pytest.mark.parametrize(("mode", "says"), [(0o600, "cannot be opened"), (0o644, "is read-only")])
def test_another_users_store(log: "Log", mode: int, says: str) -> None:
    """A user without the right to read or to write the file is told so, with exit status 3."""
    path = log.store.path
    assert path is not None
    path.chmod(mode)
    path.parent.chmod(0o755)
    nobody = ("setpriv", "--reuid", "65534", "--regid", "65534", "--clear-groups")
    command = (*nobody, sys.executable, "-c", OPEN, str(path))
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.stdout.strip() == f"the store {path} {says} 3", done.stderr


@sqlite_only
@pytest.mark.skipif(
    os.name != "posix" or os.geteuid() != 0 or not shutil.which("setpriv"),
    reason="needs a second user, whom only root can be",
)
def test_a_store_where_nothing_can_be_written_beside_it(log: "Log", folder: Path) -> None:
    """As on a read-only medium: SQLite needs room beside it, and the hint says what to do.

    Nothing lies beside the copy, as on a disk that was written once.
    """
    place = folder / "medium"
    place.mkdir()
    with closing(sqlite3.connect(log.store.path or "")) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    path = Path(shutil.copy(log.store.path or "", place / "log.sqlite3"))
    path.chmod(0o644)
    place.chmod(0o555)
    folder.chmod(0o755)
    nobody = ("setpriv", "--reuid", "65534", "--regid", "65534", "--clear-groups")
    told = OPEN.replace("error.exit_status", "error.exit_status, error.hint")
    command = (*nobody, sys.executable, "-c", told, str(path))
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert "is read-only 3 its folder cannot be written to" in done.stdout, done.stderr
    assert "copy it into a folder of your own" in done.stdout
    assert [each.name for each in place.iterdir()] == ["log.sqlite3"]


def test_a_read_only_medium(sqlite_pattern: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the file system is read-only, SQLite says no more than that it cannot open the file."""
    fault = sqlite3.OperationalError("unable to open database file")
    assert "can be read" in explain_file(fault, str(sqlite_pattern)).hint
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert "copy it into a folder" in explain_file(fault, str(sqlite_pattern)).hint
    assert "can be read" in explain_file(fault, str(sqlite_pattern.with_name("none"))).hint


@pytest.mark.parametrize("backend", ["sqlite"])
def test_a_store_may_be_named_by_its_path(store_url: str) -> None:
    """A path is taken as its text is; what is neither is refused in plain words."""
    with open_store(Path(store_url)) as store:
        assert store.path == Path(store_url)
    for none in (5, b"log.sqlite3"):
        with pytest.raises(StoreError, match="names no store"):
            open_store(none)  # type: ignore[arg-type]  # what a caller without types may pass


def test_what_is_no_file_is_not_called_missing(folder: Path) -> None:
    """A pipe and a device are there; they are no file."""
    pipe = folder / "pipe"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/full")):
        with pytest.raises(StoreError, match="is no file but a device or a pipe"):
            open_or_create(str(path))
    with pytest.raises(StoreError, match="does not exist"):
        open_store(folder / "none")
