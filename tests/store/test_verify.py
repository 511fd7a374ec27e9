"""Verification: whatever is changed behind the program's back, it names logbook and entry."""
# ruff: noqa: S608 - the statements are the tests' own, with names from the record kinds

import shutil
from pathlib import Path

import pytest
from sqlalchemy import text

from rvsmlog.records.base import RecordKind
from rvsmlog.records.fields import Storage
from rvsmlog.records.kinds import KINDS
from rvsmlog.store.connection import open_store
from rvsmlog.store.encoding import Head, next_digest
from rvsmlog.store.safekeeping.verify import BookWalk, verify
from rvsmlog.store.tables import table_name
from tests.store.conftest import Clock, Log

BOOK = "VK71-1007"
NAMED = {
    "removal": {"equipment": "equipment"},
    "swap": {"unit": "equipment", "other": "other equipment"},
    "deferral": {"defect": "defect"},
    "extension": {"deferral": "deferral"},
    "rectification": {"defect": "defect"},
    "review": {"subject": "defect"},
    "withdrawal": {"approval": "approval"},
    "test-readings": {"test": "test"},
    "closure": {"deviation": "deviation"},
}


def fill(log: Log) -> dict[str, int]:
    """Add an entry of every kind, a correction and a strike; give the number of each kind."""
    numbers = {"operator": 1, "airframe": 1}
    for kind in KINDS:
        if kind.name not in numbers:
            named = {name: numbers[target] for name, target in NAMED.get(kind.name, {}).items()}
            numbers[kind.name] = log.add(kind.name, **named)
        if kind.name == "equipment":
            numbers["other equipment"] = log.add("equipment", position="2")
    numbers["correction"] = log.correct(
        numbers["crosscheck"], "crosscheck", mach="0.5", remarks="seen again"
    )
    numbers["strike"] = log.strike(numbers["flight"])
    return numbers


@pytest.fixture(scope="module")
def filled(
    log_pattern: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, dict[str, int]]:
    """Give the file of such a log, to be copied, and the numbers."""
    path = Path(shutil.copy(log_pattern, tmp_path_factory.mktemp("filled") / "log.sqlite3"))
    with open_store(path) as store:
        return path, fill(Log(store, Clock()))


@pytest.fixture
def full(log: Log, request: pytest.FixtureRequest) -> dict[str, int]:
    """Give the numbers of the entries of every kind, of a correction and a strike in the log."""
    if log.store.path is None:
        return fill(log)
    path, numbers = request.getfixturevalue("filled")
    shutil.copyfile(path, log.store.path)
    return dict(numbers)


def other(storage: Storage, column: str) -> str:
    """Write an SQL expression for another value of the same type."""
    if storage is Storage.TEXT:
        return f"coalesce({column}, '') || 'x'"
    return f"coalesce({column}, 0) + " + ("1" if storage is Storage.INTEGER else "0.001")


def test_untouched_store_has_no_faults(log: Log, full: dict[str, int]) -> None:
    """Every kind of entry verifies, and every entry is counted."""
    told: list[int] = []
    with log.store.reading() as connection:
        found = verify(connection, told.append)
    assert found.faults == ()
    assert found.entries == log.count()
    assert [(each.logbook, each.entry) for each in found.seals] == [
        ("operator", full["route-profile"]),
        (BOOK, full["strike"]),
    ]


def set_field(kind: RecordKind, index: int, number: int, *, absent: bool) -> str | None:
    """Write the UPDATE of one field of an entry; None where there is none to be made."""
    if index >= len(kind.fields):
        return None
    spec = kind.fields[index]
    if absent and spec.required:
        return None
    value = "NULL" if absent else other(spec.type.storage, spec.name)
    where = f"number = {number}" + (f" AND {spec.name} IS NOT NULL" if absent else "")
    return f"UPDATE {table_name(kind)} SET {spec.name} = {value} WHERE {where}"


@pytest.mark.parametrize("absent", [False, True])
@pytest.mark.parametrize("backend", ["sqlite"])
def test_every_field_of_every_kind_is_sealed(log: Log, full: dict[str, int], absent: bool) -> None:
    """A change of any one field, from absent too, or to absent, is found at its entry.

    The first field of every kind is changed at once, then the second, and so on.
    """
    places = {kind.name: (log.book(kind.name).name, full[kind.name]) for kind in KINDS}
    for index in range(max(len(kind.fields) for kind in KINDS)):
        with log.behind() as connection:
            expected = set()
            for kind in KINDS:
                update = set_field(kind, index, full[kind.name], absent=absent)
                if update is not None and connection.execute(text(update)).rowcount:
                    expected.add(places[kind.name])
            faults = [(fault.logbook, fault.entry) for fault in verify(connection).faults]
            connection.rollback()
        assert len(faults) == len(expected)
        assert set(faults) == expected


