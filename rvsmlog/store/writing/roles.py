"""What a PostgreSQL server itself lets each person record: group roles, grants, row security.

Three group roles, one for each word of the list of people. Whoever is in one reads everything and
inserts only what its table of kinds says, even past rvsmlog. Where a person on the list names a
login, that login records under this name only, and nobody else does.

The statements are made anew each time, from :data:`rvsmlog.records.people.MAY_RECORD`; to run them
again changes nothing.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime

from sqlalchemy import Connection, text

from rvsmlog.errors import StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.records.people import CREW, CREW_OWN, LASTING, MAY_RECORD, ROLES
from rvsmlog.records.trade_fields import instant_to_scalar
from rvsmlog.store.connection import Store
from rvsmlog.store.tables import STRIKE, table_name
from rvsmlog.store.writing.people import Listed, standing

#: What the first entry of opens a logbook.
_OPENS = ("operator", "airframe")
#: Finds rows by their key, one by one, as the guards do (migration 0004).
_BY_KEY = (
    "SET enable_seqscan = off SET enable_bitmapscan = off SET enable_hashjoin = off "
    "SET enable_mergejoin = off SET enable_material = off SET jit = off"
)
#: Text in a function of the database is delimited by this, and never holds it.
_QUOTE = "$rvsmlog$"
#: The last time of entry that the calendar has. One beyond it could not be read, and so not be
#: mended by a correction of the clock: it would bar the logbook for good.
_LAST = instant_to_scalar(datetime.max.replace(tzinfo=UTC))


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """A login and the group roles it is in.

    Parameters
    ----------
    login : str
        The login.
    name : str or None
        The person on the list whose login it is.
    groups : tuple of str
        The words of the list, without what stands before them in the roles' names.
    there : bool
        Whether the server knows the login.
    """

    login: str
    name: str | None
    groups: tuple[str, ...]
    there: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Roles:
    """What was done on the server.

    Parameters
    ----------
    statements : tuple of str
        What was run.
    members : tuple of Member
        Logins of people on the list, then logins in a group that are nobody's.
    """

    statements: tuple[str, ...]
    members: tuple[Member, ...]


def group(role: str) -> str:
    """Give the name of a group role."""
    return f"rvsmlog_{role}"


def make_roles(store: Store, today: date, *, run: bool = True) -> Roles:
    """Make the group roles with their grants and row security, and put people's logins into them.

    Parameters
    ----------
    store : Store
        On a PostgreSQL server; opened by the owner of its tables, who may create roles.
    today : date
        Whoever's last day is past is in no group.
    run : bool
        Whether to run the statements, or only to give them.

    Raises
    ------
    StoreError
        When the store is a file, or the login may not do that.
    """
    if store.is_sqlite:
        raise StoreError(
            f"{store.name} is a file: it has no logins",
            "its permissions say who may write it; move it to a server for more (README.md)",
        )
    with store.changing() as connection:
        schema = connection.execute(text("SELECT current_schema()")).scalar_one()
        listed = standing(connection)
        statements = (
            *_grants(_name(schema)),
            *_row_security(_name(schema)),
            *_memberships(connection, listed, today),
        )
        if run:
            for statement in statements:
                connection.exec_driver_sql(statement.replace("%", "%%"))
        return Roles(statements=statements, members=_members(connection, listed))


def _name(name: str) -> str:
    """Write a name in SQL."""
    return '"' + str(name).replace('"', '""') + '"'


def _texts(values: Sequence[str]) -> str:
    """Write an array of texts in SQL."""
    return "ARRAY[" + ", ".join("'" + each.replace("'", "''") + "'" for each in values) + "]"


def kinds_of(role: str) -> tuple[str, ...]:
    """Give the kinds of entry that a role may record."""
    return tuple(kind.name for kind in KINDS if role in MAY_RECORD[kind.name])


def _grants(schema: str) -> Iterator[str]:
    """Say which tables each group reads and inserts into."""
    for role in ROLES:
        name = group(role)
        yield (
            f"DO {_QUOTE} BEGIN IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{name}') "
            f"THEN CREATE ROLE {name} NOLOGIN; END IF; END {_QUOTE}"
        )
        # What an older edition granted goes first.
        yield f"REVOKE ALL ON ALL TABLES IN SCHEMA {schema} FROM {name}"
        yield f"GRANT USAGE ON SCHEMA {schema} TO {name}"
        yield f"GRANT SELECT ON ALL TABLES IN SCHEMA {schema} TO {name}"
        tables = ", ".join(table_name(KIND[kind]) for kind in kinds_of(role))
        yield f"GRANT INSERT ON entry, {tables} TO {name}"
        # To lock a logbook's row asks for the right to update a column of it; each update that is
        # tried is refused by the table's trigger.
        yield f"GRANT UPDATE (id) ON logbook TO {name}"
        # No evidence: what is derived from a log is held against it by whoever reads it. A right to
        # change the table would be one to lock it against every reader.
        yield (
            f"GRANT EXECUTE ON FUNCTION rvsmlog_keep(integer, text, bigint, text, text) TO {name}"
        )
        if set(_OPENS) & set(kinds_of(role)):
            yield f"GRANT INSERT ON logbook TO {name}"
            yield f"GRANT USAGE ON SEQUENCE logbook_id_seq TO {name}"


def _row_security(schema: str) -> Iterator[str]:
    """Say which entries each group may insert."""
    # Without a search path of their own, a table of the same name made by a login for itself
    # would be asked in place of the store's. Nor may a plan go through all entries: they are asked
    # for each row of an import.
    path = f"SET search_path = {schema}, pg_temp {_BY_KEY}"
    yield (
        "CREATE OR REPLACE FUNCTION rvsmlog_first_kind(book integer, entered bigint) RETURNS text "
        f"LANGUAGE sql STABLE {path} AS {_QUOTE} WITH RECURSIVE back AS (SELECT kind, supersedes "
        "FROM entry WHERE logbook_id = book AND number = entered UNION ALL SELECT e.kind, "
        "e.supersedes FROM entry e JOIN back ON e.logbook_id = book AND e.number = "
        f"back.supersedes) SELECT kind FROM back WHERE supersedes IS NULL {_QUOTE}"
    )
    yield (
        "CREATE OR REPLACE FUNCTION rvsmlog_author(book integer, entered bigint) RETURNS text "
        f"LANGUAGE sql STABLE {path} AS {_QUOTE} SELECT recorded_by FROM entry WHERE "
        f"logbook_id = book AND number = entered {_QUOTE}"
    )
    person = (
        "(SELECT p.* FROM person_detail p WHERE NOT EXISTS (SELECT 1 FROM entry c WHERE "
        "c.logbook_id = p.logbook_id AND c.supersedes = p.number))"
    )
    # A day is over everywhere twelve hours after it is in UTC.
    today = "to_char((now() AT TIME ZONE 'UTC') - interval '12 hours', 'YYYY-MM-DD')"
    yield (
        "CREATE OR REPLACE FUNCTION rvsmlog_signs(author text) RETURNS boolean "
        f"LANGUAGE sql STABLE {path} AS {_QUOTE} WITH listed AS {person} SELECT CASE WHEN EXISTS "
        "(SELECT 1 FROM listed WHERE database_role = session_user) THEN EXISTS (SELECT 1 FROM "
        "listed WHERE database_role = session_user AND name = author AND (valid_until IS NULL OR "
        f"valid_until >= {today})) ELSE NOT EXISTS (SELECT 1 FROM listed WHERE name = author AND "
        f"database_role IS NOT NULL) END {_QUOTE}"
    )
    yield "ALTER TABLE entry ENABLE ROW LEVEL SECURITY"
    yield "DROP POLICY IF EXISTS rvsmlog_read ON entry"
    yield "CREATE POLICY rvsmlog_read ON entry FOR SELECT USING (true)"
    for role in ROLES:
        name = group(role)
        yield f"DROP POLICY IF EXISTS {name} ON entry"
        yield f"CREATE POLICY {name} ON entry FOR INSERT TO {name} WITH CHECK ({_may_insert(role)})"


def _may_insert(role: str) -> str:
    """Write the condition that an entry must meet to be inserted by somebody in a group."""
    kinds = _texts(kinds_of(role))
    corrected = _texts([kind for kind in kinds_of(role) if kind not in LASTING])
    first = "rvsmlog_first_kind(logbook_id, supersedes)"
    own = "true"
    if role == CREW:
        others = (group(each) for each in ROLES if each != CREW)
        more = " OR ".join(f"pg_has_role(session_user, '{each}', 'MEMBER')" for each in others)
        own = (
            f"({first} <> ALL ({_texts(CREW_OWN)}) OR {more} OR "
            "rvsmlog_author(logbook_id, supersedes) = recorded_by)"
        )
    return (
        f"recorded_at BETWEEN 0 AND {_LAST} AND rvsmlog_signs(recorded_by) AND CASE WHEN "
        f"supersedes IS NULL THEN kind = ANY ({kinds}) ELSE kind IN ('{STRIKE}', {first}) "
        f"AND {first} = ANY ({corrected}) AND {own} END"
    )


def _memberships(connection: Connection, listed: Sequence[Listed], today: date) -> Iterator[str]:
    """Put the logins that people on the list name into the groups that they record as."""
    there = set(connection.execute(text("SELECT rolname FROM pg_roles")).scalars())
    for person in listed:
        if person.database_role not in there:
            continue
        login = _name(str(person.database_role))
        over = person.valid_until is not None and person.valid_until < today
        for role in ROLES:
            if role in person.may and not over:
                yield f"GRANT {group(role)} TO {login}"
            elif group(role) in there:
                yield f"REVOKE {group(role)} FROM {login}"


def _members(connection: Connection, listed: Sequence[Listed]) -> tuple[Member, ...]:
    """Give the logins of people on the list, and those in a group that are nobody's."""
    rows = connection.execute(
        text(
            "SELECT m.rolname, g.rolname FROM pg_auth_members a JOIN pg_roles g ON g.oid = "
            "a.roleid JOIN pg_roles m ON m.oid = a.member WHERE g.rolname LIKE 'rvsmlog\\_%' "
            "ORDER BY 1, 2"
        )
    ).all()
    there = set(connection.execute(text("SELECT rolname FROM pg_roles")).scalars())
    found: dict[str, list[str]] = {}
    for login, role in rows:
        found.setdefault(login, []).append(role.removeprefix("rvsmlog_"))
    own = {each.database_role: each.name for each in listed if each.database_role is not None}
    return (
        *(
            Member(
                login=login,
                name=name,
                groups=tuple(found.get(login, ())),
                there=login in there,
            )
            for login, name in own.items()
        ),
        *(
            Member(login=login, name=None, groups=tuple(groups))
            for login, groups in found.items()
            if login not in own
        ),
    )
