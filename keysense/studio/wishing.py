"""What is asked about takes, and takes that are played again with a wish."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select

from keysense.errors import KeysenseError
from keysense.studio.base import CONTEXT
from keysense.studio.naming_takes import Naming
from keysense.studio.tables_lesson import AgainRow, DoubtRow

__all__ = ["Doubt", "Wishing"]


@dataclass(frozen=True)
class Doubt:
    """A question about one take, until somebody answers it.

    kind: ``piece`` (it sounds like another piece), ``pupil`` (another pupil plays this), ``cut`` (two tunes in one).
    body: what the question speaks of: ids of pieces and pupils, and for a cut the first note of the second tune.
    """

    take_id: str
    kind: str
    body: dict[str, Any] = field(default_factory=dict)


class Wishing(Naming):
    """Doubts and wishes of a studio."""

    def doubt(self, take_id: str, kind: str, **body: Any) -> None:
        """Ask this about a take, unless it was answered before."""
        with self._store.write() as session:
            row = session.get(DoubtRow, (take_id, kind))
            if row is None:
                session.add(DoubtRow(take_id=take_id, kind=kind, body=body))
            elif not row.settled:
                row.body = body

    def settle_doubt(self, take_id: str, kind: str) -> None:
        """It was answered: it is not asked again of this take."""
        with self._store.write() as session:
            row = session.get(DoubtRow, (take_id, kind)) or DoubtRow(take_id=take_id, kind=kind, body={})
            row.settled = True
            session.add(row)

    def no_doubt(self, take_id: str, kind: str) -> None:
        """What was asked is out of date: forget it, so that it may be asked afresh."""
        with self._store.write() as session:
            row = session.get(DoubtRow, (take_id, kind))
            if row is not None and not row.settled:
                session.delete(row)

    def doubts(self, take_id: str) -> list[Doubt]:
        """What is still asked about a take: the cut first, since it changes what the rest is asked of."""
        query = select(DoubtRow).where(DoubtRow.take_id == take_id, ~DoubtRow.settled).order_by(DoubtRow.kind)
        with self._store.read() as session:
            return [Doubt(row.take_id, row.kind, dict(row.body)) for row in session.scalars(query)]

    def doubted(self, take_ids: Sequence[str]) -> set[str]:
        """Those of these takes about which something is asked."""
        query = select(DoubtRow.take_id).where(DoubtRow.take_id.in_(take_ids), ~DoubtRow.settled)
        with self._store.read() as session:
            return set(session.scalars(query))

    def wish_again(self, ref: str, said: str = "") -> None:
        """The next takes are this one again, with a wish, until something else is said of them."""
        take = self.take(ref)
        self.set_context(pupil=take.pupil_id, piece=take.piece_id, character=take.character, manner=take.manner)
        self.remember(CONTEXT, {**self.recall(CONTEXT), "again": take.id, "said": said})

    def note_again(self, take_id: str) -> None:
        """A take came in: if it was wished for, keep after which take and with what wish."""
        kept = self.recall(CONTEXT)
        before = str(kept.get("again", ""))
        if before and before != take_id:
            with self._store.write() as session:
                session.merge(AgainRow(take_id=take_id, before_id=before, said=str(kept.get("said", ""))))

    def played_before(self, take_id: str) -> tuple[str, str] | None:
        """The take after which this one was played again, and the wish; None where nothing was wished, or it is gone.

        Only a take of the same pupil and piece counts: a wish for one tune is none for another.
        """
        with self._store.read() as session:
            row = session.get(AgainRow, take_id)
        if row is None:
            return None
        now = self.take(take_id)
        try:
            before = self.take(row.before_id)
        except KeysenseError:  # erased, or of a pupil whose agreement was taken back
            return None
        same = (before.pupil_id, before.piece_id) == (now.pupil_id, now.piece_id) and before.piece_id is not None
        return (before.id, row.said) if same and before.state in ("waiting", "kept") else None