HEADS = {
    "kind": "'defect'",
    "recorded_by": "recorded_by || ' '",
    "recorded_at": "recorded_at + 1",
    "reason": "'another'",
    "supersedes": "supersedes - 2",
    "digest": "''",
}


@pytest.mark.parametrize("column", HEADS)
@pytest.mark.parametrize("backend", ["sqlite"])
def test_every_part_of_an_entry_is_sealed(log: Log, full: dict[str, int], column: str) -> None:
    """A change of kind, author, time, reason, what is corrected, or the digest is found."""
    number = full["correction"]
    log.tamper(f"UPDATE entry SET {column} = {HEADS[column]} WHERE number = {number}")
    found = log.faults()
    assert found[0] == (BOOK, number)
    assert {entry for _, entry in found} <= {number, number + 1}


@pytest.mark.parametrize("column", ["name", "uid"])
def test_a_logbook_renamed_breaks_at_its_first_entry(log: Log, column: str) -> None:
    """Name and uid are part of the logbook's start."""
    log.add("crosscheck")
    log.tamper(f"UPDATE logbook SET {column} = 'other' WHERE id = 2")
    assert [entry for _, entry in log.faults()] == [1]


def test_an_entry_removed_leaves_a_gap(log: Log, full: dict[str, int]) -> None:
    """Where an entry was taken out, the next one is named: gap, and broken chain."""
    number = full["work"]
    log.tamper(
        f"DELETE FROM work_detail WHERE number = {number}",
        f"DELETE FROM entry WHERE logbook_id = 2 AND number = {number}",
    )
    says = [fault.says for fault in log.verify().faults]
    assert log.faults() == [(BOOK, number + 1)] * 2
    assert says[0] == f"follows a gap: #{number} missing"


def test_the_first_entries_removed_leave_a_gap(log: Log, full: dict[str, int]) -> None:
    """A logbook that begins with a later number is found out."""
    log.tamper(
        "DELETE FROM equipment_detail",
        "DELETE FROM airframe_detail",
        "DELETE FROM entry WHERE logbook_id = 2 AND number < 3",
    )
    fault = log.verify().faults[0]
    assert (fault.entry, fault.says) == (3, "follows a gap: #1-#2 missing")


def test_numbers_closed_up_after_a_removal_break_the_chain(log: Log) -> None:
    """Renumbering what follows a removed entry hides no removal."""
    for minute in range(4):
        log.add("crosscheck", taken_at=f"2027-03-12T02:0{minute}Z")
    log.tamper(
        "DELETE FROM crosscheck_detail WHERE number = 3",
        "DELETE FROM entry WHERE logbook_id = 2 AND number = 3",
        "UPDATE crosscheck_detail SET number = 3 WHERE number = 4",
        "UPDATE entry SET number = 3 WHERE logbook_id = 2 AND number = 4",
        "UPDATE crosscheck_detail SET number = 4 WHERE number = 5",
        "UPDATE entry SET number = 4 WHERE logbook_id = 2 AND number = 5",
    )
    assert log.faults() == [(BOOK, 3), (BOOK, 4)]


def test_details_of_two_entries_swapped(log: Log) -> None:
    """Two entries whose details changed places are both named."""
    log.add("crosscheck")
    log.add("crosscheck", taken_at="2027-03-12T02:30Z")
    log.tamper(
        "UPDATE crosscheck_detail SET number = 99 WHERE number = 2",
        "UPDATE crosscheck_detail SET number = 2 WHERE number = 3",
        "UPDATE crosscheck_detail SET number = 3 WHERE number = 99",
    )
    assert log.faults() == [(BOOK, 2), (BOOK, 3)]


def test_an_entry_slipped_in_is_found(log: Log) -> None:
    """An entry added past the program has no digest of the chain."""
    log.tamper(
        "INSERT INTO entry VALUES (2, 2, 'strike', 1804991400000001, 'X', 1, 'why', '')",
    )
    assert log.faults() == [(BOOK, 2)]


