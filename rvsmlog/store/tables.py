"""The tables: logbooks, entries, and one table of details for each kind of record.

They are derived from the record kinds; the migrations state them in full, and a test holds the
two against each other. Instants are whole microseconds since 1970 in UTC, calendar dates are
ISO 8601 text and yes/no is 1/0, converted in one place (:mod:`rvsmlog.records.fields`), so that
the digest, SQLite, PostgreSQL and bulk import all see the same scalars.

A check is a process of its own and touches few of the tables, so those of details are described
when they are first asked for. Indexes stand in :func:`whole_metadata` alone: describing a partial
one loads every dialect it is said for, and nothing but the migrations' test asks for them.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Any

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    func,
    text,
)
from sqlalchemy.types import TypeEngine

from rvsmlog.records.base import RecordKind
from rvsmlog.records.fields import Storage
from rvsmlog.records.kinds import KIND

#: Kind of an entry that strikes out another and has no details of its own.
STRIKE = "strike"

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

#: The key of an entry, by which others name it.
_ENTRY = ("entry.logbook_id", "entry.number")


def _of_a_file(*columns: str, of: Sequence[str]) -> ForeignKeyConstraint:
    """Give a foreign key of SQLite's; on a server triggers ask the same of whole statements."""
    key = ForeignKeyConstraint(columns, of)
    key.ddl_if(dialect="sqlite")
    return key


logbook = Table(
    "logbook",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("uid", Text, nullable=False, unique=True),
    Column("kind", Text, nullable=False),
    Column("name", Text, nullable=False, unique=True),
    CheckConstraint("kind IN ('operator', 'airframe')", name="kind"),
)

entry = Table(
    "entry",
    metadata,
    Column("logbook_id", Integer, primary_key=True),
    Column("number", BigInteger, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("recorded_at", BigInteger, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("supersedes", BigInteger),
    Column("reason", Text),
    Column("digest", LargeBinary, nullable=False),
    _of_a_file("logbook_id", of=("logbook.id",)),
    _of_a_file("logbook_id", "supersedes", of=_ENTRY),
    CheckConstraint("number >= 1", name="number"),
    CheckConstraint("supersedes < number", name="supersedes"),
    CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="reason"),
    sqlite_with_rowid=False,
)

#: What is derived from a logbook and kept beside it, to be taken up by the next check. It is no
#: evidence: whoever reads it holds it against the log, and may drop it at any time.
derived = Table(
    "derived",
    metadata,
    Column("logbook_id", Integer, ForeignKey("logbook.id"), primary_key=True),
    Column("name", Text, primary_key=True),
    Column("through", BigInteger, nullable=False),
    Column("digest", Text, nullable=False),
    Column("content", Text, nullable=False),
    sqlite_with_rowid=False,
)

#: Sorts of cross-check of which a check reads the newest, however old: each has an index, or one
#: that was never made would be looked for through all there are.
CROSSCHECK_SORTS: Mapping[str, str] = MappingProxyType(
    {
        "ground": "phase IN ('ground', 'after-flight')",
        "standby": "standby_ft IS NOT NULL",
        "transponder": "transponder_ft IS NOT NULL",
    }
)

_TYPES: Mapping[Storage, type[TypeEngine[Any]]] = MappingProxyType(
    {Storage.INTEGER: BigInteger, Storage.REAL: Double, Storage.TEXT: Text}
)


def table_name(kind: RecordKind) -> str:
    """Give the name of a kind's table of details."""
    return kind.name.replace("-", "_") + "_detail"


def _detail_table(kind: RecordKind) -> Table:
    """Describe the table of details of one kind."""
    columns = [
        Column(spec.name, _TYPES[spec.type.storage], nullable=not spec.required)
        for spec in kind.fields
    ]
    return Table(
        table_name(kind),
        metadata,
        Column("logbook_id", Integer, primary_key=True),
        Column("number", BigInteger, primary_key=True, autoincrement=False),
        *columns,
        _of_a_file("logbook_id", "number", of=_ENTRY),
        sqlite_with_rowid=False,
    )


class _Details(Mapping[str, Table]):
    """The table of details of each kind, described when it is first asked for."""

    def __getitem__(self, name: str) -> Table:
        return _described(name)

    def __iter__(self) -> Iterator[str]:
        return iter(KIND)

    def __len__(self) -> int:
        return len(KIND)


@cache
def _described(name: str) -> Table:
    return _detail_table(KIND[name])


detail: Mapping[str, Table] = _Details()


@cache
def whole_metadata() -> MetaData:
    """Describe every table with its indexes, as the migrations leave them."""
    # One entry is corrected once; a further correction names the correction.
    Index(
        "uq_entry_supersedes",
        entry.c.logbook_id,
        entry.c.supersedes,
        unique=True,
        sqlite_where=entry.c.supersedes.is_not(None),
        postgresql_where=entry.c.supersedes.is_not(None),
    )
    # Every kind's table is described by being asked for.
    tables = dict(detail)
    # What the check reads of the records that come by the thousand, each by a seek.
    check, flight, airframe = (tables[name].c for name in ("crosscheck", "flight", "airframe"))
    Index("ix_crosscheck_detail_taken_at", check.logbook_id, check.taken_at)
    Index(
        "ix_crosscheck_detail_difference",
        check.logbook_id,
        func.abs(check.primary_1_ft - check.primary_2_ft),
    )
    for sort, condition in CROSSCHECK_SORTS.items():
        Index(
            f"ix_crosscheck_detail_{sort}",
            check.logbook_id,
            check.taken_at,
            sqlite_where=text(condition),
            postgresql_where=text(condition),
        )
    Index("ix_flight_detail_off_at", flight.logbook_id, flight.off_at)
    Index("ix_airframe_detail_registration", airframe.registration)
    return metadata
