"""What a real PostgreSQL server lets each login do past rvsmlog."""
# ruff: noqa: S608 - the statements are the tests' own

import pytest

from rvsmlog.errors import StoreError
from rvsmlog.records.trade_fields import instant_to_scalar
from rvsmlog.store.safekeeping.guards import guard_faults
from rvsmlog.store.writing.checks import Asked, check, check_and_record
from rvsmlog.store.writing.clock import correct_clock
from rvsmlog.store.writing.recording import strike_entry
from rvsmlog.store.writing.roles import make_roles
from tests.store.server_logins import TODAY, Server
from tests.store.test_settled import CHECK, Past


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
