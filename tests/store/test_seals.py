"""Seals printed earlier: they hold as long as the history is the same, and find what was redone."""
# ruff: noqa: S608 - the statements are the tests' own, with names from the record kinds

from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from rvsmlog.errors import InputError
from rvsmlog.records.kinds import KIND
from rvsmlog.reports.verification import seal_says
from rvsmlog.store.encoding import Head, genesis, next_digest
from rvsmlog.store.safekeeping.guards import guard_faults
from rvsmlog.store.safekeeping.seals import Answer, Outcome, check_claims, parse_claim
from rvsmlog.store.tables import STRIKE, table_name

if TYPE_CHECKING:
    from tests.store.conftest import Log

BOOK = "VK71-1007"


def minute(number: int) -> str:
    """Give the instant of one of several cross-checks."""
    return f"2027-03-12T02:{number:02}Z"


def newest_seal(log: "Log") -> str:
    """Give the airframe's seal as it is printed in full."""
    return str(log.verify().seals[-1])


def asked(log: "Log", *seals: str) -> tuple[Answer, ...]:
    """Hold seals against the store."""
    with log.store.reading() as connection:
        return check_claims(connection, log.verify(), [parse_claim(each) for each in seals])


def sealed(log: "Log", count: int) -> list[str]:
    """Add cross-checks; give the seal after each."""
    seals = []
    for number in range(count):
        log.add("crosscheck", taken_at=minute(number))
        seals.append(newest_seal(log))
    return seals


def written_anew(log: "Log", first: int) -> None:
    """Give every entry from one on the digest that follows, as somebody who knows how could."""
    book = log.book()
    with log.behind() as connection:
        previous = genesis(book.uid, book.kind, book.name)
        rows = connection.execute(
            text("SELECT * FROM entry WHERE logbook_id = :book ORDER BY number"), {"book": book.id}
        ).mappings()
        for row in rows.all():
            head = Head(
                **{name: row[name] for name in ("number", "kind", "recorded_at", "recorded_by")},
                supersedes=row["supersedes"],
                reason=row["reason"],
            )
            details = {}
            bound: dict[str, object] = {"book": book.id, "number": head.number}
            if head.kind != STRIKE:
                table = table_name(KIND[head.kind])
                query = f"SELECT * FROM {table} WHERE logbook_id = :book AND number = :number"
                found = dict(connection.execute(text(query), bound).mappings().one())
                details = {spec.name: found[spec.name] for spec in KIND[head.kind].fields}
            kept = bytes(row["digest"])
            previous = next_digest(previous, head, details) if head.number >= first else kept
            query = (
                "UPDATE entry SET digest = :digest WHERE logbook_id = :book AND number = :number"
            )
            connection.execute(text(query), {**bound, "digest": previous})
        connection.commit()


@pytest.mark.parametrize("digits", [64, 32, 16])
def test_a_seal_holds_while_entries_are_added(log: "Log", digits: int) -> None:
    """Today's log contains the history of an older seal, whole or its first digits."""
    old, new = sealed(log, 2)
    for seal, since in ((old, "1 added since"), (new, "nothing was added since")):
        start, _, hexadecimal = seal.partition(":")
        (answer,) = asked(log, f"{start}:{hexadecimal[:digits]}")
        assert answer.outcome is Outcome.HOLDS
        (says,) = seal_says(answer)
        assert since in says
        assert f"{digits} of 64 digits compared" in says


def test_a_seal_is_read_as_it_is_printed(log: "Log") -> None:
    """Capitals, a blank for the colon, groups of digits and another case of the name are read."""
    (seal,) = sealed(log, 1)
    digits = seal.partition(":")[2]
    grouped = " ".join(digits[at : at + 8] for at in range(0, 64, 8))
    for form in (
        f"{BOOK}#2 {digits[:32]}",
        f"{BOOK}#2: {grouped.upper()}",
        f"  {BOOK.lower()}#2:{digits[:40]}... ",
    ):
        (answer,) = asked(log, form)
        assert answer.holds, form


