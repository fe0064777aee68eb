"""Getting to know a piano in a lesson: begun by one press, played by the script, and taken up by another.

While a survey is under way everything that waits without a name since it began belongs to it. Parts of one playing are
put together at whole multiples of six seconds, so that times that lie on a step of the piano's clock still do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from keysense.errors import SurveyError
from keysense.studio.rows import StoredTake
from keysense.studio.studio import Studio

if TYPE_CHECKING:
    from keysense.notes import Take
    from keysense.studio.pianos import StoredSurvey

__all__ = ["Known", "UnderWay", "begin", "end", "put_together", "take_up", "under_way"]

_KEY = "survey"
_WHOLE_STEPS_S = 6.0  # a multiple of every step a clock is known to have


@dataclass(frozen=True)
class UnderWay:
    """A survey that was begun. takes: what has been heard of it so far, the oldest first; n: their notes."""

    since: datetime
    touch_setting: str
    takes: tuple[StoredTake, ...]

    @property
    def n(self) -> int:
        """Notes heard so far."""
        return sum(take.n for take in self.takes)


@dataclass(frozen=True)
class Known:
    """What was learnt, and by how much soft, middle and loud moved since the survey before it."""

    stored: StoredSurvey
    moved: dict[str, float]
    is_first: bool


def begin(studio: Studio, *, touch_setting: str = "") -> None:
    """From now on what is played without a name is the survey."""
    studio.remember(_KEY, {"since": studio.now().isoformat(), "touch_setting": touch_setting.strip()})


def end(studio: Studio) -> None:
    """No survey is under way any more; what was played for it waits like all other playing."""
    studio.remember(_KEY, {})


def under_way(studio: Studio) -> UnderWay | None:
    """The survey that was begun; None where none was."""
    kept = studio.recall(_KEY)
    if not kept:
        return None
    since = datetime.fromisoformat(kept["since"])
    waiting = [take for take in studio.takes(state="waiting", since=since) if take.pupil_id is None or take.carried]
    return UnderWay(since, kept["touch_setting"], tuple(reversed(waiting)))


def take_up(studio: Studio) -> Known:
    """What was played since the survey was begun makes its piano known; it is then wiped like all that is dropped.

    Raises SurveyError where nothing was played, or something else than the script; the survey is then still under way.
    """
    now = under_way(studio)
    if now is None or not now.takes:
        raise SurveyError("nothing was heard yet: play the five steps while the piano is listened to, then press again")
    name = now.takes[-1].instrument
    of_it = [take for take in now.takes if take.instrument == name]
    played = put_together([studio.take_notes(take.id) for take in of_it])
    known = keep(studio, name, played, touch_setting=now.touch_setting)
    for take in of_it:
        studio.drop_take(take.id)
    end(studio)
    return known


def keep(studio: Studio, name: str, played: Take, *, touch_setting: str = "") -> Known:
    """Keep what a playing by the script tells of a piano. Raises SurveyError where the script is not in it."""
    from keysense.practice import read_practice
    from keysense.survey import hear_survey, moved

    practice = read_practice(studio.folder.own_practice)
    heard, before = hear_survey(played, practice=practice), studio.survey_of(name)
    stored = studio.keep_survey(name, heard, touch_setting=touch_setting)
    return Known(stored, {} if before is None else moved(before.survey, heard, practice=practice), before is None)


def put_together(parts: Sequence[Take]) -> Take:
    """The parts of one playing as one, in the order given."""
    shifted, at = [], 0.0
    for part in parts:
        notes, pedals = part.notes.copy(), part.pedals.copy()
        for column in ("onset_s", "release_s"):
            notes[column] += at
        pedals["time_s"] += at
        last = float(max(notes["release_s"].max(initial=0), pedals["time_s"].max(initial=0)))
        at = _WHOLE_STEPS_S * math.ceil((last + 1) / _WHOLE_STEPS_S)
        shifted.append((notes, pedals))
    notes, pedals = (np.concatenate([part[k] for part in shifted]) for k in (0, 1))
    return replace(parts[0], notes=notes, pedals=pedals)
