"""The canonical bytes of an entry, and the chain of digests over them.

Each digest is SHA-256 over the digest before it and this entry's bytes, so a change anywhere in a
logbook changes every digest after it. Absent fields are left out and names are sorted, so that a
field added in a later edition leaves the digests of older entries as they are.

The layout, with all numbers big-endian, so that anyone can check a seal without this program:

* A *named value* is the length of its name (1 byte), the name (ASCII), a tag (1 byte) and the
  value: tag ``i`` and a signed whole number of 8 bytes; tag ``r`` and an IEEE 754 number of 8
  bytes; tag ``t``, the length in bytes (4 bytes, unsigned) and the text in UTF-8.
* An *entry* is ``rvsmlog entry 1``, then the named values ``number``, ``kind``, ``recorded_at``,
  ``recorded_by``, and ``supersedes`` and ``reason`` where it corrects another, then a zero byte,
  then its details: those that are present, sorted by name.
* The *start* of a logbook is SHA-256 over ``rvsmlog logbook 1`` and the named values ``uid``,
  ``kind`` and ``name``.
* The *digest* of an entry is SHA-256 over the digest before it (32 bytes), the start for the
  first, and the entry.
"""

import hashlib
import struct
from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from itertools import count

from rvsmlog.errors import StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.fields import Scalar

_FORMAT = b"rvsmlog entry 1"
_GENESIS = b"rvsmlog logbook 1"
_REAL, _WHOLE, _LENGTH = struct.Struct(">d"), struct.Struct(">q"), struct.Struct(">I")
#: Bytes of a digest.
DIGEST_BYTES = hashlib.sha256().digest_size


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What stands on every entry, whatever its kind.

    Parameters
    ----------
    number : int
        Its number in the logbook, from 1.
    kind : str
        Kind of record, or ``strike``.
    recorded_at : int
        Microseconds since 1970-01-01T00:00Z.
    recorded_by : str
        Who made it.
    supersedes : int or None
        The entry it corrects or strikes out.
    reason : str or None
        Why.
    """

    number: int
    kind: str
    recorded_at: int
    recorded_by: str
    supersedes: int | None = None
    reason: str | None = None


@cache
def _start(name: str, tag: bytes) -> bytes:
    """Give a name with its length before it and the tag of what follows."""
    encoded = name.encode("ascii")
    return bytes((len(encoded),)) + encoded + tag


@lru_cache(maxsize=1024)
def _layout(names: tuple[str, ...]) -> tuple[tuple[str, bytes, bytes], ...]:
    """Sort the names of a kind's fields, with what begins a whole number and a text of each."""
    return tuple((name, _start(name, b"i"), _start(name, b"t")) for name in sorted(names))


def pack(name: str, value: Scalar) -> bytes:
    """Give one named scalar as bytes: name, type tag, and the value with its length if text."""
    if isinstance(value, int):
        return _start(name, b"i") + _WHOLE.pack(value)
    if isinstance(value, str):
        text = value.encode("utf-8")
        return _start(name, b"t") + _LENGTH.pack(len(text)) + text
    return _start(name, b"r") + _REAL.pack(value)


def pack_wholes(name: str, values: Iterable[int]) -> list[bytes]:
    """Give whole numbers of one name as :func:`pack` does."""
    start = _start(name, b"i")
    return [start + packed for packed in map(_WHOLE.pack, values)]


def pack_details(scalars: Mapping[str, Scalar | None]) -> bytes:
    """Give the details of an entry as bytes: those that are present, sorted by name."""
    parts = []
    for name, whole, text in _layout(tuple(scalars)):
        value = scalars[name]
        if value is None:
            continue
        # The same as pack, without a call for each of the many.
        if type(value) is int:
            parts.append(whole + _WHOLE.pack(value))
        elif type(value) is str:
            encoded = value.encode("utf-8")
            parts.append(text + _LENGTH.pack(len(encoded)) + encoded)
        else:
            parts.append(pack(name, value))
    return b"".join(parts)


