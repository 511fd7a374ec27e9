"""What is held of each try of the fuzz bench: what a command said, against what it did."""

import contextlib
import json
import re
import sqlite3
import unicodedata
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

from tests.benchmarks.fuzz_files import Try
from tests.cli.conftest import Ran

#: Exit status where the store, or an airframe's logbook, cannot be used.
_UNUSABLE = 3
_STORES = ("log.sqlite3", "empty.sqlite3", "readonly.sqlite3", "log.backup")
_RECORDED = re.compile(
    r"^ *recorded (\S+)#(\d+)(?: to #(\d+))?|this check is (\S+)#(\d+)", re.MULTILINE
)
_COUNTED = re.compile(r"^imported ([\d,]+): |: ([\d,]+) entr(?:y|ies) added$", re.MULTILINE)
_SIDE = ("-wal", "-shm", "-journal")
#: Commands that replace or make whole stores: their files are looked at, not counted.
_WHOLE = {
    ("store", "restore"),
    ("store", "copy"),
    ("store", "init"),
    ("demo",),
    ("store", "upgrade"),
}
_LOOKS = {"show", "list", "text", "export", "backup", "history"}

Heads = dict[str, dict[str, tuple[int, str]]]


def heads() -> Heads:
    """Read the newest entry of each logbook past the program."""
    found: Heads = {}
    for name in _STORES:
        place = f"file:{name}?mode=ro"
        try:
            with contextlib.closing(sqlite3.connect(place, uri=True)) as lite:
                rows = lite.execute(  # the digest is that of the row that has the greatest
                    "SELECT b.name, max(e.number), hex(e.digest) FROM logbook b JOIN entry e ON "
                    "e.logbook_id = b.id GROUP BY b.id"
                ).fetchall()
        except sqlite3.Error as error:
            found[name] = {str(error): (0, "")}
            continue
        found[name] = {book: (number, digest) for book, number, digest in rows}
    return found


def names() -> set[str]:
    """Give the names in the box, less what the database leaves beside its files."""
    return {
        str(path)
        for path in (*Path().iterdir(), *Path("folder").iterdir())
        if not path.name.endswith(_SIDE)
    }


def grown(before: Heads, after: Heads) -> int:
    """Count the entries that were added."""
    return sum(
        number - before[name].get(book, (0, ""))[0]
        for name, books in after.items()
        for book, (number, _) in books.items()
    )


def reported(ran: Ran) -> int:
    """Count the entries that a command says it made."""
    if ran.out.startswith(("{", "[")):
        with contextlib.suppress(ValueError):
            return _in_json(json.loads(ran.out))
    said = sum(
        int(last or number or 1) - int(number or 1) + 1
        for _, number, last, _, _ in _RECORDED.findall(ran.out)
    )
    return said + sum(int((one or two).replace(",", "")) for one, two in _COUNTED.findall(ran.out))


def _in_json(value: object) -> int:
    """Count the entries that a JSON answer says were made."""
    if isinstance(value, list):
        return sum(_in_json(each) for each in value if isinstance(each, dict) and "added" in each)
    if not isinstance(value, dict):
        return 0
    if isinstance(value.get("corrections"), list):
        return len(value["corrections"])
    for name in ("written", "added"):
        if name in value:
            return int(value[name])
    made = value.get("recorded")
    if isinstance(made, dict):
        return int(made["last"] - made["first"] + 1 if "last" in made else 1)
    return int(isinstance(value.get("entry"), int))


def _steers(text: str) -> str:
    """Give the first character that could steer a terminal."""
    for character in text:
        if character != "\n" and unicodedata.category(character) in {"Cc", "Cf", "Cs", "Zl", "Zp"}:
            return f"U+{ord(character):04X}"
    return ""


def judge(
    one: Try, ran: Ran, before: tuple[Heads, set[str]], after: tuple[Heads, set[str]]
) -> Iterator[str]:
    """Say what is wrong with what a command did."""
    shown = ran.err if "--csv" in one.words or "extract" in one.words else ran.out + ran.err
    if ran.status not in (0, 1, 2, 3):
        yield f"status {ran.status}"
    for mark in ("Traceback", "unexpected fault", "object at 0x"):
        if mark in ran.out + ran.err:
            yield mark
    if (steers := _steers(shown.replace("\t", " ") if "--csv" in one.words else shown)) != "":
        yield f"steering character {steers} shown"
    if ran.status in (2, 3):
        yield from _refused(one, ran, before, after)
    elif not _WHOLE & {one.words[:1], one.words[:2]} and not elsewhere(one):
        added, said = (
            grown(before[0], after[0]),
            0 if _LOOKS & set(one.words[1:2]) else reported(ran),
        )
        if added != said:
            yield f"grew by {added}, reported {said}"


def elsewhere(one: Try) -> bool:
    """Say whether a command is told of a store that is not counted: earlier tries made it."""
    named = [word for flag, word in pairwise(one.words) if flag == "--store"]
    named += [word.partition("=")[2] for word in one.words if word.startswith("--store=")]
    return bool(named) and named[-1] not in _STORES


def _refused(
    one: Try, ran: Ran, before: tuple[Heads, set[str]], after: tuple[Heads, set[str]]
) -> Iterator[str]:
    """Say what is wrong with a refusal."""
    # Who may not record leaves a trace that the refusal names.
    traced = ran.status == 2 and "on record as operator#" in ran.err
    if after[0] != before[0] and not (traced and grown(before[0], after[0]) == 1):
        yield "a refusal wrote"
    left = after[1] - before[1]
    said = ran.out if ran.out.startswith("{") else ran.err
    if left and not all(f"written to {name};" in said or f'"{name}"' in said for name in left):
        yield f"a refusal left {sorted(left)}"
    lines = ran.err.splitlines()
    says = [line for line in lines if line.startswith("error: ")]
    answered = "--json" in one.words and ran.out.startswith('{\n  "kind"')
    # A fleet is answered though one of its airframes cannot be judged; the screen says why.
    answered |= ran.status == _UNUSABLE and " is not judged: " in ran.out
    if len(says) != 1 and not answered and lines[:1] != [f"Usage: {_noun(one)} COMMAND ..."]:
        yield "no error line, or several"


def _noun(one: Try) -> str:
    return f"rvsmlog {one.words[0]}" if one.words else "rvsmlog"
