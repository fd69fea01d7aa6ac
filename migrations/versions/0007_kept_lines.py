"""Due lines kept for speed, engine by engine.

Revision ID: 0007
Revises: 0006
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "kept_engines",
        sa.Column("engine_no", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("touched_no", sa.Integer(), nullable=False),
        sa.Column("fit", sa.Text()),
        sa.Column("first_on", sa.Integer()),
        sa.Column("last_on", sa.Integer()),
        sa.Column("boat_id", sa.Text()),
        sa.Column("owner_id", sa.Text()),
        sa.Column("read_on", sa.Integer()),
        sa.Column("read_tenths", sa.Integer()),
        sa.Column("basis", sa.Text()),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_kept_engines_engine_no"),
        sa.PrimaryKeyConstraint("engine_no", name="pk_kept_engines"),
    )
    for column in ("fit", "first_on", "last_on", "boat_id", "owner_id"):
        op.create_index(f"ix_kept_engines_{column}", "kept_engines", [column])
    op.create_table(
        "kept_lines",
        sa.Column("engine_no", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("line_no", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("position", sa.Text()),
        sa.Column("last_done_on", sa.Integer()),
        sa.Column("last_done_tenths", sa.Integer()),
        sa.Column("due_on", sa.Integer()),
        sa.Column("due_tenths", sa.Integer()),
        sa.Column("governs", sa.Text()),
        sa.Column("early_on", sa.Integer()),
        sa.Column("likely_on", sa.Integer()),
        sa.Column("late_on", sa.Integer()),
        sa.Column("deferred_on", sa.Integer()),
        sa.Column("deferred_tenths", sa.Integer()),
        sa.Column("always", sa.Text()),
        sa.Column("shows_on", sa.Integer()),
        sa.PrimaryKeyConstraint("engine_no", "line_no", name="pk_kept_lines"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_kept_lines_shows_on", "kept_lines", ["shows_on"])
    op.execute("INSERT INTO kept_engines (engine_no, touched_no) SELECT engine_no, 0 FROM engines")


def downgrade() -> None:
    op.drop_table("kept_lines")
    op.drop_table("kept_engines")
