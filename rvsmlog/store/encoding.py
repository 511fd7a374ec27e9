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
from collections.abc import Mapping
from functools import cache

from rvsmlog.frozen import dataclass
from rvsmlog.records.fields import Scalar

_FORMAT = b"rvsmlog entry 1"
_GENESIS = b"rvsmlog logbook 1"
_REAL = struct.Struct(">d")
_WHOLE_BYTES, _LENGTH_BYTES = 8, 4
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


@cache
def _in_order(names: tuple[str, ...]) -> tuple[str, ...]:
    """Sort the names of a kind's fields, once for all its entries."""
    return tuple(sorted(names))


def pack(name: str, value: Scalar) -> bytes:
    """Give one named scalar as bytes: name, type tag, and the value with its length if text."""
    if isinstance(value, int):
        return _start(name, b"i") + value.to_bytes(_WHOLE_BYTES, "big", signed=True)
    if isinstance(value, str):
        text = value.encode("utf-8")
        return _start(name, b"t") + len(text).to_bytes(_LENGTH_BYTES, "big") + text
    return _start(name, b"r") + _REAL.pack(value)


def entry_bytes(head: Head, scalars: Mapping[str, Scalar | None]) -> bytes:
    """Give the canonical bytes of an entry with its details."""
    parts = [
        _FORMAT,
        pack("number", head.number),
        pack("kind", head.kind),
        pack("recorded_at", head.recorded_at),
        pack("recorded_by", head.recorded_by),
    ]
    if head.supersedes is not None:
        parts.append(pack("supersedes", head.supersedes))
    if head.reason is not None:
        parts.append(pack("reason", head.reason))
    parts.append(b"\x00")
    for name in _in_order(tuple(scalars)):
        value = scalars[name]
        if value is not None:
            parts.append(pack(name, value))
    return b"".join(parts)


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
    return whole[:end], whole[end + _WHOLE_BYTES :]


def plain_digest(previous: bytes, number: int, frame: tuple[bytes, bytes], body: bytes) -> bytes:
    """Give the digest of an entry in a frame; ``body`` are its details, packed and in order."""
    before, after = frame
    numbered = number.to_bytes(_WHOLE_BYTES, "big", signed=True)
    return hashlib.sha256(b"".join((previous, before, numbered, after, body))).digest()


def genesis(uid: str, kind: str, name: str) -> bytes:
    """Give the digest before a logbook's first entry; it ties the chain to this logbook."""
    content = _GENESIS + pack("uid", uid) + pack("kind", kind) + pack("name", name)
    return hashlib.sha256(content).digest()


def next_digest(previous: bytes, head: Head, scalars: Mapping[str, Scalar | None]) -> bytes:
    """Give the digest of an entry that follows one with a known digest."""
    return hashlib.sha256(previous + entry_bytes(head, scalars)).digest()
