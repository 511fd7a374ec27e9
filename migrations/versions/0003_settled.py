"""On a server, guards that look at whole statements, and at commit at the digests themselves.

Revision ID: 0003
Revises: 0002

An entry's details and its digest can be held against it only when all three are there, so that is
done at commit, by a trigger that is put off until then: it fires for a row of ``unsettled``, which
names the first entry that a transaction made in a logbook, and which the transaction never leaves
behind. SQLite stays as it is: whoever may write the file may take its triggers away.
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_DETAILS = (
    ("airframe_detail", "airframe"),
    ("airframe_clock_detail", "airframe-clock"),
    ("altimetry_fault_detail", "altimetry-fault"),
    ("approval_detail", "approval"),
    ("closure_detail", "closure"),
    ("crosscheck_detail", "crosscheck"),
    ("defect_detail", "defect"),
    ("deferral_detail", "deferral"),
    ("deviation_detail", "deviation"),
    ("equipment_detail", "equipment"),
    ("extension_detail", "extension"),
    ("flight_detail", "flight"),
    ("gonogo_detail", "gonogo"),
    ("knowledge_detail", "knowledge"),
    ("monitoring_detail", "monitoring"),
    ("operator_detail", "operator"),
    ("operator_clock_detail", "operator-clock"),
    ("oxygen_installation_detail", "oxygen-installation"),
    ("oxygen_reading_detail", "oxygen-reading"),
    ("person_detail", "person"),
    ("pilot_detail", "pilot"),
    ("rectification_detail", "rectification"),
    ("refusal_detail", "refusal"),
    ("removal_detail", "removal"),
    ("review_detail", "review"),
    ("route_profile_detail", "route-profile"),
    ("static_error_detail", "static-error"),
    ("swap_detail", "swap"),
    ("test_detail", "test"),
    ("test_readings_detail", "test-readings"),
    ("withdrawal_detail", "withdrawal"),
    ("work_detail", "work"),
)

#: How a column's type goes into the digest: its tag, and the bytes of a value.
_PACKED = {
    "bigint": ("i", "int8send({0})"),
    "double precision": ("r", "float8send({0})"),
    "text": ("t", "int4send(octet_length(convert_to({0}, 'UTF8'))) || convert_to({0}, 'UTF8')"),
}
_ENTRY = ("number", "kind", "recorded_at", "recorded_by", "supersedes", "reason")
_LOGBOOK = ("uid", "kind", "name")
#: A plan must not hang on how small a table was when it was made: each row is looked up by its key.
_BY_KEY = (
    "SET enable_seqscan = off SET enable_hashjoin = off SET enable_mergejoin = off SET jit = off"
)


def upgrade() -> None:
    """Exchange the triggers on a server; on SQLite there is nothing to do."""
    if op.get_bind().dialect.name == "sqlite":
        return
    schema = op.get_bind().execute(sa.text("SELECT quote_ident(current_schema())")).scalar_one()
    # Whoever calls may have tables of the same names in a schema of their own.
    path = f"SET search_path = {schema}, pg_temp"
    _unsettled()
    _packing()
    _order(path)
    _details(path)
    _settling(path)
    _keeping(path)


def _unsettled() -> None:
    """Create the table that holds what a transaction has not been held to yet."""
    op.execute(
        "CREATE UNLOGGED TABLE unsettled (logbook_id integer CONSTRAINT pk_unsettled PRIMARY KEY, "
        "first bigint NOT NULL)"
    )


def _packing() -> None:
    """Give the canonical bytes of a logbook, an entry and the details of each kind.

    The layout is that of the digests, which never changes. A column that is added later belongs
    to the bytes too: the migration that adds it makes its table's function anew.
    """
    _packs("logbook", _LOGBOOK, "'rvsmlog logbook 1'::bytea")
    _packs("entry", _ENTRY, "'rvsmlog entry 1'::bytea", "'\\x00'::bytea")
    for table, _ in _DETAILS:
        names = sorted(name for name in _types(table) if name not in ("logbook_id", "number"))
        _packs(table, names)


def _types(table: str) -> dict[str, str]:
    """Give the columns of a table with their types."""
    query = sa.text(
        "SELECT column_name, data_type FROM information_schema.columns "
        "WHERE table_schema = current_schema() AND table_name = :name"
    )
    return {row[0]: row[1] for row in op.get_bind().execute(query, {"name": table})}


def _packs(table: str, names: list[str] | tuple[str, ...], *around: str) -> None:
    """Make the function that packs a row: its columns as named values, absent ones left out."""
    types = _types(table)
    parts = []
    for name in names:
        tag, value = _PACKED[types[name]]
        start = bytes((len(name),)) + name.encode("ascii") + tag.encode("ascii")
        packed = value.format(f"($1).{name}")
        parts.append(f"coalesce('\\x{start.hex()}'::bytea || {packed}, ''::bytea)")
    body = " || ".join((*around[:1], *parts, *around[1:]))
    op.execute(
        f"CREATE FUNCTION rvsmlog_packed({table}) RETURNS bytea LANGUAGE sql STABLE AS $$ "
        f"SELECT {body} $$"
    )


def _order(path: str) -> None:
    """Let no statement leave a gap in the numbers, and note that its entries are unsettled."""
    op.execute("DROP TRIGGER entry_in_order ON entry")
    op.execute(
        "CREATE OR REPLACE FUNCTION rvsmlog_entry_in_order() RETURNS trigger LANGUAGE plpgsql "
        f"SECURITY DEFINER {path} {_BY_KEY} AS $$ BEGIN "
        "IF EXISTS (SELECT 1 FROM (SELECT logbook_id, min(number) AS first, max(number) AS last, "
        "count(*) AS many FROM made GROUP BY logbook_id) m WHERE m.last - m.first + 1 <> m.many "
        "OR m.first <> 1 + coalesce((SELECT max(e.number) FROM entry e WHERE e.logbook_id = "
        "m.logbook_id AND e.number NOT BETWEEN m.first AND m.last), 0)) THEN "
        "RAISE EXCEPTION 'refused: entries are numbered without gaps'; END IF; "
        "INSERT INTO unsettled SELECT logbook_id, min(number) FROM made GROUP BY logbook_id "
        "ON CONFLICT DO NOTHING; RETURN NULL; END $$"
    )
    # By an own table's trigger, anybody could have the function do what only its owner may.
    op.execute("REVOKE EXECUTE ON FUNCTION rvsmlog_entry_in_order() FROM PUBLIC")
    op.execute(
        "CREATE TRIGGER entry_in_order AFTER INSERT ON entry REFERENCING NEW TABLE AS made "
        "FOR EACH STATEMENT EXECUTE FUNCTION rvsmlog_entry_in_order()"
    )


def _details(path: str) -> None:
    """Refuse details that belong to no entry of their kind, statement by statement."""
    for table, _ in _DETAILS:
        op.execute(f"DROP TRIGGER {table}_new ON {table}")
    op.execute(
        "CREATE OR REPLACE FUNCTION rvsmlog_detail_new() RETURNS trigger LANGUAGE plpgsql "
        f"{path} {_BY_KEY} AS $$ BEGIN "
        "IF EXISTS (SELECT 1 FROM made m WHERE NOT EXISTS (SELECT 1 FROM entry e WHERE "
        "e.logbook_id = m.logbook_id AND e.number = m.number AND e.kind = TG_ARGV[0])) THEN "
        "RAISE EXCEPTION 'refused: details belong to one entry of their kind'; END IF; "
        "RETURN NULL; END $$"
    )
    for table, kind in _DETAILS:
        op.execute(
            f"CREATE TRIGGER {table}_new AFTER INSERT ON {table} REFERENCING NEW TABLE AS made "
            f"FOR EACH STATEMENT EXECUTE FUNCTION rvsmlog_detail_new('{kind}')"
        )


def _settling(path: str) -> None:
    """At commit, hold each new entry against the one before it, its details and its digest."""
    strike = _unsound("", "false", "")
    other = _unsound(
        "LEFT JOIN %I d ON d.logbook_id = e.logbook_id AND d.number = e.number",
        "d.number IS NULL",
        " || rvsmlog_packed(d)",
    )
    op.execute(
        "CREATE FUNCTION rvsmlog_settle() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER "
        f"{path} {_BY_KEY} AS $$ DECLARE known text; details text; wrong record; BEGIN "
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
    op.execute("REVOKE EXECUTE ON FUNCTION rvsmlog_settle() FROM PUBLIC")
    op.execute(
        "CREATE CONSTRAINT TRIGGER unsettled_settle AFTER INSERT ON unsettled "
        "DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION rvsmlog_settle()"
    )


def _unsound(details: str, missing: str, packed: str) -> str:
    """Write the query for the first entry of a kind, from a number on, that is not in order."""
    ran_back = (
        "e.recorded_at < p.recorded_at AND e.kind NOT IN ('operator-clock', 'airframe-clock')"
    )
    start = "(SELECT sha256(rvsmlog_packed(b)) FROM logbook b WHERE b.id = e.logbook_id)"
    return (
        f"SELECT e.number, CASE WHEN {missing} THEN 'has no details' WHEN {ran_back} THEN "
        "'was made before the one before it' ELSE 'has a digest that is not its own' END AS says "
        "FROM entry e LEFT JOIN entry p ON p.logbook_id = e.logbook_id AND p.number = e.number - 1 "
        f"{details} WHERE e.logbook_id = $1 AND e.number >= $2 AND e.kind = $3 AND ({missing} OR "
        f"{ran_back} OR e.digest <> sha256(coalesce(p.digest, {start}) || rvsmlog_packed(e)"
        f"{packed})) ORDER BY e.number LIMIT 1"
    )


def _keeping(path: str) -> None:
    """Let what is derived be kept without any right to its table, which could be locked by it."""
    op.execute(
        "CREATE FUNCTION rvsmlog_keep(book integer, called text, up_to bigint, proof text, "
        f"kept text) RETURNS void LANGUAGE sql SECURITY DEFINER {path} AS $$ "
        "INSERT INTO derived (logbook_id, name, through, digest, content) "
        "VALUES (book, called, up_to, proof, kept) ON CONFLICT (logbook_id, name) DO UPDATE SET "
        "through = excluded.through, digest = excluded.digest, content = excluded.content $$"
    )
    op.execute(
        "REVOKE EXECUTE ON FUNCTION rvsmlog_keep(integer, text, bigint, text, text) FROM PUBLIC"
    )
    # Groups that `rvsmlog store roles` made have had rights to the table until now.
    op.execute(
        "DO $$ DECLARE of_group name; BEGIN FOR of_group IN SELECT rolname FROM pg_roles WHERE "
        "rolname IN ('rvsmlog_crew', 'rvsmlog_controller', 'rvsmlog_releaser') AND "
        "has_table_privilege(oid, 'derived', 'INSERT') LOOP "
        "EXECUTE format('REVOKE INSERT, UPDATE, DELETE ON derived FROM %I', of_group); "
        "EXECUTE format('GRANT EXECUTE ON FUNCTION rvsmlog_keep(integer, text, bigint, text, "
        "text) TO %I', of_group); END LOOP; END $$"
    )