def test_a_logbook_without_entries_has_a_seal(log: "Log") -> None:
    """The seal of number 0 is the logbook's start, which names it."""
    book = log.book()
    start = genesis(book.uid, book.kind, book.name).hex()
    (right, wrong) = asked(log, f"{BOOK}#0:{start}", f"{BOOK}#0:{start[::-1]}")
    assert (right.outcome, wrong.outcome) == (Outcome.HOLDS, Outcome.DIFFERS)


@pytest.mark.parametrize(
    ("seal", "says"),
    [
        ("", "is no seal"),
        ("VK71-1007", "is no seal"),
        (f"VK71-1007:{'a' * 32}", "is no seal"),
        (f"VK71-1007#two:{'a' * 32}", "is no seal"),
        ("VK71-1007#2:", "is no seal"),
        (f"VK71-1007#2:{'a' * 15}", "15 digits: too few"),
        (f"VK71-1007#2:{'a' * 65}", "65 digits"),
        (f"VK71-1007#2:{'x' * 32}", "not hexadecimal"),
        (f"VK71-1007#{'9' * 13}:{'a' * 32}", "is no seal"),
    ],
)
def test_what_is_no_seal_is_refused(seal: str, says: str) -> None:
    """What cannot be a seal, or proves too little, is bad input."""
    with pytest.raises(InputError, match=says):
        parse_claim(seal)


def test_a_changed_entry_is_named(log: "Log") -> None:
    """A seal from after a change does not hold, and names the entry; one from before holds."""
    seals = sealed(log, 4)
    log.tamper("UPDATE crosscheck_detail SET primary_1_ft = 31040 WHERE number = 4")
    answers = asked(log, *seals)
    assert [answer.holds for answer in answers] == [True, True, False, False]
    assert [answer.first for answer in answers] == [None, None, 4, 4]
    assert "the first entry that fails is #4" in seal_says(answers[-1])


def test_a_log_written_anew_is_found_by_its_seals_only(log: "Log") -> None:
    """Digests that follow from each other satisfy verification, and no seal from after the change.

    Of several seals the newest that holds says after which entry the histories part.
    """
    seals = sealed(log, 4)
    log.tamper("UPDATE crosscheck_detail SET primary_1_ft = 31040 WHERE number = 4")
    written_anew(log, 4)
    assert log.faults() == []
    answers = asked(log, *seals)
    assert [answer.outcome for answer in answers] == [
        *(Outcome.HOLDS, Outcome.HOLDS),
        *(Outcome.DIFFERS, Outcome.DIFFERS),
    ]
    assert [answer.first for answer in answers] == [None] * 4
    assert [answer.after for answer in answers[2:]] == [3, 3]
    assert "#4 was written anew" in seal_says(answers[2])[0]
    assert "something in #4 to #5 was written anew" in seal_says(answers[3])[0]
    (alone,) = asked(log, seals[3])
    assert "something in #1 to #5" in seal_says(alone)[0]


def test_a_log_cut_short_is_found_by_its_seal(log: "Log") -> None:
    """A seal beyond the newest entry says which entries are missing."""
    seals = sealed(log, 4)
    log.tamper(
        "DELETE FROM crosscheck_detail WHERE number > 3",
        "DELETE FROM entry WHERE logbook_id = 2 AND number > 3",
    )
    assert log.faults() == []
    answers = asked(log, *seals)
    assert [answer.outcome for answer in answers[2:]] == [Outcome.BEYOND, Outcome.BEYOND]
    assert answers[3].first == 4
    assert seal_says(answers[2])[0] == "the newest entry is #3: #4 is missing"
    assert seal_says(answers[3])[0] == "the newest entry is #3: #4 to #5 are missing"
    assert [answer.holds for answer in answers[:2]] == [True, True]


