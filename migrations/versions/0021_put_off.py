"""Lines that were put off are always looked at by a list; those kept before are worked out anew.

Revision ID: 0021
Revises: 0020
"""

from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

OUT_OF_DATE = "UPDATE kept_engines SET fit = NULL, first_on = NULL, last_on = NULL"


def upgrade() -> None:
    op.execute(OUT_OF_DATE)


def downgrade() -> None:
    op.execute(OUT_OF_DATE)
