"""One demo store for all tests of the demo; those that write work on a copy."""

import shutil
from pathlib import Path

import pytest

from rvsmlog.dates import now
from rvsmlog.store.importing.demo import build_demo


@pytest.fixture(scope="session")
def demo_master(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the demo store once; it is only read."""
    path = tmp_path_factory.mktemp("demo") / "demo.sqlite3"
    build_demo(str(path), now)
    return path


@pytest.fixture
def demo_copy(demo_master: Path, tmp_path: Path) -> Path:
    """Give a copy of the demo store to write to."""
    return Path(shutil.copy(demo_master, tmp_path / "copy.sqlite3"))


@pytest.fixture(autouse=True)
def data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep the tests out of the user's own data folder and store."""
    folder = tmp_path / "data"
    monkeypatch.delenv("RVSMLOG_STORE", raising=False)
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_args, **_options: folder)
    return folder
