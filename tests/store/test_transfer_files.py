"""Files of logbooks that are wrong, forged, or no such files: one message, nothing written."""

import gzip
import os
import random
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rvsmlog.errors import InputError, RvsmlogError
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.safekeeping.export import export_airframe
from rvsmlog.store.safekeeping.transfer import TakenIn, import_airframe
from tests.store.conftest import MEMORY, Clock, Log
from tests.store.transfers import (
    REG,
    Line,
    content,
    read,
    sealed_anew,
    some_history,
    unchanged,
    write,
)

pytestmark = pytest.mark.parametrize("backend", ["sqlite"])
Change = Callable[[list[Line]], Any]
Take = Callable[[Path], TakenIn]


@pytest.fixture(scope="module")
def exported(sqlite_pattern: Path) -> bytes:
    """Make the file of an airframe with some history once."""
    with tempfile.TemporaryDirectory(prefix="rvsmlog-sold-", dir=MEMORY) as name:
        path = Path(name) / "sold.sqlite3"
        shutil.copyfile(sqlite_pattern, path)
        with open_store(str(path)) as store:
            log = Log(store, Clock())
            log.add("airframe")
            some_history(log)
            return export_airframe(store, REG, Path(name) / "sold.jsonl").file.read_bytes()


@pytest.fixture
def file(exported: bytes, folder: Path) -> Path:
    """Give that file."""
    path = folder / "sold.jsonl"
    path.write_bytes(exported)
    return path


@pytest.fixture
def take(store: Store, clock: Clock) -> Take:
    """Give what takes a file into an empty store."""
    return lambda path: import_airframe(store, path, by="B. Example", clock=clock)


HOSTILE: dict[str, tuple[Change, str]] = {
    "another format": (lambda lines: lines[0].update(format="x"), "does not hold logbooks"),
    "another edition": (lambda lines: lines[0].update(edition=2), "is of edition 2, not 1"),
    "edition as text": (lambda lines: lines[0].update(edition="1"), "'edition' is of the wrong"),
    "true as a number": (lambda lines: lines[0].update(logbooks=True), "'logbooks' is of the"),
    "fewer announced": (lambda lines: lines[0].update(entries=7), "more entries than the 7"),
    "more announced": (lambda lines: lines[0].update(entries=9), "8 entries were read, 9 announ"),
    "more logbooks": (lambda lines: lines[0].update(logbooks=2), "holds 2 logbooks"),
    "a key too many": (lambda lines: lines[1].update(path="/etc"), "logbook is wanted here"),
    "a uid that is none": (lambda lines: lines[1].update(uid="../x"), "no logbook of rvsmlog"),
    "operator's name": (lambda lines: lines[1].update(logbook="operator"), "no logbook of rvsm"),
    "operator's kind": (lambda lines: lines[1].update(kind="operator"), "no logbook of rvsmlog"),
    "another name": (lambda lines: lines[1].update(logbook="VK71-1"), "digest does not agree"),
    "no seal": (lambda lines: lines.pop(), "the file ends before it is complete"),
    "more behind": (lambda lines: lines.append(lines[3]), "there is more behind the last seal"),
    "another seal": (lambda lines: lines[-1].update(entry=7), "not that of the newest entry"),
    "an entry left out": (
        lambda lines: (lines.pop(4), lines[0].update(entries=7)),
        "does not follow #2",
    ),
    "entries exchanged": (lambda lines: lines.insert(3, lines.pop(4)), "does not follow #1"),
    "an author changed": (lambda lines: lines[3].update(recorded_by="Z"), "digest does not agree"),
    "an author with escapes": (
        lambda lines: lines[3].update(recorded_by="x\x1b[31m"),
        "the author is not as",
    ),
    "an unknown kind": (lambda lines: lines[3].update(kind="weather"), "is no kind of entry"),
    "a digest that is none": (lambda lines: lines[3].update(digest="AB"), "not as rvsmlog write"),
    "a giant time": (lambda lines: lines[3].update(recorded_at=10**30), "not as rvsmlog write"),
    "a giant number": (lambda lines: lines[3].update(entry=10**400), "not as rvsmlog write"),
    "a giant correction": (
        lambda lines: lines[3].update(supersedes=10**400, reason="x"),
        "not as rvsmlog write",
    ),
    "fields as a list": (lambda lines: lines[3].update(fields=[]), "'fields' is of the wrong typ"),
}
#: Fields of the entries on lines 3 (particulars), 4 (cross-check) and 6 (equipment).
FIELDS: tuple[tuple[int, str, object, str], ...] = (
    (3, "primary_1_ft", 31001, "digest does not agree"),
    (3, "primary_1_ft", "31000", "is of the wrong type"),
    (3, "primary_1_ft", 31000.5, "is of the wrong type"),
    (3, "primary_1_ft", True, "is of the wrong type"),
    (3, "primary_1_ft", None, "is missing"),
    (3, "primary_1_ft", 10**25, "is of the wrong type"),
    (3, "primary_1_ft", {"a": 1}, "is of the wrong type"),
    (3, "mach", None, "is not as rvsmlog writes it"),
    (3, "mach", 1, "is of the wrong type"),
    (3, "mach", 1e999, "no JSON object"),
    (3, "remarks", "x" * 3000, "3000 characters"),
    (3, "remarks", " x", "is not as rvsmlog writes it|digest"),
    (3, "remarks", "\ud800", "control character"),
    (3, "remarks", "a\x00b", "control character"),
    (3, "phase", "holding", "phase"),
    (3, "taken_at", 10**17, "cannot be"),
    (3, "../../etc/passwd", "x", "no such field"),
    (2, "registration", "qx-abc", "is not of the right form|not as rvsmlog"),
    (2, "authority", "mars", "authority"),
    (2, "serial_number", "1008", "digest does not agree"),
    (5, "fitted_on", "2027-02-30", "cannot be"),
    (5, "fitted_on", "9999-01-01", "cannot be"),
)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_file_wrong_in_one_place_leaves_nothing_behind(
    store: Store, file: Path, folder: Path, take: Take, name: str
) -> None:
    """It is one message that says where, with a hint, and nothing is written."""
    change, says = HOSTILE[name]
    lines = read(file)
    change(lines)
    bad = write(folder / "bad.jsonl", lines)
    with unchanged(store), pytest.raises(InputError, match=says) as refused:
        take(bad)
    assert len(refused.value.message) < 400
    assert refused.value.hint


