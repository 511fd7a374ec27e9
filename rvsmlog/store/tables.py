"""The tables: logbooks, entries, and one table of details for each kind of record.

They are derived from the record kinds; the migrations state them in full, and a test holds the
two against each other. Instants are whole microseconds since 1970 in UTC, calendar dates are
ISO 8601 text and yes/no is 1/0, converted in one place (:mod:`rvsmlog.records.fields`), so that
the digest, SQLite, PostgreSQL and bulk import all see the same scalars.
"""

from collections.abc import Mapping
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
)
from sqlalchemy.types import TypeEngine

from rvsmlog.records.base import RecordKind
from rvsmlog.records.fields import Storage
from rvsmlog.records.kinds import KINDS

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
    Column("logbook_id", Integer, ForeignKey("logbook.id"), primary_key=True),
    Column("number", BigInteger, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("recorded_at", BigInteger, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("supersedes", BigInteger),
    Column("reason", Text),
    Column("digest", LargeBinary, nullable=False),
    ForeignKeyConstraint(
        ("logbook_id", "supersedes"), ("entry.logbook_id", "entry.number"), name="fk_entry_entry"
    ),
    CheckConstraint("number >= 1", name="number"),
    CheckConstraint("supersedes < number", name="supersedes"),
    CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="reason"),
    sqlite_with_rowid=False,
)
# One entry is corrected once; a further correction names the correction.
Index(
    "uq_entry_supersedes",
    entry.c.logbook_id,
    entry.c.supersedes,
    unique=True,
    sqlite_where=entry.c.supersedes.is_not(None),
    postgresql_where=entry.c.supersedes.is_not(None),
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
        ForeignKeyConstraint(("logbook_id", "number"), ("entry.logbook_id", "entry.number")),
        sqlite_with_rowid=False,
    )


detail: Mapping[str, Table] = MappingProxyType({kind.name: _detail_table(kind) for kind in KINDS})

# What the check reads of the records that come by the thousand, each by a seek.
_crosscheck = detail["crosscheck"]
Index("ix_crosscheck_detail_taken_at", _crosscheck.c.logbook_id, _crosscheck.c.taken_at)
Index(
    "ix_crosscheck_detail_difference",
    _crosscheck.c.logbook_id,
    func.abs(_crosscheck.c.primary_1_ft - _crosscheck.c.primary_2_ft),
)
Index("ix_flight_detail_off_at", detail["flight"].c.logbook_id, detail["flight"].c.off_at)
Index("ix_airframe_detail_registration", detail["airframe"].c.registration)
