"""Roles on a real PostgreSQL server: what each login records, and what is told where it may not."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import text

from rvsmlog.dates import show_instant
from rvsmlog.errors import RefusedError, StoreError
from rvsmlog.records.kinds import KIND
from rvsmlog.store.connection import SCHEMA_REVISION, Store, make_engine, open_store, store_url
from rvsmlog.store.importing.csv_import import import_csv
from rvsmlog.store.safekeeping.schema import migrate, upgrade_store
from rvsmlog.store.writing.checks import Asked, check_and_record
from rvsmlog.store.writing.logbook import writing
from rvsmlog.store.writing.roles import make_roles
from tests.store.server_logins import TODAY, Server

#: So many rows of a statement.
_ROWS = 200

if TYPE_CHECKING:
    from tests.store.conftest import Log, PostgresServer


@pytest.mark.postgres
def test_each_login_records_its_own(server: Server) -> None:
    """Through rvsmlog each person records by their own login; the chain agrees afterwards."""
    server.record("t_crew", "C. Example", "flight")
    server.record("t_rel", "R. Example", "test")
    server.record("t_ctl", "A. Example", "approval")
    server.record("t_shared", "S. Example", "crosscheck")
    with server.opened("t_crew") as store:
        asked = Asked(registration="QX-ABC", level=310)
        made = check_and_record(store, asked, by="C. Example", clock=server.log.clock)
    assert made.entry is not None
    assert server.log.faults() == []


@pytest.mark.postgres
def test_a_refusal_leaves_its_trace(server: Server) -> None:
    """What rvsmlog refuses, by the list or by the login, is on record under the login's person."""
    for by, kind, says in (
        ("C. Example", "test", r"C. Example \(crew\) may not record"),
        ("A. Example", "approval", "the login t_crew is C. Example, not A. Example"),
        ("N. Body", "flight", "N. Body is not on the operator's list"),
    ):
        with pytest.raises(RefusedError, match=says) as error:
            server.record("t_crew", by, kind)
        (*_, traced) = server.log.standing("refusal")
        assert f"on record as operator#{traced.ref.entry}" in error.value.hint
        assert (traced.recorded_by, traced.record.name) == ("C. Example", by)
    with pytest.raises(RefusedError, match="records by a login of their own, not by t_shared"):
        server.record("t_shared", "C. Example", "flight")
    (*_, traced) = server.log.standing("refusal")
    assert (traced.recorded_by, traced.record.name) == ("t_shared", "C. Example")
    assert server.log.faults() == []


@pytest.mark.postgres
def test_what_the_server_refuses_is_told_and_traced(server: Server) -> None:
    """Where the list allows what the login's roles do not, the server's word counts: status 2."""
    server.log.correct(5, "person", name="S. Example", may="crew,releaser")
    with pytest.raises(RefusedError, match="the server refuses that to this login") as error:
        server.record("t_shared", "S. Example", "test")
    assert error.value.exit_status == 2
    (*_, traced) = server.log.standing("refusal")
    assert f"on record as operator#{traced.ref.entry}" in error.value.hint
    assert traced.record.wanted == "test"
    with server.opened("t_rel") as store:
        asked = Asked(registration="QX-ABC", level=310)
        made = check_and_record(store, asked, by="R. Example", clock=server.log.clock)
    assert (made.entry, made.not_kept is not None) == (None, True)
    with pytest.raises(StoreError, match="the server refuses that to this login"):
        open_store(server.as_login("t_none"))


@pytest.mark.postgres
def test_a_file_comes_in_under_row_security(server: Server, folder: Path) -> None:
    """A file of several batches comes in for a login that each row is held against policies for."""
    path = folder / "checks.csv"
    rows = (
        f"2027-03-{day:02}T{hour:02}:{minute:02}Z,level,31000,31010,310"
        for day in range(1, 13)
        for hour in range(24)
        for minute in range(0, 60, 15)
    )
    head = "taken_at,phase,primary_1_ft,primary_2_ft,level"
    path.write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")

    def take_in(login: str, by: str) -> Any:
        with server.opened(login) as store:
            return import_csv(
                store,
                path,
                KIND["crosscheck"],
                by=by,
                clock=server.log.clock,
                registration="QX-ABC",
            )

    with pytest.raises(RefusedError, match=r"R. Example \(releaser\)"):
        take_in("t_rel", "R. Example")
    assert take_in("t_crew", "C. Example").written == 1152
    assert server.log.faults() == []


