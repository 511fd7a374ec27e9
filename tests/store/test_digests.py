"""The chain of digests: its published layout computed by hand, and what verification finds."""

import hashlib
import struct
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from rvsmlog.records.base import Logbook, Record
from rvsmlog.store.encoding import Head, genesis, next_digest
from rvsmlog.store.reading.books import Book, books, seal
from rvsmlog.store.writing.logbook import writing

if TYPE_CHECKING:
    from tests.store.conftest import Log

UID = "0b8f3c1e-5a57-4f5e-9d0a-2f6f7f3d9a11"
BOOK = "VK71-1007"


def whole(name: str, value: int) -> bytes:
    """Write a whole number as the layout in rvsmlog/store/encoding.py says, by hand."""
    return bytes([len(name)]) + name.encode() + b"i" + struct.pack(">q", value)


def words(name: str, value: str) -> bytes:
    """Write a text by hand."""
    content = value.encode()
    return bytes([len(name)]) + name.encode() + b"t" + struct.pack(">I", len(content)) + content


def real(name: str, value: float) -> bytes:
    """Write a decimal number by hand."""
    return bytes([len(name)]) + name.encode() + b"r" + struct.pack(">d", value)


def start_by_hand(uid: str, kind: str, name: str) -> bytes:
    """Compute a logbook's start by hand."""
    content = b"rvsmlog logbook 1" + words("uid", uid) + words("kind", kind) + words("name", name)
    return hashlib.sha256(content).digest()


def test_layout_of_a_logbook_of_two_entries() -> None:
    """Two entries, one that corrects the other, have the digests that the layout gives by hand."""
    start = start_by_hand(UID, "airframe", BOOK)
    assert genesis(UID, "airframe", BOOK) == start
    at = 1805077800_000001
    first = (
        b"rvsmlog entry 1"
        + whole("number", 1)
        + words("kind", "crosscheck")
        + whole("recorded_at", at)
        + words("recorded_by", "Ā. Example")
        + b"\x00"
        + real("mach", 0.5)
        + whole("primary_1_ft", -12)
        + words("remarks", "a\nb")
    )
    digest = hashlib.sha256(start + first).digest()
    head = Head(number=1, kind="crosscheck", recorded_at=at, recorded_by="Ā. Example")
    scalars: dict[str, int | float | str | None] = {
        "remarks": "a\nb",
        "primary_1_ft": -12,
        "mach": 0.5,
        "level": None,
    }
    assert next_digest(start, head, scalars) == digest
    second = (
        b"rvsmlog entry 1"
        + whole("number", 2)
        + words("kind", "strike")
        + whole("recorded_at", at)
        + words("recorded_by", "B")
        + whole("supersedes", 1)
        + words("reason", "twice")
        + b"\x00"
    )
    head = Head(
        number=2, kind="strike", recorded_at=at, recorded_by="B", supersedes=1, reason="twice"
    )
    assert next_digest(digest, head, {}) == hashlib.sha256(digest + second).digest()


def test_golden_digests() -> None:
    """A logbook's start and its first entry have the digests that other programs found.

    The bytes were written with the shell's printf after the layout's text, and digested with
    sha256sum of GNU coreutils 9.1; no part of rvsmlog took part in it.
    """
    start = genesis(UID, "airframe", BOOK)
    assert start.hex() == "43f97d468f9c3ca3a9f9db20cf2c90d06ebb9e18d3922a3d0684401d3fee7b39"
    head = Head(number=1, kind="crosscheck", recorded_at=1_000_001, recorded_by="A")
    digest = next_digest(start, head, {"primary_1_ft": 31000, "mach": 0.5, "level": None})
    assert digest.hex() == "45a6366c119b95f5d42fbf8d447842e552d1e665c5d54ed1eb0c55df68892850"


