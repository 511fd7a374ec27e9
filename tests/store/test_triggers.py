"""The database itself refuses changes, whoever asks: statements past rvsmlog, on its triggers."""
# ruff: noqa: S608 - the statements are the tests' own, with names from the record kinds

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import StoreError
from rvsmlog.records.kinds import KINDS
from rvsmlog.store.tables import detail, table_name

if TYPE_CHECKING:
    from tests.store.conftest import Log

TABLES = ("logbook", "entry", *(table_name(kind) for kind in KINDS))


def refused(log: "Log", statement: str, says: str = "refused: ") -> None:
    """Run a statement that must fail with a trigger's words, and change nothing."""
    with pytest.raises(Exception, match=says) as error:
        log.raw(statement)
    assert type(error.value).__module__.split(".")[0] in {"sqlite3", "psycopg"}
    assert log.faults() == []


def entry(number: int, kind: str, supersedes: str = "NULL", verb: str = "INSERT") -> str:
    """Write an INSERT of a bare entry into the airframe's logbook."""
    reason = "NULL" if supersedes == "NULL" else "'why'"
    return (
        f"{verb} INTO entry (logbook_id, number, kind, recorded_at, recorded_by, supersedes, "
        f"reason, digest) VALUES (2, {number}, '{kind}', 0, 'X', {supersedes}, {reason}, '')"
    )


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("backend", ["sqlite"])
def test_every_table_has_its_triggers(log: "Log", table: str) -> None:
    """Each table refuses UPDATE, DELETE and a replacing INSERT by a trigger of its own."""
    with closing(sqlite3.connect(str(log.store.path))) as connection:
        rows = connection.execute(
            "SELECT sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?", (table,)
        ).fetchall()
    starts = sorted(" ".join(row[0].split()[3:5]) for row in rows)
    assert starts == ["BEFORE DELETE", "BEFORE INSERT", "BEFORE UPDATE"]


def test_update_and_delete_are_refused(log: "Log") -> None:
    """No row of a logbook, an entry or its details is changed or removed, not even to the same."""
    log.add("crosscheck")
    refused(log, "UPDATE entry SET recorded_by = 'X'")
    refused(log, "UPDATE entry SET recorded_by = recorded_by WHERE number = 1")
    refused(log, "DELETE FROM entry WHERE number = 2")
    refused(log, "UPDATE crosscheck_detail SET primary_1_ft = 1")
    refused(log, "DELETE FROM crosscheck_detail")
    refused(log, "UPDATE logbook SET name = 'X'")
    refused(log, "DELETE FROM logbook")


@pytest.mark.parametrize("backend", ["postgresql"])
@pytest.mark.postgres
def test_truncate_is_refused(log: "Log") -> None:
    """PostgreSQL's TRUNCATE fires no row triggers; it is refused on its own."""
    refused(log, "TRUNCATE crosscheck_detail")
    refused(log, "TRUNCATE logbook CASCADE")


@pytest.mark.parametrize("backend", ["postgresql"])
@pytest.mark.postgres
def test_every_table_has_its_triggers_on_a_server(log: "Log") -> None:
    """Each table refuses UPDATE, DELETE and TRUNCATE; entries and details check an INSERT.

    What is not settled yet has one more, at commit.
    """
    with log.store.reading() as connection:
        rows = connection.exec_driver_sql(
            "SELECT tgrelid::regclass::text, count(*) FROM pg_trigger WHERE NOT tgisinternal "
            "AND tgenabled = 'O' GROUP BY 1"
        ).all()
    wanted = {table: 2 if table == "logbook" else 3 for table in TABLES}
    assert {str(row[0]): row[1] for row in rows} == {**wanted, "unsettled": 1}


