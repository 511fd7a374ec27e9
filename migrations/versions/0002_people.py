"""People who may record, refusals, and corrections of the clock.

Revision ID: 0002
Revises: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_DETAILS = (
    ("airframe_clock_detail", "airframe-clock"),
    ("operator_clock_detail", "operator-clock"),
    ("person_detail", "person"),
    ("refusal_detail", "refusal"),
)


def upgrade() -> None:
    """Create the tables and their triggers; nothing that is there is touched."""
    _person_detail()
    _refusal_detail()
    for table in ("operator_clock_detail", "airframe_clock_detail"):
        _clock_detail(table)
    if op.get_bind().dialect.name == "sqlite":
        _sqlite_triggers()
    else:
        _postgresql_triggers()


def _person_detail() -> None:
    """Create the table person_detail."""
    op.create_table(
        "person_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("may", sa.Text(), nullable=False),
        sa.Column("valid_until", sa.Text(), nullable=True),
        sa.Column("database_role", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_person_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_person_detail"),
        sqlite_with_rowid=False,
    )


def _refusal_detail() -> None:
    """Create the table refusal_detail."""
    op.create_table(
        "refusal_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("wanted", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("logbook", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_refusal_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_refusal_detail"),
        sqlite_with_rowid=False,
    )


def _clock_detail(table: str) -> None:
    """Create one of the two tables of corrections of the clock."""
    op.create_table(
        table,
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name=f"fk_{table}_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name=f"pk_{table}"),
        sqlite_with_rowid=False,
    )


def _sqlite_triggers() -> None:
    """Refuse changes and removals, replacing inserts, and details without their entry."""
    for table, kind in _DETAILS:
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} BEGIN "
                f"SELECT RAISE(ABORT, 'refused: {table} is never changed or removed'); END"
            )
        op.execute(
            f"CREATE TRIGGER {table}_new BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM "
            f"{table} WHERE logbook_id = NEW.logbook_id AND number = NEW.number) OR NOT EXISTS "
            "(SELECT 1 FROM entry WHERE logbook_id = NEW.logbook_id AND number = NEW.number "
            f"AND kind = '{kind}') BEGIN "
            "SELECT RAISE(ABORT, 'refused: details belong to one entry of their kind'); END"
        )


def _postgresql_triggers() -> None:
    """Refuse the same on PostgreSQL, TRUNCATE included."""
    for table, kind in _DETAILS:
        op.execute(
            f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION rvsmlog_refuse()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION rvsmlog_refuse()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_new BEFORE INSERT ON {table} "
            f"FOR EACH ROW EXECUTE FUNCTION rvsmlog_detail_new('{kind}')"
        )
