"""A damaged file may hold a value of another type than the store keeps there: it is damage."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import Connection

from rvsmlog.errors import StoreError
from rvsmlog.records.kinds import KIND
from rvsmlog.store.importing.csv_import import import_csv
from rvsmlog.store.reading.airframes import registrations
from rvsmlog.store.reading.books import OPERATOR, Book, books, first_made, newest_made, seal
from rvsmlog.store.reading.reader import view, views

if TYPE_CHECKING:
    from tests.store.conftest import Log

sqlite_only = pytest.mark.parametrize("backend", ["sqlite"])

#: What a command begins with.
BEGINS: tuple[Callable[[Connection], object], ...] = (
    books,
    registrations,
    lambda connection: [view(connection, book) for book in books(connection)],
    lambda connection: list(views(connection, books(connection))),
    lambda connection: [seal(connection, book) for book in books(connection)],
)
#: A column of text keeps a number as a text, so that only bytes are of another type there.
TEXTS = ("x'ff00'",)
NUMBERS = ("'text'", "x'ff00'", "2.5")


def read_all(log: "Log") -> list[str]:
    """Begin as commands do; give what is said of damage. Anything else that is raised gets out."""
    said = []
    for begin in BEGINS:
        try:
            with log.store.reading() as connection:
                begin(connection)
        except StoreError as error:
            said.append(error.message)
    return said


@sqlite_only
@pytest.mark.parametrize(
    ("where", "says", "others"),
    [
        ("UPDATE logbook SET uid = {} WHERE name = 'VK71-1007'", "a logbook reads", TEXTS),
        ("UPDATE logbook SET kind = {} WHERE name = 'VK71-1007'", "a logbook reads", TEXTS),
        ("UPDATE logbook SET name = {} WHERE name = 'VK71-1007'", "a logbook reads", TEXTS),
        ("UPDATE airframe_detail SET registration = {}", "bears the registration", TEXTS),
        (
            "UPDATE airframe_detail SET number = {} WHERE number <> 1",
            "the number of an entry is",
            NUMBERS,
        ),
        (
            "UPDATE entry SET supersedes = {} WHERE supersedes = 1",
            "the number of an entry is",
            NUMBERS,
        ),
        ("UPDATE entry SET number = {} WHERE supersedes = 1", "the number of an entry is", NUMBERS),
    ],
)
def test_a_value_of_another_type(
    log: "Log", where: str, says: str, others: tuple[str, ...]
) -> None:
    """Whatever reads it says that the store is damaged, and nothing else is raised."""
    log.add("crosscheck")
    log.correct(1, "airframe", highest_level="300")
    assert read_all(log) == []
    for other in others:
        log.tamper(where.format(other))
        said = read_all(log)
        assert all("the store is damaged" in each for each in said)
        assert any(says in each for each in said), (other, said)


@sqlite_only
@pytest.mark.parametrize(("supersedes", "sound"), [(1, True), (3, False), (4, False)])
def test_corrections_that_run_in_a_circle(log: "Log", supersedes: int, *, sound: bool) -> None:
    """An entry corrects an earlier one; what corrects itself or a later one would have no end."""
    log.add("crosscheck")
    number = log.correct(1, "airframe", highest_level="300")
    assert number == 3
    log.add("work")
    change = "UPDATE entry SET supersedes = {} WHERE number = 3 AND kind = 'airframe'"
    log.tamper(change.format(supersedes))
    said = read_all(log)
    assert (said == []) is sound
    book = next(each for each in _books(log) if each.name != OPERATOR)
    with log.store.reading() as connection:
        if sound:
            assert first_made(connection, book, 3)[0] == 1
            assert newest_made(connection, book, 1)[0] == 3
        else:
            with pytest.raises(StoreError, match=f"entry #3 corrects #{supersedes}"):
                first_made(connection, book, 3)
            with pytest.raises(StoreError, match=f"entry #3 corrects #{supersedes}"):
                newest_made(connection, book, supersedes)


def _books(log: "Log") -> tuple[Book, ...]:
    with log.store.reading() as connection:
        return books(connection)


@sqlite_only
@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("UPDATE work_detail SET description = x'ff00'", "damaged at VK71-1007#2"),
        ("UPDATE work_detail SET number = x'ff00'", "number of an entry is"),
        ("UPDATE crosscheck_detail SET number = 'text'", "number of an entry is"),
        ("UPDATE crosscheck_detail SET remarks = 9, mach = 'text'", "damaged: mach of an entry"),
    ],
)
def test_an_import_that_comes_upon_one_is_refused(
    log: "Log", tmp_path: Path, change: str, says: str
) -> None:
    """What rows of a file are held against is damage, and nothing is written."""
    log.add("work")
    log.add("crosscheck")
    log.tamper(change)
    kind = KIND[change.split()[1].removesuffix("_detail")]
    texts = dict(log.samples[kind.name])
    path = tmp_path / "rows.csv"
    path.write_text(f"{','.join(texts)}\n{','.join(texts.values())}\n", "utf-8")
    before = log.count()
    with pytest.raises(StoreError, match=says):
        import_csv(
            *(log.store, path, kind), by="A. Example", clock=log.clock, registration="QX-ABC"
        )
    assert log.count() == before


@sqlite_only
def test_a_removal_that_comes_upon_one_is_refused(log: "Log") -> None:
    """The number of an earlier removal is none: whether the unit was removed cannot be told."""
    unit = log.add("equipment")
    log.add("removal", equipment=str(unit))
    log.tamper("UPDATE removal_detail SET number = x'ff00'")
    with pytest.raises(StoreError, match="the number of an entry is"):
        log.add("removal", equipment=str(unit))