@pytest.mark.parametrize("backend", ["sqlite"])
@pytest.mark.parametrize("verb", ["INSERT OR REPLACE", "REPLACE", "INSERT OR IGNORE", "INSERT"])
def test_replacing_inserts_are_refused(log: "Log", verb: str) -> None:
    """No form of INSERT puts a row in place of another, not even where DELETE fires no trigger."""
    log.add("crosscheck")
    correction = log.correct(2, "crosscheck", primary_1_ft=31010)
    refused(log, entry(1, "airframe", verb=verb))
    refused(log, entry(correction, "crosscheck", "2", verb=verb))
    refused(log, entry(correction + 1, "crosscheck", "2", verb=verb))
    refused(
        log,
        f"{verb} INTO crosscheck_detail (logbook_id, number, taken_at, phase, primary_1_ft, "
        "primary_2_ft) VALUES (2, 2, 0, 'level', 1, 1)",
    )
    for row in ("2, 'a', 'airframe', 'b'", "9, 'a', 'airframe', 'VK71-1007'"):
        refused(log, f"{verb} INTO logbook (id, uid, kind, name) VALUES ({row})")
    uid = log.book().uid
    refused(log, f"{verb} INTO logbook VALUES (9, '{uid}', 'airframe', 'new')")


def test_upsert_is_refused(log: "Log") -> None:
    """INSERT ... ON CONFLICT DO UPDATE changes nothing."""
    for table, key, row in (
        ("entry", "logbook_id, number", "2, 1, 'airframe', 0, 'X', NULL, NULL, ''"),
        ("logbook", "id", "2, 'uid', 'airframe', 'X'"),
    ):
        column = "recorded_by" if table == "entry" else "name"
        with pytest.raises(Exception, match="refused: "):
            log.raw(
                f"INSERT INTO {table} VALUES ({row}) ON CONFLICT ({key}) DO UPDATE "
                f"SET {column} = 'Y'"
            )
    assert log.faults() == []


@pytest.mark.parametrize("number", [-1, 0, 1, 3, 99])
def test_numbers_have_no_gaps(log: "Log", number: int) -> None:
    """The database takes the next number only: 2, after the particulars.

    A server looks at the numbers when the statement is through, its keys and checks before that.
    """
    says = "without gaps"
    if not log.store.is_sqlite and number < 2:
        says = "pk_entry" if number == 1 else "ck_entry_number"
    refused(log, entry(number, "flight"), says)


def test_details_belong_to_one_entry_of_their_kind(log: "Log") -> None:
    """Details without an entry, of another kind, or for a strike are refused."""
    log.add("flight")
    strike = log.strike(2)
    columns = "(logbook_id, number, taken_at, phase, primary_1_ft, primary_2_ft)"
    for number in (1, 2, strike, 50):
        refused(
            log,
            f"INSERT INTO crosscheck_detail {columns} VALUES (2, {number}, 0, 'level', 1, 1)",
            "one entry of their kind",
        )


@pytest.mark.parametrize("backend", ["postgresql"])
@pytest.mark.postgres
def test_a_server_wants_the_logbook_and_what_is_superseded(log: "Log") -> None:
    """No entry of a logbook that is not there, no correction of what is not there, nor both in one.

    SQLite has foreign keys for that; a server asks it of a statement as a whole.
    """
    log.add("crosscheck")
    bare = entry(3, "flight", "1")
    for statement, says in (
        (entry(1, "flight").replace("(2,", "(9,"), "belong to a logbook"),
        (f"{bare}, (9, 1, 'flight', 0, 'X', NULL, NULL, '')", "belong to a logbook"),
        (entry(3, "flight", "0"), "is an entry of its logbook"),
        (f"{bare}, (2, 4, 'flight', 0, 'X', -1, 'why', '')", "is an entry of its logbook"),
        (entry(3, "flight", "3"), "ck_entry_supersedes"),
    ):
        refused(log, statement, says)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_refusal_reads_plainly(log: "Log") -> None:
    """Through rvsmlog's own connection a refusal is a StoreError that says what to do."""
    log.add("crosscheck")
    with pytest.raises(StoreError, match="refused the change") as error, log.store.changing() as c:
        c.execute(detail["crosscheck"].update().values(primary_1_ft=1))
    assert "supersede" in error.value.hint
