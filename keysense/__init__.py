"""keysense: listens to a digital piano in the lesson and shows what was heard. It never grades.

    take = read_take("sleepy.mid")
    target = read_target("millers_cat.musicxml")
    for finding in look(take, target).findings: ...
"""

from __future__ import annotations

from keysense.errors import (
    CaptureError,
    CharacterError,
    KeysenseError,
    NotesError,
    PracticeError,
    StudioError,
    TakeFileError,
    TargetError,
)
from keysense.finding import Finding
from keysense.findings import Reading, look
from keysense.following import Following, follow
from keysense.notes import Take
from keysense.smf import read_take
from keysense.targets import read_target
from keysense.targets.target import Target

__all__ = [
    "CaptureError",
    "CharacterError",
    "Finding",
    "Following",
    "KeysenseError",
    "NotesError",
    "PracticeError",
    "Reading",
    "StudioError",
    "Take",
    "TakeFileError",
    "Target",
    "TargetError",
    "follow",
    "look",
    "read_take",
    "read_target",
]
