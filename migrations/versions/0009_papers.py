"""Photos and papers on visits, and those that were taken back.

Revision ID: 0009
Revises: 0008
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

_MEDIA_TYPES = "'image/jpeg', 'image/png', 'image/webp', 'image/heic', 'application/pdf', 'text/plain'"


def upgrade() -> None:
    op.create_table(
        "papers",
        sa.Column("paper_no", sa.Integer(), nullable=False),
        sa.Column("paper_id", sa.Text(), nullable=False),
        sa.Column("visit_id", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("taken_on", sa.Integer(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("taken_by", sa.Text(), nullable=True),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint(f"media_type IN ({_MEDIA_TYPES})", name="ck_papers_media_type_known"),
        sa.CheckConstraint("size_bytes >= 1", name="ck_papers_size_bytes_least"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.visit_id"], name="fk_papers_visit_id"),
        sa.ForeignKeyConstraint(["serial"], ["engines.serial"], name="fk_papers_serial"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_papers_writing_no"),
        sa.PrimaryKeyConstraint("paper_no", name="pk_papers"),
        sa.UniqueConstraint("paper_id", name="uq_papers_paper_id"),
    )
    for column in ("visit_id", "sha256", "serial"):
        op.create_index(f"ix_papers_{column}", "papers", [column])
    op.create_table(
        "paper_withdrawals",
        sa.Column("withdrawal_no", sa.Integer(), nullable=False),
        sa.Column("paper_id", sa.Text(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("withdrawn_at", sa.BigInteger(), nullable=False),
        sa.Column("withdrawn_by", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("outcome IN ('withdrawn', 'erased')", name="ck_paper_withdrawals_outcome_known"),
        sa.ForeignKeyConstraint(["paper_id"], ["papers.paper_id"], name="fk_paper_withdrawals_paper_id"),
        sa.ForeignKeyConstraint(
            ["writing_no"], ["writings.writing_no"], name="fk_paper_withdrawals_writing_no"
        ),
        sa.PrimaryKeyConstraint("withdrawal_no", name="pk_paper_withdrawals"),
        sa.UniqueConstraint("paper_id", "outcome", name="uq_paper_withdrawals_paper_id_outcome"),
    )
    connection = op.get_bind()
    for table in ("papers", "paper_withdrawals"):
        for statement in guard_ddl(connection.dialect.name, table):
            connection.exec_driver_sql(statement)


def downgrade() -> None:
    op.drop_table("paper_withdrawals")
    op.drop_table("papers")
