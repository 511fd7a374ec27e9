"""Adding entries: numbers, times, authors, corrections, and what is refused."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import InputError, StoreError
from rvsmlog.records.base import Logbook, Record
from rvsmlog.records.kinds import KINDS
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.books import books, find_book
from rvsmlog.store.writing.logbook import writing

if TYPE_CHECKING:
    from tests.store.conftest import Clock, Log


def test_first_entry_is_number_one_and_none_is_left_out(log: "Log") -> None:
    """Entries are numbered 1, 2, 3 in each logbook, whatever their kind."""
    assert log.add("crosscheck") == 2
    assert log.add("defect") == 3
    assert log.add("pilot") == 2
    assert log.strike(3) == 4
    assert log.add("flight") == 5
    assert log.verify().faults == ()


def test_entry_says_who_made_it_and_when(log: "Log", clock: "Clock") -> None:
    """The newest entry bears the author and the clock's time to the microsecond."""
    clock.move(microseconds=123457)
    log.add("crosscheck")
    (logged,) = log.standing("crosscheck")
    assert logged.recorded_by == "A. Example"
    assert logged.recorded_at == datetime(2027, 3, 14, 2, 30, 0, 123457, tzinfo=UTC)
    assert (logged.ref.logbook, logged.ref.entry, logged.first) == ("VK71-1007", 2, 2)


@pytest.mark.parametrize("author", ["", "   ", "x" * 81, "a\x1b[31mb"])
def test_author_must_be_named(log: "Log", author: str) -> None:
    """Nobody writes without a name, and a name is plain text."""
    with pytest.raises(InputError, match="who records"), writing(log.store, author, log.clock):
        pass


def test_all_or_nothing(log: "Log", sample: Callable[..., Record]) -> None:
    """An error anywhere in a transaction takes back all its entries, and logbooks it opened."""
    book = log.book()

    def write() -> None:
        with writing(log.store, "A. Example", log.clock) as writer:
            writer.append(book, sample("crosscheck"))
            writer.open_book(Logbook.AIRFRAME, "VK71-1008")
            writer.append(book, sample("pilot"))

    with pytest.raises(InputError, match="does not belong"):
        write()
    assert log.count() == 2
    assert log.count("logbook") == 2
    assert log.add("crosscheck") == 2


def test_record_belongs_in_its_logbook(log: "Log", sample: Callable[..., Record]) -> None:
    """A pilot is not entered in an airframe's logbook, nor a flight in the operator's."""
    with writing(log.store, "A. Example", log.clock) as writer:
        with pytest.raises(InputError, match="does not belong"):
            writer.append(log.book("airframe"), sample("pilot"))
        with pytest.raises(InputError, match="does not belong"):
            writer.append(log.book("operator"), sample("flight"))


def test_airframe_never_becomes_another(log: "Log") -> None:
    """Type and serial number of a logbook's airframe are for good; its registration is not."""
    assert log.add("airframe", registration="QX-ABD") == 2
    for change in ({"serial_number": "1008"}, {"type_designator": "VK72"}):
        with pytest.raises(InputError, match="is not the airframe of the logbook"):
            log.add("airframe", **change)


def test_logbook_is_opened_once(log: "Log") -> None:
    """A second logbook of the same name is refused, and uids are all different."""
    with writing(log.store, "A. Example", log.clock) as writer:
        with pytest.raises(InputError, match="already"):
            writer.open_book(Logbook.AIRFRAME, "VK71-1007")
        made = writer.open_book(Logbook.AIRFRAME, "VK71-1008")
        assert find_book(writer.connection, "VK71-1008") == made
        assert len({book.uid for book in books(writer.connection)}) == 3


LATE = [
    ("crosscheck", "taken_at", "2027-03-14T02:40:01Z"),
    ("flight", "off_at", "2027-03-14T02:41Z"),
    ("defect", "found_at", "2027-03-14T05:00Z"),
    ("altimetry-fault", "found_at", "2028-01-01T00:00Z"),
    ("deviation", "occurred_at", "2027-03-14T02:40:01Z"),
    ("equipment", "fitted_on", "2027-03-15"),
    ("work", "done_on", "2027-03-15"),
    ("test", "done_on", "2027-03-15"),
    ("monitoring", "measured_on", "2028-03-14"),
    ("knowledge", "completed_on", "2027-03-15"),
]


