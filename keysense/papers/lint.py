"""What a paper may be: its parts, its length, and the words that are looked at once more before it leaves.

Length binds, since a longer paper is read by nobody and fills more than its page. Words are remarked on and left to
whoever signs; names, titles and what the pupil writes are taken as they are.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from keysense.studio.rows import PaperKind
from keysense.words import word
from keysense.words.table_child import FORBIDDEN

__all__ = ["LIMITS", "PARTS", "count_words", "remarks", "too_long"]

PARTS: dict[PaperKind, tuple[str, ...]] = {
    "note": ("made", "listened", "home", "says"),
    "slip": ("wish", "place", "way", "question"),
    "card": ("came", "question", "try"),
}
LIMITS: dict[PaperKind, int] = {"note": 120, "slip": 80, "card": 60}
"""Words at most: common practice, no source."""

_OF_THE_PUPIL = ("says",)
_FOR_THE_CHILD: tuple[PaperKind, ...] = ("slip", "card")


def count_words(text: Mapping[str, str]) -> int:
    """How many words stand on a paper."""
    return sum(len(said.split()) for said in text.values())


def too_long(kind: PaperKind, text: Mapping[str, str]) -> str:
    """Why this paper cannot be signed as it stands; empty where it can."""
    n = count_words(text)
    return word(f"paper.long.{kind}", n=n, most=LIMITS[kind]) if n > LIMITS[kind] else ""


def remarks(kind: PaperKind, text: Mapping[str, str], names: Iterable[str] = ()) -> list[str]:
    """What to look at once more, a sentence each: length, words that judge, figures where a child reads."""
    said = " ".join(words for part, words in text.items() if part not in _OF_THE_PUPIL)
    for name in sorted(names, key=len, reverse=True):
        said = re.sub(re.escape(name), " ", said, flags=re.IGNORECASE)
    found = [long] if (long := too_long(kind, text)) else []
    judging = [bad for bad in FORBIDDEN if re.search(rf"(?<!\w){re.escape(bad)}(?!\w)", said.lower())]
    if judging:
        found.append(word("paper.judging", words=", ".join(f"“{bad}”" for bad in judging)))
    if kind in _FOR_THE_CHILD and re.search(r"\d", said):
        found.append(word("paper.figure"))
    return found
