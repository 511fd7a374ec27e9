"""Copies of the demo store for the tests that write, and what keeps them to themselves."""

import shutil
from pathlib import Path

import pytest

from rvsmlog.store.importing import demo as demo_module


@pytest.fixture
def demo_copy(demo_file: Path, tmp_path: Path) -> Path:
    """Give a copy of the demo store to write to."""
    return Path(shutil.copy(demo_file, tmp_path / "copy.sqlite3"))


@pytest.fixture(autouse=True)
def data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep the tests out of the user's own data folder and store."""
    folder = tmp_path / "data"
    monkeypatch.delenv("RVSMLOG_STORE", raising=False)
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_args, **_options: folder)
    return folder


@pytest.fixture
def ready_made(demo_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Put a demo that was built before where one is asked for, in tests of where that is."""

    def put(where: str, _clock: object) -> None:
        path = Path(where)
        path.parent.mkdir(parents=True, exist_ok=True)
        assert not path.exists()
        shutil.copy(demo_file, path)

    monkeypatch.setattr(demo_module, "build_demo", put)
