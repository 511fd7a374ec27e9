"""Nothing ends or is decided before it began; what older editions took in stays importable."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.errors import InputError
from rvsmlog.store.safekeeping.export import export_airframe
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.safekeeping.transfer import import_airframe
from rvsmlog.store.safekeeping.verify import verify
from rvsmlog.store.writing import logbook

if TYPE_CHECKING:
    from tests.store.conftest import Log

REG = "QX-ABC"
AT, DAY = "2024-05-02T10:00Z", "2024-05-02"
#: What begins, what is about it, and the field that says when: by kind.
PAIRS = {
    "removal": ("equipment", {"fitted_on": DAY}, "equipment", "removed_on"),
    "deferral": ("defect", {"found_at": AT}, "defect", "deferred_on"),
    "rectification": ("altimetry-fault", {"found_at": AT}, "defect", "done_at"),
    "withdrawal": ("approval", {"issued_on": DAY}, "approval", "withdrawn_on"),
    "closure": ("deviation", {"occurred_at": AT}, "deviation", "closed_on"),
}
# The day before is not refused where a day in the operator's time zone meets an instant in UTC.
EARLIER = {"removal": "2024-05-01", "withdrawal": "2024-05-01", "deferral": "2024-04-30"}
EARLIER |= {"closure": "2024-04-30", "rectification": "2024-05-02T09:59Z"}
IN_TIME = {"removal": DAY, "withdrawal": DAY, "deferral": "2024-05-01", "closure": "2024-05-01"}
IN_TIME |= {"rectification": AT}


@pytest.mark.parametrize("kind", PAIRS)
def test_what_lies_before_its_beginning_is_refused(log: "Log", kind: str) -> None:
    """Refused with both dates; on the day itself, or with a day's doubt of time zone, taken."""
    begins, beginning, names, field = PAIRS[kind]
    number = log.add(begins, **beginning)
    with pytest.raises(InputError, match=rf"^{field}: .* lies before #{number}, which is of 2024"):
        log.add(kind, **{names: number, field: EARLIER[kind]})
    log.add(kind, **{names: number, field: IN_TIME[kind]})


def test_an_extension_lies_not_before_the_deferral(log: "Log") -> None:
    """Days of the same calendar: no doubt about zones."""
    defect = log.add("defect", found_at=AT)
    deferral = log.add("deferral", defect=defect, deferred_on=DAY)
    with pytest.raises(InputError, match="granted_on: 2024-05-01 lies before"):
        log.add("extension", deferral=deferral, granted_on="2024-05-01")
    log.add("extension", deferral=deferral, granted_on=DAY)


def test_a_correction_is_held_against_what_names_the_entry(log: "Log") -> None:
    """A unit's removal stands: it cannot have been fitted afterwards, unless that is struck."""
    unit = log.add("equipment", fitted_on=DAY)
    removal = log.add("removal", equipment=unit, removed_on="2024-05-10")
    log.correct(unit, "equipment", fitted_on="2024-05-10")
    newest = removal + 1
    with pytest.raises(InputError, match=rf"2024-05-11 lies after #{removal}, equipment removed"):
        log.correct(newest, "equipment", fitted_on="2024-05-11")
    log.strike(removal)
    log.correct(newest, "equipment", fitted_on="2024-05-11")


def test_the_newest_of_an_entry_counts(log: "Log") -> None:
    """A date that was corrected is what later entries are held against."""
    unit = log.add("equipment", fitted_on=DAY)
    log.correct(unit, "equipment", fitted_on="2024-04-01")
    log.add("removal", equipment=unit, removed_on="2024-04-15")


def test_a_history_of_an_older_edition_is_taken_in(
    log: "Log", folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was accepted without this check passes from store to store, seals and all."""
    nothing: Any = lambda *_: None  # noqa: E731  # what the older edition checked
    with monkeypatch.context() as older:
        older.setattr(logbook, "check_order", nothing)
        unit = log.add("equipment", fitted_on=DAY)
        log.add("removal", equipment=unit, removed_on="2020-01-01")
    export_airframe(log.store, REG, folder / "out.jsonl")
    with create_store(str(folder / "buyer.sqlite3")) as buyer:
        taken = import_airframe(buyer, folder / "out.jsonl", by="B", clock=log.clock)
        with buyer.reading() as connection:
            assert verify(connection).faults == ()
    assert taken.added == unit + 1
