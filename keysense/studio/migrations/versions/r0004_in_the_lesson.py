"""Takes that are parted or put together, what is asked about them, and takes played again with a wish."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Three small tables that hang on the take."""
    op.create_table(
        "origin",
        sa.Column("take_id", sa.String(length=32), nullable=False),
        sa.Column("from_id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["take_id"], ["take.id"], name="fk_origin_take_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["from_id"], ["take.id"], name="fk_origin_from_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("take_id", "from_id", name="pk_origin"),
    )
    op.create_index("ix_origin_from_id", "origin", ["from_id"])
    op.create_table(
        "doubt",
        sa.Column("take_id", sa.String(length=32), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("settled", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["take_id"], ["take.id"], name="fk_doubt_take_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("take_id", "kind", name="pk_doubt"),
    )
    op.create_table(
        "again",
        sa.Column("take_id", sa.String(length=32), nullable=False),
        sa.Column("before_id", sa.String(length=32), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["take_id"], ["take.id"], name="fk_again_take_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["before_id"], ["take.id"], name="fk_again_before_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("take_id", name="pk_again"),
    )
    op.create_index("ix_again_before_id", "again", ["before_id"])


def downgrade() -> None:
    """Without them."""
    for table in ("again", "doubt", "origin"):
        op.drop_table(table)
