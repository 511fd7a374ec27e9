"""What is recorded from Python is a value of its field, or the text that an option takes."""

import shutil
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from rvsmlog import library
from rvsmlog.dates import now
from rvsmlog.errors import InputError
from rvsmlog.library import Asked, Store, open_store
from rvsmlog.records.fields import Choice, Flag, Real, Text, Whole, Words
from rvsmlog.records.kinds import KINDS
from rvsmlog.records.point_table import PointTable
from rvsmlog.records.trade_fields import Day, EntryNumber, Instant, Level, LevelTable

AT = datetime(2026, 11, 24, 8, 0, tzinfo=UTC)
NAN, INFINITY = float("nan"), float("inf")
STATIC_TEST = {
    "test": "altimeter-static",
    "position": "2",
    "done_on": date(2026, 2, 20),
    "tested_altitude_ft": 35_000,
}
READING = {"phase": "level", "level": 300, "primary_1_ft": 30_000, "primary_2_ft": 29_990}


class Odd(int):
    """A number that writes itself otherwise than it counts."""

    def __str__(self) -> str:
        return "777"


#: Of each type of field, what is no value of it. What is text is read as an option's text is.
NO_VALUES: dict[type, tuple[object, ...]] = {
    Flag: (NAN, INFINITY, 0, 1, 2, -1, 1.0, b"yes", object(), date(2026, 2, 20), [], ("yes",)),
    Text: (NAN, 5, 1.5, True, b"IVO", object(), [], {}, date(2026, 2, 20), AT),
    Choice: (NAN, 5, True, b"level", object(), [], ("level",), AT),
    Words: (NAN, 5, True, b"NAM", object(), [], (), {"NAM"}, ("nowhere",), (NAN,), AT),
    Whole: (NAN, INFINITY, 300.0, 300.9, True, b"300", Decimal(300), object(), [], AT),
    Level: (NAN, INFINITY, 300.0, 0, -1, 661, True, b"300", object(), [], AT),
    EntryNumber: (NAN, INFINITY, 1.0, 0, -1, True, b"1", object(), [], AT),
    Real: (NAN, INFINITY, -INFINITY, True, b"0.5", Decimal("0.5"), object(), [], AT),
    Instant: (
        *(NAN, 0, 1.5, True, b"2026-11-24T08:00Z", object(), [], date(2026, 11, 24)),
        AT.replace(tzinfo=None),
        datetime.max.replace(tzinfo=UTC),
        datetime.min.replace(tzinfo=timezone(timedelta(hours=14))),
        datetime(2200, 1, 1, tzinfo=UTC),
        datetime(1949, 12, 31, 23, 59, tzinfo=UTC),
    ),
    Day: (NAN, 20260220, True, b"2026-02-20", object(), [], AT, date(2200, 1, 1), date.min),
    LevelTable: (NAN, 5, (), [(290, 120)], ((290, 120.5),), ((290, NAN),), (290, 120), ((1,),)),
    PointTable: (NAN, 5, (), [(0, 5)], ((0, 5.5),), ((0, NAN),), (0, 5), ((True, 5),)),
}


@pytest.fixture
def store(demo_file: Path, tmp_path: Path) -> Iterator[Store]:
    """Open a copy of the demo store."""
    with open_store(str(shutil.copy(demo_file, tmp_path / "copy.sqlite3"))) as opened:
        yield opened


def seals(store: Store) -> object:
    """Give what changes with every entry."""
    return library.describe_store(store).seals


def enter(store: Store, kind: str, **fields: object) -> Any:
    """Record one entry of an airframe."""
    _, record = library.record(
        store, kind, fields, by="M. Example", clock=now, registration="QX-DAN"
    )
    return record


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_field_refuses_what_is_no_value_of_it(kind: Any) -> None:
    """Whichever field it is, it says so as an input error that names the field."""
    for spec in kind.fields:
        no_values = NO_VALUES[next(each for each in type(spec.type).__mro__ if each in NO_VALUES)]
        for value in no_values:
            with pytest.raises(InputError, match=f"^{spec.name}: "):
                kind.texts({spec.name: value})


def test_a_test_that_passed_nothing_lifts_no_limit(store: Store) -> None:
    """A static test whose outcome is no truth value stays off the record, and the NO-GO stays."""
    asked = Asked(registration="QX-DAN", at=AT, level=280, pilot="IVO")
    before = library.check(store, asked, AT).verdict
    assert "static-test-overdue" in {finding.rule for finding in before.limiting}
    kept = seals(store)
    for value in NO_VALUES[Flag]:
        with pytest.raises(InputError, match=r"passed: .* neither yes nor no"):
            enter(store, "test", **STATIC_TEST, passed=value)
    assert seals(store) == kept
    assert library.check(store, asked, AT).verdict.limiting == before.limiting
    enter(store, "test", **STATIC_TEST, passed=True)
    after = library.check(store, asked, AT).verdict
    assert "static-test-overdue" not in {finding.rule for finding in after.limiting}


def test_a_naive_instant_is_not_taken_for_local_time(store: Store) -> None:
    """Its offset is unknown; the hint says how to give one."""
    kept = seals(store)
    with pytest.raises(InputError, match=r"taken_at: .* has no time zone") as caught:
        enter(store, "crosscheck", **READING, taken_at=AT.replace(tzinfo=None))
    assert "tzinfo=UTC" in caught.value.hint
    assert seals(store) == kept


@pytest.mark.parametrize("fields", [None, 5, [], "taken_at", {5: 1}, {None: 1}, {"no_field": NAN}])
def test_fields_by_name_or_nothing(store: Store, fields: Any) -> None:
    """What is no mapping of field names is refused."""
    with pytest.raises(InputError):
        library.record(
            store, "crosscheck", fields, by="M. Example", clock=now, registration="QX-DAN"
        )


def test_values_and_texts_are_kept_as_they_count(store: Store) -> None:
    """Values of the field's type and their texts give the same record."""
    record = enter(
        store,
        "crosscheck",
        **{**READING, "primary_1_ft": Odd(30_010)},
        taken_at=datetime(2026, 11, 24, 12, 0, tzinfo=timezone(timedelta(hours=10))),
        mach=0.1 + 0.2,
    )
    assert record.taken_at == datetime(2026, 11, 24, 2, 0, tzinfo=UTC)
    assert (record.primary_1_ft, record.mach) == (30_010, 0.1 + 0.2)
    texts = {**{name: str(value) for name, value in READING.items()}, "pilot": "ivo"}
    assert enter(store, "crosscheck", **texts, taken_at="2026-11-24T03:00Z").pilot == "IVO"
