"""A clock that was far ahead once: the way on, and what its false times mean afterwards.

Nothing here is compared with what the program printed before: the times are those that the test's
own clock had when it made the entries.
"""

import logging
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import InputError, StoreError
from rvsmlog.records.base import Record
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.reading.books import OPERATOR
from rvsmlog.store.reading.reader import head_at, made_by
from rvsmlog.store.safekeeping.export import export_airframe, export_store
from rvsmlog.store.safekeeping.transfer import import_airframe, import_store
from rvsmlog.store.writing.checks import Asked, check
from rvsmlog.store.writing.clock import believed, check_possible, clock_state, correct_clock
from rvsmlog.store.writing.logbook import writing

if TYPE_CHECKING:
    from tests.store.conftest import Clock, Log

BOOK = "VK71-1007"
RIGHT = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)


def known(log: "Log", instant: datetime, kind: str = "airframe") -> int:
    """Give what was known at an instant."""
    with log.store.reading() as connection:
        return head_at(connection, log.book(kind), instant)


def correct(log: "Log", it_is: datetime | None = None) -> list[str]:
    """Correct the clock, and name the entries made."""
    made = correct_clock(
        log.store, it_is or log.clock.now, "wrong year", by="A. Example", clock=log.clock
    )
    return [str(ref) for ref in made.corrections]


@pytest.fixture
def ahead(log: "Log") -> "Log":
    """Give a log in which #3 and #4 were made by a clock a year ahead; it is right again."""
    log.clock.move(hours=1)
    log.add("work")  # 2, at 03:30
    log.clock.move(days=365)
    log.add("work", remarks="a")
    log.clock.move(minutes=5)
    log.add("work", remarks="b")
    log.clock.now = RIGHT + timedelta(hours=3)
    return log


@pytest.mark.parametrize("backend", ["sqlite"])
def test_a_time_that_is_none_is_called_damage(log: "Log") -> None:
    """What happened at a time that no calendar has is damage, and is said to be."""
    log.add("defect")
    log.tamper("UPDATE defect_detail SET found_at = 9223372036854775807")
    with (
        log.store.reading() as connection,
        pytest.raises(StoreError, match=r"damaged: found_at of an entry \(defect\) is 922337203"),
    ):
        clock_state(connection, log.clock.now)


def test_a_barred_logbook_goes_on_by_a_correction(ahead: "Log") -> None:
    """No entry follows one made ahead, until an entry says that the clock was wrong."""
    with pytest.raises(StoreError, match="was made at 2028-03-13T03:35Z") as error:
        ahead.add("work", remarks="c")
    assert "rvsmlog store clock" in error.value.hint
    with ahead.store.reading() as connection:
        state = clock_state(connection, ahead.clock.now)
    assert [(each.newest.logbook, each.bars) for each in state.times] == [
        (OPERATOR, False),
        (BOOK, True),
    ]
    assert correct(ahead) == [f"{BOOK}#5"]
    assert ahead.standing("airframe-clock")[0].recorded_at == ahead.clock.now
    assert ahead.add("work", remarks="c") == 6
    assert ahead.faults() == []
    with pytest.raises(InputError, match="no logbook has a newest entry ahead"):
        correct(ahead)


def test_both_clocks_must_agree(ahead: "Log") -> None:
    """The time by another clock is asked for: a machine that is behind is not believed instead."""
    for off in (timedelta(minutes=11), -timedelta(minutes=11), timedelta(days=365)):
        with pytest.raises(InputError, match="the machine's clock says 2027-03-14T05:30Z, not"):
            correct(ahead, ahead.clock.now + off)
    assert ahead.count() == 5
    assert correct(ahead, ahead.clock.now - timedelta(minutes=9)) == [f"{BOOK}#5"]


def test_what_was_known_when(ahead: "Log") -> None:
    """Before the false times and from the correction on it is known; in between it cannot be."""
    correct(ahead)  # 5, at 05:30
    ahead.clock.move(hours=1)
    ahead.add("work", remarks="c")  # 6, at 06:30
    at = RIGHT.replace(minute=0)
    assert known(ahead, at) == 0
    assert known(ahead, RIGHT) == 1
    assert known(ahead, RIGHT + timedelta(minutes=59)) == 1
    # 3 and 4 may have been made at any time from that of 2 to that of 5.
    for minutes in (60, 61, 179):
        with pytest.raises(InputError, match=f"{BOOK}#3 to #4 were made by a clock") as error:
            known(ahead, RIGHT + timedelta(minutes=minutes))
        assert f"{BOOK}#5 on: 2027-03-14T05:30Z" in error.value.hint
    assert known(ahead, RIGHT + timedelta(hours=3)) == 5
    assert known(ahead, RIGHT + timedelta(hours=4)) == 6
    assert known(ahead, RIGHT + timedelta(days=365)) == 6
    with ahead.store.reading() as connection:
        made = [made_by(connection, ahead.book(), number) for number in range(1, 8)]
    hours = (0, 1, 3, 3, 3, 4)
    start = int(RIGHT.timestamp()) * 1_000_000
    assert made == [*(start + each * 3_600_000_000 for each in hours), None]


