"""What stands behind a take: how it was played before the wish, and how soft and loud its piano goes."""

from __future__ import annotations

from keysense.errors import StudioError, TargetError
from keysense.findings.reading import Reading
from keysense.studio.looking import look_at
from keysense.studio.studio import Studio

__all__ = ["bounds_of", "reading_before"]

_ALL = (1.0, 127.0)


def reading_before(studio: Studio, take_id: str) -> Reading | None:
    """The take after which this one was played again, read against the same music; None where there is none."""
    before = studio.played_before(take_id)
    if before is None:
        return None
    try:
        reading = look_at(studio, before[0])
    except (StudioError, TargetError):
        return None
    return None if reading.following.lost else reading


def bounds_of(studio: Studio, instrument: str) -> tuple[float, float]:
    """The softest and the loudest that this piano sends, by its survey; all that MIDI can say where it has none."""
    known = studio.survey_of(instrument) if instrument else None
    if known is None or known.survey.fixed:
        return _ALL
    floor, ceiling = (known.survey.one(f"touch_{end}").value for end in ("floor", "ceiling"))
    if floor is None or ceiling is None:
        return _ALL
    return (max(1.0, floor), min(127.0, ceiling)) if ceiling - floor > 1.0 else _ALL
