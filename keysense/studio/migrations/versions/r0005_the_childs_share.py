"""Guesses, remarks, lines drawn before playing, and a pupil's own words."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Four small tables that hang on takes and pupils."""
    _on_takes()
    _on_pupils()


def _on_takes() -> None:
    op.create_table(
        "guess",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("take_id", sa.String(length=32), nullable=False),
        sa.Column("beside_id", sa.String(length=32), nullable=True),
        sa.Column("question", sa.String(length=16), nullable=False),
        sa.Column("choice", sa.String(length=16), nullable=False),
        sa.Column("guessed_utc", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["take_id"], ["take.id"], name="fk_guess_take_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["beside_id"], ["take.id"], name="fk_guess_beside_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_guess"),
    )
    op.create_index("ix_guess_take_id", "guess", ["take_id"])
    op.create_index("ix_guess_beside_id", "guess", ["beside_id"])
    op.create_table(
        "remark",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("take_id", sa.String(length=32), nullable=False),
        sa.Column("said_by", sa.String(length=16), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("written_utc", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["take_id"], ["take.id"], name="fk_remark_take_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_remark"),
    )
    op.create_index("ix_remark_take_id", "remark", ["take_id"])


def _on_pupils() -> None:
    op.create_table(
        "drawn_wish",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("pupil_id", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.String(length=32), nullable=False),
        sa.Column("character", sa.String(length=80), nullable=False),
        sa.Column("first_quarter", sa.Double(), nullable=False),
        sa.Column("last_quarter", sa.Double(), nullable=False),
        sa.Column("heights", sa.JSON(), nullable=False),
        sa.Column("drawn_utc", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["pupil_id"], ["pupil.id"], name="fk_drawn_wish_pupil_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_drawn_wish_piece_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_drawn_wish"),
    )
    op.create_index("ix_drawn_wish_pupil_id", "drawn_wish", ["pupil_id"])
    op.create_index("ix_drawn_wish_piece_id", "drawn_wish", ["piece_id"])
    op.create_table(
        "own_word",
        sa.Column("pupil_id", sa.String(length=32), nullable=False),
        sa.Column("character", sa.String(length=80), nullable=False),
        sa.Column("word", sa.String(length=80), nullable=False),
        sa.Column("wish", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["pupil_id"], ["pupil.id"], name="fk_own_word_pupil_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("pupil_id", "character", name="pk_own_word"),
    )


def downgrade() -> None:
    """Without them."""
    for table in ("own_word", "drawn_wish", "remark", "guess"):
        op.drop_table(table)
