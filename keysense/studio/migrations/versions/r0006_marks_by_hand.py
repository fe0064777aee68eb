"""Marks made by hand: ends of phrases, guide notes, hairpins."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """One small table that hangs on pieces."""
    op.create_table(
        "marking",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.String(length=32), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("layer", sa.String(length=80), nullable=False),
        sa.Column("hand", sa.String(length=1), nullable=False),
        sa.Column("first_bar", sa.Integer(), nullable=False),
        sa.Column("first_quarter", sa.Double(), nullable=False),
        sa.Column("last_bar", sa.Integer(), nullable=False),
        sa.Column("last_quarter", sa.Double(), nullable=False),
        sa.Column("pitch", sa.Integer(), nullable=True),
        sa.Column("made_step", sa.Integer(), nullable=False),
        sa.Column("rubbed_step", sa.Integer(), nullable=True),
        sa.Column("made_utc", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_marking_piece_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_marking"),
    )
    op.create_index("ix_marking_piece_id", "marking", ["piece_id"])


def downgrade() -> None:
    """Without it."""
    op.drop_table("marking")
