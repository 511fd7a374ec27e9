"""What every command prints with: escaping, styles that carry no meaning alone, and JSON."""

import json
import os
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

#: Lines are never wider than this, whatever the terminal.
WIDTH = 80
_KEPT = {"\n"}


def escape(text: str) -> str:
    """Make control and formatting characters visible, so that no text can steer a terminal."""
    return "".join(
        character
        if character in _KEPT or unicodedata.category(character) not in {"Cc", "Cf", "Cs", "Co"}
        else f"\\u{ord(character):04x}"
        for character in text
    )


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a screen: text and a style for the whole of it."""

    text: str
    style: str = ""


def wrap(text: str, indent: int = 0, hanging: int | None = None, style: str = "") -> list[Line]:
    """Fold text at 80 columns, with a hanging indent."""
    lines = textwrap.wrap(
        escape(text).replace("\n", " "),
        width=WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent if hanging is None else hanging),
        break_on_hyphens=False,
    )
    return [Line(line, style) for line in lines]


def show(lines: Iterable[Line]) -> None:
    """Print lines; with styles only on a terminal that wants them."""
    if _wants_styles():
        from rich.console import Console
        from rich.text import Text

        console = Console(width=max(WIDTH, shutil.get_terminal_size().columns), highlight=False)
        for line in lines:
            console.print(Text(line.text, style=line.style), soft_wrap=True)
        return
    out = sys.stdout
    for line in lines:
        out.write(
            line.text.encode(out.encoding or "utf-8", "replace").decode(out.encoding or "utf-8")
            + "\n"
        )


def _wants_styles() -> bool:
    """Say whether standard output is a terminal that may be coloured."""
    return (
        sys.stdout.isatty()
        and not os.environ.get("NO_COLOR")
        and os.environ.get("TERM", "") not in {"", "dumb"}
    )


def show_json(value: Any) -> None:
    """Print one JSON value, with instants and dates as ISO 8601."""
    sys.stdout.write(json.dumps(value, indent=2, ensure_ascii=False, default=_plain) + "\n")


def _plain(value: Any) -> Any:
    """Give what JSON has no word for."""
    if isinstance(value, Mapping):
        return dict(value)
    if hasattr(value, "isoformat"):
        return value.isoformat().replace("+00:00", "Z")
    return str(value)


def table(rows: Sequence[Sequence[str]], heads: Sequence[str], shrink: int = -1) -> list[Line]:
    """Lay out rows in columns within 80 columns.

    Parameters
    ----------
    rows : sequence of sequence of str
        The cells.
    heads : sequence of str
        Heads of the columns.
    shrink : int
        The column that is cut short when the row would be too wide.
    """
    cells = [[escape(cell).replace("\n", " ") for cell in row] for row in (heads, *rows)]
    widths = [max(len(row[index]) for row in cells) for index in range(len(heads))]
    over = sum(widths) + 2 * (len(widths) - 1) - WIDTH
    if over > 0:
        widths[shrink] = max(len(heads[shrink]), widths[shrink] - over, 4)
    lines = []
    for number, row in enumerate(cells):
        parts = (_fit(cell, width) for cell, width in zip(row, widths, strict=True))
        lines.append(Line("  ".join(parts).rstrip(), "bold" if number == 0 else ""))
    return lines


def _fit(text: str, width: int) -> str:
    """Pad or cut a cell; a cut shows."""
    return text.ljust(width) if len(text) <= width else text[: width - 1] + "…"
