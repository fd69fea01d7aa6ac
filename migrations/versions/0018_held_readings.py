"""How many readings of an engine are held, kept with its due lines; those kept before are worked out anew.

Revision ID: 0018
Revises: 0017
"""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

OUT_OF_DATE = "UPDATE kept_engines SET fit = NULL, first_on = NULL, last_on = NULL"


def upgrade() -> None:
    op.add_column("kept_engines", sa.Column("held", sa.Integer(), nullable=True))
    op.execute(OUT_OF_DATE)


def downgrade() -> None:
    op.drop_column("kept_engines", "held")
    op.execute(OUT_OF_DATE)
