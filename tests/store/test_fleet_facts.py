"""A fleet read side by side: the same facts and verdicts as of each airframe read alone."""

import gc
import pickle
import random
from copy import deepcopy
from dataclasses import fields, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.answers.due import FallingDue, due_items
from rvsmlog.answers.fleet_board import board_rows
from rvsmlog.facts import Facts, Question
from rvsmlog.records.kinds import KIND
from rvsmlog.rules import RULES
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.importing.demo import demo
from rvsmlog.store.importing.drift_keeping import refresh_drift
from rvsmlog.store.reading.airframes import registrations
from rvsmlog.store.reading.books import OPERATOR, find_book
from rvsmlog.store.reading.facts_reader import read_facts
from rvsmlog.store.writing.checks import Asked, check
from rvsmlog.store.writing.fleet import each_airframe, each_facts, fleet_facts
from rvsmlog.store.writing.logbook import writing
from rvsmlog.verdict import judge
from tests.benchmarks import fleet_board

if TYPE_CHECKING:
    from tests.store.conftest import Log

AT = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)


def one_by_one(store: Store, at: datetime) -> list[Facts]:
    """Read each airframe alone."""
    with store.reading() as connection:
        found = []
        for _, name in registrations(connection):
            book = find_book(connection, name)
            assert book is not None
            found.append(read_facts(connection, book, Question(at=at)))
    return found


def random_fleet(store: Store, airframes: int, seed: int) -> None:
    """Fill a store with a fleet; correct and strike out entries of it by chance."""
    fleet_board.fill(store, airframes)
    rng = random.Random(seed)
    with writing(store, "A. Example", lambda: AT) as log:
        for number in range(airframes):
            book = find_book(log.connection, f"VK71-{1000 + number}")
            assert book is not None
            newest = log.newest(book)
            for entry in rng.sample(range(2, newest), 6):
                kind = log.connection.exec_driver_sql(
                    f"SELECT kind FROM entry WHERE logbook_id = {book.id} AND number = {entry}"  # noqa: S608 - whole numbers
                ).scalar_one()
                if kind == "crosscheck" and rng.random() < 0.5:
                    taken = f"2027-03-{rng.randint(1, 12):02}T03:00Z"
                    record = KIND[kind].parse(
                        {
                            "taken_at": taken,
                            "phase": rng.choice(["level", "hourly"]),
                            "primary_1_ft": "31000",
                            "primary_2_ft": str(31_000 + rng.choice([20, 240])),
                            "level": "310",
                        }
                    )
                    log.append(book, record, supersedes=entry, reason="read wrongly")
                else:
                    log.strike(book, entry, "entered twice")


