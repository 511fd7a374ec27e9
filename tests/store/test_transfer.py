"""An airframe's logbook goes from store to store with its history; nothing wrong comes in."""

import shutil
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.dates import parse_instant
from rvsmlog.errors import InputError, StoreError
from rvsmlog.records.base import Logbook, Record
from rvsmlog.records.kinds import KIND
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.reading.lookup import particulars
from rvsmlog.store.safekeeping.export import export_airframe, export_store
from rvsmlog.store.safekeeping.transfer import TakenIn, import_airframe, import_store
from rvsmlog.store.writing.logbook import writing
from rvsmlog.store.writing.recording import record_entry, strike_entry
from tests.store.transfers import (
    BOOK,
    REG,
    content,
    read,
    sealed_anew,
    some_history,
    unchanged,
    write,
)

if TYPE_CHECKING:
    from tests.store.conftest import Clock, Log


@pytest.fixture
def buyer(sqlite_pattern: Path, folder: Path, clock: "Clock") -> Iterator[Store]:
    """Open another store, of another operator, with nothing but its particulars."""
    path = folder / "buyer.sqlite3"
    shutil.copyfile(sqlite_pattern, path)
    with open_store(str(path)) as store:
        texts = {"name": "Buyer Air", "time_zone": "UTC"}
        record_entry(store, KIND["operator"], texts, by="B. Example", clock=clock)
        yield store


@pytest.fixture
def sold(log: "Log") -> "Log":
    """Give a store with an airframe that has some history."""
    some_history(log)
    return log


@pytest.fixture
def file(sold: "Log", folder: Path) -> Path:
    """Write its logbook to a file."""
    return export_airframe(sold.store, REG, folder / "sold.jsonl").file


@pytest.fixture
def take(buyer: Store, clock: "Clock") -> Callable[[Path], TakenIn]:
    """Give what takes a file into the buyer's store."""
    return lambda path: import_airframe(buyer, path, by="B. Example", clock=clock)


def airframe(store: Store) -> list[tuple[Any, ...]]:
    """Read the airframe's logbook past the program."""
    return [
        (*row[:-1], None if row[-1] is None else bytes(row[-1]))
        for row in content(store)
        if row[0] == BOOK
    ]


def test_a_logbook_arrives_as_it_left(
    sold: "Log", buyer: Store, file: Path, take: Callable[[Path], TakenIn]
) -> None:
    """Numbers, uid, authors, times, reasons, digests and fields are those of the seller."""
    taken = take(file)
    assert (taken.logbook, taken.registration, taken.added) == (BOOK, REG, 8)
    assert airframe(buyer) == airframe(sold.store)
    assert taken.seal in sold.verify().seals
    with buyer.reading() as connection:
        assert particulars(connection, REG).recorded_by == "A. Example"
    again = export_airframe(buyer, REG, file.with_name("again.jsonl")).file
    assert again.read_bytes() == file.read_bytes()


def test_a_compressed_file_is_the_same(
    sold: "Log", buyer: Store, folder: Path, take: Callable[[Path], TakenIn]
) -> None:
    """A name that ends in .gz is read as what it stands for."""
    take(export_airframe(sold.store, REG, folder / "sold.JSONL.GZ").file)
    assert airframe(buyer) == airframe(sold.store)


def test_into_either_database(
    log: "Log", buyer: Store, folder: Path, clock: "Clock", sold: "Log"
) -> None:
    """From an SQLite store into this one, a server's as well, and the tail behind it."""

    def enter(kind: str, **texts: str) -> None:
        record_entry(
            *(buyer, KIND[kind], {**log.samples[kind], **texts}),
            by="B. Example",
            clock=clock,
            registration="QX-DEF",
        )

    def taken_in(path: Path) -> int:
        return import_airframe(log.store, path, by="A. Example", clock=clock).added

    enter("airframe", serial_number="1009", registration="QX-DEF")
    first = export_airframe(buyer, "QX-DEF", folder / "1.jsonl").file
    assert taken_in(first) == 1
    enter("equipment")
    enter("removal", equipment="2")
    strike_entry(buyer, "QX-DEF", 3, "not done", by="B. Example", clock=clock)
    second = export_airframe(buyer, "QX-DEF", folder / "2.jsonl").file
    assert taken_in(second) == 3
    assert taken_in(second) == 0
    assert log.faults() == []
    ours = export_airframe(log.store, "QX-DEF", folder / "3.jsonl").file
    assert ours.read_bytes() == second.read_bytes()


