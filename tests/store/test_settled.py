"""At commit a server holds each new entry against its details, the one before it, and its digest.

What is inserted here comes past rvsmlog, with digests made by hand from the stated layout.
"""
# ruff: noqa: S608 - the statements are the tests' own, with nothing from outside in them

import hashlib
from collections.abc import Mapping
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from rvsmlog.dates import show_instant
from rvsmlog.records.base import Logbook
from rvsmlog.records.kinds import KIND
from rvsmlog.store.tables import table_name
from rvsmlog.store.writing.bulk import settle
from rvsmlog.store.writing.logbook import writing
from tests.store.samples import sample
from tests.store.test_export import named
from tests.store.test_triggers import refused

if TYPE_CHECKING:
    from tests.store.conftest import Log

pytestmark = [pytest.mark.parametrize("backend", ["postgresql"]), pytest.mark.postgres]

Fields = Mapping[str, int | float | str]
CHECK: Fields = {
    "taken_at": 1805000000000000,
    "phase": "level",
    "level": 310,
    "primary_1_ft": 31000,
    "primary_2_ft": 31010,
    "mach": 0.47,
    "remarks": "B\u00f6en \U0001f6e9",
}


class Past:
    """Writes INSERTs of entries into the airframe's logbook past rvsmlog, one after the other."""

    def __init__(self, log: "Log") -> None:
        query = "SELECT number, recorded_at, digest FROM entry WHERE logbook_id = 2 ORDER BY 1 DESC"
        with log.store.reading() as connection:
            row = connection.execute(text(query)).first()
        assert row is not None
        self.number, self.at, self.digest = row.number, row.recorded_at, bytes(row.digest)

    def entry(
        self, kind: str, fields: Fields, later: int = 1, by: str = "X", **more: int | str
    ) -> str:
        """Write the next entry with its own digest."""
        self.number += 1
        self.at += later
        head = {"number": self.number, "kind": kind, "recorded_at": self.at, "recorded_by": by}
        packed = b"".join(named(name, value) for name, value in {**head, **more}.items())
        details = b"".join(named(name, fields[name]) for name in sorted(fields))
        whole = self.digest + b"rvsmlog entry 1" + packed + b"\0" + details
        self.digest = hashlib.sha256(whole).digest()
        supersedes, reason = more.get("supersedes", "NULL"), more.get("reason")
        why = "NULL" if reason is None else f"'{reason}'"
        return (
            f"INSERT INTO entry VALUES (2, {self.number}, '{kind}', {self.at}, '{by}', "
            f"{supersedes}, {why}, '\\x{self.digest.hex()}')"
        )

    def details(self, kind: str, fields: Fields) -> str:
        """Write the details of the entry just written."""
        values = (f"'{value}'" if isinstance(value, str) else value for value in fields.values())
        return (
            f"INSERT INTO {table_name(KIND[kind])} (logbook_id, number, {', '.join(fields)}) "
            f"VALUES (2, {self.number}, {', '.join(map(str, values))})"
        )

    def check(self, by: str = "X") -> tuple[str, str]:
        """Write a whole cross-check."""
        return self.entry("crosscheck", CHECK, by=by), self.details("crosscheck", CHECK)


def test_whole_entries_are_taken(log: "Log") -> None:
    """Two cross-checks, a strike with its reason, and one whose text is not ASCII verify."""
    past = Past(log)
    statements = (
        *past.check(),
        *past.check(),
        past.entry("strike", {}, supersedes=2, reason="entered twice, \u0101"),
    )
    log.raw(*statements)
    assert log.verify().entries == 5
    assert log.faults() == []
    log.add("crosscheck", primary_1_ft=31020)
    assert log.faults() == []
    assert log.count("unsettled") == 0


def test_an_entry_without_its_details_is_refused(log: "Log") -> None:
    """Nothing is committed: not the entry alone, nor one of two that has none."""
    refused(log, Past(log).entry("crosscheck", {}), "refused: entry 2 has no details")
    past = Past(log)
    statements = (*past.check(), past.entry("crosscheck", {}))
    with pytest.raises(Exception, match="refused: entry 3 has no details"):
        log.raw(*statements)
    assert log.count() == 2


@pytest.mark.parametrize("kind", ["crosschecks", "airframe_clock", "Robert'); --", "entry"])
def test_an_entry_of_no_kind_is_refused(log: "Log", kind: str) -> None:
    """A kind that there is not has no table, or none that takes its details."""
    statement = Past(log).entry("flight", {}).replace("'flight'", "$x$" + kind + "$x$")
    refused(log, statement, "refused: (no entry is of the kind|entry 2 has no details)")


