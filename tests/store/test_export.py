"""Logbooks as a file: what stands in it, computed anew by a few lines that know only the format."""

import gzip
import hashlib
import json
import stat
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.errors import InputError, StoreError
from rvsmlog.store.safekeeping.export import export_airframe, export_store

if TYPE_CHECKING:
    from tests.store.conftest import Log

REG = "QX-ABC"
BOOK = "VK71-1007"


def lines(path: Path) -> list[dict[str, Any]]:
    """Read a file of JSON Lines."""
    return [json.loads(line) for line in path.read_text("ascii").splitlines()]


def named(name: str, value: object) -> bytes:
    """Write a named value by the layout that the encoding states."""
    start = bytes([len(name)]) + name.encode("ascii")
    if isinstance(value, float):
        import struct

        return start + b"r" + struct.pack(">d", value)
    if isinstance(value, int):
        return start + b"i" + value.to_bytes(8, "big", signed=True)
    text = str(value).encode("utf-8")
    return start + b"t" + len(text).to_bytes(4, "big") + text


def chained(found: list[dict[str, Any]]) -> list[tuple[str, int, str]]:
    """Compute each logbook's newest digest from the lines alone."""
    seals: list[tuple[str, int, str]] = []
    digest, name, number = b"", "", 0
    for line in found[1:]:
        if "logbook" in line:
            name = line["logbook"]
            start = b"rvsmlog logbook 1" + named("uid", line["uid"])
            start += named("kind", line["kind"]) + named("name", name)
            digest, number = hashlib.sha256(start).digest(), 0
        elif "seal" in line:
            seals.append((name, number, digest.hex()))
        else:
            number = line["entry"]
            content = b"rvsmlog entry 1" + named("number", number)
            for key in ("kind", "recorded_at", "recorded_by", "supersedes", "reason"):
                if key in line:
                    content += named(key, line[key])
            content += b"\0"
            for key in sorted(line["fields"]):
                content += named(key, line["fields"][key])
            digest = hashlib.sha256(digest + content).digest()
            assert line["digest"] == digest.hex()
    return seals


@pytest.fixture
def some(log: "Log") -> "Log":
    """Give a store with a correction, a strike, and texts beyond ASCII."""
    first = log.add("crosscheck", remarks="Böen, \u2028\U0001f6e9 <b>=1+1", mach="0.5")
    log.correct(first, "crosscheck", primary_1_ft=31020)
    log.strike(log.add("flight", airframe_hours="812.4"))
    return log


def test_every_digest_follows_from_the_lines_alone(some: "Log", folder: Path) -> None:
    """Anyone can check the seals: by the stated layout, without this program."""
    made = export_store(some.store, folder / "all.jsonl")
    found = lines(made.file)
    expected = [(seal.logbook, seal.entry, seal.digest) for seal in some.verify().seals]
    assert chained(found) == expected
    assert [(seal.logbook, seal.entry, seal.digest) for seal in made.seals] == expected
    assert [line for line in found if "seal" in line] == [
        {"seal": name, "entry": number, "digest": digest} for name, number, digest in expected
    ]


def test_the_first_line_says_what_the_file_is(some: "Log", folder: Path) -> None:
    """Format, edition, and how much follows; the file is its owner's alone."""
    made = export_store(some.store, folder / "all.jsonl")
    header, *rest = lines(made.file)
    assert header == {"format": "rvsmlog logbooks", "edition": 1, "logbooks": 2, "entries": 6}
    assert made.entries == 6
    assert len([line for line in rest if "entry" in line and "kind" in line]) == 6
    assert stat.S_IMODE(made.file.stat().st_mode) == 0o600


def test_the_same_logbooks_give_the_same_bytes(some: "Log", folder: Path) -> None:
    """Plain and compressed, whenever they are written; the compressed one holds the plain one."""
    plain = [export_store(some.store, folder / f"{at}.jsonl").file for at in range(2)]
    packed = [export_store(some.store, folder / f"{at}.jsonl.gz").file for at in range(2)]
    assert plain[0].read_bytes() == plain[1].read_bytes()
    assert packed[0].read_bytes() == packed[1].read_bytes()
    assert gzip.decompress(packed[0].read_bytes()) == plain[0].read_bytes()
    # RFC 1952: bytes 4 to 7 are the time of making, bit 3 of byte 3 says that a name follows.
    assert packed[0].read_bytes()[3:8] == bytes(5)


def test_one_airframe_leaves_alone(some: "Log", folder: Path) -> None:
    """The file holds the logbook of one airframe, and nothing of the operator."""
    some.write(some.sample("airframe", registration="QX-DEF", serial_number="1007"), supersedes=1)
    made = export_airframe(some.store, "qx-def", folder / "one.jsonl")
    found = lines(made.file)
    assert [line["logbook"] for line in found if "logbook" in line] == [BOOK]
    assert found[0]["logbooks"] == 1
    assert "Example Air" not in made.file.read_text()
    with pytest.raises(InputError, match="no airframe bears"):
        export_airframe(some.store, REG, folder / "two.jsonl")


def test_nothing_is_overwritten(some: "Log", folder: Path) -> None:
    """A file that exists, or a link to anywhere, is left as it is."""
    taken, link, elsewhere = folder / "taken", folder / "link.jsonl", folder / "elsewhere"
    taken.write_text("mine")
    link.symlink_to(elsewhere)
    for path in (taken, link):
        with pytest.raises(StoreError, match="exists already"):
            export_store(some.store, path)
    assert taken.read_text() == "mine"
    assert not elsewhere.exists()


def test_a_store_that_was_changed_is_not_exported(some: "Log", folder: Path) -> None:
    """The first entry that is not as it was written is named, and there is no file."""
    some.tamper("UPDATE crosscheck_detail SET primary_1_ft = 31050 WHERE number = 3")
    with pytest.raises(StoreError, match=f"not exported: {BOOK}#3 was changed"):
        export_store(some.store, folder / "all.jsonl")
    assert not list(folder.glob("*.jsonl"))
    assert not list(folder.glob(".*.new"))


def test_a_store_without_logbooks(store: Any, folder: Path) -> None:
    """An empty store makes a file of one line."""
    made = export_store(store, folder / "none.jsonl")
    assert [line["entries"] for line in lines(made.file)] == [0]
    assert made.seals == ()
