"""Terms (warranty, useful life), advice to owners, superseded part numbers; where items came from.

Revision ID: 0003
Revises: 0002
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_TABLES = ("advice", "supersessions", "terms")
_MAY_FILL = {
    "terms": ("withdrawn_on", "end_writing_no"),
    "supersessions": ("withdrawn_on", "end_writing_no"),
}


def upgrade() -> None:
    _make_tables()
    came_from = sa.text("from_serial IS NOT NULL")
    op.create_index(
        "ix_entries_from_serial",
        "entries",
        ["from_serial"],
        sqlite_where=came_from,
        postgresql_where=came_from,
    )
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
        "advice",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("advice_id", sa.Text(), nullable=False),
        sa.Column("advised_on", sa.Integer(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("rule", sa.Text()),
        sa.Column("item", sa.Text()),
        sa.Column("position", sa.Text()),
        sa.Column("how", sa.Text()),
        sa.Column("told_to", sa.Text()),
        sa.Column("answer", sa.Text()),
        sa.Column("follows", sa.Text()),
        sa.Column("visit_id", sa.Text()),
        sa.Column("note", sa.Text()),
        sa.Column("advised_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "answer IN ('declined', 'accepted', 'undecided', 'done', 'withdrawn')",
            name="ck_advice_answer_known",
        ),
        sa.CheckConstraint(
            "how IN ('in person', 'by telephone', 'by e-mail', 'by post', 'on the reminder')",
            name="ck_advice_how_known",
        ),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_advice_engine_no"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.visit_id"], name="fk_advice_visit_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_advice_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_advice"),
        sa.UniqueConstraint("advice_id", name="uq_advice_advice_id"),
    )
    op.create_table(
        "supersessions",
        sa.Column("part_number", sa.Text(), nullable=False),
        sa.Column("superseded_by", sa.Text(), nullable=False),
        sa.Column("from_on", sa.Integer()),
        sa.Column("withdrawn_on", sa.Integer()),
        sa.Column("note", sa.Text()),
        sa.Column("told_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.Column("end_writing_no", sa.Integer()),
        sa.ForeignKeyConstraint(
            ["end_writing_no"], ["writings.writing_no"], name="fk_supersessions_end_writing_no"
        ),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_supersessions_writing_no"),
        sa.PrimaryKeyConstraint("part_number", "superseded_by", name="pk_supersessions"),
    )
    op.create_table(
        "terms",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("term_id", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("starts_on", sa.Integer(), nullable=False),
        sa.Column("months", sa.Integer()),
        sa.Column("tenths", sa.Integer()),
        sa.Column("starts_tenths", sa.Integer()),
        sa.Column("title", sa.Text()),
        sa.Column("item", sa.Text()),
        sa.Column("position", sa.Text()),
        sa.Column("entry_id", sa.Text()),
        sa.Column("withdrawn_on", sa.Integer()),
        sa.Column("note", sa.Text()),
        sa.Column("told_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.Column("end_writing_no", sa.Integer()),
        sa.CheckConstraint("kind IN ('warranty', 'useful life')", name="ck_terms_kind_known"),
        sa.CheckConstraint("months >= 0", name="ck_terms_months_not_negative"),
        sa.CheckConstraint("starts_tenths >= 0", name="ck_terms_starts_tenths_not_negative"),
        sa.CheckConstraint("tenths >= 0", name="ck_terms_tenths_not_negative"),
        sa.ForeignKeyConstraint(["end_writing_no"], ["writings.writing_no"], name="fk_terms_end_writing_no"),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_terms_engine_no"),
        sa.ForeignKeyConstraint(["entry_id"], ["entries.entry_id"], name="fk_terms_entry_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_terms_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_terms"),
        sa.UniqueConstraint("term_id", name="uq_terms_term_id"),
    )


def downgrade() -> None:
    op.drop_index("ix_entries_from_serial", table_name="entries")
    for table in reversed(_TABLES):
        op.drop_table(table)
