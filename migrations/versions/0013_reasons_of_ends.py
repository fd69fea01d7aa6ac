"""Why a tool was retired, and why a term, a supersession or a wish was withdrawn.

Revision ID: 0013
Revises: 0012
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

ENDS = {
    "tools": "retired_on",
    "terms": "withdrawn_on",
    "supersessions": "withdrawn_on",
    "wishes": "withdrawn_on",
}
COLUMNS = {
    "tools": (
        "tool_no tool_id name unit low high in_use_from_on retired_on calibrate_months "
        "calibrate_cycles writing_no end_writing_no"
    ),
    "terms": (
        "engine_no sequence term_id kind starts_on months tenths starts_tenths title item position "
        "entry_id withdrawn_on note told_by writing_no end_writing_no"
    ),
    "supersessions": (
        "part_number superseded_by from_on withdrawn_on note told_by writing_no end_writing_no"
    ),
    "wishes": (
        "wish_no wish_id owner_id boat_id not_before_on not_after_on not_in_from_on not_in_to_on "
        "weekdays told_on withdrawn_on note told_by writing_no end_writing_no"
    ),
}
"""The columns of each table before this, in their order."""


def upgrade() -> None:
    for table, end in ENDS.items():
        _drop_guard(table)
        op.add_column(table, sa.Column("end_reason", sa.Text(), nullable=True))
        _guard(table, [*COLUMNS[table].split(), "end_reason"], (end, "end_writing_no", "end_reason"))


def downgrade() -> None:
    for table, end in ENDS.items():
        _drop_guard(table)
        op.drop_column(table, "end_reason")
        _guard(table, COLUMNS[table].split(), (end, "end_writing_no"))


def _drop_guard(table: str) -> None:
    connection = op.get_bind()
    on_sqlite = connection.dialect.name == "sqlite"
    for what in ("changed", "deleted") if on_sqlite else ("changed", "deleted", "emptied"):
        on = "" if on_sqlite else f" ON {table}"
        connection.exec_driver_sql(f"DROP TRIGGER {table}_never_{what}{on}")


def _guard(table: str, columns: list[str], may_fill: tuple[str, ...]) -> None:
    connection = op.get_bind()
    for statement in guard_ddl(connection.dialect.name, table, columns, may_fill):
        connection.exec_driver_sql(statement)
