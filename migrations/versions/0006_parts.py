"""The register of parts: who makes a part number.

Revision ID: 0006
Revises: 0005
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "parts",
        sa.Column("part_number", sa.Text(), nullable=False),
        sa.Column("maker", sa.Text()),
        sa.Column("name", sa.Text()),
        sa.Column("note", sa.Text()),
        sa.Column("told_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_parts_writing_no"),
        sa.PrimaryKeyConstraint("part_number", name="pk_parts"),
    )
    connection = op.get_bind()
    for statement in guard_ddl(connection.dialect.name, "parts"):
        connection.exec_driver_sql(statement)


def downgrade() -> None:
    op.drop_table("parts")
