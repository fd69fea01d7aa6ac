"""Reminder mails about to be sent, and those that a server did not take.

Revision ID: 0011
Revises: 0010
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "mail_attempts",
        sa.Column("attempt_no", sa.Integer(), nullable=False),
        sa.Column("mail_id", sa.Text(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("owner_id", sa.Text(), nullable=False),
        sa.Column("attempted_at", sa.BigInteger(), nullable=False),
        sa.Column("things", sa.Text(), nullable=True),
        sa.Column("attempted_by", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("outcome IN ('begun', 'refused')", name="ck_mail_attempts_outcome_known"),
        sa.ForeignKeyConstraint(["owner_id"], ["owners.owner_id"], name="fk_mail_attempts_owner_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_mail_attempts_writing_no"),
        sa.PrimaryKeyConstraint("attempt_no", name="pk_mail_attempts"),
        sa.UniqueConstraint("mail_id", "outcome", name="uq_mail_attempts_mail_id_outcome"),
    )
    op.create_index("ix_mail_attempts_owner_id", "mail_attempts", ["owner_id"])
    connection = op.get_bind()
    for statement in guard_ddl(connection.dialect.name, "mail_attempts"):
        connection.exec_driver_sql(statement)


def downgrade() -> None:
    op.drop_table("mail_attempts")
