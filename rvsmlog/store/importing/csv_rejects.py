"""The rows that an import rejected, kept as they were with the reasons beside them."""

import csv
import io
import os
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from pathlib import Path
from types import TracebackType
from typing import Self, TextIO

from rvsmlog.store.csv_rows import Batch, Row
from rvsmlog.store.files import check_new, new_file
from rvsmlog.store.importing.csv_drafts import Bad

#: The added column.
REASON_COLUMN = "rejected_because"


class Rejects:
    """Writes rejected rows to a new file; without a file name it does nothing.

    Use as a context manager around the transaction: unless :meth:`keep` was called, the file is
    gone when it ends.

    Parameters
    ----------
    path : Path or None
        A file that does not exist yet.
    header : Row
        The header of the file that is imported, with the reasons of an earlier time if any.
    """

    def __init__(self, path: Path | None, header: Row) -> None:
        self.path = path
        self.header = header
        self._again = has_reasons(header)
        self._handle: TextIO | None = None
        self._kept = False
        self._draft = ExitStack()

    def __enter__(self) -> Self:
        if self.path is not None:
            check_new(self.path)
        return self

    def add(self, bad: Bad) -> None:
        """Write one row verbatim, and why it was rejected."""
        if self.path is None:
            return
        if self._handle is None:
            # A draft until the transaction is kept: what an interruption leaves at the file's own
            # place would bar the way of the next try.
            draft = self._draft.enter_context(new_file(self.path))
            self._handle = draft.open("w", encoding="utf-8", newline="")
            columns = "" if self._again else f",{REASON_COLUMN}"
            self._handle.write(f"{self.header.raw}{columns}\r\n")
        reasons = " | ".join(
            ": ".join(part for part in (fault.column, fault.says, fault.wanted) if part)
            for fault in bad.faults
        )
        # The text of a row that was rejected before ends with its old reasons.
        text = ",".join(map(_quoted, bad.row.cells)) if self._again else bad.row.raw
        self._handle.write(f"{text},{_quoted(reasons)}\r\n")

    def finish(self) -> None:
        """Force what was written to the disk; call it before the transaction is kept."""
        if self._handle is not None:
            self._handle.flush()
            os.fsync(self._handle.fileno())

    def keep(self) -> None:
        """Keep the file: the transaction is kept too."""
        self._kept = True

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        if self._handle is not None:
            self._handle.close()
        if self._kept:
            self._draft.close()  # the draft gets its place
        else:
            with suppress(_DroppedError):
                self._draft.__exit__(_DroppedError, _DroppedError(), None)


def has_reasons(header: Row) -> bool:
    """Whether a file is one of rejected rows, with the reasons in its last column."""
    return len(header.cells) > 1 and header.cells[-1] == REASON_COLUMN


def without_reasons(
    header: Row | None, batches: Iterator[Batch]
) -> tuple[Row | None, Iterator[Batch]]:
    """Pass over the column of reasons, so that a file of rejected rows goes in once mended.

    The last cell goes from every row, also from one that is too short: a reason must never stand
    as the value of another column.
    """
    if header is None or not has_reasons(header):
        return header, batches
    cut = (batch._replace(cells=[cells[:-1] for cells in batch.cells]) for batch in batches)
    return header._replace(cells=header.cells[:-1]), cut


class _DroppedError(Exception):
    """Drops the draft."""


def _quoted(text: str) -> str:
    """Write one CSV field, quoted."""
    out = io.StringIO()
    csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="").writerow((text,))
    return out.getvalue()
