"""Which takes of a day are taken together: those of a short piece, in one character, on one piano."""

from __future__ import annotations

from keysense.studio.rows import StoredTake
from keysense.studio.studio import Studio

__all__ = ["played_alike"]

_MOST = 60  # takes of one piece looked through


def played_alike(studio: Studio, take: StoredTake) -> list[StoredTake]:
    """The other kept takes of that day, of the same pupil and piece, in the same character and on the same piano."""
    kept = studio.takes(pupil=take.pupil_id, piece=take.piece_id, state="kept", limit=_MOST) if take.piece_id else []
    return [one for one in kept if one.id != take.id and not one.is_model and _alike(studio, one, take)]


def _alike(studio: Studio, one: StoredTake, other: StoredTake) -> bool:
    zone = studio.settings.zone
    same_day = one.started_utc.astimezone(zone).date() == other.started_utc.astimezone(zone).date()
    return same_day and (one.character, one.instrument) == (other.character, other.instrument)
