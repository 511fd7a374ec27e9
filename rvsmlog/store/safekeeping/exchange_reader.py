"""Reading logbooks from a file that anybody may have made: line by line, nothing taken on trust.

The form is that of :mod:`rvsmlog.store.safekeeping.exchange`. A line has exactly the keys
of its sort, each value exactly its type; a line that is too long, no JSON, or out of place ends the
reading with one message that names it. Digests are computed by whoever takes the entries in.
"""

import gzip
import json
import re
import uuid
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO, cast

from rvsmlog.errors import InputError
from rvsmlog.facts import Seal
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Logbook
from rvsmlog.records.fields import Text
from rvsmlog.store.encoding import DIGEST_BYTES, Head, genesis
from rvsmlog.store.reading.books import OPERATOR
from rvsmlog.store.safekeeping.exchange import EDITION, FORMAT, LONGEST_LINE, is_compressed
from rvsmlog.store.writing.foreign import Foreign, record_of

_ANEW = "the file was changed, cut short or is of another edition; ask for it anew"
_NAME = Text("name of a logbook", longest=200)
#: Longest part of a foreign text that a message repeats.
_LONGEST_SAID = 200
_LARGEST = 2**53
_DIGEST = re.compile(rf"[0-9a-f]{{{2 * DIGEST_BYTES}}}", re.ASCII)
_GZIP_MARK, _OBJECT_MARK = b"\x1f\x8b", b"{"

_HEADER = {"format": str, "edition": int, "logbooks": int, "entries": int}
_BOOK = {"logbook": str, "kind": str, "uid": str}
_ENTRY = {
    "entry": int,
    "kind": str,
    "recorded_at": int,
    "recorded_by": str,
    "fields": dict,
    "digest": str,
}
_CORRECTION = {**_ENTRY, "supersedes": int, "reason": str}
_SEAL = {"seal": str, "entry": int, "digest": str}


@dataclass(frozen=True, slots=True, kw_only=True)
class BookHead:
    """A logbook as a file names it."""

    name: str
    kind: Logbook
    uid: str


def holds_logbooks(path: Path) -> bool:
    """Say by its first bytes whether a file holds logbooks rather than rows of a table."""
    try:
        if not path.is_file():
            return False
        with path.open("rb") as handle:
            start = handle.read(len(_GZIP_MARK))
    except OSError:
        return False  # whoever reads it says why it cannot be read
    return start == _GZIP_MARK or start.startswith(_OBJECT_MARK)


@contextmanager
def open_logbooks(path: Path) -> Iterator["LogbookFile"]:
    """Open a file of logbooks and read its first line.

    Raises
    ------
    InputError
        When it cannot be read or is none.
    """
    if not path.is_file():
        what = "is no file" if path.exists() else "does not exist"
        raise InputError(f"{path} {what}", "name a file made by an export")
    try:
        with path.open("rb") as handle:
            if is_compressed(path):
                with gzip.GzipFile(fileobj=handle) as packed:
                    yield LogbookFile(path, cast("BinaryIO", packed))
            else:
                yield LogbookFile(path, handle)
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror or error}", _ANEW) from None


