"""Forgiving names: which pupil, piece or character a typed word means, or that nobody can say.

Conventions
    A likeness runs from 0 to 1 and is compared after case, accents and apostrophes are put aside. A name is
    never guessed between two that are nearly as like: that is asked.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

from keysense.errors import AmbiguousName, UnknownName

__all__ = ["FILLERS", "Match", "best_matches", "find", "likeness", "words_of"]

# A word as like as this may be meant; below it, it is another word.
_MAY_BE = 0.66
# One word of several may be as unlike as this, where the rest makes up for it.
_ONE_OF_SEVERAL = 0.55
# Two names this near to one another in likeness are a tie.
_TIE = 0.12

# Small words, which tell nothing of what is meant.
FILLERS = frozenset(
    ("a", "an", "and", "as", "at", "by", "d", "for", "from", "in", "l", "of", "on", "plays", "played", "the", "to")
)


@dataclass(frozen=True)
class Match:
    """One name and how like it is to what was typed."""

    id: str
    name: str
    likeness: float


def words_of(text: str) -> list[str]:
    """The words of a line, folded: no case, no accents, no punctuation."""
    folded = unicodedata.normalize("NFKD", text.casefold())
    folded = "".join(letter for letter in folded if not unicodedata.combining(letter))
    folded = re.sub(r"['’`´](?=s\b)", "", folded)  # miller's is millers; l'étude is l and étude
    return re.findall(r"[^\W_]+", folded)


def likeness(typed: list[str], name: list[str]) -> float:
    """How like typed words are to a name's words: each typed word to its own word of the name, in any order.

    Words of the name that were not typed cost little ("cat" is "The Miller's Cat"), so that the fuller match of two
    wins. Typed words that are in no name cost all.
    """
    typed_told = [word for word in typed if word not in FILLERS] or typed
    name_told = [word for word in name if word not in FILLERS] or name
    told = _paired(typed_told, name_told)
    # "by eer": the small word counts too, where it stands in the name.
    return max(told, _paired(typed, name)) if len(typed) == len(name) else told


def best_matches(typed: str, names: Mapping[str, str]) -> list[Match]:
    """The names that may be meant, the likest first. ``names``: id to name."""
    words = words_of(typed)
    found = [Match(key, name, likeness(words, words_of(name))) for key, name in names.items()]
    return sorted((m for m in found if m.likeness >= _MAY_BE), key=lambda m: (-m.likeness, m.name))


def find(kind: str, typed: str, names: Mapping[str, str]) -> str:
    """The id of the one name that is meant. ``kind``: what a message calls it, such as "piece".

    Raises UnknownName where nothing is like it, AmbiguousName (listing them) where two are.
    """
    exact = [key for key, name in names.items() if words_of(name) == words_of(typed) != []]
    if len(exact) == 1:
        return exact[0]
    matches = best_matches(typed, names)
    if not matches:
        known = ", ".join(sorted(names.values())[:8]) or "none yet"
        raise UnknownName(f"no {kind} is called {typed!r}; there are: {known}")
    near = [m for m in matches if m.likeness > matches[0].likeness - _TIE]
    if len(near) > 1:
        told = ", ".join(m.name for m in near)
        raise AmbiguousName(f"{typed!r} could be {told}: write a little more of the name")
    return matches[0].id


def _paired(typed: list[str], name: list[str]) -> float:
    """The mean likeness of each typed word to its own word of the name; 0 where one has none."""
    if not typed or len(typed) > len(name):
        return 0.0
    left = list(name)
    total = 0.0
    for word in typed:
        like, best = max((_word_likeness(word, other), -i) for i, other in enumerate(left))
        if like < _ONE_OF_SEVERAL:
            return 0.0
        total += like
        left.pop(-best)
    mean = total / len(typed)
    return mean - 0.01 * min(len(left), 5) if mean >= _MAY_BE else 0.0


def _word_likeness(typed: str, word: str) -> float:
    """1 for the same word, nearly 1 for its beginning, else by the letters that must change (a swap counts once)."""
    from rapidfuzz.distance import OSA

    if typed == word or typed + "s" == word or (typed == word + "s" and len(word) > 2):
        return 1.0 if typed == word else 0.97
    if len(typed) >= 2 and word.startswith(typed):
        # Two letters are enough to be proposed, and too few to be applied unasked.
        return 0.9 + 0.08 * len(typed) / len(word) if len(typed) > 2 else 0.72
    if min(len(typed), len(word)) < 3 or abs(len(typed) - len(word)) > 3:
        return 0.0
    like = float(OSA.normalized_similarity(typed, word))
    if sorted(typed) == sorted(word):
        like = max(like, 0.8)  # all the letters, in another order
    # The first letter is seldom the one that slips.
    return like if typed[0] == word[0] else like - 0.08
