"""The file in which logbooks leave a store: JSON Lines, the same bytes for the same logbooks.

One JSON object a line, in ASCII, without blanks; the keys stand in the order given here:

* The first line: ``format`` (see :data:`FORMAT`), ``edition`` (1), ``logbooks`` and ``entries``,
  how many of each follow.
* For each logbook, the operator's first and the others by name, a line with ``logbook`` (its name),
  ``kind`` and ``uid``; then its entries; then its seal.
* An entry: ``entry`` (its number), ``kind``, ``recorded_at`` (microseconds since 1970 in UTC),
  ``recorded_by``; ``supersedes`` and ``reason`` where it corrects another; ``fields``, the details
  that are present, by name, as the digest takes them (see :mod:`rvsmlog.store.encoding`); and
  ``digest``, hexadecimal.
* A seal: ``seal`` (the logbook's name), ``entry`` and ``digest`` of its newest entry.

Nothing stands behind the last seal, so that a file that was cut short is known. A name that ends in
``.gz`` stands for the same, compressed.
"""

import gzip
import json
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO, cast

from rvsmlog.facts import Seal
from rvsmlog.store.encoding import Head
from rvsmlog.store.files import new_file
from rvsmlog.store.reading.books import Book

FORMAT = "rvsmlog logbooks"
EDITION = 1
#: Longest line, bytes: every text of an entry at its longest, each character escaped, is below.
LONGEST_LINE = 1 << 20

_encode = json.JSONEncoder(ensure_ascii=True, allow_nan=False, separators=(",", ":")).encode


def is_compressed(path: Path) -> bool:
    """Say whether a file's name stands for a compressed one."""
    return path.suffix.lower() == ".gz"


@contextmanager
def new_lines(path: Path) -> Iterator["Lines"]:
    """Give a new file to write lines to; it appears whole or not at all.

    Raises
    ------
    StoreError
        When there is one already, or it cannot be made.
    """
    with new_file(path) as draft, draft.open("wb") as handle:
        if is_compressed(path):
            # Neither name nor time of making: the same logbooks give the same bytes.
            with gzip.GzipFile(filename="", mode="wb", fileobj=handle, mtime=0) as packed:
                yield Lines(cast("BinaryIO", packed))
        else:
            yield Lines(handle)
        handle.flush()
        os.fsync(handle.fileno())


class Lines:
    """Writes the lines of logbooks."""

    def __init__(self, handle: BinaryIO) -> None:
        self.handle = handle

    def _write(self, value: Mapping[str, Any]) -> None:
        self.handle.write(_encode(value).encode("ascii") + b"\n")

    def header(self, logbooks: int, entries: int) -> None:
        """Write the first line."""
        self._write(
            {"format": FORMAT, "edition": EDITION, "logbooks": logbooks, "entries": entries}
        )

    def book(self, book: Book) -> None:
        """Write the line that begins a logbook."""
        self._write({"logbook": book.name, "kind": book.kind, "uid": book.uid})

    def entry(self, head: Head, scalars: Mapping[str, Any], digest: bytes) -> None:
        """Write an entry."""
        value: dict[str, Any] = {
            "entry": head.number,
            "kind": head.kind,
            "recorded_at": head.recorded_at,
            "recorded_by": head.recorded_by,
        }
        if head.supersedes is not None:
            value |= {"supersedes": head.supersedes, "reason": head.reason}
        fields = {name: scalars[name] for name in sorted(scalars) if scalars[name] is not None}
        self._write({**value, "fields": fields, "digest": digest.hex()})

    def seal(self, seal: Seal) -> None:
        """Write the line that ends a logbook."""
        self._write({"seal": seal.logbook, "entry": seal.entry, "digest": seal.digest})


def in_order(books: Iterable[Book]) -> list[Book]:
    """Give logbooks in the order of a file: the operator's first, the others by name."""
    return sorted(books, key=lambda book: (book.kind != "operator", book.name))