@pytest.mark.parametrize("part", ["digest", "author", "field", "before", "short", "empty"])
def test_a_digest_that_is_not_its_own_is_refused(log: "Log", part: str) -> None:
    """One bit, one word, one foot, another entry before it, or a length that no digest has."""
    past = Past(log)
    if part == "before":
        past.digest = hashlib.sha256(b"another history").digest()
    entry, details = past.check()
    own = past.digest.hex()
    changed = f"{int(own[0], 16) ^ 1:x}{own[1:]}"
    entry = {
        "digest": entry.replace(own, changed),
        "author": entry.replace("'X'", "'Y'"),
        "short": entry.replace(own, own[:-2]),
        "empty": entry.replace(own, ""),
    }.get(part, entry)
    if part == "field":
        details = details.replace("31010", "31011")
    with pytest.raises(Exception, match="refused: entry 2 has a digest that is not its own"):
        log.raw(entry, details)
    assert log.count() == 2


def test_time_runs_back_at_a_correction_of_the_clock_only(log: "Log") -> None:
    """A microsecond back is refused; the same time, and a clock's correction, are taken."""
    past = Past(log)
    same = past.entry("crosscheck", CHECK, later=0), past.details("crosscheck", CHECK)
    log.raw(*same)
    past = Past(log)
    with pytest.raises(Exception, match="refused: entry 3 was made before the one before it"):
        log.raw(past.entry("crosscheck", CHECK, later=-1), past.details("crosscheck", CHECK))
    past = Past(log)
    cause = {"cause": "wrong year"}
    log.raw(past.entry("airframe-clock", cause, later=-9), past.details("airframe-clock", cause))
    assert log.faults() == []


def test_nothing_gets_past_by_choosing_the_moment(log: "Log") -> None:
    """Neither at once, nor after a part that was taken back, nor in a statement of many rows."""
    past = Past(log)
    bare = past.entry("crosscheck", CHECK)
    with pytest.raises(Exception, match="refused: entry 2 has no details"):
        log.raw("SET CONSTRAINTS ALL IMMEDIATE", bare)
    with pytest.raises(Exception, match="refused: entry 2 has no details"):
        log.raw("SAVEPOINT s", bare, "ROLLBACK TO s", bare, "SET CONSTRAINTS ALL DEFERRED")
    with pytest.raises(Exception, match="without gaps"):
        log.raw(f"{bare}, {bare.partition('VALUES ')[2].replace('(2, 2,', '(2, 4,')}")
    assert log.count() == 2
    whole = Past(log)
    log.raw("SAVEPOINT s", *Past(log).check(), "ROLLBACK TO s", *whole.check())
    assert log.faults() == []


def test_details_that_come_later_are_refused(log: "Log") -> None:
    """What is committed has its details already: a second row, or another kind's, is refused."""
    past = Past(log)
    log.raw(*past.check())
    refused(log, past.details("crosscheck", CHECK), "pk_crosscheck_detail")
    refused(log, past.details("airframe-clock", {"cause": "x"}), "one entry of their kind")


#: So many details in a statement as misled the plans of an older trigger.
_ROWS = 200


def test_what_a_statement_costs_does_not_grow_with_the_log(own_log: "Log") -> None:
    """Few rows at a time, into three logbooks: each is looked up by its key, whatever is there.

    The plan of a trigger is kept from its first statement, when there was next to nothing.
    """
    log = own_log
    fetched: list[int] = []
    query = text(
        "SELECT sum(idx_tup_fetch + seq_tup_read) FROM pg_stat_xact_user_tables "
        "WHERE relname IN ('entry', 'crosscheck_detail')"
    )
    with writing(log.store, "A. Example", log.clock) as writer:
        books = [log.book()]
        for serial in ("1008", "1009"):
            books.append(writer.open_book(Logbook.AIRFRAME, f"VK71-{serial}"))
            particulars = sample("airframe", registration=f"QX-N{serial}", serial_number=serial)
            writer.append(books[-1], particulars)
        for day in range(12):
            at = log.clock() - timedelta(days=90 - day)
            times = [show_instant(at + timedelta(minutes=each)) for each in range(_ROWS)]
            records = [sample("crosscheck", taken_at=each) for each in times]
            for book in books:
                writer.append_many(book, records)
            settle(writer.connection)
            fetched.append(int(writer.connection.execute(query).scalar_one()))
        writer.append(books[0], sample("crosscheck"))
        settle(writer.connection)
        alone = int(writer.connection.execute(query).scalar_one()) - fetched[-1]
    early, late = fetched[3] - fetched[0], fetched[11] - fetched[8]
    assert early >= 3 * 3 * _ROWS  # each row's entry, at the least
    assert late <= 1.1 * early
    assert alone <= 50  # of 7200
    assert log.faults() == []
