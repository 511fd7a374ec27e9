"""The drift log kept beside the logbook: always what a run over all readings would give."""

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from unittest import mock

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from rvsmlog.errors import InputError, StoreError
from rvsmlog.facts import Question
from rvsmlog.records.base import Logbook, Record
from rvsmlog.records.flights import GROUND_PHASES, PHASES, CrossCheck
from rvsmlog.rules.drift import altimeters_drifting
from rvsmlog.science.drift_log import DriftLog, pack, settled, unpack
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.importing import csv_import, drift_keeping
from rvsmlog.store.importing.drift_keeping import refresh_drift
from rvsmlog.store.reading import drift_reader
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.books import seal
from rvsmlog.store.reading.drift_reader import _digest
from rvsmlog.store.reading.facts_reader import read_facts
from rvsmlog.store.reading.reader import view
from rvsmlog.store.safekeeping.guards import guard_faults
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.writing.checks import Asked, check, check_and_record
from rvsmlog.store.writing.logbook import writing

START = datetime(2026, 1, 1, 9, tzinfo=UTC)
NOW = datetime(2026, 6, 1, 8, tzinfo=UTC)
ASKED = Asked(registration="QX-ABC", at=NOW, level=310)
NOISE = (0, 20, -10, 10, -20, 0, 10, -10, 30, -30)


def reading(day: int, difference_ft: int, hour: int = 0) -> CrossCheck:
    """Give a comparison in level flight on a day."""
    return CrossCheck(
        taken_at=START + timedelta(days=day, hours=hour),
        phase="level",
        primary_1_ft=31000 + difference_ft,
        primary_2_ft=31000,
        level=310,
        mach=0.5,
    )


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory, sample: Callable[..., Record]) -> Path:
    """Give the file of a store with one airframe, to be copied."""
    path = tmp_path_factory.mktemp("begun") / "log.sqlite3"
    _begin(str(path), sample).close()
    return path


@pytest.fixture
def store(begun: Path, tmp_path: Path) -> Store:
    """Give a store with one airframe."""
    return open_store(str(shutil.copy(begun, tmp_path / "log.sqlite3")))


def _begin(where: str, sample: Callable[..., Record]) -> Store:
    """Make a store with one airframe."""
    made = create_store(where)
    with writing(made, "tester", lambda: START) as log:
        book = log.open_book(Logbook.AIRFRAME, "VK71-1007")
        log.append(book, sample("airframe", type_designator="VK71", serial_number="1007"))
    return made


def add(store: Store, *records: Record) -> list[int]:
    """Append records and give their numbers."""
    with writing(store, "tester", lambda: NOW) as log:
        book = find_airframe(log.connection, "QX-ABC")
        return [log.append(book, record).entry for record in records]


def drift(store: Store, *, fresh: bool = False) -> DriftLog:
    """Give the drift log as a check sees it, or as a run over all readings gives it."""
    with store.changing() as connection:
        if fresh:
            connection.execute(text("DELETE FROM derived"))
        facts = read_facts(connection, find_airframe(connection, "QX-ABC"), Question(at=NOW))
    assert facts.drift is not None
    return facts.drift


def kept(store: Store) -> int:
    """Count the drift logs kept."""
    with store.reading() as connection:
        return int(connection.execute(text("SELECT count(*) FROM derived")).scalar_one())


def steady(first: int, last: int, shift_ft: int = 0) -> list[Record]:
    """Give a reading a day, scattered about a difference."""
    return [reading(day, NOISE[day % 10] + shift_ft) for day in range(first, last)]


def test_a_recorded_check_keeps_it_and_a_look_does_not(store: Store) -> None:
    """Only a check that is recorded writes; a dry run leaves the store as it was."""
    add(store, *steady(0, 5))
    check(store, ASKED, NOW)
    assert kept(store) == 0
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    assert kept(store) == 1


