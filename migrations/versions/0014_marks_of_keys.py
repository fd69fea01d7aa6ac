"""A mark of what was said under a key, so that something else under it is refused.

Revision ID: 0014
Revises: 0013
"""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("once_keys", sa.Column("mark", sa.Text(), nullable=True))


def downgrade() -> None:
    op.drop_column("once_keys", "mark")
