"""One unit at a place and a unit at one place: refused when entered here, never when taken in."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldError
from rvsmlog.records.kinds import KIND
from rvsmlog.store.importing.csv_import import import_csv
from rvsmlog.store.reading.books import find_book
from rvsmlog.store.safekeeping.export import export_airframe
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.safekeeping.transfer import import_airframe
from rvsmlog.store.safekeeping.verify import verify
from rvsmlog.store.writing.logbook import writing
from rvsmlog.store.writing.recording import record_entry
from rvsmlog.store.writing.unit_places import UnitPlaces

if TYPE_CHECKING:
    from rvsmlog.records.base import Ref
    from tests.store.conftest import Log

pytestmark = pytest.mark.parametrize("backend", ["sqlite"])
OTHER = "VK71-1008"
PART = "KA-520"


def fit(log: "Log", serial: str | None, position: str | None = None, **fields: str) -> int:
    """Fit an altimeter, unless another function is said."""
    given = {"serial_number": serial, "position": position, "part_number": PART}
    said = {name: value for name, value in given.items() if value is not None}
    return log.add("equipment", **(said | fields))


def fit_elsewhere(log: "Log", serial: str, **fields: str) -> "Ref":
    """Enter another airframe and fit an altimeter to it."""
    texts = dict(log.samples["airframe"]) | {"registration": "QX-DEF", "serial_number": "1008"}
    record_entry(log.store, KIND["airframe"], texts, by="A. Example", clock=log.clock)
    texts = dict(log.samples["equipment"]) | {"serial_number": serial, "part_number": PART} | fields
    return record_entry(
        log.store,
        KIND["equipment"],
        texts,
        by="A. Example",
        clock=log.clock,
        registration="QX-DEF",
    )[0]


def told(call: Any) -> tuple[str, str]:
    """Give what a refusal says, and its hint."""
    with pytest.raises(InputError) as refused:
        call()
    return refused.value.message, refused.value.hint


def test_a_position_holds_one_unit(log: "Log") -> None:
    """Refused with the unit that stands there and the command that removes it; then taken."""
    first = fit(log, "A1", "1", fitted_on="2024-05-01")
    says, hint = told(lambda: fit(log, "A2", "1"))
    assert says == f"position: is taken by altimeter 1 A1, VK71-1007#{first}"
    assert hint == (
        f"record its removal first: `rvsmlog equipment remove QX-ABC {first} --removed-on DATE`"
    )
    fit(log, "A2", "2")
    log.add("removal", equipment=first, removed_on="2026-05-01")
    fit(log, "A3", "1")


def test_an_earlier_unit_is_entered_without_its_position_first(log: "Log") -> None:
    """A unit that stood there before: fitted without position, removed, then corrected."""
    fit(log, "A1", "1", fitted_on="2024-05-01")
    hint = told(lambda: fit(log, "A0", "1", fitted_on="2020-05-01"))[1]
    assert hint.endswith(
        "; of a unit that is gone again leave the position out until its removal is recorded"
    )
    old = fit(log, "A0", fitted_on="2020-05-01")
    log.add("removal", equipment=old, removed_on="2024-05-01")
    log.correct(
        old,
        "equipment",
        serial_number="A0",
        part_number=PART,
        position="1",
        fitted_on="2020-05-01",
    )


@pytest.mark.parametrize("function", ["static-source", "static-heat", "oxygen-mask", "other"])
def test_some_functions_stand_together(log: "Log", function: str) -> None:
    """Ports on either side of one static system, masks of one row; but no unit twice."""
    fit(log, "B1", "1", function=function)
    fit(log, "B2", "1", function=function)
    fit(log, None, None, function=function)
    fit(log, None, None, function=function)
    says, _ = told(lambda: fit(log, " b1", "2", function=function))
    assert says.startswith("serial_number: is fitted already: ")


@pytest.mark.parametrize(
    ("function", "good", "bad"),
    [
        ("altimeter", ("1", "2"), "3"),
        ("air-data-computer", ("2",), "standby"),
        ("static-source", ("1", "2", "standby"), "3"),
        ("transponder", ("3", "R"), None),
    ],
)
def test_positions_that_a_function_has(
    log: "Log", function: str, good: tuple[str, ...], bad: str | None
) -> None:
    """The altimetry systems are two; other functions stand where the manual says."""
    for number, position in enumerate(good):
        fit(log, f"C{number}", position, function=function)
    if bad is not None:
        says, hint = told(lambda: fit(log, "C9", bad, function=function))
        assert says.startswith(f"position: {bad} is none of the {function.replace('-', ' ')}'s")
        assert "leave it out" in hint
    fit(log, "C8", function=function)


def test_a_unit_stands_in_one_place(log: "Log") -> None:
    """Its serial number in any writing; another part may bear the same, and so may what it does."""
    first = fit(log, "A1", "1")
    says, _ = told(lambda: fit(log, "a1 ", "2"))
    assert says == f"serial_number: is fitted already: altimeter 1 A1, VK71-1007#{first}"
    fit(log, "A1", "2", part_number="ZZ-9")
    fit(log, "A1", "1", function="air-data-computer")
    says, _ = told(lambda: fit(log, "A1", "2", function="air-data-computer"))
    assert says.startswith("serial_number: is fitted already: altimeter 1 A1")


def test_a_unit_is_fitted_to_one_airframe(log: "Log") -> None:
    """The hint removes it there; without part numbers it says what tells two units apart."""
    there = fit_elsewhere(log, "A1", position="1")
    says, hint = told(lambda: fit(log, "a1", "2"))
    assert says == f"serial_number: is fitted to QX-DEF: altimeter 1 A1, {OTHER}#{there.entry}"
    removal = f"`rvsmlog equipment remove QX-DEF {there.entry} --removed-on DATE`"
    assert hint == f"record its removal there first: {removal}"
    bare = {"serial_number": "A1", "position": "2"}
    assert told(lambda: log.add("equipment", **bare))[1].endswith("give both their part numbers")
    fit(log, "A1", "1", part_number="ZZ-9")
    log.add("equipment", function="air-data-computer", **bare)
    texts = {"equipment": str(there.entry), "removed_on": "2027-01-05"}
    record_entry(
        log.store,
        KIND["removal"],
        texts,
        by="A. Example",
        clock=log.clock,
        registration="QX-DEF",
    )
    fit(log, "A1", "2")


def test_within_one_transaction_too(log: "Log") -> None:
    """What the same transaction made counts as well, on either airframe."""
    fit_elsewhere(log, "Z9")
    unit = log.sample("equipment", serial_number="A1", part_number=PART)
    with writing(log.store, "A. Example", log.clock) as writer:
        there = find_book(writer.connection, OTHER)
        assert there is not None
        writer.append(there, log.sample("equipment", serial_number="A0", part_number=PART))
        writer.append(log.book(), unit)
        with pytest.raises(FieldError, match="serial_number: is fitted already"):
            writer.append(log.book(), unit)
        with pytest.raises(FieldError, match="serial_number: is fitted to QX-ABC"):
            writer.append(there, unit)


def as_an_older_edition(log: "Log", patch: pytest.MonkeyPatch) -> tuple[int, int]:
    """Fit two units at position 1, as an older edition let it be."""
    with patch.context() as older:
        nothing: Any = lambda *_: None  # noqa: E731
        older.setattr(UnitPlaces, "check", nothing)
        return fit(log, "A1", "1"), fit(log, "A2", "1")


def test_what_stands_already_can_be_corrected(log: "Log", monkeypatch: pytest.MonkeyPatch) -> None:
    """Any field of either entry; but not into a contradiction that was not there."""
    first, second = as_an_older_edition(log, monkeypatch)
    said = {"serial_number": "A2", "part_number": PART, "position": "1"}
    newest = log.correct(second, "equipment", **said, remarks="as found")
    third = fit(log, "A3", "2")
    says, _ = told(lambda: log.correct(newest, "equipment", **(said | {"position": "2"})))
    assert says == f"position: is taken by altimeter 2 A3, VK71-1007#{third}"
    says, _ = told(lambda: log.correct(newest, "equipment", **(said | {"serial_number": "A1"})))
    assert says == f"serial_number: is fitted already: altimeter 1 A1, VK71-1007#{first}"
    log.add("removal", equipment=third, removed_on="2027-03-01")
    log.correct(newest, "equipment", **(said | {"position": "2"}))


def test_a_position_of_an_older_edition_may_stay(
    log: "Log", monkeypatch: pytest.MonkeyPatch
) -> None:
    """Remarks are corrected, the position is left; it is not given anew."""
    with monkeypatch.context() as older:
        nothing: Any = lambda *_: None  # noqa: E731
        older.setattr(UnitPlaces, "check", nothing)
        unit = fit(log, "A1", "3")
    said = {"serial_number": "A1", "part_number": PART}
    newest = log.correct(unit, "equipment", **said, position="3", remarks="third system")
    with pytest.raises(FieldError, match="position: 4 is none of the altimeter's"):
        log.correct(newest, "equipment", **said, position="4")


def test_striking_out_a_removal_or_a_swap_is_held_against_the_same(log: "Log") -> None:
    """The unit would stand there again, where another came since."""
    first, second = fit(log, "A1", "1"), fit(log, "A2", "2")
    removal = log.add("removal", equipment=first, removed_on="2027-01-05")
    third = fit(log, "A3", "1")
    says, hint = told(lambda: log.strike(removal))
    assert says == f"#{first} would stand at 1 again, beside altimeter 1 A3, VK71-1007#{third}"
    assert f"equipment remove QX-ABC {third} " in hint
    says, _ = told(
        lambda: log.correct(removal, "removal", equipment=second, removed_on="2027-01-05")
    )
    assert says.startswith(f"#{first} would stand at 1 again")
    log.strike(third)
    log.strike(removal)


def test_a_struck_entry_that_comes_back_is_held_against_the_same(log: "Log") -> None:
    """Correcting the entry that struck it out fits the unit again."""
    first = fit(log, "A1", "1")
    struck = log.strike(first)
    fit(log, "A2", "1")
    with pytest.raises(FieldError, match="position: is taken by altimeter 1 A2"):
        log.correct(struck, "equipment", serial_number="A1", position="1", part_number=PART)
    log.correct(struck, "equipment", serial_number="A1", part_number=PART)


def test_a_history_of_an_older_edition_is_taken_in(
    log: "Log", folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was accepted without this check passes from store to store, seals and all."""
    as_an_older_edition(log, monkeypatch)
    export_airframe(log.store, "QX-ABC", folder / "out.jsonl")
    with create_store(str(folder / "buyer.sqlite3")) as buyer:
        taken = import_airframe(buyer, folder / "out.jsonl", by="B", clock=log.clock)
        with buyer.reading() as connection:
            assert verify(connection).faults == ()
    assert taken.added == 3


def test_a_file_is_refused_with_its_line(log: "Log", folder: Path) -> None:
    """The row that fits the second unit; a row that is on record already is told as that."""
    path = folder / "units.csv"
    head = "function,fitted_on,position,part_number,serial_number\n"
    good = f"altimeter,2026-05-01,1,{PART},A1\naltimeter,2026-05-01,2,{PART},A2\n"
    bad = f"altimeter,2026-06-01,2,{PART},A3\naltimeter,2026-06-01,3,{PART},A4\n"

    def taken(text: str) -> list[str]:
        path.write_text(head + text, "utf-8")
        found = import_csv(
            log.store,
            path,
            KIND["equipment"],
            by="A. Example",
            clock=log.clock,
            registration="QX-ABC",
        )
        return [str(each) for each in found.bad]

    both = taken(good + bad)
    assert both[0].startswith("line 4, position: is taken by altimeter 2 A2, VK71-1007#3; record")
    assert both[1].startswith("line 5, position: 3 is none of the altimeter's")
    assert len(both) == 2
    assert log.standing("equipment") == ()
    assert taken(good) == []
    assert taken(good) == [
        "line 2: is already on record as VK71-1007#2; leave the row out",
        "line 3: is already on record as VK71-1007#3; leave the row out",
    ]
