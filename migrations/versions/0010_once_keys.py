"""Keys under which something was recorded once.

Revision ID: 0010
Revises: 0009
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "once_keys",
        sa.Column("once_key", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_once_keys_writing_no"),
        sa.PrimaryKeyConstraint("once_key", name="pk_once_keys"),
        sa.UniqueConstraint("writing_no", name="uq_once_keys_writing_no"),
    )
    connection = op.get_bind()
    for statement in guard_ddl(connection.dialect.name, "once_keys"):
        connection.exec_driver_sql(statement)


def downgrade() -> None:
    op.drop_table("once_keys")