def import_lines(
    store: Store, folder: Path, lines: list[str], rejects: Path | None = None
) -> csv_import.ImportResult:
    """Import cross-checks as a file."""
    path = folder / "checks.csv"
    head = "taken_at,phase,primary_1_ft,primary_2_ft,level,field_elevation_ft,qnh_hpa"
    path.write_text("\n".join([head, *lines]) + "\n", "utf-8")
    return csv_import.import_csv(
        *(store, path, CrossCheck.kind),
        by="tester",
        clock=lambda: NOW,
        registration="QX-ABC",
        reject_file=rejects,
    )


@pytest.mark.parametrize(("rows", "count"), [(2, 0), (3, 1)])
def test_a_big_import_keeps_it(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rows: int, count: int
) -> None:
    """So that the first check after it does not wait; it is what a run over all gives."""
    monkeypatch.setattr(drift_keeping, "MANY", 3)
    lines = [f"2026-02-{day:02d}T09:00Z,level,31000,30980,310,," for day in range(1, rows + 1)]
    import_lines(store, tmp_path, lines)
    assert kept(store) == count
    taken_up = drift(store)
    assert taken_up == drift(store, fresh=True)
    assert settled(taken_up).flights == rows


@given(
    # Hours before five minutes from now, phase, tens of feet between the altimeters.
    st.lists(
        st.tuples(
            st.integers(0, 30).map(lambda root: root**2),
            st.sampled_from(PHASES),
            st.integers(-3, 3),
        ),
        min_size=4,
        max_size=12,
        unique_by=lambda row: row[:2],
    ),
    st.booleans(),
)
@example([(9, "level", 1), (4, "level", 1), (1, "level", 2), (0, "hourly", 1)], True)
@settings(max_examples=30, deadline=None)
def test_what_is_imported_need_not_be_read_again(
    begun: Path, rows: list[tuple[int, str, int]], in_order: bool
) -> None:
    """What is taken in on the way is what is read afterwards, whatever the order of the file."""
    lines = [
        f"{NOW + timedelta(minutes=5) - timedelta(hours=hours):%Y-%m-%dT%H:%MZ},{phase},"
        + (
            f"{10 * tens},0,,10,1013"
            if phase in GROUND_PHASES
            else f"{31000 + 10 * tens},31000,310,,"
        )
        for hours, phase, tens in (sorted(rows, reverse=True) if in_order else rows)
    ]
    ahead = any(hours == 0 for hours, _, _ in rows)
    with tempfile.TemporaryDirectory() as name:
        shutil.copyfile(begun, Path(name) / "log.sqlite3")
        with (
            open_store(str(Path(name) / "log.sqlite3")) as store,
            mock.patch.object(drift_keeping, "MANY", 3),
            mock.patch.multiple(csv_import, _BATCH=2, _ON_SERVER=1),
            mock.patch.object(drift_keeping, "refresh_drift", wraps=refresh_drift) as again,
        ):
            assert import_lines(store, Path(name), lines).written == len(rows)
            # What was taken after the present instant is for a later check to take in.
            assert kept(store) == (0 if ahead else 1)
            assert not (again.called and in_order and not ahead)
            assert drift(store) == drift(store, fresh=True)


