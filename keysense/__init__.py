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
    from keysense.comparing import Character, Comparison, compare, read_character
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
    from keysense.following import Following, LiveFollower, follow, recognise
    from keysense.notes import Take
    from keysense.smf import read_take
    from keysense.targets import read_target
    from keysense.targets.model import model_target
    from keysense.targets.target import Target

__all__ = [
    "CaptureError",
    "Character",
    "CharacterError",
    "Comparison",
    "Finding",
    "Following",
    "KeysenseError",
    "LiveFollower",
    "NotesError",
    "PracticeError",
    "Reading",
    "StudioError",
    "Take",
    "TakeFileError",
    "Target",
    "TargetError",
    "compare",
    "follow",
    "look",
    "model_target",
    "read_character",
    "read_take",
    "read_target",
    "recognise",
]

_ROOM_OF = {
    "CaptureError": "keysense.errors",
    "Character": "keysense.comparing",
    "CharacterError": "keysense.errors",
    "Comparison": "keysense.comparing",
    "Finding": "keysense.finding",
    "Following": "keysense.following",
    "KeysenseError": "keysense.errors",
    "LiveFollower": "keysense.following",
    "NotesError": "keysense.errors",
    "PracticeError": "keysense.errors",
    "Reading": "keysense.findings",
    "StudioError": "keysense.errors",
    "Take": "keysense.notes",
    "TakeFileError": "keysense.errors",
    "Target": "keysense.targets.target",
    "TargetError": "keysense.errors",
    "compare": "keysense.comparing",
    "follow": "keysense.following",
    "look": "keysense.findings",
    "model_target": "keysense.targets.model",
    "read_character": "keysense.comparing",
    "read_take": "keysense.smf",
    "read_target": "keysense.targets",
    "recognise": "keysense.following",
}


def __getattr__(name: str) -> Any:
    try:
        room = _ROOM_OF[name]
    except KeyError:
        raise AttributeError(f"module 'keysense' has no attribute {name!r}") from None
    return getattr(import_module(room), name)
