"""Parting a take in two and putting two together. What came from the keys stays: both can be undone.

The take that was parted, and those that were put together, are set aside (state ``replaced``): out of sight, their
music kept as it came for as long as what was made of them is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy import select

from keysense.errors import StudioError
from keysense.notes import Take
from keysense.practice import Practice, read_practice
from keysense.studio.rows import JournalSpan, StoredTake
from keysense.studio.stored import stored_take
from keysense.studio.tables import TakeRow, new_id
from keysense.studio.tables_lesson import OriginRow
from keysense.studio.wishing import Wishing

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

__all__ = ["Parting", "silences"]

_OFFERED = 4
_OPEN = ("waiting", "kept")


def silences(take: Take, most: int = _OFFERED, practice: Practice | None = None) -> list[tuple[int, float]]:
    """Where nothing sounded for a while: (first note after it, length in s), in the order of playing.

    The ``most`` longest of those that the table calls a silence (``parting_silence``); a key that is held
    through is no silence.
    """
    onset, release = take.notes["onset_s"], take.notes["release_s"]
    if len(take) < 2:
        return []
    least_s = (practice or read_practice()).value("parting_silence")
    gap = onset[1:] - np.maximum.accumulate(release)[:-1]
    longest = np.argsort(-gap, kind="stable")[:most]
    return [(int(i) + 1, float(gap[i])) for i in np.sort(longest) if gap[i] >= least_s]


class Parting(Wishing):
    """Takes parted and put together."""

    def split_take(self, ref: str, note: int) -> tuple[StoredTake, StoredTake]:
        """Two takes of one: the second begins with this note (counted from 0, at least 1). Both keep its name.

        Raises StudioError where the take is not there to be parted, or no note stands there.
        """
        take, music = self._open_take(ref), self.take_notes(ref)
        if not 0 < note < len(music):
            raise StudioError(
                f"take {take.id[:8]} has {len(music)} notes: part it before one of notes 2 to {len(music)}"
            )
        at_s = float(music.notes["onset_s"][note])
        spans = self._spans(take, at_s)
        with self._store.write() as session:
            rows = [
                self._made(session, [take.id], part, take.started_utc + timedelta(seconds=start_s), span)
                for part, start_s, span in zip(_parts(music, note), (0.0, at_s), spans, strict=True)
            ]
        self._log.info("take %s was parted", take.id[:8])
        return stored_take(rows[0]), stored_take(rows[1])

    def join_takes(self, first: str, second: str) -> StoredTake:
        """One take of two that were played one after the other; it keeps the name of the first that has one.

        Raises StudioError where another take lies between them, or they are of two pupils or two pieces.
        """
        a, b = sorted((self._open_take(first), self._open_take(second)), key=lambda take: take.started_utc)
        self._may_join(a, b, self.takes_around(b))
        apart_s = (b.started_utc - a.started_utc).total_seconds()
        music = _together(self.take_notes(a.id), self.take_notes(b.id), apart_s)
        span = None
        if a.journal_span and b.journal_span and a.journal_span.journal == b.journal_span.journal:
            span = JournalSpan(a.journal_span.journal, a.journal_span.start, b.journal_span.end)
        with self._store.write() as session:
            row = self._made(session, [a.id, b.id], music, a.started_utc, span)
        self._log.info("takes %s and %s were put together", a.id[:8], b.id[:8])
        return stored_take(row)

    def undo_cut(self, ref: str) -> list[StoredTake]:
        """Undo a parting or a putting together: the takes as they were before. Raises StudioError without one."""
        made = self.take(ref)
        with self._store.write() as session:
            old = self._origins(session, made.id)
            if not old:
                raise StudioError(f"take {made.id[:8]} was neither parted nor put together: there is nothing to undo")
            children = session.scalars(select(OriginRow.take_id).where(OriginRow.from_id.in_(old))).all()
            rows = [session.get_one(TakeRow, take_id) for take_id in set(children)]
            if any(row.state == "replaced" for row in rows):
                raise StudioError("one of them was parted or put together again since: undo that first")
            for row in rows:
                session.delete(row)
            back = [session.get_one(TakeRow, take_id) for take_id in old]
            for row in back:
                row.state, row.state_before, row.added_utc = row.state_before or "waiting", "", self.now()
        self.remember("last_cut", {})
        return sorted((stored_take(row) for row in back), key=lambda take: take.started_utc)

    def made(self, take_ids: Sequence[str]) -> set[str]:
        """Those of these takes that were made by splitting or joining."""
        query = select(OriginRow.take_id).where(OriginRow.take_id.in_(take_ids))
        with self._store.read() as session:
            return set(session.scalars(query))

    def made_of(self, ref: str) -> list[str]:
        """Ids of the takes that this one was made of; empty where it came from the keys as it is."""
        with self._store.read() as session:
            return self._origins(session, self._row(session, ref).id)

    def replaced_by(self, take_id: str) -> list[str]:
        """Ids of the takes that stand in the place of one that was set aside, in the order of playing."""
        query = select(TakeRow.id).join(OriginRow, OriginRow.take_id == TakeRow.id)
        with self._store.read() as session:
            return list(session.scalars(query.where(OriginRow.from_id == take_id).order_by(TakeRow.started_utc)))

    def neighbour_before(self, take: StoredTake, around: Sequence[StoredTake] | None = None) -> StoredTake | None:
        """The take played just before this one, if the two may be put together; else None.

        around: the takes of those hours from `takes_around`, where they have been asked for already.
        """
        near = self.takes_around(take) if around is None else around
        earlier = [other for other in near if other.started_utc < take.started_utc]
        if not earlier or take.state not in _OPEN:
            return None
        before = max(earlier, key=lambda other: other.started_utc)
        try:
            self._may_join(before, take, near)
        except StudioError:
            return None
        return before

    def _may_join(self, a: StoredTake, b: StoredTake, around: Sequence[StoredTake]) -> None:
        if a.id == b.id:
            raise StudioError("that is one take: say which two are to be put together")
        if any(a.started_utc < other.started_utc < b.started_utc for other in around):
            raise StudioError("another take lies between them: only two played one after the other can be one")
        for kind, one, other in (("pupils", a.pupil_id, b.pupil_id), ("pieces", a.piece_id, b.piece_id)):
            if one and other and one != other:
                raise StudioError(f"those takes are of two {kind}: name one of them anew, then put them together")
        if a.is_model != b.is_model or (b.started_utc - a.started_utc) > self._farthest():
            raise StudioError("those takes do not belong together: only what was played in one go can be one take")

    def takes_around(self, take: StoredTake) -> list[StoredTake]:
        """Takes that may be of one go with this one, and all that came later; dropped ones too."""
        since = take.started_utc - self._farthest()
        return [*self.takes(since=since), *self.takes(since=since, state="dropped")]

    def _farthest(self) -> timedelta:
        """What was played longer apart is no one take."""
        return timedelta(hours=read_practice(self.folder.own_practice).value("parting_far"))

    def _open_take(self, ref: str) -> StoredTake:
        take = self.take(ref)
        if take.state not in _OPEN:
            gone = "set aside" if take.state == "replaced" else take.state
            raise StudioError(f"take {take.id[:8]} is {gone}: only a take that is there can be parted or put together")
        return take

    def _origins(self, session: Session, take_id: str) -> list[str]:
        return list(session.scalars(select(OriginRow.from_id).where(OriginRow.take_id == take_id)))

    def _spans(self, take: StoredTake, at_s: float) -> tuple[JournalSpan | None, JournalSpan | None]:
        """The two stretches of the listening, where it is still there."""
        span = take.journal_span
        if span is None:
            return None, None
        from keysense.capture.tailing import place_in

        middle = place_in(self.folder.journal / span.journal, span.start, span.end, at_s)
        if middle is None:
            return span, None
        return span._replace(end=middle), span._replace(start=middle)

    def _made(
        self, session: Session, of: Sequence[str], music: Take, started_utc: object, span: JournalSpan | None
    ) -> TakeRow:
        """A new take made of others, which are set aside."""
        from keysense.smf import take_to_smf

        old = [session.get_one(TakeRow, take_id) for take_id in of]
        named = next((row for row in old if row.pupil_id or row.piece_id), old[0])
        row = TakeRow(
            id=new_id(), added_utc=self.now(), started_utc=started_utc, duration_s=music.duration_s, n=len(music),
            state="kept" if any(_state(other) == "kept" for other in old) else "waiting",
            pupil_id=named.pupil_id, piece_id=named.piece_id, character=named.character, manner=named.manner,
            is_model=named.is_model, named_line=named.named_line, carried=named.carried, source=old[0].source,
            instrument=old[0].instrument, file=old[0].file, flags=list(music.meta.flags),
            journal=span.journal if span else "", journal_start=span.start if span else None,
            journal_end=span.end if span else None, smf=take_to_smf(music),
        )  # fmt: skip
        session.add(row)
        session.flush()
        for other in old:
            session.add(OriginRow(take_id=row.id, from_id=other.id))
            if other.state != "replaced":
                other.state, other.state_before = "replaced", other.state
        self.remember("last_cut", {"take": row.id})
        return row


def _state(row: TakeRow) -> str:
    return row.state_before if row.state == "replaced" else row.state


def _parts(take: Take, note: int) -> tuple[Take, Take]:
    """The notes before, and the notes from there on with time 0 at the first of them."""
    at_s = float(take.notes["onset_s"][note])
    flags = tuple(flag for flag in take.meta.flags if flag != "other_playing")
    meta = replace(take.meta, flags=flags)
    first = Take(take.notes[:note], take.pedals[take.pedals["time_s"] < at_s], meta)
    late, pedals = take.notes[note:].copy(), take.pedals[take.pedals["time_s"] >= at_s].copy()
    for rows, names in ((late, ("onset_s", "release_s")), (pedals, ("time_s",))):
        for name in names:
            rows[name] -= at_s
    return first, Take(late, pedals, meta)


def _together(a: Take, b: Take, apart_s: float) -> Take:
    """The second set after the first by what lay between their beginnings."""
    late, pedals = b.notes.copy(), b.pedals.copy()
    for name in ("onset_s", "release_s"):
        late[name] += apart_s
    pedals["time_s"] += apart_s
    flags = tuple(dict.fromkeys(flag for flag in (*a.meta.flags, *b.meta.flags) if flag != "other_playing"))
    notes = np.concatenate([a.notes, late])
    notes = notes[np.argsort(notes["onset_s"], kind="stable")]
    return Take(notes, np.concatenate([a.pedals, pedals]), replace(a.meta, flags=flags))
