"""Lines are kept with the hours that their limits count from; lines kept before are worked out anew.

Revision ID: 0022
Revises: 0021
"""

from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

OUT_OF_DATE = "UPDATE kept_engines SET fit = NULL, first_on = NULL, last_on = NULL"


def upgrade() -> None:
    op.execute(OUT_OF_DATE)


def downgrade() -> None:
    op.execute(OUT_OF_DATE)
