"""Whatever is added, corrected and struck out: rules, lists, history and earlier heads agree.

The model is a few lines that know nothing of the store: an entry stands when it is no strike and no
later entry that was known supersedes it.
"""

import itertools
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Connection

from rvsmlog.cli.lists import found_entries
from rvsmlog.errors import InputError
from rvsmlog.facts import Facts, Logged, Question
from rvsmlog.records.kinds import KIND
from rvsmlog.store.reading.books import Book, find_book
from rvsmlog.store.reading.facts_reader import Heads, read_facts
from rvsmlog.store.reading.history import history
from rvsmlog.store.reading.reader import read, strikes, view
from rvsmlog.store.writing.recording import record_entry, strike_entry

if TYPE_CHECKING:
    from tests.store.conftest import Log

#: Kinds that the facts read in three ways: all of them, the newest, and by an index.
WORDS = {"work": "description", "flight": "remarks", "crosscheck": "remarks", "defect": "remarks"}
KINDS = tuple(WORDS)
NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)
_serials = itertools.count(2000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry of the model."""

    number: int
    kind: str
    says: str = ""
    supersedes: int | None = None


def known(entries: list[Entry], head: int) -> list[Entry]:
    """Give what was known at a head."""
    return [entry for entry in entries if entry.number <= head]


def later(entries: list[Entry], number: int) -> Entry | None:
    """Give the entry that supersedes one."""
    return next((entry for entry in entries if entry.supersedes == number), None)


def first(entries: list[Entry], number: int) -> Entry:
    """Give the entry first made of the chain in which one stands."""
    entry = entries[number - 1]
    return entry if entry.supersedes is None else first(entries, entry.supersedes)


def standing(entries: list[Entry], kind: str) -> dict[int, tuple[int, str]]:
    """Give what stands of a kind: by the number first made, the newest and what it says."""
    return {
        first(entries, entry.number).number: (entry.number, entry.says)
        for entry in entries
        if entry.kind == kind and later(entries, entry.number) is None
    }


def allowed(entries: list[Entry], verb: str, kind: str, number: int) -> bool:
    """Say whether an entry may be corrected by one of a kind, or struck out."""
    if not 1 <= number <= len(entries) or later(entries, number) is not None:
        return False
    if verb == "strike":
        return entries[number - 1].kind != "strike"
    return first(entries, number).kind == kind


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["add", "add", "correct", "correct", "strike"]),
        st.sampled_from(KINDS),
        st.integers(2, 12),  # the particulars stay: without them there are no facts
    ),
    min_size=1,
    max_size=14,
)


class Run:
    """One airframe's logbook, and the model of it."""

    def __init__(self, log: "Log") -> None:
        self.log = log
        serial = str(next(_serials))
        self.registration = f"QX-{serial}"
        self.entries = [Entry(number=1, kind="airframe")]
        texts = dict(log.samples["airframe"])
        texts |= {"registration": self.registration, "serial_number": serial}
        self.name = f"VK71-{serial}"
        record_entry(log.store, KIND["airframe"], texts, by="A. Example", clock=log.clock)

    def step(self, at: int, verb: str, kind: str, number: int) -> None:
        """Take one step in both; what the model forbids, the store refuses."""
        says = f"step {at}"
        if verb != "add" and not allowed(self.entries, verb, kind, number):
            try:
                self._write(verb, kind, number, says)
            except InputError:
                return
            raise AssertionError(f"{verb} {kind} #{number} was not refused")
        made = self._write(verb, kind, number, says)
        entry = Entry(
            number=len(self.entries) + 1,
            kind="strike" if verb == "strike" else kind,
            says="" if verb == "strike" else says,
            supersedes=None if verb == "add" else number,
        )
        assert made == entry.number
        self.entries.append(entry)

    def _write(self, verb: str, kind: str, number: int, says: str) -> int:
        log = self.log
        who: Any = {"by": "A. Example", "clock": log.clock}
        if verb == "strike":
            return strike_entry(log.store, self.registration, number, says, **who).entry
        texts = {WORDS[kind]: says}
        correcting: Any = {"supersedes": number, "reason": says}
        if verb == "add":
            texts, correcting = {**log.samples[kind], **texts}, {}
            if kind == "crosscheck":  # two of one moment and phase are one, entered twice
                texts["taken_at"] = f"2027-03-12T02:{int(says.split()[1]) % 60:02}Z"
        ref, _ = record_entry(
            log.store, KIND[kind], texts, registration=self.registration, **who, **correcting
        )
        return ref.entry


def seen(records: tuple[Logged[Any], ...]) -> dict[int, tuple[int, str]]:
    """Give records as the model has them."""
    return {
        each.first: (each.ref.entry, getattr(each.record, WORDS[each.record.kind.name]))
        for each in records
    }


def of_facts(facts: Facts, kind: str) -> dict[int, tuple[int, str]]:
    """Give what the rules read of a kind."""
    return seen(
        {
            "work": facts.work,
            "flight": facts.flights,
            "crosscheck": facts.crosschecks,
            "defect": tuple(case.defect for case in facts.defects),
        }[kind]
    )


def check_head(connection: Connection, run: Run, book: Book, head: int) -> None:
    """Hold what is read as of an entry against the model."""
    entries = known(run.entries, head)
    shown = view(connection, book, head)
    facts = read_facts(connection, book, Question(at=NOW), Heads(airframe=head))
    for kind in KINDS:
        expected = standing(entries, kind)
        assert seen(read(connection, shown, KIND[kind])) == expected
        assert seen(read(connection, shown, KIND[kind], limit=99)) == expected
        assert of_facts(facts, kind) == expected
        every = read(connection, shown, KIND[kind], superseded=True)
        assert [each.ref.entry for each in every] == [
            entry.number for entry in entries if entry.kind == kind
        ]
        assert {number: shown.first_made(number) for number, _ in expected.values()} == {
            number: made for made, (number, _) in expected.items()
        }
    assert strikes(connection, shown) == {
        entry.number for entry in entries if entry.kind == "strike"
    }


def check_histories(connection: Connection, run: Run, book: Book) -> None:
    """Hold the history of each entry against the model."""
    for entry in run.entries:
        chain = [first(run.entries, entry.number)]
        while (after := later(run.entries, chain[-1].number)) is not None:
            chain.append(after)
        found = history(connection, book, entry.number)
        assert [each.ref.entry for each in found.chain] == [each.number for each in chain]
        assert [each.supersedes for each in found.chain] == [each.supersedes for each in chain]
        newest = chain[-1]
        if newest.kind == "strike":
            expected = "strikes out" if newest == entry else "struck out"
        else:
            expected = "standing" if newest == entry else "corrected"
        assert found.state == expected


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(steps=STEPS)
def test_all_that_is_read_agrees_with_the_model(
    log: "Log", steps: list[tuple[str, str, int]]
) -> None:
    """At each head: what stands, what rules and lists read, and each entry's history."""
    run = Run(log)
    for at, (verb, kind, number) in enumerate(steps):
        run.step(at, verb, kind, number)
    with log.store.reading() as connection:
        book = find_book(connection, run.name)
        assert book is not None
        for head in range(1, len(run.entries) + 1):
            check_head(connection, run, book, head)
        check_histories(connection, run, book)
    listed = found_entries(
        log.store.url.render_as_string(hide_password=False)
        if log.store.path is None
        else str(log.store.path),
        tuple(KIND[kind] for kind in KINDS),
        run.registration,
    )
    for kind in KINDS:
        assert seen(tuple(listed[kind])) == standing(run.entries, kind)