class LogbookFile:
    """A file of logbooks while it is read, once and in order.

    Attributes
    ----------
    logbooks, entries : int
        How many there are, by the first line.
    """

    def __init__(self, path: Path, handle: BinaryIO) -> None:
        self.path = path
        self.handle = handle
        self.line = 0
        self._read = 0
        header = self._next(_HEADER)
        if header["format"] != FORMAT:
            raise self.fault("the file does not hold logbooks")
        if header["edition"] != EDITION:
            raise self.fault(
                f"the file is of edition {header['edition']}, not {EDITION}",
                "install the edition of rvsmlog that wrote it, or a newer one",
            )
        self.logbooks: int = header["logbooks"]
        self.entries: int = header["entries"]

    def fault(self, says: str, hint: str = _ANEW) -> InputError:
        """Say what is wrong, and on which line."""
        if len(says) > _LONGEST_SAID:
            says = says[:_LONGEST_SAID] + "..."
        return InputError(f"{self.path}, line {self.line}: {says}", hint)

    def books(self) -> Iterator[tuple[BookHead, Iterator[Foreign]]]:
        """Give each logbook with its entries; take all entries before the next logbook.

        Raises
        ------
        InputError
            At the first line that cannot be.
        """
        for _ in range(self.logbooks):
            book = self._book(self._next(_BOOK))
            yield book, self._entries(book)
        if self._read != self.entries:
            raise self.fault(f"{self._read} entries were read, {self.entries} announced")
        if self.handle.read(1):
            self.line += 1
            raise self.fault("there is more behind the last seal")

    def _entries(self, book: BookHead) -> Iterator[Foreign]:
        """Give the entries of one logbook, up to its seal."""
        newest: Seal | None = None
        while True:
            value = self._next(_ENTRY, _CORRECTION, _SEAL)
            if "seal" in value:
                break
            self._read += 1
            if self._read > self.entries:
                raise self.fault(f"there are more entries than the {self.entries} announced")
            newest = Seal(logbook=book.name, entry=value["entry"], digest=value["digest"])
            yield self._foreign(value)
        sealed = Seal(logbook=value["seal"], entry=value["entry"], digest=value["digest"])
        if newest is None:
            start = genesis(book.uid, book.kind.value, book.name).hex()
            newest = Seal(logbook=book.name, entry=0, digest=start)
        if sealed != newest:
            raise self.fault(f"the seal is not that of the newest entry of {book.name}")

    def _foreign(self, value: Mapping[str, Any]) -> Foreign:
        """Make an entry of its line."""
        head = Head(
            number=value["entry"],
            kind=value["kind"],
            recorded_at=value["recorded_at"],
            recorded_by=value["recorded_by"],
            supersedes=value.get("supersedes"),
            reason=value.get("reason"),
        )
        numbers = (head.recorded_at, head.number, head.supersedes or 0)
        if not all(0 <= each < _LARGEST for each in numbers) or not _DIGEST.fullmatch(
            value["digest"]
        ):
            raise self.fault(
                "the numbers, the time of entry or the digest are not as rvsmlog writes them"
            )
        try:
            record = record_of(head.kind, value["fields"])
        except InputError as error:
            raise self.fault(f"entry #{head.number}: {error.message}", error.hint) from None
        digest = bytes.fromhex(value["digest"])
        return Foreign(head=head, record=record, scalars=value["fields"], digest=digest)

    def _book(self, value: Mapping[str, Any]) -> BookHead:
        """Make a logbook's head of its line."""
        name, uid = value["logbook"], value["uid"]
        kinds = {kind.value: kind for kind in Logbook}
        kind = kinds.get(value["kind"])
        try:
            right = _NAME.parse(name) == name and str(uuid.UUID(uid)) == uid
        except (InputError, ValueError):
            right = False
        if not right or kind is None or (kind is Logbook.OPERATOR) != (name == OPERATOR):
            raise self.fault("this is no logbook of rvsmlog")
        return BookHead(name=name, kind=kind, uid=uid)

    def _next(self, *sorts: Mapping[str, type]) -> dict[str, Any]:
        """Read one line and check that it has the keys and types of one of some sorts."""
        value = self._object(self._content())
        for sort in sorts:
            if value.keys() == sort.keys():
                for name, wanted in sort.items():
                    if type(value[name]) is not wanted:
                        raise self.fault(f"{name!r} is of the wrong type")
                return value
        raise self.fault(f"{'/'.join(next(iter(sort)) for sort in sorts)} is wanted here")

    def _content(self) -> bytes:
        """Read one line's bytes."""
        self.line += 1
        try:
            content = self.handle.readline(LONGEST_LINE + 1)
        except (EOFError, zlib.error, gzip.BadGzipFile) as error:
            raise self.fault(f"the compressed file is damaged: {error}") from None
        if not content:
            raise self.fault("the file ends before it is complete")
        if len(content) > LONGEST_LINE:
            raise self.fault(f"the line has more than {LONGEST_LINE} bytes")
        return content

    def _object(self, content: bytes) -> dict[str, Any]:
        """Read a line as one JSON object, no key twice."""
        try:
            value = json.loads(
                content.decode("utf-8"), object_pairs_hook=_once, parse_constant=_no_constant
            )
        except (ValueError, RecursionError):
            raise self.fault("the line is no JSON object of an export") from None
        if not isinstance(value, dict):
            raise self.fault("the line is no JSON object of an export")
        return value


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Make an object; a key that stands twice means two things to two readers."""
    value = dict(pairs)
    if len(value) != len(pairs):
        raise ValueError("a key stands twice")
    return value


def _no_constant(name: str) -> None:
    """Refuse NaN and Infinity, which are no JSON."""
    raise ValueError(name)
