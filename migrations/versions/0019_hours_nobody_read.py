"""Hours that nobody read are not kept as those of the last work; lines kept before are worked out anew.

Revision ID: 0019
Revises: 0018
"""

from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

OUT_OF_DATE = "UPDATE kept_engines SET fit = NULL, first_on = NULL, last_on = NULL"


def upgrade() -> None:
    op.execute(OUT_OF_DATE)


def downgrade() -> None:
    op.execute(OUT_OF_DATE)
