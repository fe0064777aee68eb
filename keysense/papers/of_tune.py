"""The one wish of a lesson for one of its tunes: what every page of a take of that tune asks."""

from __future__ import annotations

from dataclasses import replace

from keysense.papers.aims import open_aim
from keysense.papers.lesson import Lesson, lesson_of
from keysense.studio.rows import StoredTake
from keysense.studio.studio import Studio

__all__ = ["of_tune", "wish_for"]


def of_tune(lesson: Lesson, takes: frozenset[str]) -> Lesson:
    """The same lesson as if only these takes of one tune had been played in it."""
    pair = lesson.pair if lesson.pair is not None and takes.issuperset(lesson.pair.takes) else None
    return replace(lesson, played=tuple(one for one in lesson.played if one.take_id in takes), pair=pair)


def wish_for(studio: Studio, take: StoredTake) -> tuple[str, str]:
    """Which take is to be played again and with which wish, in words; none where nothing is open in its tune.

    A wish of one character is asked of the newest take in it, whichever take of the tune is looked at.
    """
    if take.pupil_id is None:
        return take.id, ""
    day = take.started_utc.astimezone(studio.settings.zone).date()
    same = frozenset(one.id for one in studio.takes(pupil=take.pupil_id, piece=take.piece_id, state="kept"))
    lesson = of_tune(lesson_of(studio, take.pupil_id, day), same)
    aim = open_aim(lesson)
    if aim.key == "nothing":
        return take.id, ""
    in_it = [one.take_id for one in lesson.played if one.character == aim.character] if aim.character else []
    return (in_it[-1] if in_it and aim.character != take.character else take.id), aim.trying
