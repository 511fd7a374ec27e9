"""What tests of transfers share: a history, files read and written, a forger's digests."""

import copy
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rvsmlog.store.connection import Store
from rvsmlog.store.encoding import Head, genesis, next_digest

if TYPE_CHECKING:
    from tests.store.conftest import Log

REG = "QX-ABC"
BOOK = "VK71-1007"
Line = dict[str, Any]


def some_history(log: "Log") -> None:
    """Add to an airframe's log: entries 2 to 8, with a correction, a removal and a strike."""
    first = log.add("crosscheck", remarks="Böen")
    log.correct(first, "crosscheck", primary_1_ft=31020)
    unit = log.add("equipment", position="1")
    log.add("removal", equipment=unit)
    log.strike(log.add("flight"))
    log.add("defect")


def content(store: Store) -> tuple[tuple[Any, ...], ...]:
    """Read logbooks and entries past the program."""
    with store.reading() as connection:
        rows = connection.exec_driver_sql(
            "SELECT b.name, b.uid, e.number, e.kind, e.recorded_at, e.recorded_by, e.supersedes, "
            "e.reason, e.digest FROM logbook b LEFT JOIN entry e ON e.logbook_id = b.id "
            "ORDER BY b.name, e.number"
        )
        return tuple(tuple(row) for row in rows)


@contextmanager
def unchanged(store: Store) -> Iterator[None]:
    """Hold that nothing is written."""
    before = content(store)
    yield
    assert content(store) == before


def read(path: Path) -> list[Line]:
    """Read a file's lines."""
    return [json.loads(line) for line in path.read_text("ascii").splitlines()]


def write(path: Path, lines: list[Line]) -> Path:
    """Write a file's lines."""
    path.write_text("".join(json.dumps(line) + "\n" for line in lines))
    return path


def sealed_anew(lines: list[Line]) -> list[Line]:
    """Give every entry the digest that follows, and the seal too, as a forger would."""
    made = copy.deepcopy(lines)
    digest, number = b"", 0
    for line in made[1:]:
        if "logbook" in line:
            digest, number = genesis(line["uid"], line["kind"], line["logbook"]), 0
        elif "seal" in line:
            line |= {"entry": number, "digest": digest.hex()}
        else:
            names = ("kind", "recorded_at", "recorded_by")
            head = Head(
                number=line["entry"],
                **{name: line[name] for name in names},
                supersedes=line.get("supersedes"),
                reason=line.get("reason"),
            )
            fields = {name: value for name, value in line["fields"].items() if value is not None}
            digest, number = next_digest(digest, head, fields), line["entry"]
            line["digest"] = digest.hex()
    return made
