"""An import takes, refuses and writes what recording each row by itself does."""

import csv
import io
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from unittest import mock

import pytest
from hypothesis import assume, given, settings

from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldError, Logbook, Record, RecordKind
from rvsmlog.records.flights import CrossCheck, Flight
from rvsmlog.records.kinds import KINDS
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.csv_cells import as_written
from rvsmlog.store.importing import csv_import
from rvsmlog.store.importing.csv_drafts import stands_alone
from rvsmlog.store.tables import table_name
from rvsmlog.store.writing import chain
from rvsmlog.store.writing.recording import record_entry
from tests.store.conftest import MEMORY, Clock, Log
from tests.store.row_texts import batches

_KINDS = [kind for kind in KINDS if stands_alone(kind) and kind.name not in csv_import._MADE_BY]
Fault = tuple[int, str, str, str]


@pytest.fixture(scope="session")
def begun(sqlite_pattern: Path) -> Iterator[Path]:
    """Make a store with an operator and one airframe."""
    with tempfile.TemporaryDirectory(prefix="rvsmlog-agrees-", dir=MEMORY) as name:
        path = Path(name) / "begun.sqlite3"
        shutil.copyfile(sqlite_pattern, path)
        with open_store(str(path)) as store:
            log = Log(store, Clock())
            log.add("operator")
            log.add("airframe")
        with closing(sqlite3.connect(path)) as lite:
            lite.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        yield path


@given(batches(_KINDS, most=8))
@settings(max_examples=60, deadline=None)
def test_a_file_and_its_rows_one_by_one(
    begun: Path, case: tuple[RecordKind, list[dict[str, str]]]
) -> None:
    """The same rows become the same entries with the same digests; the others say the same."""
    kind, rows = case
    assume(not any("\0" in cell for row in rows for cell in row.values()))  # no text file then
    with tempfile.TemporaryDirectory(prefix="rvsmlog-agrees-", dir=MEMORY) as name:
        folder = Path(name)
        for each in ("file", "rows"):
            shutil.copyfile(begun, folder / each)
        with open_store(str(folder / "rows")) as store:
            expected = _one_by_one(store, kind, rows)
        with open_store(str(folder / "file")) as store:
            found = _as_file(store, kind, rows, folder)
        assert found == expected
        assert _content(folder / "file", kind) == _content(folder / "rows", kind)


def _registration(kind: RecordKind) -> str | None:
    return "QX-ABC" if kind.logbook is Logbook.AIRFRAME else None


def _one_by_one(store: Store, kind: RecordKind, rows: list[dict[str, str]]) -> list[Fault]:
    """Record each row by itself, as a command does; give the first fault of each."""
    faults: list[Fault] = []
    seen: dict[object, int] = {}
    following = 2
    for row in rows:
        line, following = following, following + 1 + "".join(row.values()).count("\n")
        texts = {name: as_written(cell) for name, cell in row.items()}
        if not any(text.strip() for text in row.values()):
            continue  # an empty row of a file is none
        try:
            same = _same_as(kind.parse(texts))
            if same in seen:
                says = f"is the same as line {seen[same]}"
                faults.append((line, "", says, "leave the row out"))
                continue
            record_entry(
                *(store, kind, texts),
                by="A. Example",
                clock=Clock(),
                registration=_registration(kind),
            )
            seen[same] = line
        except FieldError as error:
            faults.append((line, error.field, error.fault, error.hint))
        except InputError as error:
            faults.append((line, "", error.message, error.hint))
    return faults


def _same_as(record: Record) -> object:
    """Give what makes a record the same as another, as the README has it."""
    match record:
        case CrossCheck():
            return record.taken_at, record.phase
        case Flight():
            return record.off_at
    return record


def _as_file(
    store: Store, kind: RecordKind, rows: list[dict[str, str]], folder: Path
) -> list[Fault]:
    """Import the rows as a file, three at a time, inserted beside the next; give first faults."""
    names = [spec.name for spec in kind.fields if spec.name in rows[0]]
    out = io.StringIO()
    # The writer leaves a carriage return without quotes where lines end otherwise.
    odd = any("\r" in cell for row in rows for cell in row.values())
    dialect = "unix" if odd else "excel"  # of the two, unix quotes everything
    writer = csv.DictWriter(out, names, dialect=dialect, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path = folder / "rows.csv"
    path.write_text(out.getvalue(), "utf-8", newline="")
    if not any(cell.strip() for row in rows for cell in row.values()):
        return []  # a file without rows is refused whole
    with (
        mock.patch.multiple(csv_import, _BATCH=3, _ON_SERVER=1),
        mock.patch.object(chain, "_MANY", 1),
    ):
        result = csv_import.import_csv(
            *(store, path, kind),
            by="A. Example",
            clock=Clock(),
            registration=_registration(kind),
            reject_file=folder / "rejects.csv",
        )
    first = {fault.line: fault for fault in reversed(result.bad)}
    return [(line, fault.column, fault.says, fault.wanted) for line, fault in sorted(first.items())]


def _content(path: Path, kind: RecordKind) -> list[object]:
    """Give all entries, and the details of a kind, as the database keeps them."""
    with closing(sqlite3.connect(path)) as lite:
        tables = ("entry", table_name(kind))
        return [lite.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall() for table in tables]  # noqa: S608  # names of our own tables