def test_merging_twice_changes_nothing(
    buyer: Store, file: Path, take: Callable[[Path], TakenIn]
) -> None:
    """The second time there is nothing new."""
    take(file)
    with unchanged(buyer):
        taken = take(file)
    assert (taken.added, taken.beyond) == (0, 0)


def test_only_the_missing_tail_is_added(
    sold: "Log", buyer: Store, file: Path, folder: Path, take: Callable[[Path], TakenIn]
) -> None:
    """A longer history goes on where the shorter one ended; an older one adds nothing."""
    take(file)
    sold.add("work")
    sold.correct(4, "equipment", position="2")
    longer = export_airframe(sold.store, REG, folder / "longer.jsonl").file
    assert take(longer).added == 2
    assert airframe(buyer) == airframe(sold.store)
    with unchanged(buyer):
        taken = take(file)
    assert (taken.added, taken.beyond) == (0, 2)


def test_the_log_goes_on_at_the_buyers(
    sold: "Log",
    buyer: Store,
    file: Path,
    folder: Path,
    clock: "Clock",
    take: Callable[[Path], TakenIn],
) -> None:
    """The buyer's entries follow the seller's, and go back where nothing was written since."""
    take(file)
    clock.move(days=1)
    texts = dict(sold.samples["work"])
    ref, _ = record_entry(
        buyer, KIND["work"], texts, by="B. Example", clock=clock, registration=REG
    )
    assert ref.entry == 9
    back = export_airframe(buyer, REG, folder / "back.jsonl").file
    if sold.store.is_sqlite:
        assert import_airframe(sold.store, back, by="A. Example", clock=clock).added == 1
        assert airframe(buyer) == airframe(sold.store)


def test_histories_that_part_are_refused(
    sold: "Log",
    buyer: Store,
    file: Path,
    folder: Path,
    clock: "Clock",
    take: Callable[[Path], TakenIn],
) -> None:
    """Both went on by themselves: the first entry that differs is named, with both versions."""
    take(file)
    record_entry(
        buyer,
        KIND["work"],
        dict(sold.samples["work"]),
        by="B. Example",
        clock=clock,
        registration=REG,
    )
    sold.add("crosscheck", taken_at="2027-03-12T03:00Z")
    sold.add("work")
    other = export_airframe(sold.store, REG, folder / "other.jsonl").file
    with unchanged(buyer), pytest.raises(InputError) as refused:
        take(other)
    here, there = KIND["work"].title, KIND["crosscheck"].title
    assert refused.value.message == (
        f"{BOOK}#9 differs: here it is {here}, 2027-03-14T02:30Z by B. Example; in the file "
        f"{there}, 2027-03-14T02:30Z by A. Example"
    )


def test_a_forged_history_is_refused_at_its_first_entry(
    buyer: Store, file: Path, folder: Path, take: Callable[[Path], TakenIn]
) -> None:
    """A history that was written anew, with digests that follow, differs where it was changed."""
    take(file)
    lines = read(file)
    lines[4]["fields"]["primary_1_ft"] = 31050
    forged = write(folder / "forged.jsonl", sealed_anew(lines))
    with unchanged(buyer), pytest.raises(InputError, match=f"{BOOK}#3 differs: here it is"):
        take(forged)


def test_a_logbook_begun_here_is_another_history(
    sold: "Log", buyer: Store, file: Path, clock: "Clock", take: Callable[[Path], TakenIn]
) -> None:
    """The same airframe entered anew by the buyer has another uid; the two are never mixed."""
    texts = dict(sold.samples["airframe"])
    record_entry(buyer, KIND["airframe"], texts, by="B. Example", clock=clock)
    with unchanged(buyer), pytest.raises(InputError, match="begun by itself"):
        take(file)


def test_a_registration_that_is_borne_is_refused(
    sold: "Log", buyer: Store, file: Path, clock: "Clock", take: Callable[[Path], TakenIn]
) -> None:
    """Two airframes of one registration could not be told apart; once changed, it comes in."""
    texts = {**sold.samples["airframe"], "serial_number": "1008"}
    record_entry(buyer, KIND["airframe"], texts, by="B. Example", clock=clock)
    with unchanged(buyer), pytest.raises(InputError, match="is borne by VK71-1008 here"):
        take(file)
    texts["registration"] = "QX-XYZ"
    record_entry(buyer, KIND["airframe"], texts, by="B. Example", clock=clock)
    assert take(file).registration == REG


