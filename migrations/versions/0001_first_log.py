"""The first log: owners, boats, engines and their ledgers.

Revision ID: 0001
Revises:
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import POSTGRESQL_FUNCTION, guard_ddl

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_TABLES = (
    "writings",
    "changes",
    "items",
    "owners",
    "schedules",
    "boats",
    "engines",
    "layups",
    "ownership",
    "visits",
    "deferrals",
    "entries",
    "meters",
    "mounts",
    "readings",
    "rulings",
    "voids",
)
_CURRENT = ("owners", "boats", "engines")
_MAY_FILL = {
    "visits": ("closed_on", "end_writing_no"),
    "mounts": ("to_on", "end_writing_no"),
    "layups": ("to_on", "end_writing_no"),
}


def upgrade() -> None:
    _make_tables()
    connection = op.get_bind()
    dialect = connection.dialect.name
    if dialect == "postgresql":
        connection.exec_driver_sql(POSTGRESQL_FUNCTION.replace("%", "%%"))
    for table in _TABLES:
        if table not in _CURRENT:
            columns = (
                [column["name"] for column in sa.inspect(connection).get_columns(table)]
                if table in _MAY_FILL
                else []
            )
            for statement in guard_ddl(dialect, table, columns, _MAY_FILL.get(table, ())):
                connection.exec_driver_sql(statement)


def _make_tables() -> None:
    op.create_table(
        "writings",
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sa.BigInteger(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("writing_no", name="pk_writings"),
    )
    op.create_table(
        "changes",
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("field", sa.Text(), nullable=False),
        sa.Column("was", sa.Text()),
        sa.Column("until_on", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.BigInteger(), nullable=False),
        sa.Column("changed_by", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("kind IN ('owners', 'boats', 'engines')", name="ck_changes_kind_known"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_changes_writing_no"),
        sa.PrimaryKeyConstraint("kind", "key", "sequence", name="pk_changes"),
    )
    op.create_table(
        "items",
        sa.Column("item_no", sa.Integer(), nullable=False),
        sa.Column("name_key", sa.Text(), nullable=False),
        sa.Column("spelling", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_items_writing_no"),
        sa.PrimaryKeyConstraint("item_no", name="pk_items"),
        sa.UniqueConstraint("spelling", name="uq_items_spelling"),
    )
    op.create_index("ix_items_name_key", "items", ["name_key"])
    op.create_table(
        "owners",
        sa.Column("owner_no", sa.Integer(), nullable=False),
        sa.Column("owner_id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("email", sa.Text()),
        sa.Column("phone", sa.Text()),
        sa.Column("address", sa.Text()),
        sa.Column("remind_by", sa.Text()),
        sa.Column("version", sa.Integer(), server_default=sa.text("1"), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("remind_by IN ('email', 'post', 'none')", name="ck_owners_remind_by_known"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_owners_writing_no"),
        sa.PrimaryKeyConstraint("owner_no", name="pk_owners"),
        sa.UniqueConstraint("owner_id", name="uq_owners_owner_id"),
    )
    op.create_table(
        "schedules",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("toml", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_schedules_writing_no"),
        sa.PrimaryKeyConstraint("name", "revision", name="pk_schedules"),
    )
    op.create_table(
        "boats",
        sa.Column("boat_no", sa.Integer(), nullable=False),
        sa.Column("boat_id", sa.Text(), nullable=False),
        sa.Column("owner_id", sa.Text()),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("registration", sa.Text()),
        sa.Column("water", sa.Text()),
        sa.Column("use", sa.Text()),
        sa.Column("berth", sa.Text()),
        sa.Column("version", sa.Integer(), server_default=sa.text("1"), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "use IN ('private', 'hire', 'charter', 'commercial', 'rescue')", name="ck_boats_use_known"
        ),
        sa.CheckConstraint("water IN ('fresh', 'brackish', 'salt')", name="ck_boats_water_known"),
        sa.ForeignKeyConstraint(["owner_id"], ["owners.owner_id"], name="fk_boats_owner_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_boats_writing_no"),
        sa.PrimaryKeyConstraint("boat_no", name="pk_boats"),
        sa.UniqueConstraint("boat_id", name="uq_boats_boat_id"),
    )
    op.create_index("ix_boats_owner_id", "boats", ["owner_id"])
    op.create_table(
        "engines",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("serial_key", sa.Text(), nullable=False),
        sa.Column("maker", sa.Text()),
        sa.Column("model", sa.Text()),
        sa.Column("family", sa.Text()),
        sa.Column("model_year", sa.Integer()),
        sa.Column("in_service_on", sa.Integer()),
        sa.Column("logged_from_new", sa.Boolean(), nullable=False),
        sa.Column("hour_meter", sa.Boolean(), nullable=False),
        sa.Column("schedule", sa.Text()),
        sa.Column("boat_id", sa.Text()),
        sa.Column("position", sa.Text()),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), server_default=sa.text("1"), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "state IN ('in service', 'laid by', 'sold', 'scrapped')", name="ck_engines_state_known"
        ),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_engines_boat_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_engines_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", name="pk_engines"),
        sa.UniqueConstraint("serial", name="uq_engines_serial"),
    )
    op.create_index("ix_engines_boat_id", "engines", ["boat_id"])
    op.create_index("ix_engines_serial_key_serial", "engines", ["serial_key", "serial"])
    op.create_table(
        "layups",
        sa.Column("boat_id", sa.Text(), nullable=False),
        sa.Column("from_on", sa.Integer(), nullable=False),
        sa.Column("to_on", sa.Integer()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.Column("end_writing_no", sa.Integer()),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_layups_boat_id"),
        sa.ForeignKeyConstraint(["end_writing_no"], ["writings.writing_no"], name="fk_layups_end_writing_no"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_layups_writing_no"),
        sa.PrimaryKeyConstraint("boat_id", "from_on", name="pk_layups"),
    )
    op.create_table(
        "ownership",
        sa.Column("boat_id", sa.Text(), nullable=False),
        sa.Column("from_on", sa.Integer(), nullable=False),
        sa.Column("owner_id", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_ownership_boat_id"),
        sa.ForeignKeyConstraint(["owner_id"], ["owners.owner_id"], name="fk_ownership_owner_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_ownership_writing_no"),
        sa.PrimaryKeyConstraint("boat_id", "from_on", name="pk_ownership"),
    )
    op.create_index("ix_ownership_owner_id", "ownership", ["owner_id"])
    op.create_table(
        "visits",
        sa.Column("visit_no", sa.Integer(), nullable=False),
        sa.Column("visit_id", sa.Text(), nullable=False),
        sa.Column("boat_id", sa.Text()),
        sa.Column("opened_on", sa.Integer()),
        sa.Column("closed_on", sa.Integer()),
        sa.Column("why", sa.Text()),
        sa.Column("complaint", sa.Text()),
        sa.Column("cause", sa.Text()),
        sa.Column("correction", sa.Text()),
        sa.Column("advised", sa.Text()),
        sa.Column("note", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.Column("end_writing_no", sa.Integer()),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_visits_boat_id"),
        sa.ForeignKeyConstraint(["end_writing_no"], ["writings.writing_no"], name="fk_visits_end_writing_no"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_visits_writing_no"),
        sa.PrimaryKeyConstraint("visit_no", name="pk_visits"),
        sa.UniqueConstraint("visit_id", name="uq_visits_visit_id"),
    )
    op.create_index("ix_visits_boat_id", "visits", ["boat_id"])
    op.create_table(
        "deferrals",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("deferral_id", sa.Text(), nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("deferred_by", sa.Text(), nullable=False),
        sa.Column("deferred_at", sa.BigInteger(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("position", sa.Text()),
        sa.Column("until_on", sa.Integer()),
        sa.Column("until_tenths", sa.Integer()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_deferrals_engine_no"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_deferrals_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_deferrals"),
        sa.UniqueConstraint("deferral_id", name="uq_deferrals_deferral_id"),
    )
    op.create_table(
        "entries",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("entry_id", sa.Text(), nullable=False),
        sa.Column("done_on", sa.Integer(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("visit_id", sa.Text()),
        sa.Column("meter_tenths", sa.Integer()),
        sa.Column("scope", sa.Text()),
        sa.Column("item_no", sa.Integer()),
        sa.Column("position", sa.Text()),
        sa.Column("part_number", sa.Text()),
        sa.Column("lot", sa.Text()),
        sa.Column("condition", sa.Text()),
        sa.Column("prior_tenths", sa.Integer()),
        sa.Column("prior_months", sa.Integer()),
        sa.Column("from_serial", sa.Text()),
        sa.Column("reason", sa.Text()),
        sa.Column("again_tenths", sa.Integer()),
        sa.Column("again_months", sa.Integer()),
        sa.Column("measured", sa.Text()),
        sa.Column("unit", sa.Text()),
        sa.Column("note", sa.Text()),
        sa.Column("done_by", sa.Text()),
        sa.Column("checked_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "action IN ('fitted', 'removed', 'reused', 'inspected', 'adjusted', 'serviced', 'rebuilt')",
            name="ck_entries_action_known",
        ),
        sa.CheckConstraint("condition IN ('new', 'used')", name="ck_entries_condition_known"),
        sa.CheckConstraint(
            "reason IN ('scheduled', 'failed', 'worn', 'access', 'transferred')",
            name="ck_entries_reason_known",
        ),
        sa.CheckConstraint("scope IN ('powerhead', 'top end', 'lower unit')", name="ck_entries_scope_known"),
        sa.CheckConstraint("meter_tenths >= 0", name="ck_entries_meter_tenths_not_negative"),
        sa.CheckConstraint("prior_months >= 0", name="ck_entries_prior_months_not_negative"),
        sa.CheckConstraint("prior_tenths >= 0", name="ck_entries_prior_tenths_not_negative"),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_entries_engine_no"),
        sa.ForeignKeyConstraint(["item_no"], ["items.item_no"], name="fk_entries_item_no"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.visit_id"], name="fk_entries_visit_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_entries_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_entries"),
        sa.UniqueConstraint("entry_id", name="uq_entries_entry_id"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "meters",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("fitted_on", sa.Integer(), nullable=False),
        sa.Column("engine_tenths", sa.Integer(), nullable=False),
        sa.Column("meter_reads_tenths", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("engine_tenths >= 0", name="ck_meters_engine_tenths_not_negative"),
        sa.CheckConstraint("meter_reads_tenths >= 0", name="ck_meters_meter_reads_tenths_not_negative"),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_meters_engine_no"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_meters_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_meters"),
        sa.UniqueConstraint("engine_no", "fitted_on", name="uq_meters_engine_no_fitted_on"),
    )
    op.create_table(
        "mounts",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("from_on", sa.Integer(), nullable=False),
        sa.Column("boat_id", sa.Text(), nullable=False),
        sa.Column("position", sa.Text()),
        sa.Column("to_on", sa.Integer()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.Column("end_writing_no", sa.Integer()),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_mounts_boat_id"),
        sa.ForeignKeyConstraint(["end_writing_no"], ["writings.writing_no"], name="fk_mounts_end_writing_no"),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_mounts_engine_no"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_mounts_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "from_on", name="pk_mounts"),
    )
    op.create_index("ix_mounts_boat_id", "mounts", ["boat_id"])
    op.create_table(
        "readings",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("reading_id", sa.Text(), nullable=False),
        sa.Column("read_on", sa.Integer(), nullable=False),
        sa.Column("meter_tenths", sa.Integer(), nullable=False),
        sa.Column("source", sa.Text()),
        sa.Column("read_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("meter_tenths >= 0", name="ck_readings_meter_tenths_not_negative"),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_readings_engine_no"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_readings_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_readings"),
        sa.UniqueConstraint("reading_id", name="uq_readings_reading_id"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "rulings",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("reading_id", sa.Text(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("status IN ('confirmed', 'withdrawn')", name="ck_rulings_status_known"),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_rulings_engine_no"),
        sa.ForeignKeyConstraint(["reading_id"], ["readings.reading_id"], name="fk_rulings_reading_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_rulings_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_rulings"),
    )
    op.create_index("ix_rulings_reading_id", "rulings", ["reading_id"])
    op.create_table(
        "voids",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("entry_id", sa.Text(), nullable=False),
        sa.Column("voided_at", sa.BigInteger(), nullable=False),
        sa.Column("voided_by", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("replaced_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_voids_engine_no"),
        sa.ForeignKeyConstraint(["entry_id"], ["entries.entry_id"], name="fk_voids_entry_id"),
        sa.ForeignKeyConstraint(["replaced_by"], ["entries.entry_id"], name="fk_voids_replaced_by"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_voids_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_voids"),
        sa.UniqueConstraint("entry_id", name="uq_voids_entry_id"),
    )


def downgrade() -> None:
    for table in reversed(_TABLES):
        op.drop_table(table)
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION fleetlog_refuse()")
