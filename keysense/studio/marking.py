"""Marks a teacher makes in the music of a piece, kept beside it and laid over every version of it.

The music with its marks is a version of its own, so that everything is heard afresh against it; ``unmarked`` in its
body names the version as it was brought. Marks made one after the other, before anything was heard against them,
share one version.
"""

from __future__ import annotations

from contextlib import suppress

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from keysense.errors import StudioError, TargetError
from keysense.studio.rows import StoredTarget
from keysense.studio.shelf import Shelf
from keysense.studio.tables import FollowingRow, ReadingRow, TargetRow
from keysense.studio.tables_marks import MarkingRow
from keysense.targets.marking import Marking, marked
from keysense.targets.target import Target, page_id

__all__ = ["Marked"]


class Marked(Shelf):
    """The marks by hand of a studio's pieces."""

    def markings(self, piece_id: str) -> list[Marking]:
        """The marks that stand, in the order in which they were made."""
        with self._store.read() as session:
            return [_marking(row) for row in session.scalars(_standing(piece_id))]

    def unmarked(self, piece_id: str) -> StoredTarget:
        """The music as it was brought or played in, without marks by hand; raises StudioError where there is none."""
        newest = self.target_of(piece_id)
        with self._store.read() as session:
            row = session.get(TargetRow, newest.id)
            base = None if row is None else session.get(TargetRow, str(row.body.get("unmarked", "")))
        return self.target(base.id) if base is not None else newest

    def mark(self, piece_id: str, marking: Marking) -> StoredTarget:
        """Make a mark; one that stands already is rubbed out instead. Raises TargetError on a place without a note."""
        same = next((one for one in self.markings(piece_id) if one.alike(marking)), None)
        if same is not None:
            return self.rub_mark(piece_id, same.id)
        base = self.unmarked(piece_id)
        marked(base.target, [marking])  # a mark that fits nowhere is refused before anything is kept
        with self.together(), self._store.write() as session:
            row = MarkingRow(
                piece_id=piece_id, kind=marking.kind, layer=marking.layer, hand=marking.hand,
                first_bar=marking.first[0], first_quarter=marking.first[1],
                last_bar=marking.last[0], last_quarter=marking.last[1],
                pitch=marking.pitch, made_step=_step(session, piece_id), made_utc=self.now(),
            )  # fmt: skip
            session.add(row)
            session.flush()
            return self._mark_again(session, base)

    def rub_mark(self, piece_id: str, marking_id: str) -> StoredTarget:
        """Rub one mark out; raises StudioError where it is not there."""
        base = self.unmarked(piece_id)
        with self.together(), self._store.write() as session:
            row = session.get(MarkingRow, marking_id)
            if row is None or row.piece_id != piece_id or row.rubbed_step is not None:
                raise StudioError("that mark is not there any more")
            row.rubbed_step = _step(session, piece_id)
            session.flush()
            return self._mark_again(session, base)

    def undo_mark(self, piece_id: str) -> StoredTarget:
        """Take back the last thing done to a piece's marks; raises StudioError where nothing was done."""
        base = self.unmarked(piece_id)
        with self.together(), self._store.write() as session:
            rows = list(session.scalars(select(MarkingRow).where(MarkingRow.piece_id == piece_id)))
            last = max(rows, key=lambda row: max(row.made_step, row.rubbed_step or 0), default=None)
            if last is None:
                raise StudioError("no mark was made by hand yet: there is nothing to take back")
            if last.rubbed_step is not None:
                last.rubbed_step = None
            else:
                session.delete(last)
            session.flush()
            return self._mark_again(session, base)

    def can_undo_mark(self, piece_id: str) -> bool:
        """Whether anything was done to the marks of a piece."""
        with self._store.read() as session:
            return session.scalar(select(MarkingRow.id).where(MarkingRow.piece_id == piece_id).limit(1)) is not None

    def add_target(self, piece_id: str, target: Target) -> StoredTarget:
        """A new version of a piece's music. Marks by hand are laid over it where their notes are there again."""
        base = super().add_target(piece_id, target)
        if not self.markings(piece_id):
            return base
        with self._store.write() as session:
            return self._mark_again(session, base)

    def renew_marks(self) -> None:
        """Lay the marks of every piece over its music where that has not got them all, as after marks came in."""
        with self._store.read() as session:
            pieces = list(session.scalars(select(MarkingRow.piece_id).distinct()))
        for piece_id in pieces:
            with suppress(StudioError):  # no music to lay them over yet
                base, newest = self.unmarked(piece_id), self.target_of(piece_id)
                there = {page_id(mark.id) for mark in newest.target.marks}
                fitting = [one for one in self.markings(piece_id) if _fits(base.target, one)]
                if any(one.kind != "no phrase" and one.id not in there for one in fitting):
                    with self._store.write() as session:
                        self._mark_again(session, base)

    def lost_markings(self, piece_id: str) -> list[Marking]:
        """Marks by hand for which the music as it is now has no note: they stand again when it has one."""
        base = self.unmarked(piece_id).target
        return [one for one in self.markings(piece_id) if not _fits(base, one)]

    def _mark_again(self, session: Session, base: StoredTarget) -> StoredTarget:
        newest = session.scalar(
            select(TargetRow).where(TargetRow.piece_id == base.piece_id).order_by(TargetRow.version.desc()).limit(1)
        )
        if newest is not None and "unmarked" in newest.body and not _heard_against(session, newest.id):
            session.delete(newest)
            session.flush()
        standing = [one for one in map(_marking, session.scalars(_standing(base.piece_id))) if _fits(base.target, one)]
        return self._add_version(base.piece_id, marked(base.target, standing), unmarked=base.id)


def _fits(target: Target, marking: Marking) -> bool:
    try:
        marked(target, [marking])
    except TargetError:
        return False
    return True


def _standing(piece_id: str) -> Select[MarkingRow]:
    return (
        select(MarkingRow)
        .where(MarkingRow.piece_id == piece_id, MarkingRow.rubbed_step.is_(None))
        .order_by(MarkingRow.made_step)
    )


def _step(session: Session, piece_id: str) -> int:
    """The number of what is done now to a piece's marks."""
    query = select(func.max(MarkingRow.made_step), func.max(MarkingRow.rubbed_step))
    made, rubbed = session.execute(query.where(MarkingRow.piece_id == piece_id)).one()
    return max(made or 0, rubbed or 0) + 1


def _heard_against(session: Session, target_id: str) -> bool:
    rows = (select(row.take_id).where(row.target_id == target_id).limit(1) for row in (FollowingRow, ReadingRow))
    return any(session.scalar(query) is not None for query in rows)


def _marking(row: MarkingRow) -> Marking:
    first, last = (row.first_bar, row.first_quarter), (row.last_bar, row.last_quarter)
    return Marking(row.kind, first, last, row.layer, row.hand, row.pitch, row.id)  # type: ignore[arg-type]
