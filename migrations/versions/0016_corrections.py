"""Sales and moves that were recorded and were not so.

Revision ID: 0016
Revises: 0015
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "corrections",
        sa.Column("correction_no", sa.Integer(), nullable=False),
        sa.Column("correction_id", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("from_on", sa.Integer(), nullable=False),
        sa.Column("owner_id", sa.Text(), nullable=True),
        sa.Column("boat_id", sa.Text(), nullable=True),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("corrected_at", sa.BigInteger(), nullable=False),
        sa.Column("corrected_by", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("kind IN ('ownership', 'mounts')", name="ck_corrections_kind_known"),
        sa.ForeignKeyConstraint(["owner_id"], ["owners.owner_id"], name="fk_corrections_owner_id"),
        sa.ForeignKeyConstraint(["boat_id"], ["boats.boat_id"], name="fk_corrections_boat_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_corrections_writing_no"),
        sa.PrimaryKeyConstraint("correction_no", name="pk_corrections"),
        sa.UniqueConstraint("correction_id", name="uq_corrections_correction_id"),
    )
    op.create_index("ix_corrections_key", "corrections", ["key"])
    op.create_index("ix_corrections_boat_id", "corrections", ["boat_id"])
    connection = op.get_bind()
    for statement in guard_ddl(connection.dialect.name, "corrections"):
        connection.exec_driver_sql(statement)


def downgrade() -> None:
    op.drop_table("corrections")
