"""From the row of a take to what is handed out, and which rows may be handed out at all."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlalchemy import select

from keysense.errors import StudioError
from keysense.studio.rows import JournalSpan, StoredTake
from keysense.studio.tables import AgreementRow, TakeRow

__all__ = ["moment", "not_hidden", "stored_take"]


@cache
def not_hidden() -> Any:
    """Takes of no pupil, or of a pupil whose agreement has not been taken back."""
    taken_back = select(AgreementRow.pupil_id).where(
        AgreementRow.purpose == "teach", AgreementRow.withdrawn_utc.is_not(None)
    )
    standing = select(AgreementRow.pupil_id).where(
        AgreementRow.purpose == "teach", AgreementRow.withdrawn_utc.is_(None)
    )
    return TakeRow.pupil_id.is_(None) | TakeRow.pupil_id.not_in(taken_back) | TakeRow.pupil_id.in_(standing)


def moment(when: datetime | str) -> datetime:
    """An aware time from a time or its ISO text; without a zone it is UTC."""
    if isinstance(when, str):
        try:
            when = datetime.fromisoformat(when)
        except ValueError as cause:
            raise StudioError(f"{when!r} is no time: write it as 2026-09-01T15:30:00Z") from cause
    return when if when.tzinfo else when.replace(tzinfo=UTC)


def stored_take(row: TakeRow) -> StoredTake:
    """The frozen row of a take, without its music."""
    span = None
    if row.journal and row.journal_start is not None and row.journal_end is not None:
        span = JournalSpan(row.journal, row.journal_start, row.journal_end)
    return StoredTake(
        id=row.id,
        started_utc=row.started_utc,
        added_utc=row.added_utc,
        duration_s=row.duration_s,
        n=row.n,
        state=row.state,  # type: ignore[arg-type]
        pupil_id=row.pupil_id,
        piece_id=row.piece_id,
        character=row.character,
        manner=row.manner,
        flags=tuple(row.flags),
        instrument=row.instrument,
        named_line=row.named_line,
        is_model=row.is_model,
        carried=row.carried,
        source=row.source,
        file=row.file,
        journal_span=span,
        dropped_utc=row.dropped_utc,
    )