def test_a_mistyped_digit_is_called_one(log: "Log") -> None:
    """A seal of which all digits but two agree does not hold, and says what is likely."""
    (seal,) = sealed(log, 1)
    start, digits = seal[:-64], seal[-64:][:32]
    slipped = digits[:5] + ("0" if digits[5] != "0" else "1") + digits[6:]
    (answer,) = asked(log, start + slipped)
    assert not answer.holds
    assert answer.mistyped
    assert "mistyped" in seal_says(answer)[0]


def test_a_seal_of_another_store(log: "Log") -> None:
    """A logbook that is not there holds no sealed history."""
    (answer,) = asked(log, f"VK71-2000#2:{'a' * 32}")
    assert (answer.outcome, answer.newest) == (Outcome.NO_LOGBOOK, None)


def test_a_fresh_store_has_all_its_guards(log: "Log") -> None:
    """Triggers and indexes of a store just made are those that are looked for."""
    with log.store.reading() as connection:
        assert guard_faults(connection) == ()


@pytest.mark.parametrize("backend", ["sqlite"])
def test_guards_taken_away_are_missed(log: "Log") -> None:
    """A trigger dropped, changed or added, and a dropped index, are each named."""
    log.raw(
        "DROP TRIGGER entry_no_update",
        "DROP INDEX ix_flight_detail_off_at",
        "DROP TRIGGER work_detail_no_delete",
        "CREATE TRIGGER work_detail_no_delete BEFORE DELETE ON work_detail BEGIN SELECT 1; END",
        "CREATE TRIGGER helper AFTER INSERT ON entry BEGIN SELECT 1; END",
    )
    with log.store.reading() as connection:
        says = [str(fault) for fault in guard_faults(connection)]
    assert says == [
        "the store has lost its index ix_flight_detail_off_at",
        "the store has lost its trigger entry_no_update",
        "the store has the trigger helper, which rvsmlog did not make",
        "the store has the trigger work_detail_no_delete, but not as rvsmlog made it",
    ]


@pytest.mark.parametrize("backend", [pytest.param("postgresql", marks=pytest.mark.postgres)])
def test_guards_switched_off_are_missed(log: "Log") -> None:
    """A trigger dropped or switched off on a server is named."""
    undone = (
        "CREATE TRIGGER entry_in_order AFTER INSERT ON entry REFERENCING NEW TABLE AS made "
        "FOR EACH STATEMENT EXECUTE FUNCTION rvsmlog_entry_in_order()",
        "ALTER TABLE entry ENABLE TRIGGER entry_no_change",
        "ALTER TABLE unsettled ENABLE TRIGGER unsettled_settle",
    )
    log.raw(
        "DROP TRIGGER entry_in_order ON entry",
        "ALTER TABLE entry DISABLE TRIGGER entry_no_change",
        "ALTER TABLE unsettled DISABLE TRIGGER unsettled_settle",
    )
    try:
        with log.store.reading() as connection:
            says = [str(fault) for fault in guard_faults(connection)]
    finally:
        log.raw(*undone)
    assert says == [
        "the store has lost its trigger entry_in_order on entry, or it is switched off",
        "the store has lost its trigger entry_no_change on entry, or it is switched off",
        "the store has lost its trigger unsettled_settle on unsettled, or it is switched off",
    ]


@pytest.mark.parametrize("backend", ["sqlite"])
def test_an_index_that_lies_is_found(log: "Log") -> None:
    """An index out of step with its table, which no digest covers, is damage to the file."""
    sealed(log, 3)
    log.raw(
        "PRAGMA writable_schema = ON",
        "UPDATE sqlite_master SET sql = replace(sql, ', taken_at)', ', primary_2_ft)') "
        "WHERE name = 'ix_crosscheck_detail_taken_at'",
    )
    with log.store.reading() as connection:
        says = [str(fault) for fault in guard_faults(connection)]
    assert any("is damaged" in each for each in says)
