"""Erasing, so that a byte search of the studio's folder finds nothing, and wiping what nobody kept.

A take that was erased leaves its random id and the word "erased", and nothing else. Journals are blanked in place.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from sqlalchemy import select

from keysense.studio.family import family, forget_asked, forget_lesson
from keysense.studio.papers import forget_name, forget_take
from keysense.studio.register import Register
from keysense.studio.rows import JournalSpan
from keysense.studio.seen import forget_seen
from keysense.studio.share import forget_name_said, forget_share
from keysense.studio.tables import (
    FindingRow,
    FollowingRow,
    PupilRow,
    ReadingRow,
    SettingRow,
    TakeRow,
)
from keysense.studio.takes import Takes

__all__ = ["Erasing"]

# What belongs to no kept take is gone after this long.
WIPE_AFTER = timedelta(hours=24)


class Erasing(Register, Takes):
    """The ways in which a studio forgets."""

    def erase_take(self, ref: str) -> None:
        """Erase one take with everything heard in it, now."""
        take = self.take(ref)
        self._erase_takes([take.id])
        self._store.forget()

    def erase_pupil(self, pupil_id: str) -> int:
        """Erase a pupil and all that follows from it: agreements, takes, findings, words typed. Gives how many takes.

        Afterwards neither the nickname nor the pupil's id is anywhere in the studio's folder.
        """
        pupil = self.pupil(pupil_id)
        with self._store.read() as session:
            mine = list(session.scalars(select(TakeRow.id).where(TakeRow.pupil_id == pupil_id)))
        self._erase_takes(mine)
        with self._store.write() as session:
            # Words typed for takes that were given to another pupil afterwards.
            for row in session.scalars(select(TakeRow).where(TakeRow.named_line != "")):
                if pupil.nickname.casefold() in row.named_line.casefold():
                    row.named_line = ""
            for kept in session.scalars(select(SettingRow)):
                if {pupil_id, *mine} & {value for value in kept.value.values() if isinstance(value, str)}:
                    session.delete(kept)
            forget_name(session, pupil.nickname)
            forget_asked(session, pupil_id)
            forget_name_said(session, pupil_id, pupil.nickname)
            session.delete(session.get_one(PupilRow, pupil_id))
        self._store.forget(thorough=True)
        self._log.info("a pupil was erased with %d takes", len(mine))
        return len(mine)

    def wipe_due(self, now: datetime | None = None) -> list[str]:
        """Erase what was dropped, or waited for a name, 24 hours ago or longer; gives the ids of those takes."""
        before = (now or self.now()) - WIPE_AFTER
        query = select(TakeRow.id).where(
            ((TakeRow.state == "dropped") & (TakeRow.dropped_utc <= before))
            | ((TakeRow.state == "waiting") & (TakeRow.added_utc <= before))
        )
        with self._store.read() as session:
            due = list(session.scalars(query))
        if due:
            self._erase_takes(due)
            self._store.forget()
            self._log.info("%d takes that nobody kept were wiped", len(due))
        return due

    def kept_spans(self) -> list[JournalSpan]:
        """Where kept takes lie in the journals: everything else in them may be wiped after 24 hours."""
        query = select(TakeRow.journal, TakeRow.journal_start, TakeRow.journal_end).where(
            TakeRow.state == "kept", TakeRow.journal != ""
        )
        with self._store.read() as session:
            rows = session.execute(query.order_by(TakeRow.journal, TakeRow.journal_start))
            return [JournalSpan(name, start or 0, end or 0) for name, start, end in rows]

    def _erase_takes(self, ids: Iterable[str]) -> None:
        for take_id in ids:
            with self._store.write() as session:
                for row in family(session, take_id):
                    # what was set aside lies where its parts lie, and a part that stays must not lose its listening
                    if row.state != "replaced":
                        self._wipe_listening(row)
                    for table in (FindingRow, FollowingRow, ReadingRow):
                        for heard in session.scalars(select(table).where(table.take_id == row.id)):
                            session.delete(heard)
                    forget_take(session, row.id)
                    forget_lesson(session, row.id)
                    forget_share(session, row.id)
                    forget_seen([row.id])
                    session.expunge(row)
                    session.merge(_nothing_left(row))

    def _wipe_listening(self, row: TakeRow) -> None:
        if not row.journal or row.journal_start is None or row.journal_end is None:
            return
        span = JournalSpan(row.journal, row.journal_start, row.journal_end)
        path = self.folder.journal / span.journal
        if path.exists():
            from keysense.capture.journal import wipe

            wipe(path, span.start, span.end)


def _nothing_left(row: TakeRow) -> TakeRow:
    """The row of an erased take: its id, and that it was erased."""
    epoch = datetime.fromisoformat("1970-01-01T00:00:00+00:00")
    return TakeRow(
        id=row.id,
        state="erased",
        added_utc=epoch,
        started_utc=epoch,
        duration_s=0.0,
        n=0,
        smf=b"",
        flags=[],
        state_before="",
        dropped_utc=None,
        pupil_id=None,
        piece_id=None,
        character="",
        manner="",
        is_model=False,
        named_line="",
        carried=False,
        source="",
        instrument="",
        file="",
        journal="",
        journal_start=None,
        journal_end=None,
    )
