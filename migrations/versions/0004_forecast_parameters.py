"""What fits of the fleet found out, kept so that a list does not fit it anew.

Revision ID: 0004
Revises: 0003
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "forecast_parameters",
        sa.Column("fit_no", sa.Integer(), nullable=False),
        sa.Column("content_id", sa.Text(), nullable=False),
        sa.Column("fitted_on", sa.Integer(), nullable=False),
        sa.Column("figures", sa.Integer(), nullable=False),
        sa.Column("parameters", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("fit_no", name="pk_forecast_parameters"),
        sa.UniqueConstraint("content_id", name="uq_forecast_parameters_content_id"),
    )
    op.create_index("ix_forecast_parameters_fitted_on", "forecast_parameters", ["fitted_on"])


def downgrade() -> None:
    op.drop_table("forecast_parameters")
