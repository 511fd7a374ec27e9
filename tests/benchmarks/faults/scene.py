"""The stores that faults are let loose on: an invented operator and one or two aeroplanes."""

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cached_property
from pathlib import Path

from sqlalchemy import text

from rvsmlog.dates import now
from rvsmlog.facts import Seal
from rvsmlog.records.base import Logbook
from rvsmlog.records.kinds import KIND
from rvsmlog.store.connection import SCHEMA_REVISION, open_store, store_path, store_url
from rvsmlog.store.reading.books import books, seal
from rvsmlog.store.safekeeping.export import export_airframe, export_store
from rvsmlog.store.safekeeping.guards import missing_guards
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.safekeeping.verify import verify
from rvsmlog.store.writing.logbook import writing
from tests.store.freeze import REVISIONS, load

REG, BOOK = "QX-ABC", "VK71-1007"
#: Rows of a CSV file that is imported.
ROWS = 60
#: Schemas before the present one, of each of which there is a frozen store, and what is in those.
OLDER = tuple(each for each in REVISIONS if each < SCHEMA_REVISION)
OLD_REG, OLD_BOOK = "QX-ALD", "VK71-1012"
_HEADER = "taken_at,phase,primary_1_ft,primary_2_ft,level,remarks\n"
_OPERATOR = {"name": "Example Air", "time_zone": "UTC"}
_AIRFRAME = {
    "registration": REG,
    "type_designator": "VK71",
    "serial_number": "1007",
    "authority": "us-91",
    "rvsm_basis": "group",
    "type_certificate": "to-1997-04-09",
    "highest_level": "FL350",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What a store holds: its schema, its newest numbers and seals, and what is wrong with it."""

    revision: str
    newest: dict[str, int]
    seals: dict[str, str]
    faults: tuple[str, ...]

    @property
    def entries(self) -> int:
        """How many entries there are."""
        return sum(self.newest.values())


def state(where: str | Path) -> State:
    """Open a store as the next command would, verify every digest, and look through the file.

    One of an older schema is not verified, as no edition would that has a newer one: its newest
    digests are read.
    """
    faults: list[str] = []
    path = store_path(store_url(str(where)))
    with open_store(str(where), any_revision=True) as store, store.reading() as connection:
        revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one()
        seals: tuple[Seal, ...]
        if revision == SCHEMA_REVISION:
            found = verify(connection)
            faults += (*map(str, found.faults), *missing_guards(connection))
            seals = found.seals
        else:
            seals = tuple(seal(connection, book) for book in books(connection))
        if path is not None:
            rows = connection.execute(text("PRAGMA integrity_check"))
            faults += [row[0] for row in rows if row[0] != "ok"]
            rows = connection.execute(text("PRAGMA foreign_key_check"))
            faults += [f"no parent: {row}" for row in rows]
    return State(
        revision=str(revision),
        newest={each.logbook: each.entry for each in seals},
        seals={each.logbook: each.digest for each in seals},
        faults=tuple(faults),
    )


def parts(where: str | Path) -> list[str]:
    """Name what a store's schema is made of: tables, indexes, triggers, functions, columns."""
    lite = "SELECT type || ' ' || name || ' ' || coalesce(sql, '') FROM sqlite_master ORDER BY 1"
    here = "'public'::regnamespace"
    served = (
        f"SELECT relkind::text || ' ' || relname FROM pg_class WHERE relnamespace = {here} "  # noqa: S608 - our own words
        "UNION ALL SELECT 'trigger ' || tgname || ' ' || pg_get_triggerdef(oid) FROM pg_trigger "
        "WHERE NOT tgisinternal UNION ALL SELECT 'function ' || proname || prosrc FROM pg_proc "
        f"WHERE pronamespace = {here} UNION ALL SELECT 'column ' || attrelid::regclass::text || "
        "attname FROM pg_attribute a JOIN pg_class c ON c.oid = attrelid WHERE "
        f"relnamespace = {here} AND attnum > 0 ORDER BY 1"
    )
    with open_store(str(where), any_revision=True) as store, store.reading() as connection:
        return [row[0] for row in connection.execute(text(lite if store.is_sqlite else served))]


def remarks(where: str | Path) -> set[str]:
    """Read the remarks of all cross-checks."""
    with open_store(str(where), any_revision=True) as store, store.reading() as connection:
        return {row[0] for row in connection.execute(text("SELECT remarks FROM crosscheck_detail"))}


def hidden(folder: Path) -> list[str]:
    """Give the names of drafts and of their locks in a folder."""
    return sorted(each.name for each in folder.iterdir() if each.name.startswith("."))


def fill(where: str, checks: int) -> None:
    """Enter an operator, an aeroplane and some of its cross-checks into an empty store."""
    with open_store(where) as store, writing(store, "A. Example", now) as log:
        operator = log.open_book(Logbook.OPERATOR, "operator")
        log.append(operator, KIND["operator"].parse(_OPERATOR))
        book = log.open_book(Logbook.AIRFRAME, BOOK)
        log.append(book, KIND["airframe"].parse(_AIRFRAME))
        made = (KIND["crosscheck"].parse(crosscheck(each)) for each in range(checks))
        log.append_many(book, made)


def add_checks(where: str, first: int, last: int) -> None:
    """Enter more cross-checks."""
    from rvsmlog.store.reading.books import find_book

    with open_store(where) as store, writing(store, "A. Example", now) as log:
        book = find_book(log.connection, BOOK)
        assert book is not None
        each = (KIND["crosscheck"].parse(crosscheck(number)) for number in range(first, last))
        log.append_many(book, each)


def crosscheck(number: int, remark: str = "") -> dict[str, str]:
    """Give a cross-check as texts."""
    texts = dict(zip(_HEADER.strip().split(","), _row(number).split(","), strict=True))
    return {**texts, "remarks": remark or texts["remarks"]}


def _row(number: int) -> str:
    """Give a cross-check as a row of a CSV file."""
    day, minute = divmod(number, 24 * 60)
    taken_at = f"2020-{1 + day // 28:02}-{1 + day % 28:02}T{minute // 60:02}:{minute % 60:02}Z"
    return f"{taken_at},level,31000,{31000 + number % 50},310,row {number}"


def check_options(remark: str, number: int, reg: str = REG) -> tuple[str, ...]:
    """Give the command that logs one cross-check, each number at a minute of its own."""
    taken_at = (datetime(2021, 1, 1, tzinfo=UTC) + timedelta(minutes=number)).isoformat()
    return (
        *("crosscheck", "log", reg, "--taken-at", taken_at, "--phase", "level"),
        *("--level", "310", "--primary-1-ft", "31000", "--primary-2-ft", "31020"),
        *("--remarks", remark),
    )


def write_rows(path: Path, numbers: Iterable[int], *, bad: bool = False) -> Path:
    """Write a CSV file of cross-checks, with a bad row at its end where that is wanted."""
    rows = "".join(f"{_row(number)}\n" for number in numbers)
    path.write_text(_HEADER + rows + ("2020-12-01T10:00Z,level,x,y,310,bad\n" if bad else ""))
    return path


@dataclass
class Scene:
    """A folder on a real disk with stores to begin from.

    Parameters
    ----------
    folder : Path
        An empty folder.
    fresh : callable
        Gives a store on a server, as :meth:`store` has them; None for stores in files.
    """

    folder: Path
    fresh: Callable[[str], str] | None = None
    lasting: str | None = None
    tries: int = field(default=0)

    def next_number(self) -> int:
        """Count one try that has no folder of its own."""
        self.tries += 1
        return self.tries

    def new_folder(self) -> Path:
        """Give an empty folder for one try; that of the try before is removed."""
        shutil.rmtree(self.folder / f"try{self.tries}", ignore_errors=True)
        self.tries += 1
        place = self.folder / f"try{self.tries}"
        place.mkdir()
        return place

    def store(self, place: Path, which: str) -> str:
        """Give a store of one's own: ``empty``, ``half``, ``whole``, or that of an old schema."""
        if self.fresh is not None:
            return self.fresh(which)
        where = str(place / "log.sqlite3")
        if which in OLDER:
            load(which, Path(where))
            return where
        shutil.copyfile(self.patterns / f"{which}.sqlite3", where)
        return where

    @cached_property
    def patterns(self) -> Path:
        """The folder of stores to copy, and of their exports."""
        place = self.folder / "patterns"
        place.mkdir()
        for which, checks in (("empty", 0), ("half", ROWS), ("whole", ROWS)):
            path = place / f"{which}.sqlite3"
            if which == "whole":
                shutil.copyfile(place / "half.sqlite3", path)
                add_checks(str(path), ROWS, 4 * ROWS)
            else:
                create_store(str(path)).close()
            if which == "half":
                fill(str(path), checks)
            _one_file(path)
            with open_store(str(path)) as store:
                export_store(store, place / f"{which}.jsonl.gz")
                if checks:
                    export_airframe(store, REG, place / f"{which}-airframe.jsonl.gz")
        return place


def _one_file(path: Path) -> None:
    """Bring what stands in the log beside a store into its file."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    for beside in ("-wal", "-shm"):
        Path(f"{path}{beside}").unlink(missing_ok=True)
    os.sync()
