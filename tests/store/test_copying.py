"""A whole store goes from database to database and back, with the same seals, or not at all."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import InputError, StoreError
from rvsmlog.records.base import Logbook, Record
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.reading.books import OPERATOR
from rvsmlog.store.safekeeping.copying import copy_store
from rvsmlog.store.safekeeping.export import export_store
from rvsmlog.store.safekeeping.schema import open_or_create
from rvsmlog.store.writing.logbook import writing

if TYPE_CHECKING:
    from tests.store.conftest import Clock, Log

BOOK = "VK71-2001"


@pytest.fixture
def full(
    sqlite_pattern: Path, folder: Path, clock: "Clock", sample: Callable[..., Record]
) -> Iterator[Store]:
    """Give a store with an operator, an airframe, a reference, a correction and a strike."""
    path = folder / "full.sqlite3"
    shutil.copyfile(sqlite_pattern, path)
    with open_store(str(path)) as store:
        with writing(store, "B. Example", clock) as log:
            log.append(log.open_book(Logbook.OPERATOR, OPERATOR), sample("operator"))
            book = log.open_book(Logbook.AIRFRAME, BOOK)
            log.append(book, sample("airframe", serial_number="2001"))
            log.append_many(book, [sample("equipment"), sample("removal", equipment=2)])
            log.append(book, sample("equipment", fitted_on="2026-05-02"), supersedes=2, reason="x")
            log.strike(book, 3, "not done")
        yield store


def test_there_and_back(full: Store, store: Store, tmp_path: Path, clock: "Clock") -> None:
    """From a file into either database, and into a new file: the same bytes when exported."""
    copy_store(full, store, by="C. Example", clock=clock)
    with open_or_create(str(tmp_path / "back.sqlite3")) as back:
        taken = copy_store(store, back, by="C. Example", clock=clock)
        assert [(each.logbook, each.added) for each in taken] == [("operator", 1), (BOOK, 5)]
        first = export_store(full, tmp_path / "first.jsonl").file
        last = export_store(back, tmp_path / "last.jsonl").file
        assert first.read_bytes() == last.read_bytes()


def test_into_a_store_that_holds_something(full: Store, log: "Log", clock: "Clock") -> None:
    """What is there already is never mixed with another store."""
    before = log.count()
    with pytest.raises(InputError, match="holds the logbook operator already"):
        copy_store(full, log.store, by="C. Example", clock=clock)
    assert log.count() == before


def test_a_store_that_was_changed_is_not_copied(log: "Log", tmp_path: Path, clock: "Clock") -> None:
    """An entry changed behind the program's back is named, and nothing is left at the target."""
    log.add("equipment")
    log.tamper("UPDATE equipment_detail SET fitted_on = '2026-05-03'")
    with open_or_create(str(tmp_path / "new.sqlite3")) as new:
        with pytest.raises(StoreError, match="not copied: VK71-1007#2 was changed"):
            copy_store(log.store, new, by="C. Example", clock=clock)
        assert export_store(new, tmp_path / "empty.jsonl").entries == 0


def test_made_where_there_is_none_only(tmp_path: Path) -> None:
    """What stands at the place and is no store is left alone."""
    (tmp_path / "notes").write_text("mine", encoding="utf-8")
    with pytest.raises(StoreError):
        open_or_create(str(tmp_path / "notes"))
    assert (tmp_path / "notes").read_text(encoding="utf-8") == "mine"
    open_or_create(str(tmp_path / "new.sqlite3")).close()
    open_or_create(str(tmp_path / "new.sqlite3")).close()
