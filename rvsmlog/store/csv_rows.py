"""CSV files read row by row: line numbers of the file, each row's own text, plain errors."""

import csv
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, NamedTuple

from rvsmlog.errors import InputError
from rvsmlog.store.inputs import open_input

#: Longest line read, bytes; a file without line ends must not fill the memory.
LONGEST_LINE = 1 << 20
_UTF8_MARK = b"\xef\xbb\xbf"
_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
#: So many unknown columns are named; a file of another sort may have thousands.
_SHOWN = 20
_SAVE_AS = "save the file as CSV, UTF-8"


class Row(NamedTuple):
    """One row of a CSV file.

    Parameters
    ----------
    line : int
        Line of the file on which the row begins, from 1; a quoted field may hold line ends.
    cells : list of str
        Its fields.
    raw : str
        Its text as it stands in the file, without the line end.
    """

    line: int
    cells: list[str]
    raw: str


class TextLines(Iterator[str]):
    """The lines of a file, decoded one by one so that a fault has its line number.

    None is longer than :data:`LONGEST_LINE`, and what was taken is kept until :meth:`text`.
    """

    def __init__(self, handle: BinaryIO, path: Path) -> None:
        self.handle = handle
        self.path = path
        self.number = 0
        self.taken: list[str] = []

    def __next__(self) -> str:
        try:
            content = self.handle.readline(LONGEST_LINE + 1)
        except OSError as error:
            raise self.fault(f"cannot be read: {error.strerror}", "name a CSV file") from None
        if not content:
            raise StopIteration
        self.number += 1
        if self.number == 1:
            if content.startswith(_UTF16_MARKS):
                raise self.fault("the file is UTF-16, not UTF-8", _SAVE_AS)
            content = content.removeprefix(_UTF8_MARK)
        if len(content) > LONGEST_LINE:
            raise self.fault("the line is too long", f"write {LONGEST_LINE} bytes at most")
        if b"\0" in content:
            raise self.fault("the line holds a zero byte; this is no text file", _SAVE_AS)
        try:
            line = content.decode("utf-8")
        except UnicodeDecodeError as error:
            bad = content[error.start]
            raise self.fault(f"the byte {bad:#04x} is not UTF-8", _SAVE_AS) from None
        self.taken.append(line)
        return line

    def fault(self, says: str, hint: str) -> InputError:
        """Say what is wrong with the file, and on which line."""
        return InputError(f"{self.path}, line {self.number}: {says}", hint)

    def text(self) -> str:
        """Give the text taken since the last call."""
        text = "".join(self.taken)
        self.taken.clear()
        return text.removesuffix("\n").removesuffix("\r")


def read_rows(path: Path) -> Iterator[Row]:
    """Read a CSV file row by row; empty lines and rows of empty fields are passed over.

    Parameters
    ----------
    path : Path
        A file in UTF-8, with or without a byte order mark; commas between the fields.

    Yields
    ------
    Row
        The header first.

    Raises
    ------
    InputError
        When the file cannot be read, is not UTF-8, or is no well-formed CSV.
    """
    with open_input(path, "a CSV file") as handle:
        lines = TextLines(handle, path)
        reader = csv.reader(lines, strict=True)
        while True:
            start = lines.number + 1
            try:
                cells = next(reader)
            except StopIteration:
                return
            except csv.Error as error:
                raise InputError(
                    f"{path}, line {start}: this is no well-formed CSV ({error})",
                    "look for a quote that is not closed; a quote within quotes is written twice",
                ) from None
            raw = lines.text()
            if any(map(str.strip, cells)):
                yield Row(start, cells, raw)


def check_header(
    path: Path, header: Row | None, known: tuple[str, ...], required: tuple[str, ...]
) -> tuple[Row, tuple[str, ...]]:
    """Check the names of the columns.

    Parameters
    ----------
    path : Path
        The file, for the error texts.
    header : Row or None
        Its first row; None when the file is empty.
    known, required : tuple of str
        Columns that may and that must be there.

    Returns
    -------
    tuple of Row and tuple of str
        The header, and the names in the file's order.

    Raises
    ------
    InputError
        When a column is unknown, there twice, or missing.
    """
    if header is None:
        raise InputError(f"{path} is empty", "the first row names the columns")
    names = tuple(header.cells)
    columns = "columns: " + ", ".join(known)
    unknown = [name for name in dict.fromkeys(names) if name not in known]
    if unknown:
        if len(names) == 1 and any(mark in names[0] for mark in ";\t"):
            columns = "separate the columns with commas"
        some = [*map(repr, unknown[:_SHOWN]), *(["…"] if len(unknown) > _SHOWN else [])]
        raise InputError(f"{path}: no such column: {', '.join(some)}", columns)
    doubled = sorted(name for name, times in Counter(names).items() if times > 1)
    if doubled:
        raise InputError(f"{path}: columns named twice: {', '.join(doubled)}", columns)
    missing = [name for name in required if name not in names]
    if missing:
        raise InputError(f"{path}: columns missing: {', '.join(missing)}", columns)
    return header, names
