"""What hangs together: a take, what it was made of, and what was made of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import delete, select

from keysense.studio.tables import TakeRow
from keysense.studio.tables_lesson import AgainRow, DoubtRow, OriginRow

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

__all__ = ["family", "forget_asked", "forget_lesson"]


def family(session: Session, take_id: str) -> list[TakeRow]:
    """The takes that must go when this one goes: it, all it was made of, and, where it was set aside, all made of it.

    What stands beside it, made of the same take, stays. Empty for a take that is gone already.
    """
    ids, later = [take_id], [take_id]
    while later:
        later = list(session.scalars(select(OriginRow.take_id).where(OriginRow.from_id.in_(later))))
        ids += later
    earlier = list(ids)
    while earlier:
        earlier = list(session.scalars(select(OriginRow.from_id).where(OriginRow.take_id.in_(earlier))))
        ids += earlier
    rows = [session.get(TakeRow, one) for one in dict.fromkeys(ids)]
    return [row for row in rows if row is not None and row.state != "erased"]


def forget_lesson(session: Session, take_id: str) -> None:
    """Leave nothing of what a take was made of, what was asked about it, and what was wished of it."""
    session.execute(delete(OriginRow).where((OriginRow.take_id == take_id) | (OriginRow.from_id == take_id)))
    session.execute(delete(DoubtRow).where(DoubtRow.take_id == take_id))
    session.execute(delete(AgainRow).where((AgainRow.take_id == take_id) | (AgainRow.before_id == take_id)))


def forget_asked(session: Session, pupil_id: str) -> None:
    """Leave no question about any take that speaks of this pupil."""
    for row in session.scalars(select(DoubtRow)):
        if pupil_id in (row.body.get("pupil"), *row.body.get("others", ())):
            session.delete(row)
