"""Following: the played notes set beside the notes of the target, through slips, restarts and skips."""

from __future__ import annotations

from keysense.following.follow import follow
from keysense.following.following import EXTRA, MATCH, PAIR, SUBSTITUTION, Following, Pass
from keysense.following.live import LiveFollower, Position
from keysense.following.recognise import Recognition, recognise

__all__ = [
    "EXTRA",
    "MATCH",
    "PAIR",
    "SUBSTITUTION",
    "Following",
    "LiveFollower",
    "Pass",
    "Position",
    "Recognition",
    "follow",
    "recognise",
]
