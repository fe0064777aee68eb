"""The engraved staff, and where each notehead stands on it."""

from __future__ import annotations

from keysense.engraving.engraver import Engraving, System, engrave

__all__ = ["Engraving", "System", "engrave"]