def test_a_damaged_logbook_here_takes_nothing_in(
    sold: "Log", buyer: Store, file: Path, folder: Path, take: Callable[[Path], TakenIn]
) -> None:
    """A tail is not added to a history that was changed behind the program's back."""
    take(file)
    sold.add("work")
    longer = export_airframe(sold.store, REG, folder / "longer.jsonl").file
    with buyer.engine.connect() as connection:
        connection.exec_driver_sql("DROP TRIGGER crosscheck_detail_no_update")
        connection.exec_driver_sql("UPDATE crosscheck_detail SET primary_1_ft = 1")
        connection.commit()
    with unchanged(buyer), pytest.raises(StoreError, match="not as it was written"):
        take(longer)


def test_another_clock_is_believed(
    sold: "Log", buyer: Store, file: Path, clock: "Clock", take: Callable[[Path], TakenIn]
) -> None:
    """A buyer's clock a little behind the seller's, or years ahead, takes the history in."""
    clock.move(hours=-20)
    take(file)
    assert airframe(buyer) == airframe(sold.store)
    clock.move(days=5000)
    assert take(file).added == 0


def test_a_history_of_the_future_would_lock_the_log(
    buyer: Store, file: Path, clock: "Clock", take: Callable[[Path], TakenIn]
) -> None:
    """Entries from more than a day ahead are refused: no later entry could be made."""
    clock.move(hours=-25)
    with unchanged(buyer), pytest.raises(InputError, match="is in the future here"):
        take(file)


def test_the_operators_logbook_does_not_come_with_an_airframe(
    sold: "Log", buyer: Store, folder: Path, take: Callable[[Path], TakenIn]
) -> None:
    """A whole store's file, and one of an operator alone, are no airframe's."""
    whole = export_store(sold.store, folder / "whole.jsonl").file
    with unchanged(buyer), pytest.raises(InputError, match="holds 2 logbooks"):
        take(whole)
    lines = read(whole)
    operator = [{**lines[0], "logbooks": 1, "entries": 1}, *lines[1:4]]
    with unchanged(buyer), pytest.raises(InputError, match="not that of an airframe"):
        take(write(folder / "operator.jsonl", operator))


def test_a_whole_store_goes_into_an_empty_one(
    sold: "Log", sqlite_pattern: Path, folder: Path, clock: "Clock"
) -> None:
    """All seals are the same after it; into a store that holds anything it does not go."""
    whole = export_store(sold.store, folder / "whole.jsonl").file
    path = folder / "new.sqlite3"
    shutil.copyfile(sqlite_pattern, path)
    with open_store(str(path)) as new:
        taken = import_store(new, whole, by="C. Example", clock=clock)
        assert [each.seal for each in taken] == list(sold.verify().seals)
        again = export_store(new, folder / "again.jsonl").file
        assert again.read_bytes() == whole.read_bytes()
        with unchanged(new), pytest.raises(InputError, match="holds the logbook operator already"):
            import_store(new, whole, by="C. Example", clock=clock)


def test_a_whole_store_goes_into_either_database(
    store: Store, buyer: Store, folder: Path, clock: "Clock", sample: Callable[..., Record]
) -> None:
    """From a file to a server as well, and back: the same bytes, and every digest agrees."""
    with writing(buyer, "B. Example", clock) as log:
        book = log.open_book(Logbook.AIRFRAME, BOOK)
        log.append(book, sample("airframe"))
        log.append_many(book, [sample("equipment"), sample("removal", equipment=2)])
        log.strike(book, 3, "not done")
    whole = export_store(buyer, folder / "whole.jsonl").file
    taken = import_store(store, whole, by="C. Example", clock=clock)
    assert [(each.logbook, each.added) for each in taken] == [("operator", 1), (BOOK, 4)]
    assert export_store(store, folder / "again.jsonl").file.read_bytes() == whole.read_bytes()


def test_many_entries_go_in_batches(
    log: "Log", buyer: Store, folder: Path, clock: "Clock", take: Callable[[Path], TakenIn]
) -> None:
    """More than a batch, with corrections between: each is held against what was before it."""
    start = parse_instant("2027-03-01T00:00Z")
    record = log.sample("crosscheck")
    values = {spec.name: getattr(record, spec.name) for spec in record.kind.fields}
    many = [
        type(record)(**{**values, "taken_at": start + timedelta(minutes=at)}) for at in range(2100)
    ]
    with writing(log.store, "A. Example", clock) as writer:
        writer.append_many(log.book(), many)
    log.correct(2000, "crosscheck", primary_1_ft=31020)
    told: list[int] = []
    path = export_airframe(log.store, REG, folder / "many.jsonl").file
    assert import_airframe(buyer, path, by="B", clock=clock, progress=told.append).added == 2102
    assert told == [2000]
    assert airframe(buyer) == airframe(log.store)