def test_a_part_of_a_file_may_bring_nothing_new(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rows that are there already, as many as are read at a time, end no import."""
    monkeypatch.setattr(drift_keeping, "MANY", 3)
    monkeypatch.setattr(csv_import, "_BATCH", 3)
    monkeypatch.setattr(csv_import, "_ON_SERVER", 1)
    lines = [f"2026-02-{day:02d}T09:00Z,level,31000,30980,310,," for day in range(1, 8)]
    result = import_lines(store, tmp_path, [*lines[:6], *lines], tmp_path / "rejects.csv")
    assert (result.written, result.rejected) == (7, 6)
    assert [bad.says for bad in result.bad] == [f"is the same as line {at}" for at in range(2, 8)]
    assert kept(store) == 1
    assert drift(store) == drift(store, fresh=True)


def test_taken_up_or_run_anew_it_is_the_same(store: Store) -> None:
    """Readings in pieces with checks between give what one run over all gives."""
    for first in range(0, 60, 7):
        add(store, *steady(first, first + 7, 60 if first > 40 else 0))
        check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    taken_up = drift(store)
    assert taken_up == drift(store, fresh=True)
    assert taken_up.flights == 62


@pytest.mark.parametrize(
    "late",
    [
        pytest.param(
            lambda store: add(store, reading(3, 500, hour=5)), id="a reading entered late"
        ),
        pytest.param(
            lambda store: strike(store, add(store, *steady(30, 31))[0] - 5),
            id="an entry struck out",
        ),
    ],
)
def test_what_came_late_is_counted(store: Store, late: Callable[[Store], object]) -> None:
    """A late reading or a correction leads to a run over all readings."""
    add(store, *steady(0, 30))
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    late(store)
    assert drift(store) == drift(store, fresh=True)


def strike(store: Store, number: int) -> None:
    """Strike out an entry."""
    with writing(store, "tester", lambda: NOW) as log:
        log.strike(find_airframe(log.connection, "QX-ABC"), number, "wrong aeroplane")


def test_what_is_kept_is_not_trusted_over_the_log(store: Store) -> None:
    """A drift log kept for another history, or damaged, is put aside."""
    add(store, *steady(0, 40))
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    truth = drift(store)
    for change in ("digest = 'other'", "content = '{}'", "content = 'not json'", "through = 999"):
        with store.changing() as connection:
            connection.execute(text("UPDATE derived SET " + change))  # noqa: S608  # ours, above
        assert drift(store) == truth


def test_a_reading_of_before_1970_is_a_reading(store: Store) -> None:
    """An instant that is kept as a number below nought is no damage: a year may be mistyped."""
    old = replace(reading(0, 20), taken_at=datetime(1962, 3, 1, 10, tzinfo=UTC))
    add(store, old, *steady(0, 5))
    assert settled(drift(store, fresh=True)).flights == 6
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    assert kept(store) == 1


def test_work_on_the_altimetry_starts_it_anew(store: Store, sample: Callable[..., Record]) -> None:
    """Readings before the altimetry was disturbed are forgotten."""
    add(store, *steady(0, 40))
    day = (START + timedelta(days=40)).date().isoformat()
    add(store, sample("work", work="altimeter", done_on=day), *steady(40, 45))
    assert settled(drift(store)).flights == 5


def test_an_alarm_stands_until_reviewed(store: Store, sample: Callable[..., Record]) -> None:
    """A step raises an alarm that limits the level; an accepting review makes it advice."""
    add(store, *steady(0, 60), *steady(60, 80, 80))
    facts = check(store, ASKED, NOW).facts
    alarm = altimeters_drifting.findings(facts)[0]
    assert (alarm.outcome, alarm.highest_level) == ("not met", 280)
    assert alarm.values["shift_ft"] == pytest.approx(80, abs=20)
    entry = str(alarm.evidence[0].entry)
    at = (START + timedelta(days=80)).isoformat()
    add(store, sample("review", subject=entry, reviewed_at=at, accepted="no"))
    assert altimeters_drifting.findings(check(store, ASKED, NOW).facts)[0].highest_level == 280
    add(store, sample("review", subject=entry, reviewed_at=at, accepted="yes"), *steady(81, 85, 80))
    found = altimeters_drifting.findings(check(store, ASKED, NOW).facts)
    assert [each.outcome for each in found][:2] == ["advice", "advice"]
    assert all(each.highest_level is None for each in found)
    add(store, *steady(85, 130, 80), *steady(130, 150, 180))
    found = altimeters_drifting.findings(check(store, ASKED, NOW).facts)
    assert 280 in [each.highest_level for each in found]


def test_a_check_looks_no_further_than_its_instant(store: Store) -> None:
    """Asked about an earlier day, later readings are left out, kept or not."""
    add(store, *steady(0, 60), *steady(60, 90, 90))
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    early = Asked(registration="QX-ABC", at=START + timedelta(days=50), level=310)
    facts = check(store, early, NOW).facts
    assert facts.drift is not None
    assert settled(facts.drift).flights == 51
    assert [each.outcome for each in altimeters_drifting.findings(facts)] == ["met"]


@pytest.mark.parametrize(
    "instead",
    [
        pytest.param("replace(content, '2026-', '2025-')", id="dates"),
        pytest.param("json_set(content, '$.bands', json('[]'))", id="no bands"),
        pytest.param("json_set(content, '$.flights', 1)", id="flights"),
        pytest.param("CAST(x'ff00' AS BLOB)", id="no text"),
        pytest.param("replace(hex(zeroblob(60000)), '0', '[')", id="deep"),
    ],
)
def test_what_is_kept_and_was_damaged_is_not_taken_up(store: Store, instead: str) -> None:
    """A drift that a change to what is kept would hide is found all the same."""
    add(store, *steady(0, 60), *steady(60, 120, shift_ft=90))
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    truth = drift(store, fresh=True)
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    with store.changing() as connection:
        connection.exec_driver_sql(f"UPDATE derived SET content = {instead}")  # noqa: S608  # ours
    assert kept(store) == 1
    assert drift(store) == truth


def test_text_nested_without_end_is_no_drift_log() -> None:
    """The reader's own depth is no fault of the program."""
    with pytest.raises(InputError, match="no drift log"):
        unpack("[" * 100_000)


def test_a_check_about_the_past_hides_no_later_reading(store: Store) -> None:
    """A recorded check about an earlier day keeps nothing: readings since would be passed over."""
    add(store, *steady(0, 60), *steady(60, 120, shift_ft=90))
    truth = drift(store, fresh=True)
    early = Asked(registration="QX-ABC", at=START + timedelta(days=50), level=310)
    check_and_record(store, early, by="tester", clock=lambda: NOW)
    assert kept(store) == 0
    assert drift(store) == truth
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    check_and_record(store, early, by="tester", clock=lambda: NOW)
    assert drift(store) == truth


def test_verification_finds_a_forged_drift_log(store: Store) -> None:
    """Content put in with a digest that fits is taken up, but is not what the readings give."""
    add(store, *steady(0, 60), *steady(60, 120, shift_ft=90))
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    with store.reading() as connection:
        assert guard_faults(connection) == ()
        book = find_airframe(connection, "QX-ABC")
        sealed = seal(connection, book, 121)
    calm = pack(DriftLog(resolution_ft=20, since=None))
    with store.changing() as connection:
        connection.execute(
            text("UPDATE derived SET content = :content, digest = :digest"),
            {"content": calm, "digest": _digest(sealed.digest, calm)},
        )
    with store.reading() as connection:
        (fault,) = guard_faults(connection)
    assert str(fault) == "VK71-1007 has a drift log beside it that its readings do not give"


def test_what_another_edition_kept_is_put_aside(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another edition may read drift in another way: its log is no fault, and is not taken up."""
    add(store, *steady(0, 40))
    monkeypatch.setattr(drift_reader, "__version__", "0.0.1")
    monkeypatch.setattr(drift_reader, "pack", lambda log: pack(replace(log, flights=9)))
    check_and_record(store, ASKED, by="tester", clock=lambda: NOW)
    monkeypatch.undo()
    assert kept(store) == 1
    assert settled(drift(store)).flights == 40
    with store.reading() as connection:
        assert guard_faults(connection) == ()


@pytest.mark.parametrize("change", ["mach = 'fast'", "level = 'high'", "primary_2_ft = x'00'"])
def test_a_value_that_no_reading_has_is_damage(store: Store, change: str) -> None:
    """A bit flipped in the file may leave a value of any type: said so, with its entry."""
    number, *_ = add(store, *steady(0, 4))
    with closing(sqlite3.connect(str(store.path))) as lite, lite:
        for (name,) in lite.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            lite.execute(f"DROP TRIGGER {name}")
        lite.execute("PRAGMA ignore_check_constraints = ON")
        where = f"WHERE number = {number}"
        lite.execute(f"UPDATE crosscheck_detail SET {change} {where}")  # noqa: S608 - our own text
    with store.reading() as connection:
        seen = view(connection, find_airframe(connection, "QX-ABC"))
        with pytest.raises(StoreError, match=f"is damaged at VK71-1007#{number}"):
            drift_reader.every_point(connection, seen, NOW)
