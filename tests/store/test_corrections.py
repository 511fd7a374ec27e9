"""Corrections: what is left out stays, and rules, lists, history and earlier heads agree."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldError, Record, Ref
from rvsmlog.records.kinds import KIND
from rvsmlog.store.reading.history import history, said
from rvsmlog.store.writing.recording import record_entry

if TYPE_CHECKING:
    from tests.store.conftest import Log

REG = "QX-ABC"
BOOK = "VK71-1007"
Correct = Callable[..., tuple[Ref, Record]]


@pytest.fixture
def correct(log: "Log") -> Correct:
    """Give what a command does: correct an entry by some fields as texts."""

    def run(
        number: int, kind: str = "crosscheck", why: str | None = "slip", **texts: str | None
    ) -> tuple[Ref, Record]:
        airframe = None if kind in {"operator", "pilot", "airframe"} else REG
        return record_entry(
            log.store,
            KIND[kind],
            texts,
            by="B. Example",
            clock=log.clock,
            registration=airframe,
            supersedes=number,
            reason=why,
        )

    return run


def changed(before: Record, after: Record) -> dict[str, Any]:
    """Give the fields in which two records differ, as the second has them."""
    pairs = {
        spec.name: (getattr(before, spec.name), getattr(after, spec.name))
        for spec in before.kind.fields
    }
    return {name: new for name, (old, new) in pairs.items() if old != new}


def test_one_digit_of_a_cross_check(log: "Log", correct: Correct) -> None:
    """Only the wrong field is given; all others are those of the corrected entry."""
    first = log.add("crosscheck", standby_ft=31100, remarks="light chop")
    ref, record = correct(first, primary_2_ft="31020")
    (logged,) = log.standing("crosscheck")
    assert (logged.ref, logged.first, logged.record) == (ref, first, record)
    assert changed(log.sample("crosscheck", standby_ft=31100, remarks="light chop"), record) == {
        "primary_2_ft": 31020
    }
    assert log.faults() == []


def test_every_kind_is_corrected_by_one_field(log: "Log", correct: Correct) -> None:
    """Each optional text of a kind can be set alone; whatever the kind, the rest stays."""
    for kind, field in (
        ("operator", "name"),
        ("airframe", "remarks"),
        ("equipment", "serial_number"),
        ("defect", "description"),
        ("test", "reference"),
        ("flight", "remarks"),
        ("approval", "reference"),
    ):
        number = 1 if kind in {"operator", "airframe"} else log.add(kind)
        before = log.sample(kind)
        named = {"registration": REG} if kind == "airframe" else {}
        _, after = correct(number, kind, **{field: "Another"}, **named)
        assert changed(before, after) == {field: "Another"}


def test_an_empty_text_empties_a_field(log: "Log", correct: Correct) -> None:
    """An optional field is emptied by an empty text; a needed one is not."""
    first = log.add("crosscheck", remarks="light chop", standby_ft=31100)
    ref, record = correct(first, remarks="", standby_ft="  ")
    assert changed(log.sample("crosscheck"), record) == {}
    with pytest.raises(FieldError, match="primary_1_ft: is missing"):
        correct(ref.entry, primary_1_ft="")


def test_a_correction_of_nothing_is_refused(log: "Log", correct: Correct) -> None:
    """An entry that would say the same, or a field that is not one, writes nothing."""
    first = log.add("crosscheck")
    count = log.count()
    with pytest.raises(InputError, match=f"{BOOK}#{first} says that already"):
        correct(first)
    with pytest.raises(InputError, match="says that already"):
        correct(first, primary_2_ft="31040", level="FL310")
    with pytest.raises(FieldError, match="no such field"):
        correct(first, primary_9_ft="31000")
    with pytest.raises(InputError, match="the reason"):
        correct(first, why=None, primary_2_ft="31020")
    assert log.count() == count


def test_fields_are_checked_together(log: "Log", correct: Correct) -> None:
    """A field that contradicts those that stay is refused, by its name."""
    first = log.add("flight")
    with pytest.raises(FieldError, match="on_at: is not after the take-off"):
        correct(first, "flight", on_at="2027-03-12T00:59Z")
    correct(first, "flight", on_at="2027-03-12T04:01Z")


def test_a_cross_check_entered_twice_is_refused(log: "Log", correct: Correct) -> None:
    """The same instant and phase is the same check: refused with its entry named, until struck."""
    first = log.add("crosscheck")
    kind, again = KIND["crosscheck"], log.sample("crosscheck", primary_2_ft=31060)
    given = {spec.name: getattr(again, spec.name) for spec in kind.fields}
    texts = {
        name: None if value is None else kind.by_name[name].type.show(value)
        for name, value in given.items()
    }

    def record() -> Ref:
        return record_entry(
            log.store, kind, texts, by="B. Example", clock=log.clock, registration=REG
        )[0]

    count = log.count()
    with pytest.raises(FieldError, match=f"is on record as {BOOK}#{first}") as caught:
        record()
    assert f"--corrects {first} " in caught.value.hint
    assert log.count() == count
    corrected = correct(first, primary_2_ft="31060")[0].entry
    with pytest.raises(FieldError, match=f"is on record as {BOOK}#{corrected}"):
        record()
    log.strike(corrected)
    ref = record()
    assert [logged.ref for logged in log.standing("crosscheck")] == [ref]


def test_what_is_struck_out_comes_back_as_it_was(log: "Log", correct: Correct) -> None:
    """A strike corrected brings the record back: unchanged too, for the strike was wrong."""
    first = log.add("crosscheck", remarks="light chop")
    strike = log.strike(first)
    ref, record = correct(strike, why="was right after all")
    assert record == log.sample("crosscheck", remarks="light chop")
    (logged,) = log.standing("crosscheck")
    assert (logged.ref, logged.first) == (ref, first)
    with log.store.reading() as connection:
        assert said(connection, log.book(), strike) == record


def test_only_the_newest_of_its_own_kind(log: "Log", correct: Correct) -> None:
    """A corrected entry, one of another kind, and none at all are refused as ever."""
    first = log.add("crosscheck")
    defect = log.add("defect")
    second, _ = correct(first, primary_2_ft="31020")
    for number, says in (
        (first, f"corrected by #{second.entry} already"),
        (defect, "is a defect, not an altimeter cross-check"),
        (99, "there is no entry"),
    ):
        with pytest.raises(InputError, match=says):
            correct(number, primary_2_ft="31010")


def test_particulars_are_corrected_by_what_names_the_airframe(log: "Log", correct: Correct) -> None:
    """By the registration borne; where that itself was wrong, by type and serial number."""
    correct(1, "airframe", registration="qx-abc", highest_level="330")
    with pytest.raises(InputError, match="no airframe bears the registration 'QX-ABD'"):
        correct(2, "airframe", registration="QX-ABD")
    with pytest.raises(InputError, match="no airframe is named"):
        correct(2, "airframe", highest_level="310")
    with pytest.raises(InputError, match="there is no logbook VK71-9"):
        correct(2, "airframe", type_designator="VK71", serial_number="9", registration="QX-ABD")
    _, record = correct(
        2, "airframe", type_designator="vk71", serial_number="1007", registration="QX-ABD"
    )
    assert changed(log.sample("airframe"), record) == {
        "registration": "QX-ABD",
        "highest_level": 330,
    }


def test_a_registration_that_another_bears_is_not_taken(log: "Log", correct: Correct) -> None:
    """No correction gives two airframes one registration."""
    record_entry(
        log.store,
        KIND["airframe"],
        {**log.samples["airframe"], "registration": "QX-DEF", "serial_number": "1008"},
        by="B. Example",
        clock=log.clock,
    )
    with pytest.raises(InputError, match="QX-DEF is borne by VK71-1008 already"):
        correct(1, "airframe", type_designator="VK71", serial_number="1007", registration="QX-DEF")


def test_history_says_how_those_stand_that_name_an_entry(log: "Log", correct: Correct) -> None:
    """Of two removals of one unit, the struck one and the standing one are told apart."""
    unit = log.add("equipment")
    wrong = log.add("removal", equipment=unit)
    strike = log.strike(wrong)
    right = log.add("removal", equipment=unit, removed_on="2027-02-02")
    again, _ = correct(right, "removal", removed_on="2027-02-03")
    with log.store.reading() as connection:
        found = history(connection, log.book(), unit)
    assert [(each.ref.entry, each.state) for each in found.named_by] == [
        (wrong, f"struck out by #{strike}"),
        (right, f"corrected by #{again.entry}"),
        (again.entry, "standing"),
    ]
