"""The tables of what happens to takes in a lesson: parted and put together, asked about, played again with a wish."""

from __future__ import annotations

from typing import Any

from sqlalchemy import JSON, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from keysense.studio.tables import Base

__all__ = ["AgainRow", "DoubtRow", "OriginRow"]


class OriginRow(Base):
    """Of which take another one was made, by parting it or putting it together; the old one stays, out of sight."""

    __tablename__ = "origin"

    take_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), primary_key=True)
    from_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), primary_key=True, index=True)


class DoubtRow(Base):
    """What keysense asks about a take: ``piece``, ``pupil`` or ``cut``. ``settled``: it was answered."""

    __tablename__ = "doubt"

    take_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), primary_key=True)
    kind: Mapped[str] = mapped_column(String(16), primary_key=True)
    body: Mapped[dict[str, Any]] = mapped_column(JSON)
    settled: Mapped[bool] = mapped_column(default=False)


class AgainRow(Base):
    """A take that was played again with a wish: after which one, and what was wished."""

    __tablename__ = "again"

    take_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), primary_key=True)
    before_id: Mapped[str] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"), index=True)
    said: Mapped[str] = mapped_column(Text, default="")
