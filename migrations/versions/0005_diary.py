"""The shop's diary: its set-up, wishes of owners, bookings, plans, parts that move, mails sent.

Revision ID: 0005
Revises: 0004
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

_TABLES = ("shop", "wishes", "bookings", "plans", "plan_visits", "part_moves", "mails")
_MAY_FILL = {"wishes": ("withdrawn_on", "end_writing_no")}


def upgrade() -> None:
    _make_tables()
    connection = op.get_bind()
    for table in _TABLES:
        columns = (
            [column["name"] for column in sa.inspect(connection).get_columns(table)]
            if table in _MAY_FILL
            else []
        )
        for statement in guard_ddl(connection.dialect.name, table, columns, _MAY_FILL.get(table, ())):
            connection.exec_driver_sql(statement)


def _make_tables() -> None:
    op.create_table(
        "shop",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("toml", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_shop_writing_no"),
        sa.PrimaryKeyConstraint("name", "revision", name="pk_shop"),
    )
    op.create_table(
        "wishes",
        sa.Column("wish_no", sa.Integer(), nullable=False),
        sa.Column("wish_id", sa.Text(), nullable=False),
        sa.Column("owner_id", sa.Text()),
        sa.Column("boat_id", sa.Text()),
        sa.Column("not_before_on", sa.Integer()),
        sa.Column("not_after_on", sa.Integer()),
        sa.Column("not_in_from_on", sa.Integer()),
        sa.Column("not_in_to_on", sa.Integer()),
        sa.Column("weekdays", sa.Text()),
        sa.Column("told_on", sa.Integer()),
        sa.Column("withdrawn_on", sa.Integer()),
        sa.Column("note", sa.Text()),
        sa.Column("told_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.Column("end_writing_no", sa.Integer()),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_wishes_boat_id"),
        sa.ForeignKeyConstraint(["end_writing_no"], ["writings.writing_no"], name="fk_wishes_end_writing_no"),
        sa.ForeignKeyConstraint(["owner_id"], ["owners.owner_id"], name="fk_wishes_owner_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_wishes_writing_no"),
        sa.PrimaryKeyConstraint("wish_no", name="pk_wishes"),
        sa.UniqueConstraint("wish_id", name="uq_wishes_wish_id"),
    )
    op.create_table(
        "bookings",
        sa.Column("change_no", sa.Integer(), nullable=False),
        sa.Column("change_id", sa.Text(), nullable=False),
        sa.Column("booking_id", sa.Text(), nullable=False),
        sa.Column("change", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.BigInteger(), nullable=False),
        sa.Column("changed_by", sa.Text(), nullable=False),
        sa.Column("boat_id", sa.Text()),
        sa.Column("visit_on", sa.Integer()),
        sa.Column("from_tenths", sa.Integer()),
        sa.Column("tenths", sa.Integer()),
        sa.Column("technician", sa.Text()),
        sa.Column("place", sa.Text()),
        sa.Column("lifts", sa.Integer()),
        sa.Column("jobs", sa.Text()),
        sa.Column("visit_id", sa.Text()),
        sa.Column("reason", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("change IN ('booked', 'released', 'done')", name="ck_bookings_change_known"),
        sa.CheckConstraint("from_tenths >= 0", name="ck_bookings_from_tenths_not_negative"),
        sa.CheckConstraint("lifts >= 0", name="ck_bookings_lifts_not_negative"),
        sa.CheckConstraint("tenths >= 0", name="ck_bookings_tenths_not_negative"),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_bookings_boat_id"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.visit_id"], name="fk_bookings_visit_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_bookings_writing_no"),
        sa.PrimaryKeyConstraint("change_no", name="pk_bookings"),
        sa.UniqueConstraint("change_id", name="uq_bookings_change_id"),
    )
    op.create_index("ix_bookings_booking_id", "bookings", ["booking_id"])
    op.create_table(
        "plans",
        sa.Column("plan_no", sa.Integer(), nullable=False),
        sa.Column("plan_id", sa.Text(), nullable=False),
        sa.Column("planned_at", sa.BigInteger(), nullable=False),
        sa.Column("planned_by", sa.Text(), nullable=False),
        sa.Column("from_on", sa.Integer(), nullable=False),
        sa.Column("to_on", sa.Integer(), nullable=False),
        sa.Column("shop_revision", sa.Integer(), nullable=False),
        sa.Column("seed", sa.Integer(), nullable=False),
        sa.Column("points", sa.Integer(), nullable=False),
        sa.Column("bound_points", sa.Integer(), nullable=False),
        sa.Column("cut_short", sa.Boolean(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_plans_writing_no"),
        sa.PrimaryKeyConstraint("plan_no", name="pk_plans"),
        sa.UniqueConstraint("plan_id", name="uq_plans_plan_id"),
    )
    op.create_table(
        "plan_visits",
        sa.Column("plan_id", sa.Text(), nullable=False),
        sa.Column("visit", sa.Text(), nullable=False),
        sa.Column("boat_id", sa.Text(), nullable=False),
        sa.Column("tenths", sa.Integer(), nullable=False),
        sa.Column("visit_on", sa.Integer()),
        sa.Column("from_tenths", sa.Integer()),
        sa.Column("technician", sa.Text()),
        sa.Column("place", sa.Text()),
        sa.Column("first_on", sa.Integer()),
        sa.Column("last_on", sa.Integer()),
        sa.Column("lifts", sa.Integer()),
        sa.Column("why_not", sa.Text()),
        sa.Column("remedy", sa.Text()),
        sa.Column("jobs", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("tenths >= 0", name="ck_plan_visits_tenths_not_negative"),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_plan_visits_boat_id"),
        sa.ForeignKeyConstraint(["plan_id"], ["plans.plan_id"], name="fk_plan_visits_plan_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_plan_visits_writing_no"),
        sa.PrimaryKeyConstraint("plan_id", "visit", name="pk_plan_visits"),
    )
    op.create_table(
        "part_moves",
        sa.Column("move_no", sa.Integer(), nullable=False),
        sa.Column("move_id", sa.Text(), nullable=False),
        sa.Column("part_number", sa.Text(), nullable=False),
        sa.Column("move", sa.Text(), nullable=False),
        sa.Column("amount", sa.Text(), nullable=False),
        sa.Column("moved_on", sa.Integer(), nullable=False),
        sa.Column("expected_on", sa.Integer()),
        sa.Column("order_id", sa.Text()),
        sa.Column("boat_id", sa.Text()),
        sa.Column("note", sa.Text()),
        sa.Column("moved_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("move IN ('ordered', 'arrived', 'counted')", name="ck_part_moves_move_known"),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_part_moves_boat_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_part_moves_writing_no"),
        sa.PrimaryKeyConstraint("move_no", name="pk_part_moves"),
        sa.UniqueConstraint("move_id", name="uq_part_moves_move_id"),
    )
    op.create_index("ix_part_moves_part_number", "part_moves", ["part_number"])
    op.create_table(
        "mails",
        sa.Column("mail_no", sa.Integer(), nullable=False),
        sa.Column("mail_id", sa.Text(), nullable=False),
        sa.Column("owner_id", sa.Text(), nullable=False),
        sa.Column("sent_at", sa.BigInteger(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("things", sa.Text(), nullable=False),
        sa.Column("how", sa.Text(), nullable=False),
        sa.Column("sent_by", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("how IN ('smtp', 'file')", name="ck_mails_how_known"),
        sa.ForeignKeyConstraint(["owner_id"], ["owners.owner_id"], name="fk_mails_owner_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_mails_writing_no"),
        sa.PrimaryKeyConstraint("mail_no", name="pk_mails"),
        sa.UniqueConstraint("mail_id", name="uq_mails_mail_id"),
    )
    op.create_index("ix_mails_owner_id", "mails", ["owner_id"])


def downgrade() -> None:
    for table in reversed(_TABLES):
        op.drop_table(table)