def test_kept_digests_are_those_of_the_layout(log: "Log") -> None:
    """What stands in the database after two writes is what the layout gives by hand."""
    log.add("crosscheck", mach="0.82", remarks="QNH from the tower")
    book = log.book()
    with log.store.reading() as connection:
        particulars = connection.execute(text("SELECT * FROM airframe_detail")).one()
        kept = connection.execute(
            text("SELECT digest FROM entry WHERE logbook_id = :id ORDER BY number"), {"id": book.id}
        ).scalars()
        digests = [bytes(each) for each in kept]
    at = 1804991400_000000  # 2027-03-14T02:30Z in microseconds
    head = words("recorded_by", "A. Example") + b"\x00"
    digest = start_by_hand(book.uid, "airframe", BOOK)
    details = b"".join(
        words(name, value) if isinstance(value, str) else whole(name, value)
        for name, value in sorted(particulars._asdict().items())
        if name not in {"logbook_id", "number"} and value is not None
    )
    first = whole("number", 1) + words("kind", "airframe") + whole("recorded_at", at) + head
    digest = hashlib.sha256(digest + b"rvsmlog entry 1" + first + details).digest()
    assert digests[0] == digest
    second = whole("number", 2) + words("kind", "crosscheck") + whole("recorded_at", at) + head
    details = (
        whole("level", 310)
        + real("mach", 0.82)
        + words("phase", "level")
        + whole("primary_1_ft", 31000)
        + whole("primary_2_ft", 31040)
        + words("remarks", "QNH from the tower")
        + whole("taken_at", 1804816800_000000)  # 2027-03-12T02:00Z
    )
    assert digests[1] == hashlib.sha256(digest + b"rvsmlog entry 1" + second + details).digest()


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"a": "1"}, {"a": 1}),
        ({"a": 1}, {"a": 1.0}),
        ({"a": ""}, {"a": None}),
        ({"a": "xb"}, {"a": "x", "b": ""}),
        ({"a": "x", "b": "y"}, {"a": "y", "b": "x"}),
        ({"ab": "c"}, {"a": "bc"}),
        ({"a": 0.0}, {"a": -0.0}),
        ({"a": "\u00e9"}, {"a": "e\u0301"}),
    ],
)
def test_different_details_have_different_bytes(
    one: dict[str, str | int | float | None], other: dict[str, str | int | float | None]
) -> None:
    """Types, names, absence and the borders between fields all count."""
    head = Head(number=1, kind="crosscheck", recorded_at=0, recorded_by="A")
    assert next_digest(b"", head, one) != next_digest(b"", head, other)


def test_borders_of_the_head_count() -> None:
    """Text does not flow from the author into the reason, nor from the head into the details."""
    heads = [
        Head(number=1, kind="a", recorded_at=0, recorded_by="Ab", supersedes=1, reason="c"),
        Head(number=1, kind="a", recorded_at=0, recorded_by="A", supersedes=1, reason="bc"),
        Head(number=1, kind="aA", recorded_at=0, recorded_by="b", supersedes=1, reason="c"),
    ]
    assert len({next_digest(b"", head, {}) for head in heads}) == 3


def test_a_field_added_later_leaves_old_digests() -> None:
    """Absent fields have no bytes, so that a new optional field changes no digest."""
    head = Head(number=1, kind="crosscheck", recorded_at=0, recorded_by="A")
    assert next_digest(b"", head, {"a": 1}) == next_digest(b"", head, {"a": 1, "new": None})


def test_seal_is_the_newest_number_and_digest(log: "Log") -> None:
    """The seal moves with each entry, can be had for an earlier one, and is verification's."""
    empty = Book(id=99, uid=UID, kind="airframe", name="VK71-9")
    with log.store.reading() as connection:
        before = seal(connection, log.book())
        assert seal(connection, empty).digest == start_by_hand(UID, "airframe", "VK71-9").hex()
    log.add("crosscheck")
    with log.store.reading() as connection:
        after = seal(connection, log.book())
        assert seal(connection, log.book(), head=1) == before
    assert (before.entry, after.entry) == (1, 2)
    assert before.digest != after.digest
    assert after in log.verify().seals
    assert str(after) == f"VK71-1007#2:{after.digest}"


def test_seal_is_bound_to_its_logbook(log: "Log", sample: Callable[..., Record]) -> None:
    """Two logbooks that say the same at the same time have different seals."""
    with writing(log.store, "A. Example", log.clock) as writer:
        for name in ("VK71-1", "VK71-2"):
            writer.append(writer.open_book(Logbook.AIRFRAME, name), sample("flight"))
    with log.store.reading() as connection:
        seals = {book.name: seal(connection, book).digest for book in books(connection)}
    assert seals["VK71-1"] != seals["VK71-2"]
