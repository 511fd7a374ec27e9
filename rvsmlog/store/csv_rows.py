"""CSV files read row by row: line numbers of the file, each row's own text, plain errors."""

import csv
from collections import Counter
from collections.abc import Iterator
from io import BytesIO, StringIO
from itertools import chain, islice
from pathlib import Path
from typing import BinaryIO, NamedTuple

from rvsmlog.errors import InputError
from rvsmlog.store.inputs import open_input

#: Longest line read, bytes; a file without line ends must not fill the memory.
LONGEST_LINE = 1 << 20
#: Bytes read at a time, fewer than that.
_BLOCK = 1 << 14
#: Rows read at a time where nobody says.
_ROWS = 100
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


class Batch(NamedTuple):
    """Rows of a CSV file, one after the other.

    Parameters
    ----------
    cells : list of list of str
        The fields of each row.
    starts, ends : sequence of int
        The lines of the file on which each row begins and ends, from 1.
    first : int
        Line of the file with which ``text`` begins.
    text : list of str
        The lines as they stand in the file.
    """

    cells: list[list[str]]
    starts: list[int]
    ends: list[int]
    first: int
    text: list[str]

    def row(self, place: int) -> Row:
        """Give one row, with its text."""
        start, end = self.starts[place] - self.first, self.ends[place] - self.first
        raw = "".join(self.text[start : end + 1]).removesuffix("\n").removesuffix("\r")
        return Row(self.starts[place], self.cells[place], raw)


def text_blocks(handle: BinaryIO, path: Path) -> Iterator[list[str]]:
    """Read the lines of a file, some at a time; a fault has its line number.

    Parameters
    ----------
    handle : BinaryIO
        The file.
    path : Path
        Its name, for the error texts.

    Yields
    ------
    list of str
        Lines with their ends, none longer than :data:`LONGEST_LINE`.

    Raises
    ------
    InputError
        When the file cannot be read or is no text in UTF-8; the lines before were given.
    """
    number = 0
    while content := _block(handle, path, number):
        if number == 0:
            content = content.removeprefix(_UTF8_MARK)
        lines = _lines(content)
        if lines is not None:
            number += len(lines)
            yield lines
            continue
        for line in BytesIO(content):
            number += 1
            yield [_line(line, path, number)]


def _block(handle: BinaryIO, path: Path, number: int) -> bytes:
    """Read whole lines; the last one may be cut off where it is too long."""
    try:
        content = handle.read(_BLOCK)
        if content and not content.endswith(b"\n"):
            content += handle.readline(LONGEST_LINE + 1)
    except OSError as error:
        says = f"cannot be read: {error.strerror}"
        raise _fault(path, number + 1, says, "name a CSV file") from None
    return content


def _lines(content: bytes) -> list[str] | None:
    """Give the lines of a block; None where something is wrong with one of them."""
    last = len(content) - (content.rfind(b"\n", 0, -1) + 1)
    if last > LONGEST_LINE or b"\0" in content:
        return None
    try:
        # No other character than this ends a line, whatever the file's script.
        return StringIO(content.decode("utf-8"), newline="\n").readlines()
    except UnicodeDecodeError:
        return None


def _line(content: bytes, path: Path, number: int) -> str:
    """Give one line, or say what is wrong with it."""
    if number == 1 and content.startswith(_UTF16_MARKS):
        raise _fault(path, number, "the file is UTF-16, not UTF-8", _SAVE_AS)
    if len(content) > LONGEST_LINE:
        says = "the line is too long"
        raise _fault(path, number, says, f"write {LONGEST_LINE} bytes at most")
    if b"\0" in content:
        says = "the line holds a zero byte; this is no text file"
        raise _fault(path, number, says, _SAVE_AS)
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        bad = content[error.start]
        raise _fault(path, number, f"the byte {bad:#04x} is not UTF-8", _SAVE_AS) from None


def _fault(path: Path, number: int, says: str, hint: str) -> InputError:
    """Say what is wrong with a file, and on which line."""
    return InputError(f"{path}, line {number}: {says}", hint)


def read_rows(path: Path) -> Iterator[Row]:
    """Read a CSV file row by row, as :func:`read_batches` does."""
    for batch in read_batches(path, _ROWS):
        yield from map(batch.row, range(len(batch.cells)))


def read_batches(path: Path, most: int) -> Iterator[Batch]:
    """Read a CSV file some rows at a time; empty lines and rows of empty fields are passed over.

    Parameters
    ----------
    path : Path
        A file in UTF-8, with or without a byte order mark; commas between the fields.
    most : int
        So many rows at a time.

    Yields
    ------
    Batch
        The first row that is not empty by itself, then the others.

    Raises
    ------
    InputError
        When the file cannot be read, is not UTF-8, or is no well-formed CSV; the rows before were
        given.
    """
    with open_input(path, "a CSV file") as handle:
        rows = _Rows(handle, path)
        begun = False
        while (batch := rows.take(most, alone=not begun)) is not None:
            if batch.cells:
                yield batch
                begun = True
            if rows.fault is not None:
                raise rows.fault


class _Rows:
    """The rows of a file, with the lines that they were read from."""

    def __init__(self, handle: BinaryIO, path: Path) -> None:
        self.path = path
        self.fault: InputError | None = None
        self._held: list[str] = []
        self._given = 0  # so many of those held were given with their rows
        self._end = 0  # the line that was read last; those held begin after it
        lines = chain.from_iterable(map(self._hold, text_blocks(handle, path)))
        self._reader = csv.reader(lines, strict=True)

    def _hold(self, lines: list[str]) -> list[str]:
        """Keep lines until their rows are given; those that were make room block by block."""
        del self._held[: self._given]
        self._given = 0
        self._held += lines
        return lines

    def take(self, most: int, *, alone: bool) -> Batch | None:
        """Give the next rows, or one ``alone``; None at the end.

        Rows that are passed over count too. What is wrong after the rows is kept in ``fault``.
        """
        first, end, reader = self._end + 1, self._end, self._reader
        cells, starts, ends = list[list[str]](), list[int](), list[int]()
        try:
            for row in islice(reader, most):
                start, end = end + 1, reader.line_num
                if row and (row[0].strip() or any(map(str.strip, row))):
                    cells.append(row)
                    starts.append(start)
                    ends.append(end)
                    if alone:
                        break
        except csv.Error as error:
            says = f"this is no well-formed CSV ({error})"
            hint = "look for a quote that is not closed; a quote within quotes is written twice"
            self.fault = _fault(self.path, end + 1, says, hint)
        except InputError as error:
            self.fault = error
        if end < first and self.fault is None:
            return None
        taken = end - self._end
        text = self._held[self._given : self._given + taken]
        self._given += taken
        self._end = end
        return Batch(cells, starts, ends, first, text)


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
