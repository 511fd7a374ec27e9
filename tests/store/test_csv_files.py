"""Files that are no CSV file of the kind asked for: one clear error, and nothing is written."""

import tracemalloc
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import InputError
from rvsmlog.records.kinds import KIND
from rvsmlog.store.csv_rows import LONGEST_LINE, Batch, _Rows
from rvsmlog.store.importing.csv_import import import_csv

if TYPE_CHECKING:
    from tests.store.conftest import Log

pytestmark = pytest.mark.parametrize("backend", ["sqlite"])
HEADER = b"airframe,taken_at,phase,primary_1_ft,primary_2_ft,level"
ROW = b"QX-ABC,2027-03-12T02:01Z,level,31000,31040,310"
FILE = HEADER + b"\n" + ROW + b"\n"


def written(log: "Log", folder: Path, content: bytes, kind: str = "crosscheck") -> int:
    """Import a file of these bytes and give how many entries it made."""
    path = folder / "rows.csv"
    path.write_bytes(content)
    return import_csv(log.store, path, KIND[kind], by="A. Example", clock=log.clock).written


@pytest.mark.parametrize(
    "content",
    [
        b"\xef\xbb\xbf" + FILE,
        FILE.replace(b"\n", b"\r\n"),
        FILE.rstrip(),
        FILE.replace(b"phase", b'"phase"').replace(b"level,31", b'"level",31'),
        FILE.replace(b"level\n", b"level,remarks\n", 1).replace(
            b"310\n", "310,Tāmaki Makaurau ✈\n".encode()
        ),
        b"\n\n" + FILE,
    ],
)
def test_what_spreadsheets_write_is_read(log: "Log", folder: Path, content: bytes) -> None:
    """A byte order mark, either line end, none at the end, quotes, any script, empty lines."""
    assert written(log, folder, content) == 1
    assert log.faults() == []


BROKEN = [
    (b"", "is empty"),
    (b"\n\n", "is empty"),
    (HEADER, "holds no rows"),
    (HEADER + b"\n\n,,,,,\n", "holds no rows"),
    (FILE.decode().encode("utf-16"), "line 1: the file is UTF-16"),
    (FILE + "QX-ABC,é".encode("latin-1"), "line 3: the byte 0xe9 is not UTF-8"),
    (FILE + b"QX-ABC,\x00", "line 3: the line holds a zero byte"),
    (HEADER + b"," + b"\n", "no such column: ''"),
    (HEADER.replace(b"phase", b"Phase") + b"\n", "no such column: 'Phase'"),
    (HEADER.replace(b"phase", b" phase") + b"\n", "no such column: ' phase'"),
    (HEADER + b",wind,rain\n", "no such column: 'wind', 'rain'"),
    (HEADER.replace(b",", b";") + b"\n", "no such column"),
    (HEADER + b",level,phase\n", "columns named twice: level, phase"),
    (HEADER.replace(b"phase,", b"") + b"\n", "columns missing: phase"),
    (HEADER.replace(b"airframe,", b"") + b"\n", "columns missing: airframe"),
    (FILE + b'QX-ABC,"2027', "line 3: this is no well-formed CSV"),
    (FILE + b'QX-ABC,"2027"x,level\n', "line 3: this is no well-formed CSV"),
    (FILE + b'QX-ABC,"' + b"line\n" * 100_000, "line 3: this is no well-formed CSV"),
    (FILE + b"QX-ABC," + b"9" * 200_000 + b"\n", "line 3: this is no well-formed CSV"),
    (FILE + b"x" * (LONGEST_LINE + 1), "line 3: the line is too long"),
    (FILE.replace(b"\n", b"\r"), "line 1: this is no well-formed CSV"),
    (b"\x1f\x8b\x08\x00\x00", "line 1: the line holds a zero byte"),
]


@pytest.mark.parametrize(("content", "says"), BROKEN)
def test_broken_files_are_refused(log: "Log", folder: Path, content: bytes, says: str) -> None:
    """One error names the file, the line and what to do; the rows before it are not written."""
    with pytest.raises(InputError, match=says) as error:
        written(log, folder, content)
    assert str(folder / "rows.csv") in error.value.message
    assert error.value.hint
    assert error.value.exit_status == 2
    assert log.count() == 2


