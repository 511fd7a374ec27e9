"""Who made the tests: 14 CFR 91.411(b), published (who may), and 43.9, published (the entry)."""

from typing import Any

import pytest

from rvsmlog.rules.testers import tester_not_on_record
from tests.rules.conftest import Make


def test_tests_that_name_tester_and_licence_are_met(make: Make) -> None:
    """The healthy airframe's four tests."""
    says = "tests that name tester and licence: 4"
    assert make.rows(tester_not_on_record, make.facts()) == [("met", says, None, (50, 51, 52, 53))]
    (finding,) = tester_not_on_record.findings(make.facts())
    assert finding.sources[0] == "91-411-b"


@pytest.mark.parametrize(
    ("entry", "kind"),
    [(50, "altimeter-static"), (51, "leak-check"), (52, "transponder"), (53, "correspondence")],
)
@pytest.mark.parametrize(
    ("fields", "what"),
    [
        ({"done_by": None}, "tester"),
        ({"licence": None}, "licence"),
        ({"done_by": None, "licence": None}, "tester and licence"),
    ],
)
def test_a_test_that_lacks_one_is_advice(
    make: Make, entry: int, kind: str, fields: dict[str, Any], what: str
) -> None:
    """Each kind of test; it never limits the level."""
    others = tuple(test for test in make.tests() if test.first != entry)
    facts = make.facts(tests=(*others, make.test(entry, test=kind, **fields)))
    says = f"tests without {what} on record: 1 of 4"
    assert make.rows(tester_not_on_record, facts) == [("advice", says, None, (entry,))]
    (finding,) = tester_not_on_record.findings(facts)
    assert f"the papers of #{entry} into" in finding.remedy


def test_each_that_lacks_something_is_named(make: Make) -> None:
    """What is lacking is said once, the entries in their order."""
    tests = (
        make.test(200, position="1", licence=None),
        make.test(201, position="2", done_by=None),
        make.test(202, position="standby"),
    )
    says = "tests without licence and tester on record: 2 of 3"
    rows = make.rows(tester_not_on_record, make.facts(tests=tests))
    assert rows == [("advice", says, None, (200, 201))]


@pytest.mark.parametrize("kind", ["leak-check", "correspondence", "transponder"])
def test_each_position_has_its_own_newest_test(make: Make, kind: str) -> None:
    """A newer test of position 2 leaves that of position 1 standing."""
    tests = (
        make.test(200, test=kind, position="1", licence=None),
        make.test(201, test=kind, position="2", done_on=make.on("2026-07-01")),
    )
    (row,) = make.rows(tester_not_on_record, make.facts(tests=tests))
    assert (row[0], row[3]) == ("advice", (200,))


def test_what_no_longer_stands_is_not_asked(make: Make) -> None:
    """An older test of the same position is history; without any test there is nothing to ask."""
    old = make.test(49, done_on=make.on("2024-06-10"), done_by=None)
    assert make.rows(tester_not_on_record, make.facts(tests=(old, *make.tests())))[0][0] == "met"
    none = make.rows(tester_not_on_record, make.facts(tests=()))
    assert none == [("not applicable", "no test on record", None, ())]
