"""keysense: listens to a digital piano in the lesson and shows what was heard. It never grades.

    take = read_take("sleepy.mid")
    target = read_target("millers_cat.musicxml")
    for finding in look(take, target).findings: ...

Each name is fetched from its room when first used, so that the listener, which needs none of them, starts at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
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

_ROOM_OF = {
    "CaptureError": "keysense.errors",
    "CharacterError": "keysense.errors",
    "Finding": "keysense.finding",
    "Following": "keysense.following",
    "KeysenseError": "keysense.errors",
    "NotesError": "keysense.errors",
    "PracticeError": "keysense.errors",
    "Reading": "keysense.findings",
    "StudioError": "keysense.errors",
    "Take": "keysense.notes",
    "TakeFileError": "keysense.errors",
    "Target": "keysense.targets.target",
    "TargetError": "keysense.errors",
    "follow": "keysense.following",
    "look": "keysense.findings",
    "read_take": "keysense.smf",
    "read_target": "keysense.targets",
}


def __getattr__(name: str) -> Any:
    try:
        room = _ROOM_OF[name]
    except KeyError:
        raise AttributeError(f"module 'keysense' has no attribute {name!r}") from None
    return getattr(import_module(room), name)