# By type too: a number of another type is another number, though it may be equal.
@lru_cache(maxsize=64, typed=True)
def _made(kind: str, recorded_at: int, recorded_by: str) -> bytes:
    """Give what the entries of one transaction have in common."""
    return pack("kind", kind) + pack("recorded_at", recorded_at) + pack("recorded_by", recorded_by)


def entry_bytes(head: Head, scalars: Mapping[str, Scalar | None]) -> bytes:
    """Give the canonical bytes of an entry with its details."""
    corrects = b""
    if head.supersedes is not None:
        corrects = pack("supersedes", head.supersedes)
    if head.reason is not None:
        corrects += pack("reason", head.reason)
    made = _made(head.kind, head.recorded_at, head.recorded_by)
    number, details = pack("number", head.number), pack_details(scalars)
    return b"".join((_FORMAT, number, made, corrects, b"\x00", details))


def plain_frame(kind: str, recorded_at: int, recorded_by: str) -> tuple[bytes, bytes]:
    """Give what stands before and after the number in entries made together, ahead of the details.

    Parameters
    ----------
    kind, recorded_at, recorded_by
        As in :class:`Head`; the entries correct nothing.
    """
    head = Head(number=0, kind=kind, recorded_at=recorded_at, recorded_by=recorded_by)
    whole = entry_bytes(head, {})
    end = len(_FORMAT) + len(_start("number", b"i"))
    return whole[:end], whole[end + _WHOLE.size :]


def plain_digests(
    previous: bytes, first: int, frame: tuple[bytes, bytes], bodies: Iterable[bytes]
) -> list[bytes]:
    """Give the digests of entries made together.

    Parameters
    ----------
    previous : bytes
        The digest before them.
    first : int
        The number of the first.
    frame : tuple of bytes
        As :func:`plain_frame` gives it.
    bodies : iterable of bytes
        Their details, packed and in order.
    """
    before, after = frame
    sha256, digest, made = hashlib.sha256, previous, []
    for number, body in zip(map(_WHOLE.pack, count(first)), bodies, strict=False):
        digest = sha256(digest + before + number + after + body).digest()
        made.append(digest)
    return made


def genesis(uid: str, kind: str, name: str) -> bytes:
    """Give the digest before a logbook's first entry; it ties the chain to this logbook."""
    content = _GENESIS + pack("uid", uid) + pack("kind", kind) + pack("name", name)
    return hashlib.sha256(content).digest()


def next_digest(previous: bytes, head: Head, scalars: Mapping[str, Scalar | None]) -> bytes:
    """Give the digest of an entry that follows one with a known digest."""
    return hashlib.sha256(previous + entry_bytes(head, scalars)).digest()


def stored_digest(value: object) -> bytes:
    """Give a digest out of the store.

    Raises
    ------
    StoreError
        When it is none: the store was damaged or changed.
    """
    if not isinstance(value, bytes | bytearray | memoryview):
        raise StoreError(
            f"the store is damaged: the digest of an entry is {value!r}",
            "run `rvsmlog store verify`; restore the newest backup",
        )
    return bytes(value)


def stored_number(value: object) -> int:
    """Give the number of an entry out of the store.

    Raises
    ------
    StoreError
        When it is none: the store was damaged or changed.
    """
    if not isinstance(value, int):
        raise StoreError(
            f"the store is damaged: the number of an entry is {value!r}",
            "run `rvsmlog store verify`; restore the newest backup",
        )
    return value


def stored_correction(supersedes: object, number: object) -> tuple[int, int]:
    """Give the number of an entry and that of its correction, which is the later one.

    Whoever follows corrections from one to the next relies on it to come to an end.

    Raises
    ------
    StoreError
        When it is not so: the store was damaged or changed.
    """
    first, later = stored_number(supersedes), stored_number(number)
    if not first < later:
        raise StoreError(
            f"the store is damaged: entry #{later} corrects #{first}",
            "run `rvsmlog store verify`; restore the newest backup",
        )
    return first, later
