"""Change logs behind the program's back in every way there is, and count what is found.

Usage: ``python -m tests.benchmarks.tamper [TRIES [SEED]]`` (1,000 tries take about a minute).

Each try takes a fresh copy of a small log with entries of every kind, drops every trigger, makes
one random change past the program, and verifies. A forger who knows the format also gives every
later entry the digest that follows: that, and cutting off the newest entries, only a seal noted
before can find, and both are counted with it. Damage to the file's bytes may hit room that is not
in use; it is harmless when everything reads as before. The loss of triggers itself is found by
`rvsmlog store verify`, but does not count here. Who can write the file can also add entries at the
end with digests that follow, as the program does: that changes no history, and is not tried.
"""

import random
import shutil
import sqlite3
import struct
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from rvsmlog.errors import StoreError
from rvsmlog.facts import Seal
from rvsmlog.records.base import Logbook
from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.store.connection import Store, make_engine, open_store, store_url
from rvsmlog.store.encoding import Head, genesis, next_digest
from rvsmlog.store.guards import guard_faults
from rvsmlog.store.logbook import writing
from rvsmlog.store.schema import create_store
from rvsmlog.store.seals import check_claims, parse_claim
from rvsmlog.store.tables import STRIKE, table_name
from rvsmlog.store.verify import verify
from tests.store.conftest import MEMORY, Clock, sample

#: Entries that a kind's sample names, by field: made just before it.
NAMED: Mapping[str, Mapping[str, str]] = {
    "removal": {"equipment": "equipment"},
    "deferral": {"defect": "defect"},
    "extension": {"deferral": "deferral"},
    "rectification": {"defect": "defect"},
    "review": {"subject": "defect"},
    "withdrawal": {"approval": "approval"},
    "test-readings": {"test": "test"},
    "closure": {"deviation": "deviation"},
}
FOUND, BY_SEAL, HARMLESS, MISSED = "found", "found by a seal only", "harmless", "missed"
OUTCOMES = (FOUND, BY_SEAL, HARMLESS, MISSED)
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
BYTES = "bytes of the file changed"
#: What verification alone cannot find.
ONLY_BY_SEAL = ("the newest cut off", "written anew with digests")


@dataclass
class Counts:
    """How many tries of each way ended how."""

    by_way: dict[str, Counter[str]] = field(default_factory=dict)
    missed: list[str] = field(default_factory=list)

    def add(self, way: str, outcome: str) -> None:
        """Count one try."""
        self.by_way.setdefault(way, Counter())[outcome] += 1

    def total(self, outcome: str) -> int:
        """Count all tries that ended so."""
        return sum(counter[outcome] for counter in self.by_way.values())


def make_log(path: Path) -> tuple[Seal, ...]:
    """Make a log of an operator and two airframes; give its seals."""
    clock = Clock()
    create_store(str(path)).close()
    with open_store(str(path)) as store:
        for serial in ("1007", "1008"):
            _fill(store, clock, serial)
        with store.reading() as connection:
            return verify(connection).seals


def _fill(store: Store, clock: Clock, serial: str) -> None:
    """Enter one sample of each kind, cross-checks, a correction and a strike."""
    names = {"airframe": f"VK71-{serial}", "operator": "operator"}
    with writing(store, "A. Example", clock) as log:
        books = {"airframe": log.open_book(Logbook.AIRFRAME, names["airframe"])}
        if serial == "1007":
            books["operator"] = log.open_book(Logbook.OPERATOR, "operator")
        made: dict[str, int] = {}
        first = ("operator", "airframe")
        for kind in sorted(KINDS, key=lambda kind: kind.name not in first):
            if kind.logbook.value not in books or kind.name == "swap":
                continue
            changes: dict[str, object] = {
                name: made[target] for name, target in NAMED.get(kind.name, {}).items()
            }
            if kind.name == "airframe":
                changes = {"serial_number": serial, "registration": f"QX-{serial}"}
            ref = log.append(books[kind.logbook.value], sample(kind.name, **changes))
            made[kind.name] = ref.entry
        book = books["airframe"]
        for minute in range(12):
            check = sample("crosscheck", taken_at=f"2027-03-12T02:{minute + 10}Z")
            made["crosscheck"] = log.append(book, check).entry
        check = sample("crosscheck", primary_1_ft=31020)
        log.append(book, check, supersedes=made["crosscheck"], reason="misread")
        log.strike(book, made["flight"], "entered twice")
        log.append(book, sample("crosscheck", taken_at="2027-03-12T02:40Z"))


