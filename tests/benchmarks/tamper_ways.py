"""The ways in which a log can be changed behind the program's back, each one random change."""

import random
import sqlite3
import struct
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.store.encoding import Head, genesis, next_digest
from rvsmlog.store.tables import STRIKE, table_name

Rows = list[tuple[Any, ...]]


@dataclass
class Log:
    """A copy of the log, opened past the program."""

    lite: sqlite3.Connection
    rng: random.Random
    path: Path

    def rows(self, statement: str, *bound: object) -> Rows:
        """Read rows."""
        return self.lite.execute(statement, bound).fetchall()

    def run(self, statement: str, *bound: object) -> int:
        """Change rows; give how many."""
        return self.lite.execute(statement, bound).rowcount

    def entry(self, *, last: bool = True) -> tuple[int, int, str]:
        """Choose an entry: logbook, number, kind."""
        rows = self.rows("SELECT logbook_id, number, kind FROM entry ORDER BY 1, 2")
        if not last:
            newest: dict[int, int] = dict(
                self.rows("SELECT logbook_id, max(number) FROM entry GROUP BY 1")
            )
            rows = [row for row in rows if row[1] < newest[row[0]]]
        chosen: tuple[int, int, str] = self.rng.choice(rows)
        return chosen

    def move(self, book: int, old: int, new: int) -> None:
        """Give an entry and its details another number."""
        for table in ("entry", *map(table_name, KINDS)):
            query = f"UPDATE {table} SET number = ? WHERE logbook_id = ? AND number = ?"  # noqa: S608 - our own names
            self.run(query, new, book, old)

    def remove(self, book: int, number: int) -> None:
        """Remove an entry with its details."""
        for table in ("entry", *map(table_name, KINDS)):
            query = f"DELETE FROM {table} WHERE logbook_id = ? AND number = ?"  # noqa: S608 - our own names
            self.run(query, book, number)

    def newest(self, book: int) -> int:
        """Give a logbook's newest number."""
        (row,) = self.rows("SELECT max(number) FROM entry WHERE logbook_id = ?", book)
        return int(row[0])


def other_value(log: Log, value: object) -> object:
    """Give another value of the same type, another type, or none."""
    rng = log.rng
    if rng.random() < 0.1:
        return None
    if rng.random() < 0.1:
        return rng.choice((b"\x00\xff", "x" * rng.randrange(1, 400), rng.randrange(-9, 9), 0.5))
    if isinstance(value, str) and value:
        at = rng.randrange(len(value))
        return value[:at] + rng.choice("aZ0 -é\x00") + value[at + rng.randrange(2) :]
    if isinstance(value, int):
        return value + rng.choice((-1, 1, 10, -(10**6), 2**40))
    if isinstance(value, float):
        return value * 1.0001 + rng.choice((0.0, 1e-9))
    return rng.choice(("x", 1, 0, -0.0, ""))


def change_detail(log: Log) -> None:
    """Change one field of one entry's details."""
    book, number, kind = log.entry()
    if kind == STRIKE:
        return
    table, name = table_name(KIND[kind]), log.rng.choice(tuple(KIND[kind].by_name))
    where = "WHERE logbook_id = ? AND number = ?"
    ((value,),) = log.rows(f"SELECT {name} FROM {table} {where}", book, number)  # noqa: S608 - our own names
    query = f"UPDATE {table} SET {name} = ? {where}"  # noqa: S608 - our own names
    log.run(query, other_value(log, value), book, number)


def change_head(log: Log) -> None:
    """Change kind, time, author, what is corrected, reason or digest of one entry."""
    book, number, _ = log.entry()
    names = ("kind", "recorded_at", "recorded_by", "supersedes", "reason", "digest")
    name = log.rng.choice(names)
    where = "WHERE logbook_id = ? AND number = ?"
    ((value,),) = log.rows(f"SELECT {name} FROM entry {where}", book, number)  # noqa: S608 - our own names
    new = log.rng.randbytes(32) if name == "digest" else other_value(log, value)
    log.run(f"UPDATE entry SET {name} = ? {where}", new, book, number)  # noqa: S608 - our own names


def change_logbook(log: Log) -> None:
    """Change a logbook's name, uid or kind, or exchange two names."""
    (book,) = log.rng.choice(log.rows("SELECT id FROM logbook"))
    name = log.rng.choice(("name", "uid", "kind"))
    new = {"name": "VK71-9999", "uid": "0" * 36, "kind": log.rng.choice(("operator", "airframe"))}
    log.run(f"UPDATE logbook SET {name} = ? WHERE id = ?", new[name], book)  # noqa: S608 - our own names


def remove_entry(log: Log) -> None:
    """Remove an entry that is not the newest, with its details; close the gap half of the time."""
    book, number, _ = log.entry(last=False)
    newest = log.newest(book)
    log.remove(book, number)
    if log.rng.random() < 0.5:
        for later in range(number + 1, newest + 1):
            log.move(book, later, later - 1)


def remove_half(log: Log) -> None:
    """Remove only an entry's head, or only its details."""
    book, number, kind = log.entry(last=False)
    table = "entry" if kind == STRIKE or log.rng.random() < 0.5 else table_name(KIND[kind])
    log.run(f"DELETE FROM {table} WHERE logbook_id = ? AND number = ?", book, number)  # noqa: S608 - our own names


def reorder(log: Log) -> None:
    """Exchange the numbers of two entries of one logbook."""
    book, one, _ = log.entry()
    two = log.rng.randrange(1, log.newest(book) + 1)
    log.move(book, one, 10**6)
    log.move(book, two, one)
    log.move(book, 10**6, two)


