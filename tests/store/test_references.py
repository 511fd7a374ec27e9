"""Entries that name others: what they may name, how often, and by which number."""

from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldError
from rvsmlog.records.kinds import KINDS
from rvsmlog.store.reading.references import entry_fields

if TYPE_CHECKING:
    from tests.store.conftest import Log

#: Kind, its field, and the kind it names; once only where nothing is done twice.
REFERENCES = [
    ("removal", "equipment", "equipment", True),
    ("deferral", "defect", "defect", True),
    ("deferral", "defect", "altimetry-fault", True),
    ("rectification", "defect", "defect", True),
    ("withdrawal", "approval", "approval", True),
    ("closure", "deviation", "deviation", True),
    ("closure", "deviation", "monitoring", True),
    ("test-readings", "test", "test", True),
    ("review", "subject", "crosscheck", False),
    ("review", "subject", "deviation", False),
]


def test_every_reference_is_tested_here() -> None:
    """The table above, extensions and swaps cover every kind that names another."""
    named = {kind.name for kind in KINDS if entry_fields(kind)}
    assert named == {kind for kind, *_ in REFERENCES} | {"extension", "swap"}


@pytest.mark.parametrize(("kind", "field", "target", "once"), REFERENCES)
@pytest.mark.parametrize("backend", ["sqlite"])
def test_target_must_be_there_and_of_its_kind(
    log: "Log", kind: str, field: str, target: str, once: bool
) -> None:
    """An entry that is not there, of another kind, or this entry itself cannot be named."""
    other = log.add("flight")
    named = log.add(target)
    for missing in (named + 1, 999):
        with pytest.raises(FieldError, match=f"{field}: there is no entry"):
            log.add(kind, **{field: missing})
    if kind != "review":
        with pytest.raises(FieldError, match=f"{field}: VK71-1007#{other} is a flight"):
            log.add(kind, **{field: other})
    assert log.add(kind, **{field: named}) == named + 1


@pytest.mark.parametrize(("kind", "field", "target", "once"), REFERENCES)
@pytest.mark.parametrize("backend", ["sqlite"])
def test_only_once_where_nothing_is_done_twice(
    log: "Log", kind: str, field: str, target: str, once: bool
) -> None:
    """A second removal, deferral, closure and so on is refused and the first one named."""
    named = log.add(target)
    made = log.add(kind, **{field: named})
    if once:
        with pytest.raises(FieldError, match=f"#{named} has its .* already, #{made}"):
            log.add(kind, **{field: named})
    else:
        assert log.add(kind, **{field: named}) == made + 1


def test_once_follows_corrections_and_strikes(log: "Log") -> None:
    """A correction of the one removal is allowed; once it is struck out, another one is."""
    unit = log.add("equipment")
    removal = log.add("removal", equipment=unit)
    corrected = log.correct(removal, "removal", equipment=unit, cause="drift")
    with pytest.raises(FieldError, match=f"already, #{corrected}"):
        log.add("removal", equipment=unit)
    log.strike(corrected)
    again = log.add("removal", equipment=unit)
    assert [each.ref.entry for each in log.standing("removal")] == [again]


def test_corrected_removal_frees_what_it_named(log: "Log") -> None:
    """A removal that named the wrong unit is corrected; the unit then may be removed itself."""
    one, two = log.add("equipment"), log.add("equipment", position="2")
    removal = log.add("removal", equipment=one)
    log.correct(removal, "removal", equipment=two)
    freed = log.add("removal", equipment=one)
    assert {each.record.equipment: each.ref.entry for each in log.standing("removal")} == {
        two: freed - 1,
        one: freed,
    }
    with pytest.raises(FieldError, match="already"):
        log.add("removal", equipment=two)


def test_correction_takes_no_second_place(log: "Log") -> None:
    """A correction may not name what another entry of its kind names already."""
    one, two = log.add("equipment"), log.add("equipment", position="2")
    log.add("removal", equipment=one)
    second = log.add("removal", equipment=two)
    with pytest.raises(FieldError, match=f"#{one} has its"):
        log.correct(second, "removal", equipment=one)


def test_struck_target_cannot_be_named(log: "Log") -> None:
    """What was struck out is not there any more, by whichever of its numbers it is named."""
    defect = log.add("defect")
    corrected = log.correct(defect, "defect", description="other")
    strike = log.strike(corrected)
    for number in (defect, corrected, strike):
        with pytest.raises(FieldError, match=f"struck out by #{strike}"):
            log.add("deferral", defect=number)


def test_target_is_kept_by_its_first_number(log: "Log") -> None:
    """A corrected defect may be named by any of its numbers; the first one is kept."""
    defect = log.add("defect")
    newest = log.correct(defect, "defect", description="other")
    log.add("deferral", defect=newest)
    (deferral,) = log.standing("deferral")
    assert deferral.record.defect == defect
    with pytest.raises(FieldError, match="already"):
        log.add("deferral", defect=defect)


def test_extension_names_a_deferral_any_number_of_times(log: "Log") -> None:
    """An extension names a deferral only; how many are allowed is a rule's matter."""
    defect = log.add("defect")
    deferral = log.add("deferral", defect=defect)
    with pytest.raises(FieldError, match="is a defect"):
        log.add("extension", deferral=defect)
    log.add("extension", deferral=deferral)
    log.add("extension", deferral=deferral, days=5)
    assert [each.record.days for each in log.standing("extension")] == [10, 5]


def test_swap_names_two_different_units(log: "Log") -> None:
    """Two numbers of one and the same unit are one unit; each must be a unit that was fitted."""
    one = log.add("equipment")
    again = log.correct(one, "equipment", position="1")
    other = log.add("equipment", position="2")
    with pytest.raises(FieldError, match="other: is the same unit"):
        log.add("swap", unit=one, other=again)
    log.add("swap", unit=again, other=other)
    (swap,) = log.standing("swap")
    assert (swap.record.unit, swap.record.other) == (one, other)


def test_numbers_are_those_of_the_same_logbook(log: "Log") -> None:
    """An entry of the operator's logbook cannot be named from an airframe's."""
    assert log.add("pilot") == 2
    with pytest.raises(InputError, match="there is no entry VK71-1007#2"):
        log.add("review", subject=2)
