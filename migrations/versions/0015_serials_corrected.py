"""The serial that an engine was entered with, so that the one it is known by can be corrected.

Rows that name an engine by its serial go on naming the one that it was entered with.

Revision ID: 0015
Revises: 0014
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

_NAMING = ("papers", "extracts")
_ALONE = {"resolve_fks": False}
"""Of a table that is made anew only itself is read, not all that it refers to."""


def upgrade() -> None:
    op.add_column("engines", sa.Column("entered_as", sa.Text(), nullable=True))
    op.execute("UPDATE engines SET entered_as = serial")
    with op.batch_alter_table("engines", reflect_kwargs=_ALONE) as engines:
        engines.alter_column("entered_as", existing_type=sa.Text(), nullable=False)
        engines.create_unique_constraint("uq_engines_entered_as", ["entered_as"])
    corrected = sa.text("entered_as <> serial")
    op.create_index(
        "ix_engines_entered_as", "engines", ["entered_as"], sqlite_where=corrected, postgresql_where=corrected
    )
    _refer_to("entered_as")


def downgrade() -> None:
    op.execute("UPDATE engines SET serial = entered_as")
    _refer_to("serial")
    op.drop_index("ix_engines_entered_as", "engines")
    with op.batch_alter_table("engines", reflect_kwargs=_ALONE) as engines:
        engines.drop_constraint("uq_engines_entered_as", type_="unique")
        engines.drop_column("entered_as")


def _refer_to(column: str) -> None:
    """Has the rows that name an engine refer to a column; on SQLite their tables are made anew."""
    connection = op.get_bind()
    for table in _NAMING:
        with op.batch_alter_table(table, reflect_kwargs=_ALONE) as naming:
            naming.drop_constraint(f"fk_{table}_serial", type_="foreignkey")
            naming.create_foreign_key(f"fk_{table}_serial", "engines", ["serial"], [column])
        if connection.dialect.name == "sqlite":
            for statement in guard_ddl("sqlite", table):
                connection.exec_driver_sql(statement)
