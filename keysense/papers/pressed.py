"""The wish pressed last with "Again, with this wish": it stands until it came, for one pupil and one lesson."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from datetime import date

from keysense.errors import StudioError, TargetError
from keysense.studio.looking import beside
from keysense.studio.rows import StoredReading, StoredTake
from keysense.studio.studio import Studio
from keysense.words.choosing import outcome_of
from keysense.words.trying import answers, say_try, say_wish

__all__ = ["Pressed", "press_wish", "pressed", "wish_key"]

_MOST = 30  # takes looked through for the answer to a wish


@dataclass(frozen=True)
class Pressed:
    """A wish in the words it was pressed in, the take it was pressed on (empty if unknown), and the day."""

    said: str
    take_id: str = ""
    day: date | None = None


def wish_key(pupil_id: str | None) -> str:
    """Under which name the studio remembers what a pupil was asked last."""
    return f"wish {pupil_id or ''}".strip()


def press_wish(studio: Studio, take: StoredTake, said: str) -> None:
    """Keep what is asked of a pupil from now on; no words ask for nothing but that it be played again."""
    day = studio.today().isoformat()
    studio.remember(wish_key(take.pupil_id), {"said": said, "take": take.id, "day": day})


def pressed(studio: Studio, pupil_id: str | None, day: date | None = None) -> Pressed | None:
    """What was pressed last for a pupil; None where nothing was, where it came since, or on another day than this."""
    kept = studio.recall(wish_key(pupil_id))
    if not kept.get("said"):
        return None
    on = date.fromisoformat(kept["day"]) if kept.get("day") else None
    wish = Pressed(str(kept["said"]), str(kept.get("take", "")), on)
    if day is not None and on is not None and on != day:
        return None
    return None if _came(studio, pupil_id, wish) else wish


def _came(studio: Studio, pupil_id: str | None, wish: Pressed) -> bool:
    """Whether a take that was played with this wish answered it."""
    for take in studio.takes(pupil=pupil_id, state="kept", limit=_MOST) if pupil_id and wish.take_id else ():
        if take.id == wish.take_id:
            return False  # what is older was not played for it
        before = studio.played_before(take.id)
        if before is not None and before[1] == wish.said:
            return _came_in(studio, take, before[0], wish.said) or _came_between(studio, take, wish.said)
    return False


def _came_in(studio: Studio, take: StoredTake, before_id: str, said: str) -> bool:
    """It was asked on the page and heard, or the place where the tune waited was played without a wait."""
    now, before = studio.reading(take.id), studio.reading(before_id)
    if now is None or now.lost:
        return False
    if any(outcome_of(f) == "asked and heard" and answers(f, said) for f in now.findings):
        return True
    waited = [f for f in before.findings if f.name == "waits" and f.places] if before is not None else []
    bars = next((f.places[0].bars for f in waited if say_try(f) == said), None)
    waits = [place.bars for f in now.findings if f.name == "waits" for place in f.places]
    return bars is not None and bars not in waits and bars[0] in _bars_played(studio, now)


def _bars_played(studio: Studio, reading: StoredReading) -> set[int]:
    bar_of, followed = studio.target(reading.target_id).target.notes["bar"], reading.following.pairs["target"]
    return {int(bar_of[row]) for row in followed if row >= 0}


def _came_between(studio: Studio, take: StoredTake, said: str) -> bool:
    """A wish of its character came beside the newest take of the same tune in another one."""
    others = studio.takes(pupil=take.pupil_id, piece=take.piece_id, state="kept", limit=_MOST)
    other = next((one for one in others if one.character not in ("", take.character)), None)
    if other is None or not take.character:
        return False
    with suppress(StudioError, TargetError):
        rows = beside(studio, other.id, take.id).dimensions
        heard = (row.wish_b for row in rows if row.outcome == "asked and heard" and row.wish_b)
        return any(say_wish(wish, take.character) == said for wish in heard)
    return False
