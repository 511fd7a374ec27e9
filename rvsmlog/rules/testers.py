"""Who made the tests on which the altimetry rests."""

from collections.abc import Iterator
from itertools import product

from rvsmlog.facts import Facts, Logged
from rvsmlog.records.papers import TESTS, Test
from rvsmlog.rules.base import Result, advice, met, not_applicable, rule
from rvsmlog.rules.proof import SYSTEMS, asked_positions, covering, newest, proof_of


@rule("91-411-b", "91-413", "43-9")
def tester_not_on_record(facts: Facts) -> Iterator[Result]:
    """Test on record without who made it, or without the licence.

    Checks: The tests that stand behind the altimeters and a standby in use, and the newest leak
    check, correspondence test and transponder test of positions 1 and 2: whether each names who
    made it, and the licence or certificate.

    Why: 91.411(b) says who may test: the maker of the aeroplane, a repair station with the ratings
    named there, and for the static system alone a mechanic with an airframe rating. 91.413 has a
    list of its own for transponders. A test that names nobody cannot be shown to be one; 43.9 wants
    name, signature and certificate in the entry.

    Remedy: Take the name and the licence from the test's paper into its entry, as a correction.

    Known problems: Advice only, as the paper that is signed may hold what the log does not. Whether
    the one named held the right rating on that day is not known here. Other states have their own
    rules of who may test, which were not read; the names are wanted there too.
    """
    tests = _standing(facts)
    if not tests:
        yield not_applicable("no test on record")
        return
    lacking = [(test, _lacks(test.record)) for test in tests if _lacks(test.record)]
    if not lacking:
        yield met(
            f"tests that name tester and licence: {len(tests)}",
            evidence=tuple(test.ref for test in tests),
        )
        return
    what = " and ".join(dict.fromkeys(word for _, words in lacking for word in words))
    entries = ", ".join(f"#{test.ref.entry}" for test, _ in lacking)
    yield advice(
        f"tests without {what} on record: {len(lacking)} of {len(tests)}",
        remedy=(
            f"Take name and licence from the papers of {entries} into the entries, with "
            "`rvsmlog test add` as corrections."
        ),
        values={"tests": len(lacking)},
        evidence=tuple(test.ref for test, _ in lacking),
    )


def _standing(facts: Facts) -> tuple[Logged[Test], ...]:
    """Give the tests that count today, each once, in the order of their entries."""
    found = [test for where in asked_positions(facts) for test in proof_of(facts, where).dated]
    for kind, position in product(TESTS[1:], SYSTEMS):
        last = newest(covering(facts, (kind,), position))
        found += [last] if last is not None else []
    return tuple(sorted({test.first: test for test in found}.values(), key=lambda test: test.first))


def _lacks(test: Test) -> tuple[str, ...]:
    """Say what a test does not name."""
    wanted = (("tester", test.done_by), ("licence", test.licence))
    return tuple(word for word, value in wanted if value is None)