def test_a_correction_that_was_ahead_itself(ahead: "Log") -> None:
    """A second correction goes back behind the first; what is told stays in order."""
    ahead.clock.now = RIGHT + timedelta(days=100)
    correct(ahead)  # 5
    ahead.add("work", remarks="c")  # 6
    ahead.clock.now = RIGHT + timedelta(hours=2)
    correct(ahead)  # 7, at 04:30
    ahead.clock.move(hours=1)
    ahead.add("work", remarks="d")  # 8, at 05:30
    assert ahead.faults() == []
    assert known(ahead, RIGHT + timedelta(minutes=30)) == 1
    for minutes in (60, 119):
        with pytest.raises(InputError, match=f"{BOOK}#3 to #6 were made by a clock"):
            known(ahead, RIGHT + timedelta(minutes=minutes))
    assert known(ahead, RIGHT + timedelta(hours=2)) == 7
    assert known(ahead, RIGHT + timedelta(days=101)) == 8
    assert known(ahead, RIGHT + timedelta(days=400)) == 8


def test_a_logbook_begun_by_a_wrong_clock(store: Store, clock: "Clock") -> None:
    """Where nothing before is right, nothing before the correction can be told."""
    from tests.store.conftest import Log

    clock.move(days=30)
    log = Log(store, clock)
    log.add("operator")
    log.add("airframe")
    clock.now = RIGHT
    assert correct(log) == ["operator#2", f"{BOOK}#2"]
    with pytest.raises(InputError, match=f"{BOOK}#1 to #1 were made"):
        known(log, RIGHT - timedelta(days=1))
    assert known(log, RIGHT) == 2
    assert known(log, RIGHT, "operator") == 2


def test_checks_about_then(ahead: "Log") -> None:
    """A check as of an entry of the wrong clock takes the correction's time."""
    correct(ahead)

    def ask(as_of: str) -> datetime:
        asked = Asked(registration="QX-ABC", level=310, as_of=as_of)
        return check(ahead.store, asked, ahead.clock.now).facts.question.at

    assert ask("3") == ask("5") == RIGHT + timedelta(hours=3)
    assert ask("2") == RIGHT + timedelta(hours=1)
    with pytest.raises(InputError, match="were made by a clock that was ahead"):
        ask("2027-03-14T04:00Z")


def test_what_has_not_happened_is_named(ahead: "Log") -> None:
    """Entries about days still to come are named till they are corrected or struck out."""
    ahead.clock.move(days=365)
    ahead.add("oxygen-reading", checked_at="2028-03-13T04:00Z")
    late = ahead.add("work", done_on="2028-03-12")
    ahead.clock.now = RIGHT + timedelta(hours=3)
    state = correct_clock(
        ahead.store, ahead.clock.now, "wrong year", by="A. Example", clock=ahead.clock
    )
    assert {(each.ref.entry, str(each.when)) for each in state.to_come} == {
        (5, "2028-03-13 04:00:00+00:00"),
        (late, "2028-03-12"),
    }
    ahead.strike(5)
    ahead.correct(late, "work", done_on="2027-03-12")
    with ahead.store.reading() as connection:
        assert clock_state(connection, ahead.clock.now).to_come == ()


def test_corrections_of_the_clock_stay(ahead: "Log", sample: Callable[..., Record]) -> None:
    """A correction of the clock is never corrected or struck out."""
    correct(ahead)
    with pytest.raises(InputError, match="is a correction of the clock"):
        ahead.strike(5)
    with pytest.raises(InputError, match="is a correction of the clock"):
        ahead.correct(5, "airframe-clock", cause="another")


@pytest.mark.parametrize("backend", ["sqlite"])
def test_transfer_takes_the_correction_along(ahead: "Log", folder: Path) -> None:
    """A logbook ahead of the buyer's clock is refused; with its correction it is taken in whole."""
    from rvsmlog.store.safekeeping.schema import create_store

    path, whole, buyer = folder / "a.jsonl", folder / "all.jsonl", str(folder / "buyer.sqlite3")
    create_store(buyer).close()
    export_airframe(ahead.store, "QX-ABC", path)
    with open_store(buyer) as store:
        with pytest.raises(InputError, match=f"{BOOK}#4 was made at 2028-03-13T03:35Z"):
            import_airframe(store, path, by="B", clock=ahead.clock)
        correct(ahead)
        ahead.add("work", remarks="c")
        path.unlink()
        export_airframe(ahead.store, "QX-ABC", path)
        taken = import_airframe(store, path, by="B", clock=ahead.clock)
    assert taken.seal in ahead.verify().seals
    export_store(ahead.store, whole)
    other = str(folder / "other.sqlite3")
    create_store(other).close()
    with open_store(other) as store:
        made = import_store(store, whole, by="B", clock=ahead.clock)
    assert {each.seal for each in made} == set(ahead.verify().seals)