@pytest.mark.postgres
def test_what_a_row_costs_a_login_does_not_grow_with_the_log(server: Server) -> None:
    """The policies are asked for each row; they go by keys, though no statistics are there yet."""
    fetched: list[int] = []
    query = text(
        "SELECT sum(idx_tup_fetch + seq_tup_read) FROM pg_stat_xact_user_tables "
        "WHERE relname = 'entry'"
    )
    clock = server.log.clock
    with server.opened("t_crew") as store, writing(store, "C. Example", clock) as writer:
        for day in range(8):
            at = clock() - timedelta(days=90 - day)
            times = [show_instant(at + timedelta(minutes=each)) for each in range(_ROWS)]
            checks = [server.log.sample("crosscheck", taken_at=each) for each in times]
            writer.append_many(server.log.book(), checks)
            fetched.append(int(writer.connection.execute(query).scalar_one()))
    early, late = fetched[1] - fetched[0], fetched[7] - fetched[6]
    assert early >= _ROWS  # each row's entry, at the least
    assert late <= 1.1 * early
    assert server.log.faults() == []


@pytest.mark.postgres
def test_roles_follow_the_list(server: Server) -> None:
    """Run again, the roles are those of the list now; who left, or whose time is over, is out."""
    server.log.correct(3, "person", name="C. Example", may="releaser", database_role="t_crew")
    server.log.correct(
        4, "person", name="R. Example", may="releaser", database_role="t_rel",
        valid_until="2027-03-13",
    )  # fmt: skip
    server.log.add("person", name="M. Example", may="crew", database_role="t_missing")
    again = make_roles(server.log.store, TODAY)
    assert {each.login: (each.name, each.groups, each.there) for each in again.members} == {
        "t_ctl": ("A. Example", ("controller",), True),
        "t_crew": ("C. Example", ("releaser",), True),
        "t_rel": ("R. Example", (), True),
        "t_missing": ("M. Example", (), False),
        "t_shared": (None, ("crew",), True),
    }
    server.refuses("t_crew", "row-level security", server.entry("flight", "C. Example"))
    server.refuses("t_rel", "permission denied", server.entry("test", "R. Example"))
    server.record("t_crew", "C. Example", "test")


@pytest.mark.postgres
def test_an_upgrade_takes_the_table_and_gives_the_function(
    server: Server, postgres: "PostgresServer"
) -> None:
    """Groups made by an older edition go on without `store roles`, and lock nobody out."""
    url = postgres.empty()
    with Store(make_engine(store_url(url)), store_url(url)) as old, old.changing() as connection:
        migrate(connection, "0002")
        connection.exec_driver_sql("GRANT INSERT, UPDATE, DELETE ON derived TO rvsmlog_crew")
    upgrade_store(url, datetime(2027, 3, 14, tzinfo=UTC))
    with open_store(url) as store, store.reading() as connection:
        rights = connection.exec_driver_sql(
            "SELECT has_table_privilege('rvsmlog_crew', 'derived', 'INSERT, UPDATE, DELETE'), "
            "has_function_privilege('rvsmlog_crew', "
            "'rvsmlog_keep(integer, text, bigint, text, text)', 'EXECUTE')"
        ).one()
    assert tuple(rights) == (False, True)


@pytest.mark.postgres
def test_three_upgrades_at_once_on_a_server(postgres: "PostgresServer") -> None:
    """One does it; the others wait for it and find it done."""
    url = postgres.empty()
    with Store(make_engine(store_url(url)), store_url(url)) as old, old.changing() as connection:
        migrate(connection, "0002")
    at = datetime(2027, 3, 14, tzinfo=UTC)
    with ThreadPoolExecutor(3) as pool:
        done = list(pool.map(lambda _: upgrade_store(url, at), range(3)))
    assert sorted(done) == [
        ("0002", SCHEMA_REVISION, None),
        *[(SCHEMA_REVISION, SCHEMA_REVISION, None)] * 2,
    ]


@pytest.mark.parametrize("backend", ["sqlite"])
def test_a_file_has_no_roles(log: "Log", sample: Callable[..., object]) -> None:
    """On SQLite the command says that there are none."""
    with pytest.raises(StoreError, match="is a file: it has no logins"):
        make_roles(log.store, TODAY)
