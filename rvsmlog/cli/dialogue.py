"""Asking a person line by line, on a terminal or through a pipe."""

import sys
from collections.abc import Iterable
from importlib import import_module
from typing import TextIO

from rvsmlog.errors import InputError
from rvsmlog.reports.text import Line, escape, show

#: An answer longer than this is no answer.
_LONGEST = 10_000


class Dialogue:
    """Questions to a person and answers from them.

    Parameters
    ----------
    out : text stream
        Where questions go: standard error when standard output belongs to the result.
    """

    def __init__(self, out: TextIO) -> None:
        self.out = out
        self.edits = out is sys.stdout and out.isatty() and sys.stdin.isatty()
        if self.edits:
            try:
                import_module("readline")  # importing it lets `input` edit the line
            except ImportError:
                self.edits = False

    def say(self, lines: Iterable[Line]) -> None:
        """Tell something."""
        show(lines, self.out)

    def ask(self, question: str) -> str:
        """Ask one question.

        Raises
        ------
        EOFError
            When there is nobody to answer.
        InputError
            When the answer cannot be read.
        """
        try:
            answer = input(question) if self.edits else self._read(question)
        except UnicodeDecodeError:
            raise InputError("the answer is not UTF-8", "type or pipe UTF-8 text") from None
        if len(answer) > _LONGEST:
            raise InputError("the answer is too long", f"write {_LONGEST} characters at most")
        return answer.strip()

    def _read(self, question: str) -> str:
        """Read a line without editing; what comes through a pipe is written out to be seen."""
        self.out.write(question)
        self.out.flush()
        line = sys.stdin.readline(_LONGEST + 2)
        if not line:
            raise EOFError
        if not sys.stdin.isatty():
            self.out.write(escape(line.rstrip("\n")) + "\n")
        return line.rstrip("\n")

    def end_line(self) -> None:
        """Leave the line of a question that was not answered."""
        self.out.write("\n")
        self.out.flush()
