"""Freezes a small store of the present schema revision, for the test of its upgrade.

``python -m tests.store.freeze`` writes ``NNNN.sql.gz`` into ``tests/store/frozen``, the store as
statements, and ``NNNN.json.gz``, what this edition said of it: seals, checks, and checks repeated.
It is run once, by the last edition that has that revision; what stands there already is never
written anew.

The store is part of the demo's files, in which everything is invented, and a story after them:
corrections of several kinds, strikes, work with its tests, checks that were kept.
"""

import csv
import gzip
import json
import sqlite3
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from rvsmlog.dates import parse_instant
from rvsmlog.records.kinds import KIND
from rvsmlog.reports.verdict_json import verdict_object
from rvsmlog.rules import RULES
from rvsmlog.rules.base import Rule
from rvsmlog.store.connection import SCHEMA_REVISION, Store, make_engine, open_store, store_url
from rvsmlog.store.importing.csv_import import import_csv
from rvsmlog.store.importing.demo import demo
from rvsmlog.store.safekeeping.schema import create_store, migrate
from rvsmlog.store.safekeeping.verify import verify
from rvsmlog.store.writing.checks import Asked, check, check_and_record
from rvsmlog.store.writing.recording import record_entry, strike_entry
from rvsmlog.verdict import judge

#: Where the frozen stores stand.
FROZEN = Path(__file__).parent / "frozen"
#: The revisions of which there is one.
REVISIONS = sorted(path.name.partition(".")[0] for path in FROZEN.glob("*.sql.gz"))
#: Kinds that come by the hundred: rows of the last weeks are enough.
_MANY = {"crosscheck": "taken_at", "flight": "off_at", "oxygen-reading": "checked_at"}
_SINCE = "2026-10-25"
#: What is kept of an answer, and of each finding: all but the wording.
_ANSWER = ("verdict", "planned_level", "highest_level", "at", "seal", "rulebook", "repeats")
_FINDING = ("rule", "outcome", "highest_level", "margin", "evidence")
_FLEET = ("QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN", "QX-ESK")


@dataclass
class _Clock:
    """A clock that goes on by a minute each time it is read."""

    now: datetime

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now


class Story:
    """Fills a store; everything it does is a call that a command makes."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.clock = _Clock(parse_instant("2026-11-24T09:00Z"))

    def records(self, kind: str, reg: str | None, by: str = "Ilse Vorrand", **texts: str) -> int:
        """Record one entry, and give its number."""
        ref, _ = record_entry(
            self.store, KIND[kind], texts, by=by, clock=self.clock, registration=reg
        )
        return ref.entry

    def corrects(self, number: int, kind: str, reg: str | None, reason: str, **texts: str) -> int:
        """Correct an entry, and give the number of the correction."""
        ref, _ = record_entry(
            self.store,
            KIND[kind],
            texts,
            by="M. Olquist",
            clock=self.clock,
            registration=reg,
            supersedes=number,
            reason=reason,
        )
        return ref.entry

    def strikes(self, number: int, reg: str | None, reason: str) -> None:
        """Strike an entry out."""
        strike_entry(self.store, reg, number, reason, by="M. Olquist", clock=self.clock)

    def asks(self, reg: str, at: str, **more: Any) -> None:
        """Make a check and keep it."""
        asked = Asked(registration=reg, at=parse_instant(at), level=310, pilot="IVO", **more)
        check_and_record(self.store, asked, by="Ilse Vorrand", clock=self.clock)


def fill(store: Store, folder: Path) -> None:
    """Import part of the demo's files, then tell the story."""
    story = Story(store)
    for name, kind in demo().files:
        path = _part(Path("sample_data") / name, kind, folder)
        made = import_csv(store, path, KIND[kind], by="A. Quill", clock=story.clock)
        assert not made.bad, made.bad
    _tell(story)


