"""Which tables a store of each schema revision has: whether a database is a store, and a whole one.

The number of a revision proves nothing: other programs number their schemas in a table of the same
name, and a store that lost a table still bears its number.
"""

from collections.abc import Mapping
from itertools import accumulate
from operator import or_
from types import MappingProxyType

from sqlalchemy import Connection, text

from rvsmlog.errors import StoreError

_KINDS_AT_FIRST = (
    *("airframe", "altimetry_fault", "approval", "closure", "crosscheck", "defect", "deferral"),
    *("deviation", "equipment", "extension", "flight", "gonogo", "knowledge", "monitoring"),
    *("operator", "oxygen_installation", "oxygen_reading", "pilot", "rectification", "removal"),
    *("review", "route_profile", "static_error", "swap", "test", "test_readings", "withdrawal"),
    "work",
)
_KINDS_OF_PEOPLE = ("airframe_clock", "operator_clock", "person", "refusal")
#: What each revision added.
_ADDED: Mapping[str, frozenset[str]] = {
    "0001": frozenset(
        {"alembic_version", "logbook", "entry", "derived"}
        | {f"{kind}_detail" for kind in _KINDS_AT_FIRST}
    ),
    "0002": frozenset(f"{kind}_detail" for kind in _KINDS_OF_PEOPLE),
    "0003": frozenset(),
    "0004": frozenset(),
}
#: The tables of a store of each revision, on either database.
TABLES: Mapping[str, frozenset[str]] = MappingProxyType(
    dict(zip(_ADDED, accumulate(_ADDED.values(), or_), strict=True))
)
#: What to do where something else stands in a store's place.
NAME_ANOTHER = (
    "name your store with --store or RVSMLOG_STORE; `rvsmlog store init --store NEW` makes one "
    "where nothing is yet"
)
_ALL = frozenset().union(*TABLES.values())
_OF_A_FILE = "SELECT name FROM sqlite_master WHERE type = 'table'"
_OF_A_SERVER = "SELECT tablename FROM pg_tables WHERE schemaname = ANY (current_schemas(false))"


def check_shape(connection: Connection, revision: str | None, where: str) -> None:
    """Look whether a database has the tables of a store.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    revision : str or None
        The schema's number as the database says it; None where it says none.
    where : str
        How messages call the store.

    Raises
    ------
    StoreError
        When it has none of them, or has lost some. Of a revision that is not known here only the
        former can be told.
    """
    query = _OF_A_FILE if connection.dialect.name == "sqlite" else _OF_A_SERVER
    there = set(connection.execute(text(query)).scalars())
    if not any(name.endswith("_detail") for name in _ALL & there):
        raise _no_store(where, bool(there), is_file=connection.dialect.name == "sqlite")
    lost = TABLES.get(revision or "0001", frozenset()) - there
    if lost:
        raise StoreError(
            f"the store {where} is damaged: it has lost {', '.join(sorted(lost))}",
            "do not write to it; restore the newest backup and run `rvsmlog store verify`",
        )


def _no_store(where: str, has_tables: bool, *, is_file: bool) -> StoreError:
    """Say what is there in place of a store, and what may be done: a file is not made into one."""
    if not has_tables and not is_file:
        return StoreError(f"{where} is no rvsmlog store yet", "make one with `rvsmlog store init`")
    what = "it holds another program's tables" if has_tables else "it is empty"
    return StoreError(f"{where} is no rvsmlog store: {what}", NAME_ANOTHER)
