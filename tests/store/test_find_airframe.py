"""Airframes found by the registration they bear now."""

from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import InputError
from rvsmlog.records.base import Logbook
from rvsmlog.store.reading.airframes import find_airframe, registrations
from rvsmlog.store.writing.logbook import writing

if TYPE_CHECKING:
    from tests.store.conftest import Log


def found(log: "Log", registration: str) -> str:
    """Give the logbook of a registration."""
    with log.store.reading() as connection:
        return find_airframe(connection, registration).name


def other_airframe(log: "Log", serial: str, registration: str) -> None:
    """Enter a second airframe."""
    record = log.sample("airframe", serial_number=serial, registration=registration)
    with writing(log.store, "A. Example", log.clock) as writer:
        writer.append(writer.open_book(Logbook.AIRFRAME, f"VK71-{serial}"), record)


@pytest.mark.parametrize("text", ["QX-ABC", "qx-abc", "QXABC", " Qx-Abc "])
def test_registration_is_found_in_any_writing(log: "Log", text: str) -> None:
    """Case, blanks around it and the hyphen do not matter."""
    assert found(log, text) == "VK71-1007"


def test_the_newest_registration_counts(log: "Log") -> None:
    """After a change of registration the old one finds nothing, and the hint names the new."""
    log.add("airframe", registration="QX-ABD")
    assert found(log, "QX-ABD") == "VK71-1007"
    with pytest.raises(InputError, match="no airframe bears the registration 'QX-ABC'") as error:
        found(log, "QX-ABC")
    assert error.value.hint == "did you mean QX-ABD?"


def test_a_corrected_registration_counts_as_corrected(log: "Log") -> None:
    """A mistyped registration, once corrected or struck out, finds nothing any more."""
    log.correct(1, "airframe", registration="QX-ABE")
    assert found(log, "QX-ABE") == "VK71-1007"
    wrong = log.add("airframe", registration="QX-XYZ")
    log.strike(wrong)
    assert found(log, "QX-ABE") == "VK71-1007"
    for gone in ("QX-ABC", "QX-XYZ"):
        with pytest.raises(InputError):
            found(log, gone)


def test_each_airframe_by_its_own(log: "Log") -> None:
    """Several airframes are told apart; the list is in the order of registrations."""
    other_airframe(log, "1008", "QX-AAA")
    assert found(log, "QX-AAA") == "VK71-1008"
    assert found(log, "QX-ABC") == "VK71-1007"
    with log.store.reading() as connection:
        assert registrations(connection) == (("QX-AAA", "VK71-1008"), ("QX-ABC", "VK71-1007"))


def test_a_registration_that_passed_on_belongs_to_the_new_bearer(log: "Log") -> None:
    """When one airframe gives up a registration and another takes it, the other is found."""
    log.add("airframe", registration="QX-OLD")
    other_airframe(log, "1008", "QX-ABC")
    assert found(log, "QX-ABC") == "VK71-1008"
    assert found(log, "QX-OLD") == "VK71-1007"


def test_two_bearers_are_refused(log: "Log") -> None:
    """Where two airframes would answer to what was typed, neither does."""
    other_airframe(log, "1008", "QXA-BC")
    with pytest.raises(InputError, match="several airframes bear"):
        found(log, "QXABC")
    assert found(log, "QXA-BC") == "VK71-1008"
    other_airframe(log, "1009", "QX-ABC")
    with pytest.raises(InputError, match="several airframes bear the registration 'QX-ABC'"):
        found(log, "QX-ABC")


def test_hints(log: "Log") -> None:
    """A near miss is answered with the nearest, a far one with what there is."""
    with pytest.raises(InputError) as near:
        found(log, "QX-ABB")
    assert near.value.hint == "did you mean QX-ABC?"
    with pytest.raises(InputError) as far:
        found(log, "ZZ-123")
    assert far.value.hint == "airframes here: QX-ABC"
    with pytest.raises(InputError):
        found(log, "")
