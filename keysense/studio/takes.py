"""Takes: kept with their music, found again, named, dropped and taken back."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import undefer

from keysense.errors import AmbiguousName, StudioError, UnknownName
from keysense.notes import Take, TakeMeta
from keysense.studio.base import CONTEXT, StudioBase, once_a_moment
from keysense.studio.rows import Context, JournalSpan, StoredTake
from keysense.studio.stored import moment, not_hidden, stored_take
from keysense.studio.tables import PieceRow, TakeRow, TargetRow, new_id

if TYPE_CHECKING:
    from sqlalchemy.orm import Session
    from sqlalchemy.orm.interfaces import ORMOption

__all__ = ["Takes"]

_SHORTEST_REF = 4
# Takes that are not shown unless they are asked for.
GONE = ("dropped", "erased", "replaced")


@lru_cache(maxsize=48)
def _read(smf: bytes, name: str) -> Take:
    """The takes of a lesson are asked for by every page anew; reading one takes as long as drawing it."""
    from keysense.smf import smf_to_take

    return smf_to_take(smf, name=name)


class Takes(StudioBase):
    """The takes of a studio."""

    def add_take(
        self,
        take: Take,
        smf: bytes,
        *,
        started_utc: datetime | str,
        journal_span: JournalSpan | tuple[str, int, int] | None = None,
        source: str = "journal",
        instrument: str = "",
        carry: bool = True,
    ) -> str:
        """Put a new take among those that wait for a name, and give its id (32 hex digits).

        smf: the Standard MIDI File that is the take's music from now on. source: journal, file or demo. carry: write
        the sticky context on it as a proposal (`keysense.studio.looking.heard` decides whether it holds).
        """
        span = None if journal_span is None else JournalSpan(*journal_span)
        context = self.context if carry and source == "journal" else Context()
        row = TakeRow(
            id=new_id(),
            added_utc=self.now(),
            started_utc=moment(started_utc),
            duration_s=take.duration_s,
            n=len(take.notes),
            pupil_id=context.pupil_id,
            piece_id=context.piece_id,
            character=context.character,
            manner=context.manner,
            carried=not context.is_empty,
            source=source,
            instrument=instrument or take.meta.instrument,
            file=take.meta.file if source != "journal" else "",
            flags=list(take.meta.flags),
            journal=span.journal if span else "",
            journal_start=span.start if span else None,
            journal_end=span.end if span else None,
            smf=smf,
        )
        with self._store.write() as session:
            session.add(row)
        self._log.info("take %s: %d notes came in", row.id[:8], row.n)
        return row.id

    @once_a_moment
    def take(self, ref: str) -> StoredTake:
        """A take by its id, by the beginning of its id (at least 4 letters), or by ``last``.

        Raises UnknownName, AmbiguousName for a beginning of more than one, StudioError for an erased take.
        """
        with self._store.read() as session:
            row = self._row(session, ref)
        return stored_take(row)

    def take_notes(self, ref: str) -> Take:
        """The notes and pedal movements of a take, read from its kept file."""
        with self._store.read() as session:
            row = self._row(session, ref, undefer(TakeRow.smf))
            smf, stored = row.smf, stored_take(row)
        take = deepcopy(_read(smf, f"take {stored.id[:8]}"))  # whoever asks may write in what is given
        meta = TakeMeta(
            file=stored.file,
            recorded_utc=stored.started_utc.isoformat(),
            instrument=stored.instrument,
            flags=tuple(dict.fromkeys((*take.meta.flags, *stored.flags))),
        )
        return replace(take, meta=meta)

    def take_smf(self, ref: str) -> bytes:
        """The Standard MIDI File of a take."""
        with self._store.read() as session:
            return self._row(session, ref).smf

    @once_a_moment
    def takes(
        self,
        *,
        pupil: str | None = None,
        piece: str | None = None,
        state: str | None = None,
        limit: int | None = None,
        since: datetime | None = None,
        model: bool | None = None,
    ) -> list[StoredTake]:
        """Takes, the newest first. pupil, piece: ids. state: as `StoredTake.state`; None is waiting and kept.

        model: the teacher's own playing alone, or all but that.

        Takes of a pupil whose agreement to teach was taken back are not among them.
        """
        query: Select[Any] = select(TakeRow).where(not_hidden())
        query = query.where(TakeRow.state == state if state else TakeRow.state.not_in(GONE))
        if pupil is not None:
            query = query.where(TakeRow.pupil_id == pupil)
        if piece is not None:
            query = query.where(TakeRow.piece_id == piece)
        if since is not None:
            query = query.where(TakeRow.started_utc >= since)
        if model is not None:
            query = query.where(TakeRow.is_model == model)
        query = query.order_by(TakeRow.started_utc.desc(), TakeRow.added_utc.desc(), TakeRow.id).limit(limit)
        with self._store.read() as session:
            return [stored_take(row) for row in session.scalars(query)]

    @once_a_moment
    def likely_pieces(self, pupil_id: str | None = None) -> list[str]:
        """Ids of pieces with music: standing warm-ups, then what this pupil (or anyone) played last, then the rest."""
        played = (
            select(TakeRow.piece_id, func.max(TakeRow.started_utc).label("last"))
            .where(TakeRow.state == "kept")
            .group_by(TakeRow.piece_id)
        )
        if pupil_id is not None:
            played = played.where((TakeRow.pupil_id == pupil_id) | TakeRow.is_model)
        last = played.subquery()
        query = (
            select(PieceRow.id, PieceRow.is_warmup, last.c.last)
            .join(last, last.c.piece_id == PieceRow.id, isouter=True)
            .where(PieceRow.id.in_(select(TargetRow.piece_id)))
            .order_by(PieceRow.is_warmup.desc(), last.c.last.is_(None), last.c.last.desc(), PieceRow.added_utc.desc())
        )
        with self._store.read() as session:
            return [row.id for row in session.execute(query)]

    def drop_take(self, ref: str) -> StoredTake:
        """Not this one: out of sight now, and wiped in 24 hours unless it is taken back."""
        with self._store.write() as session:
            row = self._row(session, ref)
            if row.state != "dropped":
                row.state, row.state_before, row.dropped_utc = "dropped", row.state, self.now()
        self.remember("last_drop", {"take": row.id})
        self._log.info("take %s was dropped", row.id[:8])
        return stored_take(row)

    def undo_drop(self, ref: str | None = None) -> StoredTake:
        """Take a dropped take back, the last dropped where none is named; raises StudioError where it cannot be."""
        ref = ref or self.recall("last_drop").get("take")
        if not ref:
            raise StudioError("nothing was dropped, so there is nothing to take back")
        with self._store.write() as session:
            row = self._row(session, ref)
            if row.state != "dropped":
                raise StudioError(f"take {row.id[:8]} is {row.state}, not dropped: there is nothing to take back")
            row.state, row.state_before, row.dropped_utc = row.state_before or "waiting", "", None
            row.added_utc = self.now()  # its 24 hours begin again
        return stored_take(row)

    def add_flag(self, take_id: str, flag: str) -> StoredTake:
        """Put one more word among a take's flags."""
        with self._store.write() as session:
            row = self._row(session, take_id)
            if flag not in row.flags:
                row.flags = [*row.flags, flag]
        return stored_take(row)

    @property
    def context(self) -> Context:
        """What the next take is taken for."""
        kept = self.recall(CONTEXT)
        return Context(kept.get("pupil"), kept.get("piece"), kept.get("character", ""), kept.get("manner", ""))

    def set_context(
        self, *, pupil: str | None = None, piece: str | None = None, character: str = "", manner: str = ""
    ) -> Context:
        """From now on takes are taken for these (ids), until something else is said; with nothing, for nothing."""
        kept = {"pupil": pupil, "piece": piece, "character": character, "manner": manner}
        self.remember(CONTEXT, kept)
        return self.context

    def _row(self, session: Session, ref: str, *more: ORMOption) -> TakeRow:
        ref = ref.strip().lower()
        query = select(TakeRow).where(not_hidden()).options(*more)
        if ref == "last":
            row = session.scalar(
                query.where(TakeRow.state.not_in(GONE)).order_by(
                    TakeRow.added_utc.desc(), TakeRow.started_utc.desc()
                ).limit(1)
            )  # fmt: skip
            if row is None:
                raise UnknownName("there is no take yet: play something, or bring a file with keysense bring FILE")
            return row
        if len(ref) < _SHORTEST_REF or set(ref) - set("0123456789abcdef"):
            raise UnknownName(
                f"{ref!r} is no take: give the first {_SHORTEST_REF} or more letters of its id, last, or a .mid file"
            )
        rows = session.scalars(
            query.where(TakeRow.id >= ref, TakeRow.id < ref + "g").order_by(TakeRow.id).limit(6)
        ).all()
        if not rows:
            raise UnknownName(f"no take's id begins with {ref!r}; keysense look last takes the newest")
        if len(rows) > 1:
            raise AmbiguousName(f"{ref!r} begins more than one take: {', '.join(row.id[:12] for row in rows)}")
        if rows[0].state == "erased":
            raise StudioError(f"take {rows[0].id[:8]} was erased: nothing of it is left")
        return rows[0]
