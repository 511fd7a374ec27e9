"""What every command prints with: escaping, styles that carry no meaning alone, and JSON."""

import json
import os
import re
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Collection, Iterable, Mapping, Sequence
from contextlib import suppress
from typing import Any, TextIO

from rvsmlog.errors import InputError, OutputError
from rvsmlog.frozen import dataclass

#: Lines are never wider than this, whatever the terminal.
WIDTH = 80
_GAP = 2
#: No column is cut narrower than this.
_NARROWEST = 4
_KEPT = {"\n"}
_STEERING = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
_TOKEN = re.compile(r"""(?:"[^"]*"|'[^']*'|\S)+""")
_BEYOND_ASCII = re.compile(r"[^\x00-\x7e]")
#: What is not parted at the end of a line: a command to be copied, a number and its unit.
_TOGETHER = re.compile(
    r"`rvsmlog [^`]{1,58}`|no flight\b|\d (?:ft|psi|hPa|inHg|l|s|min|h|d|days?)\b"
)
_GLUE = "\N{NO-BREAK SPACE}"


def escape(text: str) -> str:
    """Make control and formatting characters visible, so that no text can steer a terminal."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        character
        if character in _KEPT or unicodedata.category(character) not in _STEERING
        else _visible(character)
        for character in text
    )


def _visible(character: str) -> str:
    """Write a character by its number."""
    number = ord(character)
    return f"\\u{number:04x}" if number <= 0xFFFF else f"\\U{number:08x}"  # noqa: PLR2004  # 16 bit


def columns(text: str) -> int:
    """Count the columns that a text takes on a terminal: wide characters take two."""
    if text.isascii():
        return len(text)
    return sum(_columns(character) for character in text)


def _columns(character: str) -> int:
    """Count the columns of one character."""
    if unicodedata.category(character) in {"Mn", "Me"}:
        return 0
    return 2 if unicodedata.east_asian_width(character) in {"W", "F"} else 1


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a screen: text and a style for the whole of it."""

    text: str
    style: str = ""


def wrap(text: str, indent: int = 0, hanging: int | None = None, style: str = "") -> list[Line]:
    """Fold text at 80 columns, with a hanging indent.

    Colour says nothing that words do not say, and is red or magenta, if any: these two stand out
    from a light ground as well as from a dark one.
    """
    first, later = " " * indent, " " * (indent if hanging is None else hanging)
    plain = escape(text).replace("\n", " ")
    if columns(plain) == len(plain):
        folded = textwrap.wrap(
            _TOGETHER.sub(lambda found: found[0].replace(" ", _GLUE), plain),
            width=WIDTH,
            initial_indent=first,
            subsequent_indent=later,
            break_on_hyphens=False,
        )
        folded = [line.replace(_GLUE, " ") for line in folded]
    else:
        folded = _fold(plain, first, later)
    return [Line(line, style) for line in folded]


def _fold(text: str, first: str, later: str) -> list[str]:
    """Fold text whose characters are not all one column wide."""
    lines: list[str] = []
    line, blank = first, True
    for word in text.split():
        rest = word
        if not blank and columns(line) + 1 + columns(rest) > WIDTH:
            lines.append(line)
            line, blank = later, True
        while columns(line) + columns(rest) + (not blank) > WIDTH:
            head = cut(rest, WIDTH - columns(line))
            lines.append(line + head)
            line, rest = later, rest[len(head) :]
        line, blank = line + ("" if blank else " ") + rest, False
    return lines if blank else [*lines, line]


def command_lines(command: str, width: int) -> list[str]:
    r"""Fold a command line so that it can be pasted into a shell.

    Examples
    --------
    >>> command_lines("rvsmlog due --days 30 --json", 24)
    ['rvsmlog due --days 30 \\', '  --json']
    """
    words: list[str] = []
    for token in _TOKEN.findall(command):
        if words and words[-1].startswith("--") and " " not in words[-1] and token[:2] != "--":
            words[-1] += f" {token}"
        else:
            words.append(token)
    lines = [words[0]]
    for word in words[1:]:
        if len(lines[-1]) + 1 + len(word) > width - 2:
            lines[-1] += " \\"
            lines.append(f"  {word}")
        else:
            lines[-1] += f" {word}"
    return lines


def cut(text: str, width: int) -> str:
    """Give as much of a text as fits in some columns; at least one character."""
    taken = 0
    for index, character in enumerate(text):
        taken += _columns(character)
        if taken > width and index:
            return text[:index]
    return text


def show(lines: Iterable[Line], to: TextIO | None = None) -> None:
    """Print lines; with styles only on a terminal that wants them.

    Parameters
    ----------
    lines : iterable of Line
        What to print.
    to : text stream, optional
        Where; standard output when left out.
    """
    out = to or sys.stdout
    if _wants_styles(out):
        _show_styled(lines, out)
        return
    encoding = out.encoding or "utf-8"
    texts = (escape(line.text).encode(encoding, "replace").decode(encoding) for line in lines)
    emit("".join(text + "\n" for text in texts), out)


def _show_styled(lines: Iterable[Line], out: TextIO) -> None:
    """Print lines with their styles."""
    from rich.console import Console
    from rich.text import Text

    wide = max(WIDTH, shutil.get_terminal_size().columns)
    console = Console(file=out, width=wide, highlight=False, force_terminal=True)
    for line in lines:
        console.print(Text(escape(line.text), style=line.style), soft_wrap=True)


