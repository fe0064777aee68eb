"""The tables of a studio, as typed declarative models; migrations bring an older studio up to them.

Conventions
    Ids are random (32 hex digits), so that two studios can be merged. Times are UTC. A take's music is its Standard
    MIDI File, as a blob; what is large and read whole (targets, followings, readings) is JSON text. Everything that
    hangs on a take goes with the take.
"""

from __future__ import annotations

import secrets
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, ForeignKey, Index, LargeBinary, MetaData, String, Text, UniqueConstraint
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

__all__ = [
    "AgreementRow",
    "Base",
    "FindingRow",
    "FollowingRow",
    "PaperRow",
    "PieceRow",
    "PupilRow",
    "ReadingRow",
    "SettingRow",
    "SurveyRow",
    "TakeRow",
    "TargetRow",
    "Utc",
    "new_id",
]


def new_id() -> str:
    """A random id: 32 hex digits."""
    return secrets.token_hex(16)


class Utc(TypeDecorator[datetime]):
    """An aware time, kept as UTC: SQLite keeps no zone, PostgreSQL does, both give back the same moment."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """UTC on the way in; a time without a zone is refused."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value} has no time zone: a kept time is UTC")
        value = value.astimezone(UTC)
        return value.replace(tzinfo=None) if dialect.name == "sqlite" else value

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """UTC on the way out."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Base(DeclarativeBase):
    """Every table of a studio. Constraints carry names, so that migrations can find them on any database."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


class PupilRow(Base):
    """A pupil: a nickname and nothing that identifies. No birth date is kept."""

    __tablename__ = "pupil"

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    nickname: Mapped[str] = mapped_column(String(80), unique=True)
    state: Mapped[str] = mapped_column(String(16), default="learning")
    added_utc: Mapped[datetime] = mapped_column(Utc)


class AgreementRow(Base):
    """What a guardian agreed to: for what, on which day, until when, and whether it was taken back."""

    __tablename__ = "agreement"

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    pupil_id: Mapped[str] = mapped_column(ForeignKey("pupil.id", ondelete="CASCADE"), index=True)
    purpose: Mapped[str] = mapped_column(String(40), default="teach")
    agreed_by: Mapped[str] = mapped_column(String(120))
    agreed_on: Mapped[date]
    until: Mapped[date | None]
    withdrawn_utc: Mapped[datetime | None] = mapped_column(Utc)


class PieceRow(Base):
    """A piece, or a standing warm-up (with the hand it is for)."""

    __tablename__ = "piece"

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    title: Mapped[str] = mapped_column(String(200), unique=True)
    source_note: Mapped[str] = mapped_column(Text, default="")
    is_warmup: Mapped[bool] = mapped_column(default=False)
    warmup_hand: Mapped[str] = mapped_column(String(1), default="")
    added_utc: Mapped[datetime] = mapped_column(Utc)


class TargetRow(Base):
    """One version of what a piece's takes are followed against; a new version never overwrites the old one."""

    __tablename__ = "target"
    __table_args__ = (UniqueConstraint("piece_id", "version"),)

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    version: Mapped[int]
    kind: Mapped[str] = mapped_column(String(16))
    body: Mapped[dict[str, Any]] = mapped_column(JSON)
    added_utc: Mapped[datetime] = mapped_column(Utc)


class TakeRow(Base):
    """One playing. ``state``: waiting (for a name), kept, dropped (24 hours to think again), replaced (parted, put
    together), erased (nothing left)."""

    __tablename__ = "take"
    __table_args__ = (
        Index("ix_take_pupil_piece_state", "pupil_id", "piece_id", "state"),
        Index("ix_take_state_started", "state", "started_utc"),
    )

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    added_utc: Mapped[datetime] = mapped_column(Utc, index=True)
    started_utc: Mapped[datetime] = mapped_column(Utc, index=True)
    duration_s: Mapped[float]
    n: Mapped[int]
    state: Mapped[str] = mapped_column(String(16), default="waiting")
    state_before: Mapped[str] = mapped_column(String(16), default="")
    dropped_utc: Mapped[datetime | None] = mapped_column(Utc)
    pupil_id: Mapped[str | None] = mapped_column(ForeignKey("pupil.id", ondelete="SET NULL"))
    piece_id: Mapped[str | None] = mapped_column(ForeignKey("piece.id", ondelete="SET NULL"))
    character: Mapped[str] = mapped_column(String(40), default="")
    manner: Mapped[str] = mapped_column(String(20), default="")
    is_model: Mapped[bool] = mapped_column(default=False)
    named_line: Mapped[str] = mapped_column(Text, default="")
    carried: Mapped[bool] = mapped_column(default=False)
    source: Mapped[str] = mapped_column(String(16), default="journal")
    instrument: Mapped[str] = mapped_column(String(200), default="")
    file: Mapped[str] = mapped_column(String(260), default="")
    flags: Mapped[list[str]] = mapped_column(JSON, default=list)
    journal: Mapped[str] = mapped_column(String(80), default="")
    journal_start: Mapped[int | None]
    journal_end: Mapped[int | None]
    smf: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)