def _part(path: Path, kind: str, folder: Path) -> Path:
    """Leave the older of the many rows out."""
    if kind not in _MANY:
        return path
    with path.open(newline="", encoding="utf-8") as handle:
        rows = list(csv.DictReader(handle))
    target = folder / path.name
    with target.open("w", newline="", encoding="utf-8") as handle:
        writer = csv.DictWriter(handle, rows[0].keys())
        writer.writeheader()
        writer.writerows(row for row in rows if row[_MANY[kind]] >= _SINCE)
    return target


def _tell(story: Story) -> None:
    """Make checks, corrections, strikes, and work with what it calls for."""
    story.asks("QX-ALD", "2026-11-24T10:00Z")
    story.asks("QX-BRE", "2026-11-24T10:00Z")
    _fly(story)
    _mend(story)
    _correct_papers(story)
    story.asks("QX-ESK", "2026-11-24T15:00Z", region="CAR")


def _fly(story: Story) -> None:
    """Make a flight with readings that are corrected, and one that is struck out."""
    flight = {
        "off_at": "2026-11-24T11:00Z",
        "on_at": "2026-11-24T12:31Z",
        "pilot": "IVO",
        "highest_level": "300",
        "rvsm_from": "2026-11-24T11:24Z",
        "rvsm_to": "2026-11-24T12:10Z",
    }
    story.clock.now = parse_instant("2026-11-24T13:00Z")
    story.records("flight", "QX-ALD", **flight)
    seen = {"phase": "level", "level": "300", "primary_1_ft": "30000", "standby_ft": "30110"}
    split = story.records(
        "crosscheck", "QX-ALD", taken_at="2026-11-24T11:30Z", primary_2_ft="30260", **seen
    )
    story.asks("QX-ALD", "2026-11-24T13:30Z")
    first = story.corrects(split, "crosscheck", "QX-ALD", "digit slip", primary_2_ft="30060")
    story.corrects(first, "crosscheck", "QX-ALD", "and the other", standby_ft="30120")
    double = story.records(
        "crosscheck", "QX-ALD", taken_at="2026-11-24T11:31Z", primary_2_ft="30060", **seen
    )
    story.strikes(double, "QX-ALD", "entered twice")
    story.asks("QX-ALD", "2026-11-24T13:45Z")


def _mend(story: Story) -> None:
    """Make a defect that is deferred, then rectified."""
    found = story.records(
        "defect",
        "QX-ALD",
        found_at="2026-11-24T12:00Z",
        function="altitude-alerter",
        description="no aural alert",
    )
    story.records(
        "deferral",
        "QX-ALD",
        by="M. Olquist",
        defect=str(found),
        category="C",
        mel_reference="34-11-01",
        deferred_on="2026-11-24",
        highest_level="280",
    )
    story.asks("QX-ALD", "2026-11-24T14:00Z")
    work = {"done_at": "2026-11-24T13:05Z", "work_done": "alerter exchanged", "reference": "W-1"}
    story.records(
        "rectification",
        "QX-ALD",
        by="P. Dravenholt",
        defect=str(found),
        released_by="P. Dravenholt",
        licence="invented 1",
        **work,
    )


def _correct_papers(story: Story) -> None:
    """Make a test that is corrected, and training that is struck out."""
    paper = story.records(
        "test",
        "QX-DAN",
        by="P. Dravenholt",
        test="altimeter-static",
        position="2",
        done_on="2026-02-20",
        passed="yes",
        tested_altitude_ft="35000",
    )
    story.corrects(paper, "test", "QX-DAN", "misread", tested_altitude_ft="31000")
    late = story.records(
        "knowledge", None, pilot="IVO", completed_on="2026-11-01", training="recurrent"
    )
    story.strikes(late, None, "another pilot's")