def emit(text: str, to: TextIO | None = None) -> None:
    """Write text; when its reader has gone away, go on without one.

    What a command answers by its exit status must not hang on who reads its output.

    Raises
    ------
    InputError
        When the output's encoding lacks a character.
    OutputError
        When the text cannot be written: the disk is full, for example.
    """
    out = to or sys.stdout
    try:
        out.write(text)
    except BrokenPipeError:
        drop_output()
    except UnicodeEncodeError as error:
        lacks = escape(text[error.start]) if error.object == text else "a character"
        raise InputError(
            f"the output's encoding {error.encoding} has no {lacks!r}",
            "set PYTHONIOENCODING=utf-8, or ask for --json",
        ) from None
    except OSError as error:
        raise _unwritten(error) from None


def flush() -> None:
    """Bring standard output to its reader, if there still is one.

    Raises
    ------
    OutputError
        When it cannot be written.
    """
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        drop_output()
    except OSError as error:
        raise _unwritten(error) from None


def _unwritten(error: OSError) -> OutputError:
    """Say that output was lost; what is still held back of it is dropped."""
    drop_output()
    return OutputError(
        f"the output cannot be written: {error.strerror or error}",
        "what the command recorded stays recorded; look with `list` or `store info`",
    )


def drop_output() -> None:
    """Let standard output lead nowhere, so that leaving does not fail on it either."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    with suppress(OSError):  # a stream that is no file holds nothing back
        os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def _wants_styles(out: TextIO) -> bool:
    """Say whether a stream may be coloured: NO_COLOR forbids it, FORCE_COLOR asks for it."""
    if os.environ.get("NO_COLOR"):
        return False
    if os.environ.get("FORCE_COLOR"):
        return True
    return out.isatty() and os.environ.get("TERM", "") not in {"", "dumb"}


def show_json(value: Any) -> None:
    """Print one JSON value, with instants and dates as ISO 8601.

    Characters that could steer a terminal, and those that the output's encoding lacks, are
    written by their number, which JSON reads back as the same character.
    """
    emit(_json_text(value) + "\n")


def show_json_rows(rows: Iterable[Any]) -> None:
    """Print rows as one JSON array, one row at a time: a long list takes no room twice."""
    start = "["
    for row in rows:
        emit(start + "\n  " + _json_text(row).replace("\n", "\n  "))
        start = ","
    emit("[]\n" if start == "[" else "\n]\n")


def _json_text(value: Any) -> str:
    """Write a value as JSON that standard output can take."""
    encoding = sys.stdout.encoding or "utf-8"
    text = json.dumps(value, indent=2, ensure_ascii=False, default=_plain)
    return _BEYOND_ASCII.sub(lambda found: _json_safe(found[0], encoding), text)


def _json_safe(character: str, encoding: str) -> str:
    """Give a character as it stands, or its number where it must not stand."""
    if unicodedata.category(character) not in _STEERING:
        try:
            character.encode(encoding)
        except UnicodeEncodeError:
            pass
        else:
            return character
    return json.dumps(character)[1:-1]


def _plain(value: Any) -> Any:
    """Give what JSON has no word for."""
    if isinstance(value, Mapping):
        return dict(value)
    if hasattr(value, "isoformat"):
        return value.isoformat().replace("+00:00", "Z")
    return str(value)


def table(
    rows: Sequence[Sequence[str]],
    heads: Sequence[str],
    shrink: int = -1,
    *,
    right: Collection[int] = (),
    styles: Sequence[str] = (),
) -> list[Line]:
    """Lay out rows in columns within 80 columns.

    Parameters
    ----------
    rows : sequence of sequence of str
        The cells.
    heads : sequence of str
        Heads of the columns.
    shrink : int
        The column that is cut short first when the row would be too wide; the widest follow.
    right : collection of int
        Columns that stand flush right: numbers.
    styles : sequence of str
        A style for each row; plain when left out.
    """
    cells = [[escape(cell).replace("\n", " ") for cell in row] for row in (heads, *rows)]
    widths = _widths(cells, shrink % len(heads))
    looks = ["bold", *(styles or [""] * len(rows))]
    lines = []
    for row, look in zip(cells, looks, strict=True):
        parts = (
            _fit(cell, width, flush=index in right)
            for index, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        lines.append(Line((" " * _GAP).join(parts).rstrip(), look))
    return lines


def fits(rows: Sequence[Sequence[str]]) -> bool:
    """Say whether rows, their heads among them, stand whole within 80 columns."""
    widths = (max(columns(escape(cell)) for cell in column) for column in zip(*rows, strict=True))
    return sum(widths) + _GAP * (len(rows[0]) - 1) <= WIDTH


def _widths(cells: Sequence[Sequence[str]], shrink: int) -> list[int]:
    """Choose the widths of columns: as wide as their cells where that fits."""
    widths = [max(columns(row[index]) for row in cells) for index in range(len(cells[0]))]
    head = max(columns(cells[0][shrink]), _NARROWEST)
    while sum(widths) + _GAP * (len(widths) - 1) > WIDTH and max(widths) > _NARROWEST:
        widest = shrink if widths[shrink] > head else widths.index(max(widths))
        widths[widest] -= 1
    return widths


def _fit(text: str, width: int, *, flush: bool) -> str:
    """Pad or cut a cell; a cut shows."""
    if columns(text) > width:
        text = cut(text, width - 1) + "…"
    pad = " " * (width - columns(text))
    return pad + text if flush else text + pad
