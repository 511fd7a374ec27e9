"""The first store: logbooks, entries, details of each kind, and the triggers that keep them.

Revision ID: 0001
Revises: nothing
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_DETAILS = (
    ("airframe_detail", "airframe"),
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
    ("oxygen_installation_detail", "oxygen-installation"),
    ("oxygen_reading_detail", "oxygen-reading"),
    ("pilot_detail", "pilot"),
    ("rectification_detail", "rectification"),
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


def upgrade() -> None:
    """Create everything."""
    _logbook()
    _entry()
    _derived()
    _airframe_detail()
    _altimetry_fault_detail()
    _approval_detail()
    _closure_detail()
    _crosscheck_detail()
    _defect_detail()
    _deferral_detail()
    _deviation_detail()
    _equipment_detail()
    _extension_detail()
    _flight_detail()
    _gonogo_detail()
    _knowledge_detail()
    _monitoring_detail()
    _operator_detail()
    _oxygen_installation_detail()
    _oxygen_reading_detail()
    _pilot_detail()
    _rectification_detail()
    _removal_detail()
    _review_detail()
    _route_profile_detail()
    _static_error_detail()
    _swap_detail()
    _test_detail()
    _test_readings_detail()
    _withdrawal_detail()
    _work_detail()
    _indexes()
    if op.get_bind().dialect.name == "sqlite":
        _sqlite_triggers()
    else:
        _postgresql_triggers()


def _logbook() -> None:
    """Create the table logbook."""
    op.create_table(
        "logbook",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('operator', 'airframe')", name="ck_logbook_kind"),
        sa.PrimaryKeyConstraint("id", name="pk_logbook"),
        sa.UniqueConstraint("name", name="uq_logbook_name"),
        sa.UniqueConstraint("uid", name="uq_logbook_uid"),
    )


def _entry() -> None:
    """Create the table entry."""
    op.create_table(
        "entry",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.BigInteger(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.BigInteger(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("digest", sa.LargeBinary(), nullable=False),
        sa.CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="ck_entry_reason"),
        sa.CheckConstraint("number >= 1", name="ck_entry_number"),
        sa.CheckConstraint("supersedes < number", name="ck_entry_supersedes"),
        sa.ForeignKeyConstraint(
            ["logbook_id", "supersedes"],
            ["entry.logbook_id", "entry.number"],
            name="fk_entry_entry",
        ),
        sa.ForeignKeyConstraint(["logbook_id"], ["logbook.id"], name="fk_entry_logbook"),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_entry"),
        sqlite_with_rowid=False,
    )


def _airframe_detail() -> None:
    """Create the table airframe_detail."""
    op.create_table(
        "airframe_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("registration", sa.Text(), nullable=False),
        sa.Column("type_designator", sa.Text(), nullable=False),
        sa.Column("serial_number", sa.Text(), nullable=False),
        sa.Column("authority", sa.Text(), nullable=False),
        sa.Column("rvsm_basis", sa.Text(), nullable=False),
        sa.Column("type_certificate", sa.Text(), nullable=False),
        sa.Column("highest_level", sa.BigInteger(), nullable=False),
        sa.Column("icao_address", sa.Text(), nullable=True),
        sa.Column("max_differential_psi", sa.Double(), nullable=True),
        sa.Column("altimeter_resolution_ft", sa.BigInteger(), nullable=True),
        sa.Column("primary_tolerance", sa.Text(), nullable=True),
        sa.Column("standby_tolerance", sa.Text(), nullable=True),
        sa.Column("ground_tolerance_ft", sa.BigInteger(), nullable=True),
        sa.Column("static_test_months", sa.BigInteger(), nullable=True),
        sa.Column("altimeter_scale_limit", sa.Text(), nullable=True),
        sa.Column("transponder_feed", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_airframe_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_airframe_detail"),
        sqlite_with_rowid=False,
    )


def _altimetry_fault_detail() -> None:
    """Create the table altimetry_fault_detail."""
    op.create_table(
        "altimetry_fault_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("found_at", sa.BigInteger(), nullable=False),
        sa.Column("description", sa.Text(), nullable=False),
        sa.Column("level", sa.BigInteger(), nullable=True),
        sa.Column("primary_1_ft", sa.BigInteger(), nullable=True),
        sa.Column("primary_2_ft", sa.BigInteger(), nullable=True),
        sa.Column("standby_ft", sa.BigInteger(), nullable=True),
        sa.Column("selected_altitude_ft", sa.BigInteger(), nullable=True),
        sa.Column("subscale_1_hpa", sa.Double(), nullable=True),
        sa.Column("subscale_2_hpa", sa.Double(), nullable=True),
        sa.Column("autopilot", sa.Text(), nullable=True),
        sa.Column("alternate_static_1_ft", sa.BigInteger(), nullable=True),
        sa.Column("alternate_static_2_ft", sa.BigInteger(), nullable=True),
        sa.Column("air_data_selector", sa.Text(), nullable=True),
        sa.Column("transponder", sa.Text(), nullable=True),
        sa.Column("reported_by", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_altimetry_fault_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_altimetry_fault_detail"),
        sqlite_with_rowid=False,
    )


def _approval_detail() -> None:
    """Create the table approval_detail."""
    op.create_table(
        "approval_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("approval", sa.Text(), nullable=False),
        sa.Column("registration", sa.Text(), nullable=False),
        sa.Column("holder", sa.Text(), nullable=False),
        sa.Column("issued_on", sa.Text(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("issued_by", sa.Text(), nullable=True),
        sa.Column("regions", sa.Text(), nullable=True),
        sa.Column("expires_on", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_approval_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_approval_detail"),
        sqlite_with_rowid=False,
    )


def _closure_detail() -> None:
    """Create the table closure_detail."""
    op.create_table(
        "closure_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("deviation", sa.BigInteger(), nullable=False),
        sa.Column("closed_on", sa.Text(), nullable=False),
        sa.Column("conclusion", sa.Text(), nullable=False),
        sa.Column("confirmed_by", sa.Text(), nullable=False),
        sa.Column("confirmation", sa.Text(), nullable=True),
        sa.Column("confirmed_on", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_closure_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_closure_detail"),
        sqlite_with_rowid=False,
    )


def _crosscheck_detail() -> None:
    """Create the table crosscheck_detail."""
    op.create_table(
        "crosscheck_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("taken_at", sa.BigInteger(), nullable=False),
        sa.Column("phase", sa.Text(), nullable=False),
        sa.Column("primary_1_ft", sa.BigInteger(), nullable=False),
        sa.Column("primary_2_ft", sa.BigInteger(), nullable=False),
        sa.Column("standby_ft", sa.BigInteger(), nullable=True),
        sa.Column("transponder_ft", sa.BigInteger(), nullable=True),
        sa.Column("level", sa.BigInteger(), nullable=True),
        sa.Column("field_elevation_ft", sa.BigInteger(), nullable=True),
        sa.Column("qnh_hpa", sa.Double(), nullable=True),
        sa.Column("mach", sa.Double(), nullable=True),
        sa.Column("static_air_temperature_c", sa.Double(), nullable=True),
        sa.Column("total_air_temperature_c", sa.Double(), nullable=True),
        sa.Column("gnss_height_ft", sa.BigInteger(), nullable=True),
        sa.Column("gnss_kind", sa.Text(), nullable=True),
        sa.Column("latitude_deg", sa.Double(), nullable=True),
        sa.Column("longitude_deg", sa.Double(), nullable=True),
        sa.Column("pilot", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_crosscheck_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_crosscheck_detail"),
        sqlite_with_rowid=False,
    )


def _defect_detail() -> None:
    """Create the table defect_detail."""
    op.create_table(
        "defect_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("found_at", sa.BigInteger(), nullable=False),
        sa.Column("function", sa.Text(), nullable=False),
        sa.Column("description", sa.Text(), nullable=False),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("reported_by", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_defect_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_defect_detail"),
        sqlite_with_rowid=False,
    )


def _deferral_detail() -> None:
    """Create the table deferral_detail."""
    op.create_table(
        "deferral_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("defect", sa.BigInteger(), nullable=False),
        sa.Column("category", sa.Text(), nullable=False),
        sa.Column("mel_reference", sa.Text(), nullable=False),
        sa.Column("deferred_on", sa.Text(), nullable=False),
        sa.Column("discovered_on", sa.Text(), nullable=True),
        sa.Column("due_on", sa.Text(), nullable=True),
        sa.Column("limitation", sa.Text(), nullable=True),
        sa.Column("highest_level", sa.BigInteger(), nullable=True),
        sa.Column("max_differential_psi", sa.Double(), nullable=True),
        sa.Column("deferred_by", sa.Text(), nullable=True),
        sa.Column("licence", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_deferral_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_deferral_detail"),
        sqlite_with_rowid=False,
    )


def _deviation_detail() -> None:
    """Create the table deviation_detail."""
    op.create_table(
        "deviation_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("occurred_at", sa.BigInteger(), nullable=False),
        sa.Column("description", sa.Text(), nullable=False),
        sa.Column("tve_ft", sa.BigInteger(), nullable=True),
        sa.Column("ase_ft", sa.BigInteger(), nullable=True),
        sa.Column("aad_ft", sa.BigInteger(), nullable=True),
        sa.Column("cleared_level", sa.BigInteger(), nullable=True),
        sa.Column("observed_level", sa.BigInteger(), nullable=True),
        sa.Column("duration_s", sa.BigInteger(), nullable=True),
        sa.Column("cause", sa.Text(), nullable=True),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("route", sa.Text(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=True),
        sa.Column("callsign", sa.Text(), nullable=True),
        sa.Column("displayed_level", sa.BigInteger(), nullable=True),
        sa.Column("subsequent_level", sa.BigInteger(), nullable=True),
        sa.Column("traffic", sa.Text(), nullable=True),
        sa.Column("reported_at", sa.BigInteger(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_deviation_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_deviation_detail"),
        sqlite_with_rowid=False,
    )


def _equipment_detail() -> None:
    """Create the table equipment_detail."""
    op.create_table(
        "equipment_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("function", sa.Text(), nullable=False),
        sa.Column("fitted_on", sa.Text(), nullable=False),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("part_number", sa.Text(), nullable=True),
        sa.Column("serial_number", sa.Text(), nullable=True),
        sa.Column("version", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_equipment_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_equipment_detail"),
        sqlite_with_rowid=False,
    )


def _extension_detail() -> None:
    """Create the table extension_detail."""
    op.create_table(
        "extension_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("deferral", sa.BigInteger(), nullable=False),
        sa.Column("days", sa.BigInteger(), nullable=False),
        sa.Column("granted_on", sa.Text(), nullable=False),
        sa.Column("granted_by", sa.Text(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_extension_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_extension_detail"),
        sqlite_with_rowid=False,
    )


def _flight_detail() -> None:
    """Create the table flight_detail."""
    op.create_table(
        "flight_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("off_at", sa.BigInteger(), nullable=False),
        sa.Column("on_at", sa.BigInteger(), nullable=False),
        sa.Column("pilot", sa.Text(), nullable=True),
        sa.Column("departure", sa.Text(), nullable=True),
        sa.Column("destination", sa.Text(), nullable=True),
        sa.Column("highest_level", sa.BigInteger(), nullable=True),
        sa.Column("rvsm_from", sa.BigInteger(), nullable=True),
        sa.Column("rvsm_to", sa.BigInteger(), nullable=True),
        sa.Column("airframe_hours", sa.Double(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_flight_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_flight_detail"),
        sqlite_with_rowid=False,
    )


def _gonogo_detail() -> None:
    """Create the table gonogo_detail."""
    op.create_table(
        "gonogo_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("verdict", sa.Text(), nullable=False),
        sa.Column("rulebook", sa.Text(), nullable=False),
        sa.Column("operator_entry", sa.BigInteger(), nullable=False),
        sa.Column("airframe_entry", sa.BigInteger(), nullable=False),
        sa.Column("planned_level", sa.BigInteger(), nullable=True),
        sa.Column("highest_level", sa.BigInteger(), nullable=True),
        sa.Column("region", sa.Text(), nullable=True),
        sa.Column("pilot", sa.Text(), nullable=True),
        sa.Column("question", sa.Text(), nullable=True),
        sa.Column("limiting", sa.Text(), nullable=True),
        sa.Column("operator_seal", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_gonogo_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_gonogo_detail"),
        sqlite_with_rowid=False,
    )


def _knowledge_detail() -> None:
    """Create the table knowledge_detail."""
    op.create_table(
        "knowledge_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("pilot", sa.Text(), nullable=False),
        sa.Column("completed_on", sa.Text(), nullable=False),
        sa.Column("training", sa.Text(), nullable=False),
        sa.Column("valid_until", sa.Text(), nullable=True),
        sa.Column("given_by", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_knowledge_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_knowledge_detail"),
        sqlite_with_rowid=False,
    )


def _monitoring_detail() -> None:
    """Create the table monitoring_detail."""
    op.create_table(
        "monitoring_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("measured_on", sa.Text(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("ase_ft", sa.BigInteger(), nullable=False),
        sa.Column("tve_ft", sa.BigInteger(), nullable=True),
        sa.Column("measured_by", sa.Text(), nullable=True),
        sa.Column("airframe_hours", sa.Double(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_monitoring_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_monitoring_detail"),
        sqlite_with_rowid=False,
    )


def _operator_detail() -> None:
    """Create the table operator_detail."""
    op.create_table(
        "operator_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("time_zone", sa.Text(), nullable=False),
        sa.Column("region", sa.Text(), nullable=True),
        sa.Column("designator", sa.Text(), nullable=True),
        sa.Column("crosscheck_max_age_days", sa.BigInteger(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_operator_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_operator_detail"),
        sqlite_with_rowid=False,
    )


def _oxygen_installation_detail() -> None:
    """Create the table oxygen_installation_detail."""
    op.create_table(
        "oxygen_installation_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("serves", sa.Text(), nullable=False),
        sa.Column("fitted_on", sa.Text(), nullable=False),
        sa.Column("service_psi", sa.Double(), nullable=False),
        sa.Column("unusable_psi", sa.Double(), nullable=False),
        sa.Column("system", sa.Text(), nullable=True),
        sa.Column("water_litres", sa.Double(), nullable=True),
        sa.Column("rated_litres", sa.Double(), nullable=True),
        sa.Column("usable_litres", sa.Double(), nullable=True),
        sa.Column("cylinders", sa.BigInteger(), nullable=True),
        sa.Column("gauge_tolerance_psi", sa.Double(), nullable=True),
        sa.Column("in_use_c", sa.Double(), nullable=True),
        sa.Column("crew_reserve_litres", sa.Double(), nullable=True),
        sa.Column("crew_masks", sa.BigInteger(), nullable=True),
        sa.Column("passenger_masks", sa.BigInteger(), nullable=True),
        sa.Column("crew_delivery", sa.Text(), nullable=True),
        sa.Column("crew_modes", sa.Text(), nullable=True),
        sa.Column("quick_donning", sa.BigInteger(), nullable=True),
        sa.Column("donning_s", sa.BigInteger(), nullable=True),
        sa.Column("mask_can_be_worn", sa.BigInteger(), nullable=True),
        sa.Column("flow_reference", sa.Text(), nullable=True),
        sa.Column("crew_normal_flow", sa.Text(), nullable=True),
        sa.Column("crew_full_flow", sa.Text(), nullable=True),
        sa.Column("crew_emergency_flow", sa.Text(), nullable=True),
        sa.Column("passenger_flow", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_oxygen_installation_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_oxygen_installation_detail"),
        sqlite_with_rowid=False,
    )


def _oxygen_reading_detail() -> None:
    """Create the table oxygen_reading_detail."""
    op.create_table(
        "oxygen_reading_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("checked_at", sa.BigInteger(), nullable=False),
        sa.Column("gauge_psi", sa.Double(), nullable=False),
        sa.Column("cylinder_c", sa.Double(), nullable=False),
        sa.Column("in_use_c", sa.Double(), nullable=True),
        sa.Column("system", sa.Text(), nullable=True),
        sa.Column("pilot_seat", sa.Text(), nullable=True),
        sa.Column("copilot_seat", sa.Text(), nullable=True),
        sa.Column("passenger_seats", sa.Text(), nullable=True),
        sa.Column("pilot", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_oxygen_reading_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_oxygen_reading_detail"),
        sqlite_with_rowid=False,
    )


def _pilot_detail() -> None:
    """Create the table pilot_detail."""
    op.create_table(
        "pilot_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("licence", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_pilot_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_pilot_detail"),
        sqlite_with_rowid=False,
    )


def _rectification_detail() -> None:
    """Create the table rectification_detail."""
    op.create_table(
        "rectification_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("defect", sa.BigInteger(), nullable=False),
        sa.Column("done_at", sa.BigInteger(), nullable=False),
        sa.Column("work_done", sa.Text(), nullable=False),
        sa.Column("released_by", sa.Text(), nullable=False),
        sa.Column("licence", sa.Text(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("touched", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_rectification_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_rectification_detail"),
        sqlite_with_rowid=False,
    )


def _removal_detail() -> None:
    """Create the table removal_detail."""
    op.create_table(
        "removal_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("equipment", sa.BigInteger(), nullable=False),
        sa.Column("removed_on", sa.Text(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_removal_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_removal_detail"),
        sqlite_with_rowid=False,
    )


def _review_detail() -> None:
    """Create the table review_detail."""
    op.create_table(
        "review_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("subject", sa.BigInteger(), nullable=False),
        sa.Column("reviewed_at", sa.BigInteger(), nullable=False),
        sa.Column("conclusion", sa.Text(), nullable=False),
        sa.Column("accepted", sa.BigInteger(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_review_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_review_detail"),
        sqlite_with_rowid=False,
    )


def _route_profile_detail() -> None:
    """Create the table route_profile_detail."""
    op.create_table(
        "route_profile_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("departure", sa.Text(), nullable=True),
        sa.Column("destination", sa.Text(), nullable=True),
        sa.Column("region", sa.Text(), nullable=True),
        sa.Column("track", sa.Double(), nullable=True),
        sa.Column("split", sa.Text(), nullable=True),
        sa.Column("crew", sa.BigInteger(), nullable=True),
        sa.Column("passengers", sa.BigInteger(), nullable=True),
        sa.Column("hold_level", sa.BigInteger(), nullable=True),
        sa.Column("hold_minutes", sa.BigInteger(), nullable=True),
        sa.Column("recognition_s", sa.BigInteger(), nullable=True),
        sa.Column("descent_fpm", sa.BigInteger(), nullable=True),
        sa.Column("final_descent_fpm", sa.BigInteger(), nullable=True),
        sa.Column("cruise_minutes", sa.BigInteger(), nullable=True),
        sa.Column("contaminated_minutes", sa.BigInteger(), nullable=True),
        sa.Column("contaminated_mode", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_route_profile_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_route_profile_detail"),
        sqlite_with_rowid=False,
    )


def _swap_detail() -> None:
    """Create the table swap_detail."""
    op.create_table(
        "swap_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("unit", sa.BigInteger(), nullable=False),
        sa.Column("other", sa.BigInteger(), nullable=False),
        sa.Column("swapped_at", sa.BigInteger(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("done_by", sa.Text(), nullable=True),
        sa.Column("licence", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_swap_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_swap_detail"),
        sqlite_with_rowid=False,
    )


def _test_detail() -> None:
    """Create the table test_detail."""
    op.create_table(
        "test_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("test", sa.Text(), nullable=False),
        sa.Column("done_on", sa.Text(), nullable=False),
        sa.Column("passed", sa.BigInteger(), nullable=False),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("tested_altitude_ft", sa.BigInteger(), nullable=True),
        sa.Column("correspondence_ft", sa.BigInteger(), nullable=True),
        sa.Column("leak_ft", sa.BigInteger(), nullable=True),
        sa.Column("unit_serial", sa.Text(), nullable=True),
        sa.Column("done_by", sa.Text(), nullable=True),
        sa.Column("licence", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_test_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_test_detail"),
        sqlite_with_rowid=False,
    )


def _test_readings_detail() -> None:
    """Create the table test_readings_detail."""
    op.create_table(
        "test_readings_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("test", sa.BigInteger(), nullable=False),
        sa.Column("specification", sa.Text(), nullable=True),
        sa.Column("part_number", sa.Text(), nullable=True),
        sa.Column("test_equipment", sa.Text(), nullable=True),
        sa.Column("scale_error", sa.Text(), nullable=True),
        sa.Column("scale_dwell_s", sa.Text(), nullable=True),
        sa.Column("scale_rate_ft_min", sa.BigInteger(), nullable=True),
        sa.Column("hysteresis", sa.Text(), nullable=True),
        sa.Column("hysteresis_start_s", sa.BigInteger(), nullable=True),
        sa.Column("hysteresis_dwell_s", sa.Text(), nullable=True),
        sa.Column("hysteresis_rate_ft_min", sa.BigInteger(), nullable=True),
        sa.Column("after_effect_ft", sa.BigInteger(), nullable=True),
        sa.Column("after_effect_s", sa.BigInteger(), nullable=True),
        sa.Column("friction", sa.Text(), nullable=True),
        sa.Column("case_leak_ft", sa.BigInteger(), nullable=True),
        sa.Column("barometric", sa.Text(), nullable=True),
        sa.Column("static_leak", sa.Text(), nullable=True),
        sa.Column("correspondence", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_test_readings_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_test_readings_detail"),
        sqlite_with_rowid=False,
    )


def _withdrawal_detail() -> None:
    """Create the table withdrawal_detail."""
    op.create_table(
        "withdrawal_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("approval", sa.BigInteger(), nullable=False),
        sa.Column("withdrawn_on", sa.Text(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_withdrawal_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_withdrawal_detail"),
        sqlite_with_rowid=False,
    )


def _work_detail() -> None:
    """Create the table work_detail."""
    op.create_table(
        "work_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("work", sa.Text(), nullable=False),
        sa.Column("done_on", sa.Text(), nullable=False),
        sa.Column("description", sa.Text(), nullable=False),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("done_by", sa.Text(), nullable=True),
        sa.Column("licence", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_work_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_work_detail"),
        sqlite_with_rowid=False,
    )


def _derived() -> None:
    """Create the table derived."""
    op.create_table(
        "derived",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("through", sa.BigInteger(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["logbook_id"], ["logbook.id"], name="fk_derived_logbook"),
        sa.PrimaryKeyConstraint("logbook_id", "name", name="pk_derived"),
        sqlite_with_rowid=False,
    )


def _static_error_detail() -> None:
    """Create the table static_error_detail."""
    op.create_table(
        "static_error_detail",
        sa.Column("logbook_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("estimated_on", sa.Text(), nullable=False),
        sa.Column("first_on", sa.Text(), nullable=False),
        sa.Column("last_on", sa.Text(), nullable=False),
        sa.Column("flights", sa.BigInteger(), nullable=False),
        sa.Column("weather", sa.Text(), nullable=False),
        sa.Column("error_ft", sa.Double(), nullable=False),
        sa.Column("low_ft", sa.Double(), nullable=False),
        sa.Column("high_ft", sa.Double(), nullable=False),
        sa.Column("confidence_percent", sa.Double(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["logbook_id", "number"],
            ["entry.logbook_id", "entry.number"],
            name="fk_static_error_detail_entry",
        ),
        sa.PrimaryKeyConstraint("logbook_id", "number", name="pk_static_error_detail"),
        sqlite_with_rowid=False,
    )


def _indexes() -> None:
    """Create what the check reads by a seek."""
    corrected = sa.text("supersedes IS NOT NULL")
    op.create_index(
        "uq_entry_supersedes",
        "entry",
        ["logbook_id", "supersedes"],
        unique=True,
        sqlite_where=corrected,
        postgresql_where=corrected,
    )
    op.create_index(
        "ix_crosscheck_detail_taken_at", "crosscheck_detail", ["logbook_id", "taken_at"]
    )
    op.create_index(
        "ix_crosscheck_detail_difference",
        "crosscheck_detail",
        ["logbook_id", sa.text("abs(primary_1_ft - primary_2_ft)")],
    )
    for sort, condition in (
        ("ground", "phase IN ('ground', 'after-flight')"),
        ("standby", "standby_ft IS NOT NULL"),
        ("transponder", "transponder_ft IS NOT NULL"),
    ):
        op.create_index(
            f"ix_crosscheck_detail_{sort}",
            "crosscheck_detail",
            ["logbook_id", "taken_at"],
            sqlite_where=sa.text(condition),
            postgresql_where=sa.text(condition),
        )
    op.create_index("ix_flight_detail_off_at", "flight_detail", ["logbook_id", "off_at"])
    op.create_index("ix_airframe_detail_registration", "airframe_detail", ["registration"])


def _sqlite_triggers() -> None:
    """Refuse changes and removals, replacing inserts, gaps, and details without their entry.

    INSERT OR REPLACE removes a row without firing DELETE triggers, so each INSERT trigger refuses
    a key that is there already.
    """
    for table in ("logbook", "entry", *(name for name, _ in _DETAILS)):
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} BEGIN "
                f"SELECT RAISE(ABORT, 'refused: {table} is never changed or removed'); END"
            )
    op.execute(
        "CREATE TRIGGER logbook_new BEFORE INSERT ON logbook WHEN EXISTS (SELECT 1 FROM logbook "
        "WHERE id = NEW.id OR uid = NEW.uid OR name = NEW.name) BEGIN "
        "SELECT RAISE(ABORT, 'refused: there is such a logbook already'); END"
    )
    op.execute(
        "CREATE TRIGGER entry_in_order BEFORE INSERT ON entry WHEN NEW.number <> (SELECT "
        "coalesce(max(number), 0) + 1 FROM entry WHERE logbook_id = NEW.logbook_id) OR "
        "(NEW.supersedes IS NOT NULL AND EXISTS (SELECT 1 FROM entry WHERE logbook_id = "
        "NEW.logbook_id AND supersedes = NEW.supersedes)) BEGIN "
        "SELECT RAISE(ABORT, 'refused: entries are numbered without gaps'); END"
    )
    for table, kind in _DETAILS:
        op.execute(
            f"CREATE TRIGGER {table}_new BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM "
            f"{table} WHERE logbook_id = NEW.logbook_id AND number = NEW.number) OR NOT EXISTS "
            "(SELECT 1 FROM entry WHERE logbook_id = NEW.logbook_id AND number = NEW.number "
            f"AND kind = '{kind}') BEGIN "
            "SELECT RAISE(ABORT, 'refused: details belong to one entry of their kind'); END"
        )


def _postgresql_triggers() -> None:
    """Refuse the same on PostgreSQL, TRUNCATE included."""
    op.execute(
        "CREATE FUNCTION rvsmlog_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "RAISE EXCEPTION 'refused: % is never changed or removed', TG_TABLE_NAME; END $$"
    )
    op.execute(
        "CREATE FUNCTION rvsmlog_entry_in_order() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF NEW.number <> (SELECT coalesce(max(number), 0) + 1 FROM entry "
        "WHERE logbook_id = NEW.logbook_id) THEN "
        "RAISE EXCEPTION 'refused: entries are numbered without gaps'; END IF; "
        "RETURN NEW; END $$"
    )
    op.execute(
        "CREATE FUNCTION rvsmlog_detail_new() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF NOT EXISTS (SELECT 1 FROM entry WHERE logbook_id = NEW.logbook_id "
        "AND number = NEW.number AND kind = TG_ARGV[0]) THEN "
        "RAISE EXCEPTION 'refused: details belong to one entry of their kind'; END IF; "
        "RETURN NEW; END $$"
    )
    for table in ("logbook", "entry", *(name for name, _ in _DETAILS)):
        op.execute(
            f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION rvsmlog_refuse()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION rvsmlog_refuse()"
        )
    op.execute(
        "CREATE TRIGGER entry_in_order BEFORE INSERT ON entry "
        "FOR EACH ROW EXECUTE FUNCTION rvsmlog_entry_in_order()"
    )
    for table, kind in _DETAILS:
        op.execute(
            f"CREATE TRIGGER {table}_new BEFORE INSERT ON {table} "
            f"FOR EACH ROW EXECUTE FUNCTION rvsmlog_detail_new('{kind}')"
        )