class FollowingRow(Base):
    """Who was played for whom, in one take against one version of its target."""

    __tablename__ = "following"

    take_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), primary_key=True)
    target_id: Mapped[str] = mapped_column(ForeignKey("target.id", ondelete="CASCADE"), primary_key=True)
    recipe: Mapped[int] = mapped_column(primary_key=True)
    body: Mapped[dict[str, Any]] = mapped_column(JSON)


class ReadingRow(Base):
    """One look at a take against a target by one recipe, as the whole that was shown; a new recipe keeps the old."""

    __tablename__ = "reading"

    take_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), primary_key=True)
    target_id: Mapped[str] = mapped_column(ForeignKey("target.id", ondelete="CASCADE"), primary_key=True)
    recipe: Mapped[int] = mapped_column(primary_key=True)
    character: Mapped[str] = mapped_column(String(40), default="")
    lost: Mapped[bool] = mapped_column(default=False)
    read_utc: Mapped[datetime] = mapped_column(Utc)
    body: Mapped[dict[str, Any]] = mapped_column(JSON)


class FindingRow(Base):
    """One finding of one reading. ``place`` is the place as one word, so that a finding has one key everywhere."""

    __tablename__ = "finding"

    take_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), primary_key=True)
    target_id: Mapped[str] = mapped_column(ForeignKey("target.id", ondelete="CASCADE"), primary_key=True)
    name: Mapped[str] = mapped_column(String(40), primary_key=True)
    place: Mapped[str] = mapped_column(String(120), primary_key=True)
    recipe: Mapped[int] = mapped_column(primary_key=True)
    hand: Mapped[str] = mapped_column(String(1), default="")
    value: Mapped[float | None]
    low: Mapped[float | None]
    high: Mapped[float | None]
    n: Mapped[int]
    unit: Mapped[str] = mapped_column(String(20))


class PaperRow(Base):
    """A paper of one lesson: a note, a slip or a card. Without ``signed_by`` it is a draft and cannot leave.

    text: part of the paper -> its words. basis: ids of the takes it speaks of, the one pictured first. declined: no
    such paper this time, by choice.
    """

    __tablename__ = "paper"
    __table_args__ = (UniqueConstraint("pupil_id", "kind", "lesson_day"),)

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    pupil_id: Mapped[str] = mapped_column(ForeignKey("pupil.id", ondelete="CASCADE"), index=True)
    kind: Mapped[str] = mapped_column(String(16))
    lesson_day: Mapped[date]
    text: Mapped[dict[str, str]] = mapped_column(JSON)
    basis: Mapped[list[str]] = mapped_column(JSON, default=list)
    declined: Mapped[bool] = mapped_column(default=False)
    written_utc: Mapped[datetime] = mapped_column(Utc)
    signed_by: Mapped[str] = mapped_column(String(120), default="")
    signed_utc: Mapped[datetime | None] = mapped_column(Utc)


class SettingRow(Base):
    """What the studio remembers between one word and the next: the sticky context, the last drop."""

    __tablename__ = "setting"

    name: Mapped[str] = mapped_column(String(40), primary_key=True)
    value: Mapped[dict[str, Any]] = mapped_column(JSON)


class SurveyRow(Base):
    """What one survey told of a piano, and how the piano's touch was set then. The newest of a piano is what counts."""

    __tablename__ = "survey"

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    instrument: Mapped[str] = mapped_column(String(200), index=True)
    done_utc: Mapped[datetime] = mapped_column(Utc)
    touch_setting: Mapped[str] = mapped_column(String(80), default="")
    body: Mapped[dict[str, Any]] = mapped_column(JSON)
