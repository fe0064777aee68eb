"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

UTC_TIME = sa.DateTime(timezone=True)

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Pupils and their agreements, pieces and their targets, takes and what was heard in them."""
    _register()
    _takes()
    _music()
    _what_was_heard()


def _register() -> None:
    op.create_table(
        "piece",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("source_note", sa.Text(), nullable=False),
        sa.Column("is_warmup", sa.Boolean(), nullable=False),
        sa.Column("warmup_hand", sa.String(length=1), nullable=False),
        sa.Column("added_utc", UTC_TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_piece"),
        sa.UniqueConstraint("title", name="uq_piece_title"),
    )
    op.create_table(
        "pupil",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("nickname", sa.String(length=80), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("added_utc", UTC_TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_pupil"),
        sa.UniqueConstraint("nickname", name="uq_pupil_nickname"),
    )
    op.create_table(
        "setting",
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_setting"),
    )
    op.create_table(
        "agreement",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("pupil_id", sa.String(length=32), nullable=False),
        sa.Column("purpose", sa.String(length=40), nullable=False),
        sa.Column("agreed_by", sa.String(length=120), nullable=False),
        sa.Column("agreed_on", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("withdrawn_utc", UTC_TIME, nullable=True),
        sa.ForeignKeyConstraint(["pupil_id"], ["pupil.id"], name="fk_agreement_pupil_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_agreement"),
    )
    op.create_index("ix_agreement_pupil_id", "agreement", ["pupil_id"])


def _takes() -> None:
    op.create_table(
        "take",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("added_utc", UTC_TIME, nullable=False),
        sa.Column("started_utc", UTC_TIME, nullable=False),
        sa.Column("duration_s", sa.Double(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("state_before", sa.String(length=16), nullable=False),
        sa.Column("dropped_utc", UTC_TIME, nullable=True),
        sa.Column("pupil_id", sa.String(length=32), nullable=True),
        sa.Column("piece_id", sa.String(length=32), nullable=True),
        sa.Column("character", sa.String(length=40), nullable=False),
        sa.Column("manner", sa.String(length=20), nullable=False),
        sa.Column("is_model", sa.Boolean(), nullable=False),
        sa.Column("named_line", sa.Text(), nullable=False),
        sa.Column("carried", sa.Boolean(), nullable=False),
        sa.Column("source", sa.String(length=16), nullable=False),
        sa.Column("instrument", sa.String(length=200), nullable=False),
        sa.Column("file", sa.String(length=260), nullable=False),
        sa.Column("flags", sa.JSON(), nullable=False),
        sa.Column("journal", sa.String(length=80), nullable=False),
        sa.Column("journal_start", sa.Integer(), nullable=True),
        sa.Column("journal_end", sa.Integer(), nullable=True),
        sa.Column("smf", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_take_piece_id", ondelete="SET NULL"),
        sa.ForeignKeyConstraint(["pupil_id"], ["pupil.id"], name="fk_take_pupil_id", ondelete="SET NULL"),
        sa.PrimaryKeyConstraint("id", name="pk_take"),
    )
    op.create_index("ix_take_added_utc", "take", ["added_utc"])
    op.create_index("ix_take_started_utc", "take", ["started_utc"])
    op.create_index("ix_take_pupil_piece_state", "take", ["pupil_id", "piece_id", "state"])
    op.create_index("ix_take_state_started", "take", ["state", "started_utc"])


def _music() -> None:
    op.create_table(
        "target",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("added_utc", UTC_TIME, nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_target_piece_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_target"),
        sa.UniqueConstraint("piece_id", "version", name="uq_target_piece_id_version"),
    )
    op.create_index("ix_target_piece_id", "target", ["piece_id"])


def _what_was_heard() -> None:
    op.create_table(
        "finding",
        sa.Column("take_id", sa.String(length=32), nullable=False),
        sa.Column("target_id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("place", sa.String(length=120), nullable=False),
        sa.Column("recipe", sa.Integer(), nullable=False),
        sa.Column("hand", sa.String(length=1), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("low", sa.Double(), nullable=True),
        sa.Column("high", sa.Double(), nullable=True),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("unit", sa.String(length=20), nullable=False),
        sa.ForeignKeyConstraint(["take_id"], ["take.id"], name="fk_finding_take_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["target_id"], ["target.id"], name="fk_finding_target_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("take_id", "target_id", "name", "place", "recipe", name="pk_finding"),
    )

    op.create_table(
        "following",
        sa.Column("take_id", sa.String(length=32), nullable=False),
        sa.Column("target_id", sa.String(length=32), nullable=False),
        sa.Column("recipe", sa.Integer(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["take_id"], ["take.id"], name="fk_following_take_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["target_id"], ["target.id"], name="fk_following_target_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("take_id", "target_id", "recipe", name="pk_following"),
    )
    op.create_table(
        "reading",
        sa.Column("take_id", sa.String(length=32), nullable=False),
        sa.Column("target_id", sa.String(length=32), nullable=False),
        sa.Column("recipe", sa.Integer(), nullable=False),
        sa.Column("character", sa.String(length=40), nullable=False),
        sa.Column("lost", sa.Boolean(), nullable=False),
        sa.Column("read_utc", UTC_TIME, nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["take_id"], ["take.id"], name="fk_reading_take_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["target_id"], ["target.id"], name="fk_reading_target_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("take_id", "target_id", "recipe", name="pk_reading"),
    )


def downgrade() -> None:
    """Back to an empty database."""
    for table in (
        "reading",
        "following",
        "finding",
        "target",
        "take",
        "agreement",
        "setting",
        "pupil",
        "piece",
    ):
        op.drop_table(table)
