"""What keeps a store from being changed: its triggers and indexes, and the file's own soundness.

The digests tell whether an entry was changed. What is found here tells that somebody may have
tried, or that the file was damaged in a place that no digest covers, an index for example.
"""

from collections.abc import Iterator

from sqlalchemy import Connection, create_engine, text

from rvsmlog.records.kinds import KINDS
from rvsmlog.store.connection import SCHEMA_REVISION
from rvsmlog.store.reading.books import books
from rvsmlog.store.reading.drift_reader import kept_is_sound
from rvsmlog.store.safekeeping.schema import migrate
from rvsmlog.store.safekeeping.verify import Fault
from rvsmlog.store.tables import table_name

_STORE = "the store"
_MADE = "SELECT type, name, sql FROM sqlite_master WHERE type <> 'table' AND sql IS NOT NULL"


def guard_faults(connection: Connection) -> tuple[Fault, ...]:
    """Find triggers and indexes missing or changed, damage to the file, and forged derived data.

    Parameters
    ----------
    connection : Connection
        In a read transaction, of a store of the present schema.

    Returns
    -------
    tuple of Fault
        Each says what it is; none names an entry.
    """
    sqlite = connection.dialect.name == "sqlite"
    derived = tuple(
        Fault(
            logbook=book.name,
            entry=None,
            says="has a drift log beside it that its readings do not give",
        )
        for book in books(connection)
        if not kept_is_sound(connection, book)
    )
    says = (*_lite_guards(connection), *_damage(connection)) if sqlite else _guards(connection)
    return (*(Fault(logbook=_STORE, entry=None, says=each) for each in says), *derived)


def missing_guards(connection: Connection) -> tuple[str, ...]:
    """Say which triggers and indexes are missing or changed, without looking at the entries."""
    if connection.dialect.name == "sqlite":
        return tuple(_lite_guards(connection))
    return tuple(_guards(connection))


def _lite_guards(connection: Connection) -> Iterator[str]:
    """Hold triggers and indexes against those of a store made now, in memory."""
    engine = create_engine("sqlite://")
    try:
        with engine.begin() as fresh:
            migrate(fresh, SCHEMA_REVISION)
            wanted = {tuple(row[:2]): row[2] for row in fresh.execute(text(_MADE))}
    finally:
        engine.dispose()
    found = {tuple(row[:2]): row[2] for row in connection.execute(text(_MADE))}
    for sort, name in sorted(wanted.keys() - found.keys()):
        yield f"has lost its {sort} {name}"
    for sort, name in sorted(found.keys() - wanted.keys()):
        yield f"has the {sort} {name}, which rvsmlog did not make"
    for sort, name in sorted(found.keys() & wanted.keys()):
        if found[sort, name] != wanted[sort, name]:
            yield f"has the {sort} {name}, but not as rvsmlog made it"


def _damage(connection: Connection) -> Iterator[str]:
    """Have the database look through its own file: pages, and indexes against tables."""
    for row in connection.execute(text("PRAGMA integrity_check(20)")):
        if row[0] != "ok":
            yield f"is damaged: {row[0]}"


def _guards(connection: Connection) -> Iterator[str]:
    """Look for the triggers of a store on a server, and whether they fire."""
    query = (
        "SELECT c.relname, t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
        "WHERE NOT t.tgisinternal AND t.tgenabled IN ('O', 'A') AND c.relnamespace = "
        "(SELECT relnamespace FROM pg_class WHERE oid = 'entry'::regclass)"
    )
    found = {(row[0], row[1]) for row in connection.execute(text(query))}
    tables = [table_name(kind) for kind in KINDS]
    wanted = {(table, f"{table}_new") for table in tables}
    wanted |= {("entry", "entry_in_order"), ("unsettled", "unsettled_settle")}
    for table in ("logbook", "entry", *tables):
        wanted |= {(table, f"{table}_no_change"), (table, f"{table}_no_truncate")}
    for table, name in sorted(wanted - found):
        yield f"has lost its trigger {name} on {table}, or it is switched off"
