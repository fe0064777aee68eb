"""Keeping: pupils, pieces, targets, takes, readings. The only room that speaks to a database."""

from __future__ import annotations

from keysense.studio.folder import Folder, Settings, studio_folder
from keysense.studio.naming import Meaning, Proposal
from keysense.studio.rows import (
    MANNERS,
    Agreement,
    Context,
    JournalSpan,
    Paper,
    Piece,
    Pupil,
    StoredReading,
    StoredTake,
    StoredTarget,
)
from keysense.studio.studio import Studio

__all__ = [
    "MANNERS",
    "Agreement",
    "Context",
    "Folder",
    "JournalSpan",
    "Meaning",
    "Paper",
    "Piece",
    "Proposal",
    "Pupil",
    "Settings",
    "StoredReading",
    "StoredTake",
    "StoredTarget",
    "Studio",
    "studio_folder",
]