@pytest.mark.parametrize(
    ("backend", "kept"),
    [
        ("sqlite", False),
        ("sqlite", True),
        pytest.param("postgresql", True, marks=pytest.mark.postgres),
    ],
)
def test_side_by_side_is_the_same_as_alone(
    store: Store, kept: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In several batches, with corrections, with and without what is kept of the drift."""
    monkeypatch.setattr("rvsmlog.store.reading.facts_reader.BATCH", 2)
    monkeypatch.setattr(fleet_board, "FLIGHTS", 7)
    monkeypatch.setattr(fleet_board, "READINGS", 70)
    random_fleet(store, 4, seed=7)
    if kept:
        for name in ("VK71-1000", "VK71-1003"):
            refresh_drift(store, name, AT)
        with writing(store, "A. Example", lambda: AT) as log:
            book = find_book(log.connection, "VK71-1003")
            assert book is not None
            log.append(book, next(fleet_board.flown(random.Random(3)))[1][0])
    alone = one_by_one(store, AT)
    together = fleet_facts(store, AT)
    assert len(alone) == 4
    for each, other in zip(alone, together, strict=True):
        assert each == other
    assert [judge(each) for each in alone] == [judge(each) for each in together]


def alike_apart(facts: Facts) -> None:
    """Ask each rule about a copy of its own, so that nothing kept for another one serves it."""
    packed = pickle.dumps(facts)  # read back sooner than a deep copy is made
    for rule in RULES:
        copied = pickle.loads(packed)  # noqa: S301 - our own bytes, packed above
        assert copied is not facts
        found = rule.findings(copied)
        assert found == rule.findings(facts)
        assert rule.limits(facts) == tuple(each for each in found if each.limits_level)


@pytest.mark.parametrize("backend", ["sqlite"])
@pytest.mark.parametrize("seed", [3, 4])
def test_the_board_says_what_check_and_due_list_say(
    store: Store, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Levels, reasons and what comes next, of a fleet judged together and of each by itself."""
    monkeypatch.setattr("rvsmlog.store.reading.facts_reader.BATCH", 3)
    random_fleet(store, 7, seed=seed)
    rows = board_rows(each_airframe(store, AT, AT), 3)
    assert len(rows) == 7
    assert len({row.highest_level for row in rows}) > 1
    glance = board_rows(each_airframe(store, AT, AT), 0)
    for row, seen in zip(rows, glance, strict=True):
        assert replace(seen, next_due=row.next_due, due=row.due) == row
        names = [field.name for field in fields(FallingDue)]
        assert [getattr(seen.next_due, name) for name in names] == [
            getattr(row.due[0], name) for name in names
        ]
    order = list(rows)
    random.Random(seed).shuffle(order)
    for row in order:
        made = check(store, Asked(registration=row.airframe, at=AT), AT)
        assert row.not_judged is None
        assert row.highest_level == made.verdict.highest_level
        assert row.set_by == tuple(dict.fromkeys(each.rule for each in made.verdict.limiting))
        (facts,) = fleet_facts(store, AT, row.airframe)
        assert list(row.due) == [each for each in due_items(facts) if not each.routine][:3]
        assert due_items(deepcopy(facts)) == due_items(facts)
        alike_apart(made.facts)


def test_the_demo_is_the_same_as_alone(demo_file: Path) -> None:
    """Every subject of the demo, and the levels of its board."""
    at = demo().at
    with open_store(demo_file) as store:
        alone, together = one_by_one(store, at), fleet_facts(store, at)
    assert list(together) == alone
    levels = {row.airframe: row.highest_level for row in board_rows(together) if row.pilot_judged}
    for each in alone:
        verdict = judge(each)
        assert levels.get(verdict.airframe, verdict.highest_level) == verdict.highest_level
        alike_apart(each)


def test_a_store_without_an_operator_or_an_airframe(log: "Log", store_url: str) -> None:
    """The healthy log has one airframe; a logbook without particulars is passed over."""
    with writing(log.store, "A. Example", lambda: AT) as writer:
        writer.open_book(KIND["airframe"].logbook, "VK71-9999")
    (facts,) = fleet_facts(log.store, AT)
    assert facts == one_by_one(log.store, AT)[0]
    assert [seal.logbook for seal in facts.seals] == ["VK71-1007", OPERATOR]


def test_the_benchmark_runs(capsys: pytest.CaptureFixture[str]) -> None:
    """A short run prints each way with its ratio to the floor."""
    fleet_board.main(["2"])
    lines = capsys.readouterr().out.splitlines()
    for line, way in zip(
        lines[1:],
        (
            *("filling", "rows by the driver alone", "no drift log", "facts read"),
            *("board, drift log kept", "what the next thing costs"),
        ),
        strict=True,
    ):
        assert way in line


@pytest.mark.parametrize("backend", ["sqlite"])
def test_what_is_let_go_is_gone(store: Store) -> None:
    """Reading and judging leave nothing to the collector of garbage, which rests meanwhile."""
    fleet_board.fill(store, 3)
    was_at_work = gc.isenabled()
    gc.disable()
    try:
        for _ in range(2):  # the first time fills what is kept
            gc.collect()
            rows = board_rows(each_airframe(store, AT, AT))
            items = [due_items(facts) for facts in each_facts(store, AT)]
            left = gc.collect()
    finally:
        if was_at_work:
            gc.enable()
    assert (len(rows), len(items), left) == (3, 3, 0)
