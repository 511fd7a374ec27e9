"""Files that are read: pipes and devices keep nobody waiting, and fill no memory."""

import os
import threading
from pathlib import Path

import pytest

from rvsmlog.errors import InputError
from rvsmlog.science.weather_worth import WeatherSource
from rvsmlog.store import inputs
from rvsmlog.store.csv_rows import read_rows
from rvsmlog.store.inputs import open_input
from rvsmlog.store.reading.static_reader import heights

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs pipes and devices")


def test_a_pipe_to_which_nobody_writes_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plain open would wait for ever."""
    monkeypatch.setattr(inputs, "LONGEST_WAIT_S", 0.05)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match="nobody writes to this pipe"):
        open_input(tmp_path / "pipe", "a CSV file")


def test_a_pipe_that_is_written_to_is_read_to_its_end(tmp_path: Path) -> None:
    """`rvsmlog crosscheck import <(command)` hands one over."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer = threading.Thread(target=pipe.write_bytes, args=(b"a,b\n" * 50_000,))
    writer.start()
    rows = list(read_rows(pipe))
    writer.join()
    assert len(rows) == 50_000


@pytest.mark.parametrize("name", ["/dev/zero", "folder", "missing", "nul\0"])
def test_what_is_no_file_is_named(tmp_path: Path, name: str) -> None:
    """An endless device ends at the longest line; the error names the place."""
    (tmp_path / "folder").mkdir()
    for read in (lambda path: list(read_rows(path)), lambda path: heights([path], _ANALYSIS)):
        with pytest.raises(InputError) as caught:
            read(tmp_path / name)
        assert caught.value.message.startswith(str(tmp_path / name))


_ANALYSIS = WeatherSource.ANALYSIS
