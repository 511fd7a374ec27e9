"""Entries as CSV that the import reads again, and that no spreadsheet takes for formulas."""

import csv
import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from rvsmlog.facts import Logged
from rvsmlog.records.base import FieldSpec, Logbook, RecordKind
from rvsmlog.records.fields import Storage
from rvsmlog.reports.text import emit
from rvsmlog.store.csv_cells import neutral
from rvsmlog.store.files import check_new, new_file

#: The column that names the airframe by its registration, as the import has it.
AIRFRAME_COLUMN = "airframe"


class _Emitting:
    """Takes rows as a file does, and brings them to standard output one by one."""

    @staticmethod
    def write(text: str) -> None:
        """Write one row."""
        emit(text)


def show_csv(
    kind: RecordKind, records: Iterable[Logged[Any]], registration: str | None = None
) -> None:
    """Print records as CSV with the columns of the import.

    Parameters
    ----------
    kind : RecordKind
        Of all the records.
    records : iterable of Logged
        What to print.
    registration : str, optional
        The airframe; for kinds that stand under one.
    """
    named_beside = kind.logbook is Logbook.AIRFRAME and kind.name != "airframe"
    start = [AIRFRAME_COLUMN] if named_beside else []
    out = csv.writer(_Emitting(), lineterminator="\n")
    out.writerow([*start, *(spec.name for spec in kind.fields)])
    beside = [registration or ""] if named_beside else []
    for logged in records:
        cells = (_cell(spec, getattr(logged.record, spec.name)) for spec in kind.fields)
        out.writerow([*beside, *cells])


def write_csv(kind: RecordKind, records: Iterable[Any], to: Any = None) -> None:
    """Write records that are not entered yet as CSV, without a column for the airframe.

    Parameters
    ----------
    kind : RecordKind
        Of all the records.
    records : iterable of Record
        What to write.
    to : text stream, optional
        Where; standard output when left out.
    """
    out = csv.writer(_Emitting() if to is None else to, lineterminator="\n")
    out.writerow(spec.name for spec in kind.fields)
    for record in records:
        out.writerow(_cell(spec, getattr(record, spec.name)) for spec in kind.fields)


@contextmanager
def new_csv(path: Path | None, kind: RecordKind, records: Iterable[Any]) -> Iterator[None]:
    """Write records to a new file, kept only where what is done meanwhile is done too.

    Parameters
    ----------
    path : Path or None
        A file that does not exist yet; without one nothing is written.
    kind, records
        As in :func:`write_csv`.

    Raises
    ------
    InputError
        When something stands there, or there is no such folder.
    """
    if path is None:
        yield
        return
    check_new(path)
    with new_file(path) as draft:
        with draft.open("w", encoding="utf-8", newline="") as handle:
            write_csv(kind, records, handle)
            handle.flush()
            os.fsync(handle.fileno())
        yield


def _cell(spec: FieldSpec, value: Any) -> str:
    """Write one value: numbers as they are, text made neutral."""
    if value is None:
        return ""
    text = spec.type.show(value)
    return neutral(text) if spec.type.storage is Storage.TEXT else text