@pytest.mark.parametrize(("line", "name", "value", "says"), FIELDS)
def test_a_field_that_never_could_be_leaves_nothing_behind(
    store: Store,
    file: Path,
    folder: Path,
    take: Take,
    line: int,
    name: str,
    value: object,
    says: str,
) -> None:
    """Wrong types, texts, days and instants, absent and unknown fields are named."""
    lines = read(file)
    lines[line]["fields"][name] = value
    bad = write(folder / "bad.jsonl", lines)
    with unchanged(store), pytest.raises(InputError, match=says) as refused:
        take(bad)
    assert len(refused.value.message) < 400
    assert refused.value.hint


FORGED: dict[str, tuple[Change, str]] = {
    "corrects what is not there": (lambda lines: lines[4].update(supersedes=90), "rightly"),
    "corrects itself": (lambda lines: lines[4].update(supersedes=3), "rightly"),
    "corrects nothing, with a reason": (
        lambda lines: lines[4].update(supersedes=0),
        "does not say rightly what it corrects",
    ),
    "corrects another kind": (lambda lines: lines[4].update(supersedes=1), "not an altimeter"),
    "strikes out twice": (lambda lines: lines[8].update(supersedes=2), "was corrected by #3"),
    "a strike with fields": (lambda lines: lines[8].update(fields={"a": 1}), "has no fields"),
    "names what is not there": (
        lambda lines: lines[6]["fields"].update(equipment=70),
        "there is no entry",
    ),
    "names another kind": (
        lambda lines: lines[6]["fields"].update(equipment=2),
        "is an altimeter cross-check",
    ),
    "names a giant": (
        lambda lines: lines[6]["fields"].update(equipment=10**17),
        "is no entry number",
    ),
    "time runs backwards": (
        lambda lines: lines[5].update(recorded_at=lines[5]["recorded_at"] - 1),
        "was made before the entry before it",
    ),
    "not yet happened": (
        lambda lines: lines[3]["fields"].update(taken_at=lines[3]["recorded_at"] + 10**10),
        "is in the future",
    ),
    "no reason": (lambda lines: lines[4].update(reason=" "), "the reason is not as"),
    "an author too long": (
        lambda lines: lines[3].update(recorded_by="x" * 81),
        "the author is not as",
    ),
    "of the operator's logbook": (
        lambda lines: lines[3].update(kind="pilot", fields={"code": "MKO", "name": "M"}),
        "pilot does not belong",
    ),
    "another airframe's particulars": (
        lambda lines: lines[2]["fields"].update(serial_number="1008"),
        "is not the airframe of the logbook",
    ),
    "begins with something else": (
        lambda lines: lines.__setitem__(2, {**lines[3], "entry": 1}),
        "no entry that begins a logbook",
    ),
    "a negative number": (lambda lines: lines[2].update(entry=-1), "not as rvsmlog write"),
}


