"""Roles on a real PostgreSQL server: what it lets each login record, asked past rvsmlog too."""
# ruff: noqa: S608 - the statements are the tests' own

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import make_url

from rvsmlog.errors import RefusedError, StoreError
from rvsmlog.records.kinds import KIND
from rvsmlog.records.trade_fields import instant_to_scalar
from rvsmlog.store.connection import SCHEMA_REVISION, Store, make_engine, open_store, store_url
from rvsmlog.store.importing.csv_import import import_csv
from rvsmlog.store.safekeeping.guards import guard_faults
from rvsmlog.store.safekeeping.schema import create_store, migrate, upgrade_store
from rvsmlog.store.writing.checks import Asked, check, check_and_record
from rvsmlog.store.writing.clock import correct_clock
from rvsmlog.store.writing.recording import record_entry, strike_entry
from rvsmlog.store.writing.roles import make_roles
from tests.store.test_settled import CHECK, Past

if TYPE_CHECKING:
    from tests.store.conftest import Clock, Log, PostgresServer

TODAY = date(2027, 3, 14)
PEOPLE = (
    ("A. Example", "controller", "t_ctl"),
    ("C. Example", "crew", "t_crew"),
    ("R. Example", "releaser", "t_rel"),
    ("S. Example", "crew", ""),
)


class Server:
    """A store on a server with people, their logins, and ways to come as one of them."""

    def __init__(self, url: str, log: "Log") -> None:
        self.url = make_url(url)
        self.log = log

    def as_login(self, login: str) -> str:
        """Give the store's URL for a login."""
        return self.url.set(username=login).render_as_string(hide_password=False)

    def run(self, login: str, *statements: str) -> None:
        """Run statements past rvsmlog, in one transaction."""
        import psycopg

        with psycopg.connect(
            host=str(self.url.query["host"]), dbname=self.url.database, user=login
        ) as connection:
            for statement in statements:
                connection.execute(statement.encode())
            # Here, where a refusal still closes the connection.
            connection.commit()

    def refuses(self, login: str, says: str, *statements: str) -> None:
        """Run statements that the server itself refuses."""
        import psycopg

        before = self.log.count()
        with pytest.raises(psycopg.errors.InsufficientPrivilege, match=says):
            self.run(login, *statements)
        assert self.log.count() == before

    def entry(self, kind: str, by: str, supersedes: int | None = None) -> str:
        """Write an INSERT of the next entry of the airframe's logbook."""
        number = self.log.count("entry WHERE logbook_id = 2") + 1
        reason = "NULL" if supersedes is None else "'why'"
        return (
            "INSERT INTO entry VALUES "
            f"(2, {number}, '{kind}', {4 * 10**15}, '{by}', {supersedes or 'NULL'}, {reason}, '')"
        )

    @contextmanager
    def opened(self, login: str) -> Iterator[Store]:
        """Open the store as a login."""
        with open_store(self.as_login(login)) as store:
            yield store

    def record(self, login: str, by: str, kind: str, **texts: str) -> int:
        """Record a sample through rvsmlog."""
        with self.opened(login) as store:
            ref, _ = record_entry(
                store,
                KIND[kind],
                {**self.log.samples[kind], **texts},
                by=by,
                clock=self.log.clock,
                registration="QX-ABC" if kind != "person" else None,
            )
        return ref.entry


@pytest.fixture
def backend() -> str:
    """Files have no roles."""
    return "postgresql"