def test_time_that_steps_back_elsewhere_is_a_fault(ahead: "Log") -> None:
    """Only a correction of the clock may lie before the entry before it."""
    correct(ahead)
    ahead.tamper("UPDATE entry SET recorded_at = recorded_at - 86400000000 WHERE number = 4")
    assert (BOOK, 4) in ahead.faults()


def test_a_jump_is_said_once(log: "Log", caplog: pytest.LogCaptureFixture) -> None:
    """Where the clock is far ahead of all that is on record, recording says so, and goes on."""
    with caplog.at_level(logging.WARNING, logger="rvsmlog"):
        log.clock.move(days=39)
        log.add("work")
        assert caplog.messages == []
        log.clock.move(days=40, minutes=1)
        log.add("work", remarks="a")
        assert len(caplog.messages) == 1
        assert "2027-06-01T02:31Z, 40 days after the newest entry" in caplog.messages[0]
        # The operator's logbook rests, and that is nothing odd.
        log.add("pilot")
    assert len(caplog.messages) == 1


@pytest.mark.parametrize("backend", ["sqlite"])
def test_nothing_is_judged_by_a_clock_that_is_behind(log: "Log") -> None:
    """By a clock years behind all would be in date; ten minutes are borne, one more is not."""
    made_at = log.clock.now  # of the newest entry
    asked = Asked(registration="QX-ABC")
    log.clock.now = made_at - timedelta(minutes=10)
    assert check(log.store, asked, log.clock.now).facts.now == log.clock.now
    with log.store.reading() as connection:
        assert believed(connection, log.clock.now) == log.clock.now
    log.clock.move(minutes=-1)
    with pytest.raises(StoreError, match="the clock says 2027-03-14T02:19Z, but the newest entry"):
        check(log.store, asked, log.clock.now)
    with log.store.reading() as connection, pytest.raises(StoreError, match="but the newest"):
        believed(connection, log.clock.now)
    with pytest.raises(StoreError, match="but the newest"):
        check(log.store, replace(asked, on=made_at.date()), log.clock.now)
    # Whoever names the instant has said what time it is.
    named = check(log.store, replace(asked, at=made_at), log.clock.now)
    assert named.facts.now == made_at


@pytest.mark.parametrize("backend", ["sqlite"])
def test_another_airframes_clock_bars_the_fleet_and_not_this_one(log: "Log") -> None:
    """One airframe is asked by its own logbook and the operator's; a fleet by all of them."""
    log.clock.move(days=400)
    other = log.sample("airframe", registration="QX-DEF", serial_number="1009")
    with writing(log.store, "A. Example", log.clock) as writer:
        writer.append(writer.open_book(other.kind.logbook, "VK71-1009"), other)
    log.clock.move(days=-400)
    assert check(log.store, Asked(registration="QX-ABC"), log.clock.now).facts.now == log.clock.now
    with log.store.reading() as connection, pytest.raises(StoreError, match="VK71-1009"):
        believed(connection, log.clock.now)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_what_a_clock_ahead_dated_ahead_bars_every_answer(log: "Log") -> None:
    """A defect of next year would not count today, a test of next year a year too long."""
    asked = Asked(registration="QX-ABC", at=RIGHT + timedelta(hours=3))
    log.clock.move(days=365)
    defect = log.add("defect", found_at="2028-03-13T02:00Z")
    test = log.add("test", done_on="2028-03-12")
    log.add("work", done_on="2027-02-01")
    log.clock.now = RIGHT + timedelta(hours=1)
    correct(log)
    later = (None, asked.at, RIGHT + timedelta(days=800))
    for at in later:
        with pytest.raises(StoreError, match=f"{BOOK}#{defect}, {BOOK}#{test}$"):
            check(log.store, replace(asked, at=at), log.clock.now)
    with log.store.reading() as connection, pytest.raises(StoreError, match=f"{BOOK}#{defect}"):
        check_possible(connection)
    # What was known before those entries can still be asked.
    assert check(log.store, replace(asked, at=None, as_of="1"), log.clock.now).facts.defects == ()
    log.correct(defect, "defect", found_at="2027-03-13T02:00Z")
    with pytest.raises(StoreError, match=f"not come: {BOOK}#{test}$"):
        check(log.store, asked, log.clock.now)
    log.strike(test)
    facts = check(log.store, asked, log.clock.now).facts
    assert [case.is_open for case in facts.defects] == [True]
    with log.store.reading() as connection:
        check_possible(connection)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_what_happened_by_the_correction_is_possible(log: "Log") -> None:
    """Ten minutes after the correction are borne as everywhere, eleven are not."""
    log.clock.move(days=365)
    log.add("crosscheck", taken_at="2027-03-14T03:40Z")
    log.clock.now = RIGHT + timedelta(hours=1)
    correct(log)
    with log.store.reading() as connection:
        check_possible(connection)
    log.clock.move(days=365)
    log.add("crosscheck", taken_at="2027-03-14T03:41Z")
    log.clock.now = RIGHT + timedelta(hours=1)
    correct(log)
    with log.store.reading() as connection, pytest.raises(StoreError, match="had not come"):
        check_possible(connection)