@pytest.mark.parametrize("name", FORGED)
def test_histories_that_never_could_be_are_refused(
    store: Store, file: Path, folder: Path, take: Take, name: str
) -> None:
    """Digests that follow do not make an entry possible: it must stand where it could be made."""
    change, says = FORGED[name]
    lines = read(file)
    change(lines)
    bad = write(folder / "bad.jsonl", sealed_anew(lines))
    with unchanged(store), pytest.raises(InputError, match=says) as refused:
        take(bad)
    assert refused.value.hint


RAW: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "empty": (lambda _: b"", "ends before it is complete"),
    "one blank line": (lambda _: b"\n", "no JSON object"),
    "a table": (lambda _: b"registration,type\n", "no JSON object"),
    "zero bytes": (lambda _: bytes(5000), "no JSON object"),
    "not UTF-8": (lambda text: text.replace(b"A. Ex", b"\xff. Ex", 1), "no JSON object"),
    "UTF-16": (lambda text: text.decode().encode("utf-16"), "no JSON object"),
    "a list": (lambda _: b"[1]\n", "no JSON object"),
    "deeply nested": (lambda _: b"[" * 500_000 + b"\n", "no JSON object"),
    "a line without end": (lambda text: text + b"x" * 2_000_000, "more than 1048576 bytes|behind"),
    "a first line without end": (lambda _: b'{"a":"' + b"x" * 2_000_000, "more than 1048576 bytes"),
    "a key twice": (
        lambda text: text.replace(b'{"entry":2,', b'{"entry":9,"entry":2,', 1),
        "no JSON object",
    ),
    "a number of many digits": (
        lambda text: text.replace(b'"entry":2,', b'"entry":' + b"9" * 9000 + b",", 1),
        "no JSON object",
    ),
    "NaN": (lambda text: text.replace(b":31020", b":NaN", 1), "no JSON object"),
    "cut in a line": (lambda text: text[:-40], "no JSON object"),
    "cut between lines": (lambda text: text[: text.rindex(b'{"seal"')], "ends before"),
}


@pytest.mark.parametrize("name", RAW)
@pytest.mark.parametrize("packed", [False, True])
def test_files_that_are_no_export(
    store: Store,
    file: Path,
    folder: Path,
    take: Take,
    name: str,
    *,
    packed: bool,
) -> None:
    """Whatever the bytes, plain or compressed: one message with the line, nothing written."""
    change, says = RAW[name]
    changed = change(file.read_bytes())
    bad = folder / ("bad.jsonl.gz" if packed else "bad.jsonl")
    bad.write_bytes(gzip.compress(changed) if packed else changed)
    with unchanged(store), pytest.raises(InputError, match=says) as refused:
        take(bad)
    assert ", line " in refused.value.message


def test_compressed_files_that_are_damaged(
    store: Store, file: Path, folder: Path, take: Take
) -> None:
    """A compressed file that was cut short, changed, or is none, is refused."""
    whole = gzip.compress(file.read_bytes(), mtime=0)
    for at, damaged in enumerate(
        (whole[:-20], whole[:100] + b"\0\0\0\0" + whole[104:], file.read_bytes(), b"\x1f\x8b", b"")
    ):
        bad = folder / f"{at}.jsonl.gz"
        bad.write_bytes(damaged)
        with unchanged(store), pytest.raises(InputError):
            take(bad)


def test_what_is_no_plain_file_is_not_read(store: Store, folder: Path, take: Take) -> None:
    """A folder, a pipe that never ends, a device, and nothing at all are refused at once."""
    os.mkfifo(folder / "pipe")
    for path in (folder, folder / "pipe", Path("/dev/zero"), folder / "none.jsonl"):
        with unchanged(store), pytest.raises(InputError, match=r"is no file|does not exist"):
            take(path)


def test_random_damage_is_never_taken_in(
    store: Store, file: Path, folder: Path, take: Take
) -> None:
    """Bytes changed, taken out, doubled or moved at random: refused, or the very same history."""
    whole = file.read_bytes()
    lines = whole.splitlines(keepends=True)
    rng = random.Random(20270314)
    for at in range(150):
        damaged = bytearray(whole)
        way = at % 4
        place = rng.randrange(len(whole))
        if way == 0:
            damaged[place] ^= 1 << rng.randrange(8)
        elif way == 1:
            del damaged[place : place + rng.randrange(1, 40)]
        elif way == 2:
            damaged[place:place] = damaged[place : place + rng.randrange(1, 40)]
        else:
            mixed = [*lines]
            mixed.insert(rng.randrange(len(lines)), mixed.pop(rng.randrange(len(lines))))
            damaged = bytearray(b"".join(mixed))
        if bytes(damaged) == whole:
            continue
        bad = folder / f"{at}.jsonl"
        bad.write_bytes(damaged)
        with unchanged(store), pytest.raises(RvsmlogError):
            take(bad)
    assert content(store) == ()