@pytest.fixture
def server(postgres: "PostgresServer", clock: "Clock") -> Iterator[Server]:
    """Give a server whose store has people with logins of their own, and one without."""
    from tests.store.conftest import Log

    url = postgres.empty()
    create_store(url).close()
    logins = ("t_ctl", "t_crew", "t_rel", "t_shared", "t_none")
    with open_store(url) as store:
        log = Log(store, clock)
        made = Server(url, log)
        log.add("operator")
        log.add("airframe")
        owner = str(make_url(url).username)
        for login in logins:
            made.run(
                owner,
                f"DO $$ BEGIN IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{login}') THEN "
                f"CREATE ROLE {login} LOGIN; END IF; END $$",
            )
        for name, may, login in PEOPLE:
            log.add("person", name=name, may=may, database_role=login)
        make_roles(store, TODAY)
        made.run(owner, "GRANT rvsmlog_crew TO t_shared")
        yield made


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
def test_the_server_refuses_kinds_past_rvsmlog(server: Server) -> None:
    """Entries of other kinds, corrections and strikes of them, and their details are refused."""
    test = server.record("t_rel", "R. Example", "test")
    defect = server.record("t_crew", "C. Example", "defect")
    no_row, no_table = "row-level security", "permission denied"
    server.run("t_crew", server.entry("flight", "C. Example"), "ROLLBACK")
    server.run("t_crew", server.entry("strike", "C. Example", defect), "ROLLBACK")
    server.refuses("t_crew", no_row, server.entry("test", "C. Example"))
    server.refuses("t_crew", no_row, server.entry("strike", "C. Example", test))
    # Dressed as a cross-check, a correction would put the test aside as well.
    server.refuses("t_crew", no_row, server.entry("crosscheck", "C. Example", test))
    server.refuses("t_rel", no_row, server.entry("gonogo", "R. Example"))
    server.refuses("t_ctl", no_row, server.entry("rectification", "A. Example"))
    server.refuses("t_crew", no_table, f"INSERT INTO test_detail VALUES (2, {test + 1})")
    server.refuses("t_crew", no_table, "INSERT INTO logbook VALUES (9, 'u', 'airframe', 'x')")
    server.refuses("t_none", no_table, server.entry("flight", "C. Example"))
    server.refuses("t_none", no_table, "SELECT 1 FROM entry")
    assert server.log.faults() == []


@pytest.mark.postgres
def test_the_server_refuses_other_names(server: Server) -> None:
    """Whose login is on the list signs with that name; nobody else signs with it."""
    no_row = "row-level security"
    server.refuses("t_crew", no_row, server.entry("flight", "A. Example"))
    server.refuses("t_crew", no_row, server.entry("flight", "S. Example"))
    server.refuses("t_shared", no_row, server.entry("flight", "C. Example"))
    server.run("t_shared", server.entry("flight", "S. Example"), "ROLLBACK")
    # A table of one's own, of the same name, is not asked in place of the store's.
    fake = "CREATE TEMP TABLE person_detail (LIKE public.person_detail)"
    server.refuses("t_shared", no_row, fake, server.entry("flight", "C. Example"))


@pytest.mark.postgres
def test_no_entry_bars_a_logbook_for_good(server: Server) -> None:
    """A time of entry that no calendar has could not be mended: it is refused; a far one can be."""
    entry = server.entry("flight", "C. Example")
    for time in (2**63 - 1, -1, 253402300800 * 10**6):  # the year 10000, by RFC 3339 not writable
        server.refuses("t_crew", "row-level", entry.replace(str(4 * 10**15), str(time)))
    past = Past(server.log)
    past.at = 4 * 10**15
    server.run("t_crew", *past.check("C. Example"))
    with server.opened("t_ctl") as store:
        correct_clock(
            store, server.log.clock.now, "by hand", by="A. Example", clock=server.log.clock
        )
    server.record("t_crew", "C. Example", "flight")


@pytest.mark.postgres
@pytest.mark.parametrize("mach", ["NaN", "Infinity", "-1e308"])
def test_no_reading_bars_an_aeroplane_for_good(server: Server, mach: str) -> None:
    """A Mach number that is none comes in past rvsmlog only, is called damage, and is struck."""
    asked, now = Asked(registration="QX-ABC"), server.log.clock.now
    past = Past(server.log)
    past.at = instant_to_scalar(now)
    fields = {**CHECK, "taken_at": past.at, "mach": float(mach)}
    entry = past.entry("crosscheck", fields, by="C. Example")
    details = past.details("crosscheck", {**fields, "mach": mach})
    server.run("t_crew", entry, details)
    with server.opened("t_ctl") as store:
        with pytest.raises(StoreError, match="damaged: mach"):
            check(store, asked, now)
        strike_entry(
            *(store, "QX-ABC", past.number, "no Mach number"),
            by="A. Example",
            clock=server.log.clock,
        )
        made = check(store, asked, now)
    assert made.facts.drift is not None
    assert made.facts.drift.last_at is None