def test_time_that_runs_back_is_found(log: Log) -> None:
    """An entry made before the one before it is a fault, even when its digest is right."""
    (before,) = [seal for seal in log.verify().seals if seal.logbook == BOOK]
    head = Head(number=2, kind="strike", recorded_at=5, recorded_by="X", supersedes=1, reason="w")
    digest = next_digest(bytes.fromhex(before.digest), head, {}).hex()
    value = f"x'{digest}'" if log.store.is_sqlite else f"'\\x{digest}'"
    log.tamper(f"INSERT INTO entry VALUES (2, 2, 'strike', 5, 'X', 1, 'w', {value})")
    says = [(fault.entry, fault.says) for fault in log.verify().faults]
    assert says == [(2, "was made before the entry before it")]


def test_lost_and_stray_details(log: Log, full: dict[str, int]) -> None:
    """An entry without its details and details without their entry are both named."""
    number = full["test"]
    log.tamper(
        f"UPDATE test_detail SET number = 999 WHERE number = {number}",
        f"INSERT INTO removal_detail (logbook_id, number, equipment, removed_on) "
        f"VALUES (2, {number}, 2, '2027-01-01')",
        "INSERT INTO removal_detail (logbook_id, number, equipment, removed_on) "
        "VALUES (77, 5, 2, '2027-01-01')",
    )
    says = {(fault.logbook, fault.entry): fault.says for fault in log.verify().faults}
    assert set(says) == {(BOOK, number), (BOOK, 999), ("logbook 77", 5)}
    assert "no such logbook" in says["logbook 77", 5]


def test_entries_of_no_logbook_are_found(log: Log) -> None:
    """A logbook removed from under its entries is found."""
    log.tamper("DELETE FROM logbook WHERE id = 2")
    assert ("logbook 2", 1) in log.faults()


def test_unknown_kind_is_found(log: Log) -> None:
    """An entry of a kind that the program does not know is a fault, not an error."""
    log.tamper("UPDATE entry SET kind = 'weather' WHERE logbook_id = 2")
    assert next(fault.says for fault in log.verify().faults) == "is of an unknown kind 'weather'"


ODD = (
    "UPDATE entry SET recorded_at = 'noon' WHERE logbook_id = 2",
    "UPDATE entry SET recorded_by = x'00ff' WHERE logbook_id = 2",
    "UPDATE entry SET digest = 5 WHERE logbook_id = 2",
    "UPDATE entry SET digest = 'text' WHERE logbook_id = 2",
    "UPDATE entry SET kind = 7 WHERE logbook_id = 2",
    "UPDATE airframe_detail SET highest_level = 'high'",
    "UPDATE airframe_detail SET highest_level = 350.5",
    "UPDATE airframe_detail SET registration = x'51582d414243'",
    "UPDATE airframe_detail SET registration = cast(x'5158ff' AS TEXT)",
    "UPDATE airframe_detail SET registration = registration || char(0)",
    "UPDATE airframe_detail SET max_differential_psi = 9e999",
)


@pytest.mark.parametrize("statement", ODD)
@pytest.mark.parametrize("backend", ["sqlite"])
def test_values_of_another_type_are_faults(log: Log, statement: str) -> None:
    """SQLite keeps anything in any column; verification says where, and never ends in an error."""
    log.tamper(statement)
    assert set(log.faults()) == {(BOOK, 1)}


@pytest.mark.parametrize("backend", ["sqlite"])
def test_numbers_that_are_texts_are_faults(log: Log) -> None:
    """A number that is a text is found too, after the entries before it."""
    log.add("crosscheck")
    log.tamper(
        "UPDATE crosscheck_detail SET number = 'two'",
        "UPDATE entry SET number = 'two' WHERE number = 2",
    )
    assert log.faults()[0] == (BOOK, 2)


def test_newest_entries_cut_off_are_found_by_an_older_seal_only(log: Log) -> None:
    """Cutting off the newest entries leaves a sound shorter chain: a seal kept elsewhere tells."""
    log.add("crosscheck")
    kept = log.verify().seals[-1]
    log.tamper("DELETE FROM crosscheck_detail", "DELETE FROM entry WHERE number = 2")
    found = log.verify()
    assert found.faults == ()
    assert kept not in found.seals


@pytest.mark.parametrize("backend", ["sqlite"])
def test_a_reading_left_in_the_middle_complains_of_nothing(log: Log) -> None:
    """Damage ends a walk half-way, and the database is closed before what read it goes."""
    log.add("crosscheck")
    with log.store.reading() as connection:
        walk = BookWalk(connection, log.book())
        entries = iter(walk)
        next(entries)
    entries.close()  # type: ignore[attr-defined]  # a generator
    for details in walk.details.values():
        details.rows.close()  # type: ignore[attr-defined]  # a generator
