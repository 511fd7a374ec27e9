"""The comparisons a check reads: those beyond their level's tolerance, the newest of each sort."""

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rvsmlog.records.airframe import Airframe, tolerance_at
from rvsmlog.records.base import Logbook
from rvsmlog.records.flights import CrossCheck
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.reading.books import Book, find_book
from rvsmlog.store.reading.comparisons import exceedances, newest_crosschecks
from rvsmlog.store.reading.reader import view
from rvsmlog.store.writing.logbook import writing

NOW = datetime(2026, 11, 24, 8, tzinfo=UTC)
TABLE = ((50, 20), (290, 120), (350, 150))


def _airframe(table: tuple[tuple[int, int], ...] | None) -> Airframe:
    return Airframe(
        registration="QX-ABC",
        type_designator="VK71",
        serial_number="1",
        authority="us-91",
        rvsm_basis="group",
        type_certificate="after-1997-04-09",
        highest_level=350,
        primary_tolerance=table,
    )


def _reading(minute: int, difference_ft: int, level: int = 310, phase: str = "level") -> CrossCheck:
    ground = phase == "ground"
    return CrossCheck(
        taken_at=NOW - timedelta(days=400) + timedelta(minutes=minute),
        phase=phase,
        primary_1_ft=level * 100 if not ground else 500,
        primary_2_ft=(level * 100 if not ground else 500) - difference_ft,
        level=None if ground else level,
        field_elevation_ft=500 if ground else None,
        qnh_hpa=1013.0 if ground else None,
    )


@pytest.fixture
def store(sqlite_pattern: Path, tmp_path: Path) -> Store:
    """Give an empty store."""
    return open_store(str(shutil.copy(sqlite_pattern, tmp_path / "log.sqlite3")))


def _filled(store: Store, airframe: Airframe, readings: list[CrossCheck]) -> None:
    with writing(store, "tester", lambda: NOW) as log:
        book = log.open_book(Logbook.AIRFRAME, "VK71-1")
        log.append(book, airframe)
        for reading in readings:
            log.append(book, reading)


def _found(store: Store, airframe: Airframe) -> list[int]:
    with store.reading() as connection:
        book_view = view(connection, _book(store))
        return [
            each.record.difference_ft for each in exceedances(connection, book_view, NOW, airframe)
        ]


def _book(store: Store) -> Book:
    with store.reading() as connection:
        book = find_book(connection, "VK71-1")
    assert book is not None
    return book


@pytest.mark.parametrize("level", [30, 50, 100, 289, 290, 300, 349, 350, 360])
def test_each_level_has_its_own_tolerance(store: Store, level: int) -> None:
    """A difference is found beyond the tolerance that the rules use at its level, not at it."""
    airframe = _airframe(TABLE)
    limit = min(200, tolerance_at(TABLE, level))
    _filled(store, airframe, [_reading(0, limit, level), _reading(1, limit + 1, level)])
    assert _found(store, airframe) == [limit + 1]


def test_a_tight_row_hides_no_split(store: Store) -> None:
    """A split long ago is found behind hundreds of later differences within their own tolerance."""
    airframe = _airframe(TABLE)
    later = [_reading(minute, 40) for minute in range(1, 400)]
    _filled(store, airframe, [_reading(0, 260), *later])
    assert _found(store, airframe) == [260]


def test_the_newest_of_each_sort_is_read(store: Store) -> None:
    """A ground check older than the newest sixty comparisons is still read."""
    _filled(
        store,
        _airframe(None),
        [_reading(0, 10, phase="ground"), *(_reading(minute, 0) for minute in range(1, 100))],
    )
    with store.reading() as connection:
        found = newest_crosschecks(connection, view(connection, _book(store)), NOW)
    assert [each.record.phase for each in found] == ["ground"] + ["level"] * 60
