"""Papers: the note to the family, the home slip, the child's card."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

UTC_TIME = sa.DateTime(timezone=True)

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """One paper of a kind for each lesson of a pupil, a draft until it is signed."""
    op.create_table(
        "paper",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("pupil_id", sa.String(length=32), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("lesson_day", sa.Date(), nullable=False),
        sa.Column("text", sa.JSON(), nullable=False),
        sa.Column("basis", sa.JSON(), nullable=False),
        sa.Column("declined", sa.Boolean(), nullable=False),
        sa.Column("written_utc", UTC_TIME, nullable=False),
        sa.Column("signed_by", sa.String(length=120), nullable=False),
        sa.Column("signed_utc", UTC_TIME, nullable=True),
        sa.ForeignKeyConstraint(["pupil_id"], ["pupil.id"], name="fk_paper_pupil_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_paper"),
        sa.UniqueConstraint("pupil_id", "kind", "lesson_day", name="uq_paper_pupil_id_kind_lesson_day"),
    )
    op.create_index("ix_paper_pupil_id", "paper", ["pupil_id"])


def downgrade() -> None:
    """Without papers."""
    op.drop_table("paper")
