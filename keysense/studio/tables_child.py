"""The tables of the child's share: guesses, remarks, lines drawn before playing, words of their own."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import JSON, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from keysense.studio.tables import Base, Utc, new_id

__all__ = ["DrawnWishRow", "GuessRow", "OwnWordRow", "RemarkRow"]


class GuessRow(Base):
    """What was guessed before a picture was opened: ``grow`` of one take, ``louder`` of two. Never counted."""

    __tablename__ = "guess"

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    take_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), index=True)
    beside_id: Mapped[str | None] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), index=True)
    question: Mapped[str] = mapped_column(String(16))
    choice: Mapped[str] = mapped_column(String(16))
    guessed_utc: Mapped[datetime] = mapped_column(Utc)


class RemarkRow(Base):
    """One short line about a take. said_by: ``pupil`` or ``teacher``."""

    __tablename__ = "remark"

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    take_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), index=True)
    said_by: Mapped[str] = mapped_column(String(16))
    said: Mapped[str] = mapped_column(Text)
    written_utc: Mapped[datetime] = mapped_column(Utc)


class DrawnWishRow(Base):
    """A line drawn before playing: heights 0 (this piano's softest) to 1 (its loudest), a place each."""

    __tablename__ = "drawn_wish"

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    pupil_id: Mapped[str] = mapped_column(ForeignKey("pupil.id", ondelete="CASCADE"), index=True)
    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    character: Mapped[str] = mapped_column(String(80), default="")
    first_quarter: Mapped[float]
    last_quarter: Mapped[float]
    heights: Mapped[list[float]] = mapped_column(JSON)
    drawn_utc: Mapped[datetime] = mapped_column(Utc)


class OwnWordRow(Base):
    """A pupil's own word for a character, and what they wish of it."""

    __tablename__ = "own_word"

    pupil_id: Mapped[str] = mapped_column(ForeignKey("pupil.id", ondelete="CASCADE"), primary_key=True)
    character: Mapped[str] = mapped_column(String(80), primary_key=True)
    word: Mapped[str] = mapped_column(String(80), default="")
    wish: Mapped[str] = mapped_column(Text, default="")