@pytest.mark.postgres
def test_nothing_is_changed_or_removed(server: Server) -> None:
    """The right that a lock asks for changes nothing: the trigger refuses each update."""
    import psycopg

    server.run("t_crew", "SELECT id FROM logbook WHERE id = 2 FOR UPDATE")
    with pytest.raises(psycopg.errors.RaiseException, match="refused: logbook is never changed"):
        server.run("t_crew", "UPDATE logbook SET id = 7 WHERE id = 2")
    for statement in (
        "UPDATE logbook SET name = 'x'",
        "UPDATE entry SET recorded_by = 'x'",
        "DELETE FROM entry",
        "TRUNCATE person_detail CASCADE",
        "ALTER TABLE entry DISABLE ROW LEVEL SECURITY",
        "ALTER TABLE entry DISABLE TRIGGER ALL",
        "DROP POLICY rvsmlog_crew ON entry",
        "DELETE FROM unsettled",
        "INSERT INTO unsettled VALUES (2, 1)",
        "ALTER TABLE unsettled DISABLE TRIGGER ALL",
        "GRANT rvsmlog_controller TO t_crew",
    ):
        server.refuses("t_crew", "permission denied|must be owner", statement)


@pytest.mark.postgres
def test_nobody_holds_up_the_readers(server: Server) -> None:
    """No login may lock a table against those who read it, nor change what is derived by hand."""
    for login in ("t_crew", "t_rel", "t_ctl"):
        for table in ("derived", "entry", "logbook", "crosscheck_detail"):
            for mode in ("ACCESS EXCLUSIVE", "EXCLUSIVE"):
                server.refuses(login, "permission denied", f"LOCK TABLE {table} IN {mode} MODE")
        server.refuses(login, "permission denied", "DELETE FROM derived")
        server.refuses(login, "permission denied", "INSERT INTO derived VALUES (2, 'x', 1, '', '')")
    server.refuses("t_none", "permission denied", "SELECT rvsmlog_keep(2, 'drift', 1, '', '')")
    with server.opened("t_crew") as store:
        asked = Asked(registration="QX-ABC", level=310)
        for _ in range(2):
            check_and_record(store, asked, by="C. Example", clock=server.log.clock)
    assert server.log.count("derived") == 1
    with server.log.store.reading() as connection:
        assert guard_faults(connection) == ()


@pytest.mark.postgres
def test_a_function_does_nothing_for_others(server: Server) -> None:
    """What the store's own triggers may do, no trigger on a table of one's own can do."""
    own = "CREATE TEMP TABLE made (logbook_id integer, number bigint)"
    for function in ("rvsmlog_entry_in_order", "rvsmlog_settle"):
        server.refuses(
            "t_crew",
            "permission denied for function",
            own,
            f"CREATE TRIGGER x AFTER INSERT ON made FOR EACH ROW EXECUTE FUNCTION {function}()",
        )


@pytest.mark.postgres
@pytest.mark.parametrize("kind", ["crosscheck", "defect"])
def test_crew_changes_only_its_own_past_rvsmlog(server: Server, kind: str) -> None:
    """What holds a level down is struck out or corrected by its author, or by who may release."""
    own = server.record("t_crew", "C. Example", kind)
    of_other = server.record("t_shared", "S. Example", "altimetry-fault")
    for verb in ("strike", kind):
        server.run("t_crew", server.entry(verb, "C. Example", own), "ROLLBACK")
        server.refuses("t_shared", "row-level security", server.entry(verb, "S. Example", own))
    server.refuses("t_crew", "row-level", server.entry("strike", "C. Example", of_other))
    server.run("t_shared", server.entry("strike", "S. Example", of_other), "ROLLBACK")
    server.run("t_ctl", server.entry("strike", "A. Example", own), "ROLLBACK")
    # Nor does it become one's own by correcting what somebody else had corrected.
    taken = server.log.correct(own, kind)
    server.refuses("t_crew", "row-level", server.entry("strike", "C. Example", taken))
    # Of what sets no level the crew may change another's, as rvsmlog lets it.
    flight = server.record("t_shared", "S. Example", "flight")
    server.run("t_crew", server.entry("strike", "C. Example", flight), "ROLLBACK")


@pytest.mark.postgres
def test_who_is_more_than_crew_changes_what_others_recorded(server: Server) -> None:
    """A login that is in another group too is not held to its own, as on the list."""
    fault = server.record("t_shared", "S. Example", "crosscheck")
    server.refuses("t_crew", "row-level", server.entry("strike", "C. Example", fault))
    server.log.correct(3, "person", name="C. Example", may="crew,releaser", database_role="t_crew")
    make_roles(server.log.store, TODAY)
    server.run("t_crew", server.entry("strike", "C. Example", fault), "ROLLBACK")


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