@pytest.mark.parametrize("backend", ["sqlite"])
@pytest.mark.parametrize(("kind", "field", "value"), LATE)
def test_what_has_not_happened_is_not_recorded(
    log: "Log", kind: str, field: str, value: str
) -> None:
    """An event later than the clock and its tolerance is refused, and the field is named."""
    changes = {field: value} | ({"on_at": "2027-03-14T03:00Z"} if kind == "flight" else {})
    with pytest.raises(InputError, match=f"{field}: .*future"):
        log.add(kind, **changes)
    assert log.count() == 2


@pytest.mark.parametrize("backend", ["sqlite"])
def test_just_now_is_recorded(log: "Log") -> None:
    """Ten minutes ahead of the clock still counts as now; so does a day that has begun somewhere.

    At 02:30 UTC on 14 March it is 16:30 on the 14th in the easternmost zone (UTC+14).
    """
    log.add("crosscheck", taken_at="2027-03-14T02:40Z")
    log.add("work", done_on="2027-03-14")
    log.clock.move(hours=8)
    log.add("work", done_on="2027-03-15")
    assert log.count() == 5


def test_clock_set_back_a_little_is_borne(log: "Log", clock: "Clock") -> None:
    """A clock up to ten minutes behind the newest entry gives that entry's time again."""
    clock.move(minutes=-10)
    log.add("crosscheck")
    (logged,) = log.standing("crosscheck")
    assert logged.recorded_at == datetime(2027, 3, 14, 2, 30, tzinfo=UTC)


def test_clock_set_back_far_is_refused(log: "Log", clock: "Clock") -> None:
    """A clock well behind the newest entry is wrong, or the entry was: nothing is written."""
    clock.move(minutes=-10, seconds=-1)
    with pytest.raises(StoreError, match="clock says 2027-03-14T02:19:59Z") as refused:
        log.add("crosscheck")
    assert refused.value.exit_status == 3
    assert log.count() == 2


def test_clock_in_another_zone_is_the_same_instant(log: "Log", clock: "Clock") -> None:
    """Only the instant counts, not the offset in which the clock gives it."""
    clock.now = clock.now.astimezone(timezone(timedelta(hours=13)))
    log.add("crosscheck")
    (logged,) = log.standing("crosscheck")
    assert logged.recorded_at.isoformat() == "2027-03-14T02:30:00+00:00"


def test_correction_stands_in_for_what_it_corrects(log: "Log") -> None:
    """A chain of corrections leaves one standing record that keeps its first number."""
    first = log.add("crosscheck", primary_1_ft=31000)
    second = log.correct(first, "crosscheck", primary_1_ft=31010)
    third = log.correct(second, "crosscheck", primary_1_ft=31020)
    (logged,) = log.standing("crosscheck")
    assert (logged.ref.entry, logged.first) == (third, first)
    assert logged.record.primary_1_ft == 31020


def test_each_entry_is_corrected_once(log: "Log") -> None:
    """Once corrected, it is the correction that is corrected; the message names it."""
    first = log.add("crosscheck")
    second = log.correct(first, "crosscheck", primary_1_ft=31010)
    with pytest.raises(InputError, match=f"#{first} was corrected by #{second} already"):
        log.correct(first, "crosscheck", primary_1_ft=31020)
    with pytest.raises(InputError, match=f"corrected by #{second} already"):
        log.strike(first)


def test_correction_is_of_the_same_kind_and_there(log: "Log") -> None:
    """A defect does not correct a cross-check, and nothing corrects what is not there."""
    first = log.add("crosscheck")
    with pytest.raises(InputError, match="is an altimeter cross-check, not a defect"):
        log.correct(first, "defect")
    for missing in (99, 0, -1):
        with pytest.raises(InputError, match="there is no entry"):
            log.correct(missing, "crosscheck")
        with pytest.raises(InputError, match="there is no entry"):
            log.strike(missing)


