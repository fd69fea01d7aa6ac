"""Lay-ups that got another end, or were withdrawn, after they were recorded.

Revision ID: 0019
Revises: 0018
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "layup_changes",
        sa.Column("change_no", sa.Integer(), nullable=False),
        sa.Column("change_id", sa.Text(), nullable=False),
        sa.Column("boat_id", sa.Text(), nullable=False),
        sa.Column("from_on", sa.Integer(), nullable=False),
        sa.Column("change", sa.Text(), nullable=False),
        sa.Column("to_on", sa.Integer(), nullable=True),
        sa.Column("changed_at", sa.BigInteger(), nullable=False),
        sa.Column("changed_by", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("change IN ('ends', 'withdrawn')", name="ck_layup_changes_change_known"),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_layup_changes_boat_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_layup_changes_writing_no"),
        sa.PrimaryKeyConstraint("change_no", name="pk_layup_changes"),
        sa.UniqueConstraint("change_id", name="uq_layup_changes_change_id"),
    )
    op.create_index("ix_layup_changes_boat_id", "layup_changes", ["boat_id"])
    connection = op.get_bind()
    for statement in guard_ddl(connection.dialect.name, "layup_changes"):
        connection.exec_driver_sql(statement)


def downgrade() -> None:
    op.drop_table("layup_changes")
