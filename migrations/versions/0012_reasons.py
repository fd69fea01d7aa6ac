"""Why a fact of an owner, a boat or an engine was changed.

Revision ID: 0012
Revises: 0011
"""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("changes", sa.Column("reason", sa.Text(), nullable=True))


def downgrade() -> None:
    op.drop_column("changes", "reason")