def test_semicolons_are_recognised(log: "Log", folder: Path) -> None:
    """A file with other separators is told what is wanted instead of a list of columns."""
    with pytest.raises(InputError) as error:
        written(log, folder, FILE.replace(b",", b";"))
    assert error.value.hint == "separate the columns with commas"


def test_files_that_are_not_there(log: "Log", folder: Path) -> None:
    """A missing file and a folder are named."""
    for path in (folder / "missing.csv", folder):
        with pytest.raises(InputError, match="cannot be read"):
            import_csv(log.store, path, KIND["work"], by="A", clock=log.clock)


def test_long_texts_are_bad_rows(log: "Log", folder: Path) -> None:
    """A text longer than its field is one bad row, not a broken file."""
    path = folder / "rows.csv"
    path.write_bytes(
        FILE.replace(b"level\n", b"level,remarks\n", 1).replace(b"310\n", b"310," + b"x" * 2001)
    )
    result = import_csv(log.store, path, KIND["crosscheck"], by="A", clock=log.clock)
    assert [(fault.line, fault.column, fault.says) for fault in result.bad] == [
        (2, "remarks", "the text has 2001 characters")
    ]


def test_control_characters_are_bad_rows(log: "Log", folder: Path) -> None:
    """An escape sequence in a remark is refused; a line end in quotes is text."""
    path = folder / "rows.csv"
    head = FILE.replace(b"level\n", b"level,remarks\n", 1).rstrip()
    path.write_bytes(head + b',"a\x1b[31mb"\n')
    result = import_csv(log.store, path, KIND["crosscheck"], by="A", clock=log.clock)
    assert [fault.says for fault in result.bad] == ["the text holds the control character U+001B"]
    assert written(log, folder, head + b',"a\nb"\n') == 1
    assert log.standing("crosscheck")[0].record.remarks == "a\nb"


def test_blank_rows_are_passed_over(log: "Log", folder: Path) -> None:
    """A row whose fields are blank is passed over, one with a single value is not."""
    assert written(log, folder, FILE + b" , ,,,,\n") == 1
    path = folder / "rows.csv"
    path.write_bytes(FILE + b",,,,,310\n")
    result = import_csv(log.store, path, KIND["crosscheck"], by="A", clock=log.clock)
    assert {fault.line for fault in result.bad} == {2, 3}


def test_many_empty_lines_first_are_passed_over_together(
    log: "Log", folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A thousand times as many lines are not a thousand steps each through all of them."""
    steps = []
    take = _Rows.take

    def counted(self: _Rows, most: int, *, alone: bool) -> Batch | None:
        batch = take(self, most, alone=alone)
        if batch is not None:
            steps.append(len(batch.text))
        return batch

    monkeypatch.setattr(_Rows, "take", counted)
    assert written(log, folder, b"\n , ,\n" * 50_000 + FILE) == 1
    assert len(steps) < 1_000
    assert sum(steps) == 100_002
    path = folder / "rows.csv"
    path.write_bytes(b"\n" * 5_000 + FILE.replace(b"QX-ABC", b"QX-NIL"))
    result = import_csv(log.store, path, KIND["crosscheck"], by="A", clock=log.clock)
    assert {fault.line for fault in result.bad} == {5_002}


def rows(start: int, count: int) -> Iterator[str]:
    """Write cross-checks a second apart."""
    for second in range(start, start + count):
        taken_at = datetime.fromtimestamp(second, UTC)
        yield f"QX-ABC,{taken_at:%Y-%m-%dT%H:%M:%SZ},level,31000,31040,310\n"


def test_memory_does_not_grow_with_the_file(
    log: "Log", folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten times the rows take little more memory: the file is read and written in batches."""
    monkeypatch.setattr("rvsmlog.store.importing.csv_import._BATCH", 100)
    # Each of the files counts as a big one, after which the drift log is brought up to date too.
    monkeypatch.setattr("rvsmlog.store.importing.drift_keeping.MANY", 100)
    peaks = []
    for start, count in ((1_500_000_000, 100), (1_600_000_000, 300), (1_700_000_000, 3_000)):
        content = HEADER.decode() + "\n" + "".join(rows(start, count))
        tracemalloc.start()
        assert written(log, folder, content.encode()) == count
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    # The file itself is held by this test. Records kept would take ten times as much, not twice.
    assert peaks[2] < 2 * peaks[1] + 2 * len(content)
