"""The day on which an item came off, kept with its due lines; those kept before are worked out anew.

Revision ID: 0017
Revises: 0016
"""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

OUT_OF_DATE = "UPDATE kept_engines SET fit = NULL, first_on = NULL, last_on = NULL"


def upgrade() -> None:
    op.add_column("kept_lines", sa.Column("off_on", sa.Integer(), nullable=True))
    op.execute(OUT_OF_DATE)


def downgrade() -> None:
    op.drop_column("kept_lines", "off_on")
    op.execute(OUT_OF_DATE)
