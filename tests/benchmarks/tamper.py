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
import sys
import tempfile
from collections import Counter
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from rvsmlog.errors import StoreError
from rvsmlog.facts import Seal
from rvsmlog.records.base import Logbook
from rvsmlog.records.kinds import KINDS
from rvsmlog.store.connection import Store, make_engine, open_store, store_url
from rvsmlog.store.safekeeping.guards import guard_faults
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.safekeeping.seals import check_claims, parse_claim
from rvsmlog.store.safekeeping.verify import verify
from rvsmlog.store.tables import table_name
from rvsmlog.store.writing.logbook import writing
from tests.benchmarks.tamper_ways import CHANGES, Log, Rows
from tests.store.conftest import MEMORY, Clock
from tests.store.samples import sample

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
