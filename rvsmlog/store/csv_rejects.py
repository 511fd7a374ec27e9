"""The rows that an import rejected, kept as they were with the reasons beside them."""

import csv
import io
import os
from contextlib import ExitStack, suppress
from pathlib import Path
from types import TracebackType
from typing import Self, TextIO

from rvsmlog.errors import InputError
from rvsmlog.store.csv_drafts import Bad
from rvsmlog.store.csv_rows import Row
from rvsmlog.store.files import new_file

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
        The header of the file that is imported.
    """

    def __init__(self, path: Path | None, header: Row) -> None:
        self.path = path
        self.header = header
        self._handle: TextIO | None = None
        self._kept = False
        self._draft = ExitStack()

    def __enter__(self) -> Self:
        if self.path is not None and (self.path.exists() or self.path.is_symlink()):
            raise InputError(f"{self.path} exists already", "name a file that does not exist yet")
        if self.path is not None and not self.path.parent.is_dir():
            raise InputError(f"{self.path} cannot be written: no such folder", "name another file")
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
            self._handle.write(f"{self.header.raw},{REASON_COLUMN}\r\n")
        reasons = " | ".join(
            ": ".join(part for part in (fault.column, fault.says, fault.wanted) if part)
            for fault in bad.faults
        )
        self._handle.write(f"{bad.row.raw},{_quoted(reasons)}\r\n")

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


class _DroppedError(Exception):
    """Drops the draft."""


def _quoted(text: str) -> str:
    """Write one CSV field, quoted."""
    out = io.StringIO()
    csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="").writerow((text,))
    return out.getvalue()
