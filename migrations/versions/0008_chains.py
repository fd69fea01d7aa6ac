"""Hash chains over the ledger, the salts of their commitments, and the extracts that were handed out.

The links of what was written before are made when the log is opened at the newest revision.

Revision ID: 0008
Revises: 0007
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

_GUARDED = ("log_links", "engine_links", "fact_seals", "extracts")


def upgrade() -> None:
    op.create_table(
        "log_links",
        sa.Column("link_no", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("marks", sa.LargeBinary(), nullable=False),
        sa.Column("head", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_log_links_writing_no"),
        sa.PrimaryKeyConstraint("link_no", name="pk_log_links"),
        sa.UniqueConstraint("writing_no", name="uq_log_links_writing_no"),
    )
    op.create_table(
        "engine_links",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("link_no", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("marks", sa.LargeBinary(), nullable=False),
        sa.Column("head", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_engine_links_engine_no"),
        sa.ForeignKeyConstraint(["link_no"], ["log_links.link_no"], name="fk_engine_links_link_no"),
        sa.PrimaryKeyConstraint("engine_no", "link_no", name="pk_engine_links"),
    )
    op.create_table(
        "fact_seals",
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("link_no", sa.Integer(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["link_no"], ["log_links.link_no"], name="fk_fact_seals_link_no"),
        sa.PrimaryKeyConstraint("kind", "key", "link_no", name="pk_fact_seals"),
    )
    op.create_table(
        "salts",
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("salt", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_salts"),
    )
    op.create_table(
        "extracts",
        sa.Column("extract_no", sa.Integer(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("made_on", sa.Integer(), nullable=False),
        sa.Column("document_sha256", sa.Text(), nullable=False),
        sa.Column("engine_head", sa.Text(), nullable=False),
        sa.Column("log_head", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["serial"], ["engines.serial"], name="fk_extracts_serial"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_extracts_writing_no"),
        sa.PrimaryKeyConstraint("extract_no", name="pk_extracts"),
    )
    op.create_index("ix_extracts_document_sha256", "extracts", ["document_sha256"])
    op.create_index("ix_engine_links_link_no", "engine_links", ["link_no"])
    connection = op.get_bind()
    for table in _GUARDED:
        for statement in guard_ddl(connection.dialect.name, table):
            connection.exec_driver_sql(statement)


def downgrade() -> None:
    for table in ("extracts", "salts", "fact_seals", "engine_links", "log_links"):
        op.drop_table(table)
