"""What a check asks of the database costs the same however many readings there are."""

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event, text

from rvsmlog.records.base import Logbook, Record
from rvsmlog.records.flights import CrossCheck
from rvsmlog.store.connection import Store
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.writing.checks import Asked, check_and_record
from rvsmlog.store.writing.logbook import writing

START = datetime(2026, 1, 1, 9, tzinfo=UTC)
NOW = START + timedelta(days=60)
ASKED = Asked(registration="QX-ABC", at=NOW, level=310)
#: Tables that grow with every flight.
GROWING = ("entry", "crosscheck_detail", "flight_detail")
#: A step that reads a whole logbook: every row, or every number up to the newest.
_ALL = re.compile(r"^SCAN|PRIMARY KEY \(logbook_id=\?( AND number<\?)?\)")
#: The newest entry is one seek to the end of the key.
_NEWEST = re.compile(r"^SELECT max\(number\)|ORDER BY (entry\.)?number DESC\s+LIMIT", re.IGNORECASE)


@pytest.fixture
def store(tmp_path: Path, sample: Callable[..., Record]) -> Store:
    """Give a store with one airframe that was checked before."""
    made = create_store(str(tmp_path / "log.sqlite3"))
    with writing(made, "tester", lambda: START) as log:
        book = log.open_book(Logbook.AIRFRAME, "VK71-1007")
        log.append(book, sample("airframe", type_designator="VK71", serial_number="1007"))
        log.append_many(book, (reading(day) for day in range(40)))
    check_and_record(made, ASKED, by="tester", clock=lambda: NOW)
    return made


def reading(day: int) -> CrossCheck:
    """Give a comparison of a day before the question."""
    return CrossCheck(
        taken_at=START - timedelta(days=50 - day),
        phase="level",
        primary_1_ft=31000,
        primary_2_ft=31000,
        level=310,
    )


def table_of(statement: str, alias: str) -> str:
    """Give the table that a step of a plan names by its alias."""
    found = re.search(rf"(?:FROM|JOIN) (\w+) {alias}\b", statement)
    return found[1] if found else alias


def whole_reads(store: Store, statement: str, parameters: Any) -> list[str]:
    """Give the steps of a statement's plan that read a whole growing table."""
    if _NEWEST.search(statement):
        return []
    with store.engine.connect() as connection:
        plan = connection.exec_driver_sql("EXPLAIN QUERY PLAN " + statement, parameters).all()
    steps = [row[3] for row in plan]
    return [
        f"{step}: {statement[:80]}"
        for step in steps
        if _ALL.search(step) and table_of(statement, step.split()[1]) in GROWING
    ]


def test_no_statement_of_a_check_reads_a_growing_table_through(store: Store) -> None:
    """Each goes by an index that ends where what it wants ends."""
    asked: list[tuple[str, Any]] = []

    def note(_connection: Any, _cursor: Any, statement: str, parameters: Any, *_: Any) -> None:
        if statement.lstrip().startswith("SELECT"):
            asked.append((statement, parameters))

    event.listen(store.engine, "before_cursor_execute", note)
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    event.remove(store.engine, "before_cursor_execute", note)
    assert len(asked) > 20
    found = [step for each in asked for step in whole_reads(store, *each)]
    assert found == []


def test_the_look_at_plans_finds_a_whole_read(store: Store) -> None:
    """The check itself can fail."""
    bad = "SELECT supersedes FROM entry WHERE logbook_id = 1 AND supersedes IS NOT NULL "
    assert whole_reads(store, bad + "AND number <= 5", ()) != []
    assert whole_reads(store, bad + "AND +number <= 5", ()) == []
    assert whole_reads(store, "SELECT * FROM crosscheck_detail", ()) != []
    with store.reading() as connection:
        assert connection.execute(text("SELECT count(*) FROM entry")).scalar_one() > 40
