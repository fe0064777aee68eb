"""Pianos that were made known."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Surveys of touch: a new one stands before the old, which is kept."""
    op.create_table(
        "survey",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("instrument", sa.String(length=200), nullable=False),
        sa.Column("done_utc", sa.DateTime(timezone=True), nullable=False),
        sa.Column("touch_setting", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_survey"),
    )
    op.create_index("ix_survey_instrument", "survey", ["instrument"])


def downgrade() -> None:
    """Without them."""
    op.drop_index("ix_survey_instrument", table_name="survey")
    op.drop_table("survey")
