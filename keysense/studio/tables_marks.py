"""The table of marks a teacher made in the music with her own hand."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from keysense.studio.tables import Base, Utc, new_id

__all__ = ["MarkingRow"]


class MarkingRow(Base):
    """One mark at places of the page (bar and quarter), so that it outlives a new file of the same piece.

    made_step, rubbed_step: one count a piece of everything done to its marks, so that the last can be taken back.
    """

    __tablename__ = "marking"

    id: Mapped[str] = mapped_column(String(32), primary_key=True, default=new_id)
    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    kind: Mapped[str] = mapped_column(String(16))
    layer: Mapped[str] = mapped_column(String(80), default="")
    hand: Mapped[str] = mapped_column(String(1), default="")
    first_bar: Mapped[int]
    first_quarter: Mapped[float]
    last_bar: Mapped[int]
    last_quarter: Mapped[float]
    pitch: Mapped[int | None]
    made_step: Mapped[int]
    rubbed_step: Mapped[int | None]
    made_utc: Mapped[datetime] = mapped_column(Utc)