def test_correction_says_why(log: "Log", sample: Callable[..., Record]) -> None:
    """A correction has a reason, and only a correction has one."""
    first = log.add("crosscheck")
    for reason in ("", "  ", "a\x00b"):
        with pytest.raises(InputError, match="the reason"):
            log.write(sample("crosscheck"), supersedes=first, reason=reason)
    with pytest.raises(InputError, match="no entry is corrected"):
        log.write(sample("crosscheck", taken_at="2027-03-12T02:05Z"), reason="because")
    assert log.count() == 3


def test_struck_entry_is_read_no_more(log: "Log") -> None:
    """A struck entry no longer stands; its row is still there."""
    first = log.add("crosscheck")
    log.strike(first)
    assert log.standing("crosscheck") == ()
    assert log.count("crosscheck_detail") == 1
    with pytest.raises(InputError, match="already"):
        log.strike(first)


def test_strike_is_not_struck_but_may_be_corrected(log: "Log") -> None:
    """Striking a strike is refused; a correction of it brings the record back, in its place."""
    first = log.add("crosscheck")
    strike = log.strike(first)
    with pytest.raises(InputError, match="strikes out already"):
        log.strike(strike)
    back = log.correct(strike, "crosscheck", primary_1_ft=31020)
    (logged,) = log.standing("crosscheck")
    assert (logged.ref.entry, logged.first) == (back, first)


def test_as_known_before_a_correction(log: "Log") -> None:
    """Read as of an earlier entry, a record is what it was then."""
    first = log.add("crosscheck", primary_1_ft=31000)
    log.correct(first, "crosscheck", primary_1_ft=31020)
    (logged,) = log.standing("crosscheck", head=first)
    assert (logged.ref.entry, logged.record.primary_1_ft) == (first, 31000)
    assert log.standing("crosscheck", head=first - 1) == ()


def test_bulk_path_writes_what_single_entries_do(
    store: Store, log: "Log", sample: Callable[..., Record]
) -> None:
    """append_many numbers, dates and seals entries of mixed kinds just as append does."""
    records = [
        sample("crosscheck", taken_at=f"2027-03-12T02:{minute:02}Z", remarks=f"no. {minute}")
        if minute % 3
        else sample("flight", off_at=f"2027-03-12T00:{minute:02}Z", highest_level=310)
        for minute in range(40)
    ]
    with writing(store, "A. Example", log.clock) as writer:
        assert writer.append_many(log.book(), iter(records)) == range(2, 42)
        assert writer.append(log.book(), sample("defect")).entry == 42
        assert writer.append_many(log.book(), []) == range(43, 43)
    assert log.verify().faults == ()
    checks = log.standing("crosscheck")
    assert [logged.record for logged in checks] == [
        each for at, each in enumerate(records) if at % 3
    ]
    assert [logged.ref.entry for logged in checks][:4] == [3, 4, 6, 7]


def test_bulk_path_refuses_what_append_refuses(
    store: Store, log: "Log", sample: Callable[..., Record]
) -> None:
    """One bad record in bulk takes everything back: future, wrong logbook, unknown reference."""
    good = [sample("crosscheck", taken_at=f"2027-03-12T02:{minute:02}Z") for minute in range(9)]
    for bad in (
        sample("crosscheck", taken_at="2027-03-14T12:00Z"),
        sample("pilot"),
        sample("removal", equipment="99"),
    ):
        with pytest.raises(InputError), writing(store, "A. Example", log.clock) as writer:
            writer.append_many(log.book(), [*good, bad])
        assert log.count() == 2


def test_bulk_path_checks_references_against_the_same_batch(
    store: Store, log: "Log", sample: Callable[..., Record]
) -> None:
    """A removal in the same batch as its equipment is found; a second removal is refused."""
    batch = [sample("equipment"), sample("removal", equipment=2)]
    with writing(store, "A. Example", log.clock) as writer:
        assert writer.append_many(log.book(), batch) == range(2, 4)
    with pytest.raises(InputError, match="already"), writing(store, "A. E.", log.clock) as writer:
        writer.append_many(log.book(), batch[1:])


def test_samples_cover_every_kind(sample: Callable[..., Record]) -> None:
    """The tests know a shortest record of every kind there is."""
    assert [sample(kind.name).kind for kind in KINDS] == list(KINDS)
