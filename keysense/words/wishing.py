"""In words where a playing went the way that was drawn before it; and how high a line was drawn."""

from __future__ import annotations

import math

from keysense.comparing.wishes import Agreement
from keysense.words.catalogue import word

__all__ = ["drawn_word", "say_agreement"]

_STEPS = ("very_soft", "soft", "middle", "loud", "very_loud")


def say_agreement(run: Agreement) -> str:
    """One sentence for a run of bars, for everyone to read."""
    key = "draw.bars.two" if run.last_bar == run.first_bar + 1 else "draw.bars"
    bars = word(key, first=run.first_bar, last=run.last_bar)
    return word(f"draw.way.{run.way}", bars=bars)


def drawn_word(height: float) -> str:
    """One of five words for a height between soft (0) and loud (1); a dash for none."""
    if not math.isfinite(height):
        return word("table.none")
    return word(f"loudness.{_STEPS[int(min(max(height, 0.0), 0.999) * len(_STEPS))]}")
