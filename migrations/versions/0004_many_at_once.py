"""On a server, guards whose cost grows with what a statement brings, and with nothing else.

Revision ID: 0004
Revises: 0003

The trigger on details joined what came with the entries, and where a first statement was small
the plan that was kept went through all entries of all logbooks for each of its rows. Each row's
entry is looked up by its key now, which no plan can turn into a join. At commit, entries and
details are read side by side in the order of their numbers, and each entry takes the digest before
its own from the row before.

Foreign keys of entries and details go: they asked the same as the triggers do, but row by row, for
a third of a server's work. What is never changed or removed cannot go missing later. SQLite stays
as it is.
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

_DETAILS = (
    "airframe_detail",
    "airframe_clock_detail",
    "altimetry_fault_detail",
    "approval_detail",
    "closure_detail",
    "crosscheck_detail",
    "defect_detail",
    "deferral_detail",
    "deviation_detail",
    "equipment_detail",
    "extension_detail",
    "flight_detail",
    "gonogo_detail",
    "knowledge_detail",
    "monitoring_detail",
    "operator_detail",
    "operator_clock_detail",
    "oxygen_installation_detail",
    "oxygen_reading_detail",
    "person_detail",
    "pilot_detail",
    "rectification_detail",
    "refusal_detail",
    "removal_detail",
    "review_detail",
    "route_profile_detail",
    "static_error_detail",
    "swap_detail",
    "test_detail",
    "test_readings_detail",
    "withdrawal_detail",
    "work_detail",
)
#: A plan must not hang on how small a table was when it was made: rows are found by their key,
#: one by one, or many in the order of their numbers.
_BY_KEY = (
    "SET enable_seqscan = off SET enable_bitmapscan = off SET enable_hashjoin = off "
    "SET enable_material = off SET jit = off"
)
_ONE_BY_ONE = f"{_BY_KEY} SET enable_mergejoin = off"
_IN_ORDER = f"{_BY_KEY} SET enable_nestloop = off"


def upgrade() -> None:
    """Exchange the functions and drop the keys on a server; on SQLite there is nothing to do."""
    if op.get_bind().dialect.name == "sqlite":
        return
    schema = op.get_bind().execute(sa.text("SELECT quote_ident(current_schema())")).scalar_one()
    path = f"SET search_path = {schema}, pg_temp"
    _order(path)
    _details(path)
    _settling(path)
    _keys()


def _order(path: str) -> None:
    """Refuse entries of no logbook, gaps in the numbers, and corrections of what is not there."""
    op.execute(
        "CREATE OR REPLACE FUNCTION rvsmlog_entry_in_order() RETURNS trigger LANGUAGE plpgsql "
        f"SECURITY DEFINER {path} {_ONE_BY_ONE} AS $$ DECLARE new record; BEGIN "
        "FOR new IN SELECT logbook_id AS book, min(number) AS first, max(number) AS last, "
        "count(*) AS many, count(supersedes) AS later FROM made GROUP BY logbook_id LOOP "
        "IF NOT EXISTS (SELECT 1 FROM logbook WHERE id = new.book) THEN "
        "RAISE EXCEPTION 'refused: entries belong to a logbook'; END IF; "
        "IF new.last - new.first + 1 <> new.many OR new.first <> 1 + coalesce((SELECT max(number) "
        "FROM entry WHERE logbook_id = new.book AND number < new.first), 0) OR EXISTS (SELECT 1 "
        "FROM entry WHERE logbook_id = new.book AND number > new.last) THEN "
        "RAISE EXCEPTION 'refused: entries are numbered without gaps'; END IF; "
        "IF new.later > 0 AND EXISTS (SELECT 1 FROM made m WHERE m.logbook_id = new.book AND "
        "m.supersedes IS NOT NULL AND (SELECT e.number FROM entry e WHERE e.logbook_id = new.book "
        "AND e.number = m.supersedes) IS NULL) THEN "
        "RAISE EXCEPTION 'refused: what is superseded is an entry of its logbook'; END IF; "
        "INSERT INTO unsettled VALUES (new.book, new.first) ON CONFLICT DO NOTHING; "
        "END LOOP; RETURN NULL; END $$"
    )


def _details(path: str) -> None:
    """Refuse details that belong to no entry of their kind."""
    op.execute(
        "CREATE OR REPLACE FUNCTION rvsmlog_detail_new() RETURNS trigger LANGUAGE plpgsql "
        f"{path} {_ONE_BY_ONE} AS $$ BEGIN "
        "IF EXISTS (SELECT 1 FROM made m WHERE (SELECT e.kind FROM entry e WHERE e.logbook_id = "
        "m.logbook_id AND e.number = m.number) IS DISTINCT FROM TG_ARGV[0]) THEN "
        "RAISE EXCEPTION 'refused: details belong to one entry of their kind'; END IF; "
        "RETURN NULL; END $$"
    )


def _settling(path: str) -> None:
    """At commit, hold each new entry against the one before it, its details and its digest."""
    strike = _unsound("", "false", "")
    other = _unsound(
        "LEFT JOIN %I d ON d.logbook_id = $1 AND d.number = e.number AND d.number >= $2",
        "d.number IS NULL",
        " || rvsmlog_packed(d)",
    )
    op.execute(
        "CREATE OR REPLACE FUNCTION rvsmlog_settle() RETURNS trigger LANGUAGE plpgsql "
        f"SECURITY DEFINER {path} {_IN_ORDER} AS $$ "
        "DECLARE known text; details text; wrong record; BEGIN "
        "DELETE FROM unsettled WHERE logbook_id = NEW.logbook_id; "
        "FOR known IN SELECT DISTINCT kind FROM entry WHERE logbook_id = NEW.logbook_id "
        "AND number >= NEW.first LOOP details := replace(known, '-', '_') || '_detail'; "
        "IF known <> 'strike' AND to_regclass(quote_ident(details)) IS NULL THEN "
        "RAISE EXCEPTION 'refused: no entry is of the kind %', known; END IF; "
        f"EXECUTE CASE known WHEN 'strike' THEN $q${strike}$q$ ELSE format($q${other}$q$, details) "
        "END INTO wrong USING NEW.logbook_id, NEW.first, known; "
        "IF wrong.number IS NOT NULL THEN "
        "RAISE EXCEPTION 'refused: entry % %', wrong.number, wrong.says; END IF; "
        "END LOOP; RETURN NULL; END $$"
    )


def _unsound(details: str, missing: str, packed: str) -> str:
    """Write the query for the first entry of a kind, from a number on, that is not in order.

    Numbers have no gaps, so the entry before a new one is the row before.
    """
    ran_back = "e.recorded_at < e.before AND e.kind NOT IN ('operator-clock', 'airframe-clock')"
    start = "(SELECT sha256(rvsmlog_packed(b)) FROM logbook b WHERE b.id = $1)"
    return (
        f"SELECT e.number, CASE WHEN {missing} THEN 'has no details' WHEN {ran_back} THEN "
        "'was made before the one before it' ELSE 'has a digest that is not its own' END AS says "
        "FROM (SELECT n.number, n.kind, n.recorded_at, n.digest, rvsmlog_packed(n) AS packed, "
        "lag(n.recorded_at) OVER w AS before, lag(n.digest) OVER w AS chained FROM entry n "
        "WHERE n.logbook_id = $1 AND n.number >= $2 - 1 WINDOW w AS (ORDER BY n.number)) e "
        f"{details} WHERE e.number >= $2 AND e.kind = $3 AND ({missing} OR {ran_back} OR "
        f"e.digest <> sha256(coalesce(e.chained, {start}) || e.packed{packed})) "
        "ORDER BY e.number LIMIT 1"
    )


def _keys() -> None:
    """Drop the foreign keys that ask row by row what the triggers ask of a statement."""
    op.execute("ALTER TABLE entry DROP CONSTRAINT fk_entry_entry, DROP CONSTRAINT fk_entry_logbook")
    for table in _DETAILS:
        op.execute(f"ALTER TABLE {table} DROP CONSTRAINT fk_{table}_entry")