def said(store: Store) -> Mapping[str, Any]:
    """Give what this edition says of a store."""
    with store.reading() as connection:
        found = verify(connection)
        assert found.faults == ()
        kept = connection.exec_driver_sql(
            "SELECT b.name, d.number FROM gonogo_detail d JOIN logbook b ON b.id = d.logbook_id "
            "ORDER BY b.name, d.number"
        ).all()
        rows = connection.exec_driver_sql(
            "SELECT b.name, d.registration FROM airframe_detail d "
            "JOIN logbook b ON b.id = d.logbook_id ORDER BY d.number"
        ).all()
    borne = {str(row[0]): str(row[1]) for row in rows}
    asked: list[Mapping[str, Any]] = [
        *({"registration": reg, "at": "2026-11-25T08:00Z", "level": 310} for reg in _FLEET),
        *({"registration": borne[name], "as_of": str(number)} for name, number in kept),
        *({"registration": reg, "as_of": "2026-11-24T13:02:30Z", "level": 310} for reg in _FLEET),
    ]
    return {
        "entries": found.entries,
        "seals": [f"{each.logbook}#{each.entry}:{each.digest}" for each in found.seals],
        "checks": [{"asked": each, "answer": answer(store, each)} for each in asked],
    }


def answer(store: Store, asked: Mapping[str, Any], rules: tuple[Rule, ...] = RULES) -> Any:
    """Make a check without keeping it, and give what the answer rests on, as JSON has it."""
    texts = dict(asked)
    at = texts.pop("at", None)
    question = Asked(at=None if at is None else parse_instant(at), **texts)
    made = check(store, question, parse_instant("2026-11-25T08:00Z"))
    made = replace(made, verdict=judge(made.facts, rules))
    whole = json.loads(json.dumps(verdict_object(made), default=str))
    kept = {name: whole[name] for name in _ANSWER}
    found = [{name: finding[name] for name in _FINDING} for finding in whole["findings"]]
    return {**kept, "findings": found}


def _statements(path: Path) -> Iterator[str]:
    """Give a store as statements; those that make it skip the triggers till the end."""
    with closing(sqlite3.connect(path)) as connection:
        yield from connection.iterdump()


def load(revision: str, path: Path) -> None:
    """Make the frozen store of a revision anew, as a file."""
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(gzip.decompress(frozen_bytes(revision, "sql")).decode())


def frozen_bytes(revision: str, sort: str) -> bytes:
    """Give a frozen store, or what was said of it, as it stands in its file."""
    return (FROZEN / f"{revision}.{sort}.gz").read_bytes()


def onto_server(revision: str, path: Path, where: str) -> None:
    """Make the same store on a server: its schema by the migrations, its rows one to one."""
    url = store_url(where)
    with (
        Store(make_engine(url), url) as store,
        store.changing() as target,
        closing(sqlite3.connect(path)) as source,
    ):
        migrate(target, revision)
        tables = [
            row[0]
            for row in source.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name <> "
                "'alembic_version' ORDER BY name NOT IN ('logbook'), name NOT IN ('entry'), name"
            )
        ]
        for table in tables:
            found = source.execute(f"SELECT * FROM {table}")  # noqa: S608 - the store's own names
            names = [column[0] for column in found.description]
            marks = ", ".join("%s" for _ in names)
            statement = f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})"  # noqa: S608 - our own names
            # In the order of the numbers, as they were made.
            rows = sorted(found.fetchall())
            if rows:
                target.exec_driver_sql(statement, rows)


def main() -> None:
    """Freeze a store of the present revision."""
    target = FROZEN / f"{SCHEMA_REVISION}.sql.gz"
    if target.exists():
        sys.exit(f"{target} is frozen already")
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "log.sqlite3"
        create_store(str(path)).close()
        with open_store(str(path)) as store:
            fill(store, Path(name))
            answers = said(store)
        dump = "\n".join(_statements(path))
    target.write_bytes(gzip.compress(dump.encode(), mtime=0))
    told = json.dumps(answers, indent=1, ensure_ascii=False) + "\n"
    target.with_name(f"{SCHEMA_REVISION}.json.gz").write_bytes(
        gzip.compress(told.encode(), mtime=0)
    )


if __name__ == "__main__":
    main()
