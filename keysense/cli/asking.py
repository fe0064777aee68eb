"""The questions a tune played in more than once leaves open, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from keysense.following import Question

__all__ = ["asked", "key_name"]

_KEYS = ("C", "C sharp ", "D", "E flat ", "E", "F", "F sharp ", "G", "A flat ", "A", "B flat ", "B")
_MOST = 8


def asked(questions: Sequence[Question], recordings: Sequence[str]) -> list[str]:
    """A line a question, at most eight, and what to do about them; nothing where nothing is asked.

    recordings: what each recording was called when it was brought, in the same order.
    """
    if not questions:
        return []
    lines = [_line(question, recordings) for question in questions[:_MOST]]
    if len(questions) > _MOST:
        lines.append(f"and {len(questions) - _MOST} more such places.")
    return [*lines, "If another one stands, play the tune in again from the takes that have it so."]


def _line(question: Question, recordings: Sequence[str]) -> str:
    took, others = recordings[question.recording], "the other" if len(recordings) == 2 else "the others"
    at = f"bar {question.bar}: which stands? {took} "
    if question.kind == "other":
        return f"{at}has {key_name(question.heard)}, {others} {key_name(question.taken)}, which was taken."
    if question.kind == "left out":
        return f"{at}leaves {key_name(question.taken)} out, which was taken."
    if question.kind == "more":
        return f"{at}has {key_name(question.heard)} beside the tune, which was not taken."
    return f"{at}begins again here or leaves something out, which was not taken."


def key_name(pitch: int | None) -> str:
    """The name of a key, middle C being C4 (common practice, no source)."""
    return "nothing" if pitch is None else f"{_KEYS[pitch % 12]}{pitch // 12 - 1}"