def exchange_details(log: Log) -> None:
    """Exchange the details of two entries of one kind."""
    (book, one), (other, two) = log.rng.sample(
        log.rows("SELECT logbook_id, number FROM entry WHERE kind = 'crosscheck'"), 2
    )
    where = "WHERE logbook_id = ? AND number = ?"
    query = f"UPDATE crosscheck_detail SET logbook_id = ?, number = ? {where}"  # noqa: S608 - our own names
    log.run(query, -1, -1, book, one)
    log.run(query, book, one, other, two)
    log.run(query, other, two, -1, -1)


def append(log: Log) -> None:
    """Slip in a copy of an entry behind the newest."""
    book, number, kind = log.entry()
    _insert(log, book, number, kind, log.newest(book) + 1)


def insert(log: Log) -> None:
    """Slip in a copy of an entry ahead of another, with all later ones moved up."""
    book, number, kind = log.entry()
    _insert(log, book, number, kind, log.rng.randrange(1, log.newest(book) + 1))


def _insert(log: Log, book: int, number: int, kind: str, place: int) -> None:
    """Put a copy of an entry in some place."""
    newest = log.newest(book)
    for later in range(newest, place - 1, -1):
        log.move(book, later, later + 1)
    source = number + (number >= place)
    tables = ["entry"] if kind == STRIKE else ["entry", table_name(KIND[kind])]
    for table in tables:
        names = [row[1] for row in log.rows(f"PRAGMA table_info({table})")]
        rest = ", ".join(name for name in names if name not in ("logbook_id", "number"))
        log.run(
            f"INSERT INTO {table} (logbook_id, number, {rest}) SELECT logbook_id, ?, {rest} "  # noqa: S608 - our own names
            f"FROM {table} WHERE logbook_id = ? AND number = ?",
            place,
            book,
            source,
        )


def move_to_another_logbook(log: Log) -> None:
    """Take an entry out of one logbook and put it at the end of another."""
    book, number, kind = log.entry()
    others = [row[0] for row in log.rows("SELECT id FROM logbook WHERE id <> ?", book)]
    other = log.rng.choice(others)
    place = log.newest(other) + 1
    tables = ["entry"] if kind == STRIKE else ["entry", table_name(KIND[kind])]
    for table in tables:
        query = f"UPDATE {table} SET logbook_id = ?, number = ? WHERE logbook_id = ? AND number = ?"  # noqa: S608 - our own names
        log.run(query, other, place, book, number)


def stray_details(log: Log) -> None:
    """Add details that no entry asks for: of another kind, number or logbook."""
    book, number, kind = log.entry()
    if kind == "removal":
        return
    place = log.rng.choice(((book, number), (book, log.newest(book) + 5), (99, 1)))
    query = "INSERT OR IGNORE INTO removal_detail (logbook_id, number, equipment, removed_on) "
    log.run(query + "VALUES (?, ?, 2, '2027-01-01')", *place)


def cut_off(log: Log) -> None:
    """Remove the newest entries of a logbook: what is left follows without a gap."""
    (book,) = log.rng.choice(log.rows("SELECT id FROM logbook"))
    newest = log.newest(book)
    for number in range(log.rng.randrange(1, newest + 1), newest + 1):
        log.remove(book, number)


def forge(log: Log) -> None:
    """Change the log in some way, then give every entry the digest that follows."""
    CHANGES[log.rng.choice(FORGEABLE)](log)
    for book, uid, kind, name in log.rows("SELECT id, uid, kind, name FROM logbook"):
        try:
            _seal_anew(log, book, genesis(uid, kind, name))
        except (TypeError, ValueError, OverflowError, KeyError, struct.error):
            continue  # it holds what no digest can be made of, which verification finds


def _seal_anew(log: Log, book: int, digest: bytes) -> None:
    """Compute the digests of one logbook."""
    columns = "number, kind, recorded_at, recorded_by, supersedes, reason"
    query = f"SELECT {columns} FROM entry WHERE logbook_id = ? ORDER BY number"  # noqa: S608 - our own names
    for row in log.rows(query, book):
        head = Head(**dict(zip(columns.split(", "), row, strict=True)))
        fields: dict[str, Any] = {}
        if head.kind != STRIKE:
            names = tuple(KIND[head.kind].by_name)
            found = log.rows(
                f"SELECT {', '.join(names)} FROM {table_name(KIND[head.kind])} "  # noqa: S608 - our own names
                "WHERE logbook_id = ? AND number = ?",
                book,
                head.number,
            )
            if not found:
                continue
            fields = dict(zip(names, found[0], strict=True))
        digest = next_digest(digest, head, fields)
        query = "UPDATE entry SET digest = ? WHERE logbook_id = ? AND number = ?"
        log.run(query, digest, book, head.number)


CHANGES: Mapping[str, Callable[[Log], None]] = {
    "a field of an entry changed": change_detail,
    "an entry's head changed": change_head,
    "a logbook renamed": change_logbook,
    "an entry removed": remove_entry,
    "half an entry removed": remove_half,
    "two entries exchanged": reorder,
    "details exchanged": exchange_details,
    "an entry slipped in": insert,
    "an entry put behind": append,
    "moved to another logbook": move_to_another_logbook,
    "details added": stray_details,
    "the newest cut off": cut_off,
    "written anew with digests": forge,
}


FORGEABLE = (
    *("a field of an entry changed", "an entry's head changed", "an entry removed"),
    *("two entries exchanged", "details exchanged", "an entry slipped in"),
)