def content(path: Path) -> tuple[Rows, ...]:
    """Read every row past the program; whatever cannot be read differs."""
    with closing(sqlite3.connect(path)) as lite:
        lite.text_factory = bytes
        return tuple(
            [
                tuple((type(value).__name__, value) for value in row)
                for row in lite.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall()  # noqa: S608 - our own names
            ]
            for table in ("logbook", "entry", *map(table_name, KINDS))
        )


def judge(path: Path, seals: tuple[Seal, ...], before: tuple[Rows, ...], *, guarded: bool) -> str:
    """Verify a changed log, alone and against the seals; say how it ended.

    Parameters
    ----------
    path : Path
        The log.
    seals : tuple of Seal
        As they were noted before.
    before : tuple of Rows
        What was in it.
    guarded : bool
        Whether its triggers are still there, so that their loss would tell.
    """
    url = store_url(str(path))
    try:
        with Store(make_engine(url), url) as store, store.reading() as connection:
            found = verify(connection)
            claims = [parse_claim(str(seal)) for seal in seals]
            answers = check_claims(connection, found, claims)
            guards = guard_faults(connection) if guarded else ()
    except StoreError:
        return FOUND
    if found.faults or guards:
        return FOUND
    if not all(answer.holds for answer in answers):
        return BY_SEAL
    return HARMLESS if content(path) == before else MISSED


def tamper(path: Path, way: str, rng: random.Random) -> None:
    """Change a log in one way."""
    if way == BYTES:
        damaged = bytearray(path.read_bytes())
        for _ in range(rng.choice((1, 1, 16))):
            damaged[rng.randrange(len(damaged))] ^= 1 << rng.randrange(8)
        path.write_bytes(damaged)
        return
    with closing(sqlite3.connect(path)) as lite, lite:
        lite.execute("PRAGMA ignore_check_constraints = ON")
        for (name,) in lite.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            lite.execute(f"DROP TRIGGER {name}")
        CHANGES[way](Log(lite, rng, path))


def run(tries: int, seed: int, folder: Path) -> Counts:
    """Make some changes, one after the other, each to a fresh copy.

    Parameters
    ----------
    tries : int
        How many changes that change something.
    seed : int
        Of the random numbers.
    folder : Path
        Where the copies are made.
    """
    rng, counts = random.Random(seed), Counts()
    pattern, path = folder / "pattern.sqlite3", folder / "log.sqlite3"
    seals = make_log(pattern)
    before = content(pattern)
    ways = (*CHANGES, BYTES)
    done = 0
    while done < tries:
        way = ways[done % len(ways)]
        shutil.copyfile(pattern, path)
        try:
            tamper(path, way, rng)
        except sqlite3.IntegrityError:
            continue  # a key refuses it, even past the triggers
        if way != BYTES and content(path) == before:
            continue  # nothing was changed after all
        outcome = judge(path, seals, before, guarded=way == BYTES)
        counts.add(way, outcome)
        done += 1
        if outcome == MISSED:
            counts.missed.append(f"{way} (try {done}, seed {seed})")
    return counts


def main(tries: int = 1000, seed: int = 20270314) -> int:
    """Run, and print the counts."""
    with tempfile.TemporaryDirectory(prefix="rvsmlog-tamper-", dir=MEMORY) as name:
        counts = run(tries, seed, Path(name))
    print(f"{'changed behind the program':28}{'tries':>7}", *(f"{each:>22}" for each in OUTCOMES))
    for way, counter in counts.by_way.items():
        cells = (f"{counter[each]:>22}" for each in OUTCOMES)
        print(f"{way:28}{sum(counter.values()):>7}", *cells)
    print(f"{'all':28}{tries:>7}", *(f"{counts.total(each):>22}" for each in OUTCOMES))
    for missed in counts.missed:
        print("missed:", missed)
    return 1 if counts.missed else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
