"""What the pages say: names in the name column, questions, presses (small letters, the main one with a capital)."""

from __future__ import annotations

__all__ = ["PAGES", "PAGES_COUNTED"]

PAGES: dict[str, str] = {
    "product": "keysense",
    # what stands at the two ends of a line
    "end.slow": "slow",
    "end.quick": "quick",
    "end.slower": "slower",
    "end.faster": "faster",
    "end.even": "even",
    "end.less_even": "less so",
    "end.faded": "faded",
    "end.grew": "grew",
    "end.soft": "soft",
    "end.loud": "loud",
    "end.soft_louder": "the soft one louder",
    "end.loud_louder": "the loud one louder",
    "end.alike": "all alike",
    "end.far_apart": "far apart",
    "end.let_go": "let go",
    "end.joined": "joined",
    "end.short": "short",
    "end.none": "none",
    "end.long": "long",
    "end.right_later": "right later",
    "end.left_later": "left later",
}

PAGES_COUNTED: dict[str, tuple[str, str]] = {}
