"""Naming a take by one free line: "pip millers cat sleepy", in any order, misspelt or cut short.

Every word of the line must be accounted for. The reading that explains the line best is proposed; where another
reading explains it nearly as well, or a word is left over, that is a question and nothing is applied by itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

from keysense.studio.matching import FILLERS, likeness, words_of

__all__ = ["Kind", "Meaning", "Proposal", "propose"]

Kind = Literal["pupil", "piece", "character", "manner"]
_KINDS: tuple[Kind, ...] = ("pupil", "piece", "character", "manner")

_MANNER_WORDS = {
    "first sight": "first sight",
    "sight": "first sight",
    "at sight": "first sight",
    "by ear": "by ear",
    "ear": "by ear",
    "from the page": "from the page",
    "page": "from the page",
    "from memory": "from memory",
    "memory": "from memory",
    "by heart": "from memory",
    "own": "own",
    "own music": "own",
}

# One reading must explain this much more (in words of the line) than the next, or it is asked.
_MARGIN = 0.15
# A word less like its name than this is proposed, never applied by itself.
_SURE = 0.74
# A word that no name explains costs this much.
_UNEXPLAINED = 0.95
_LONGEST_NAME = 6


@dataclass(frozen=True)
class Meaning:
    """One stretch of the line and what it is taken for. ``id``: of a pupil or piece; the word itself otherwise."""

    kind: Kind
    id: str
    name: str
    likeness: float
    typed: str


@dataclass(frozen=True)
class Proposal:
    """What a line is taken to mean.

    meanings: at most one of each kind. doubts: for a kind, the names that could as well be meant. unknown: words
    that nothing explains. new_character: the one unknown word, where it may be a character not used before.
    """

    line: str
    meanings: tuple[Meaning, ...] = ()
    doubts: tuple[tuple[Kind, tuple[str, ...]], ...] = ()
    unknown: tuple[str, ...] = ()
    applied: bool = False

    @property
    def sure(self) -> bool:
        """Clear enough to be applied without a further word."""
        clear = not self.doubts and not self.unknown and bool(self.meanings)
        return clear and all(meaning.likeness >= _SURE for meaning in self.meanings)

    @property
    def new_character(self) -> str:
        """The one unknown word, where no character was named: perhaps a new one."""
        return self.unknown[0] if len(self.unknown) == 1 and not self.doubts and not self.of("character") else ""

    def of(self, kind: Kind) -> Meaning | None:
        """What the line says of one kind."""
        return next((meaning for meaning in self.meanings if meaning.kind == kind), None)

    @property
    def question(self) -> str:
        """What must be asked, in one line; empty where nothing must."""
        if self.doubts:
            kind, names = self.doubts[0]
            return f"Which {kind} is meant: {', '.join(names)}?"
        if self.new_character:
            return f"Is “{self.new_character}” a new character?"
        if self.unknown:
            said = " ".join(self.unknown)
            return f"Who or what is “{said}”? Write a nickname and a word of the title, and how it was played."
        if not self.meanings:
            return "Say who played, which piece, and how: pip cat sleepy."
        if not self.sure:
            return f"Is this {', '.join(meaning.name for meaning in self.meanings)}?"
        return ""


def propose(
    line: str, *, pupils: Mapping[str, str], pieces: Mapping[str, str], characters: Mapping[str, Sequence[str]]
) -> Proposal:
    """What a line means. pupils, pieces: id to name. characters: word to the other words it goes by."""
    words = words_of(line)
    if not words:
        return Proposal(line)
    names = _names(pupils, pieces, characters)
    spans = _spans(words, names)
    value, chosen = _best(words, spans, frozenset())
    doubts = _doubts(words, spans, value, chosen)
    covered = {i for start, end, _ in chosen for i in range(start, end)}
    unknown = tuple(word for i, word in enumerate(words) if i not in covered and word not in FILLERS)
    return Proposal(line, tuple(meaning for _, _, meaning in chosen), doubts, unknown)


_Span = tuple[int, int, Meaning]
_Named = tuple[Kind, str, str, list[str]]


def _names(
    pupils: Mapping[str, str], pieces: Mapping[str, str], characters: Mapping[str, Sequence[str]]
) -> list[_Named]:
    rows: list[_Named] = [("pupil", key, name, words_of(name)) for key, name in pupils.items()]
    rows += [("piece", key, name, words_of(name)) for key, name in pieces.items()]
    for word, others in characters.items():
        rows += [
            ("character", word, word, words_of(said))
            for said in (word, *(part for other in others for part in other.split(",")))
        ]
    rows += [("manner", manner, manner, words_of(said)) for said, manner in _MANNER_WORDS.items()]
    return rows


def _spans(words: list[str], names: list[_Named]) -> list[_Span]:
    """Every stretch of the line that may be a name, the likest form of each name only."""
    best: dict[tuple[int, int, Kind, str], Meaning] = {}
    for start in range(len(words)):
        for end in range(start + 1, min(len(words), start + _LONGEST_NAME) + 1):
            typed = words[start:end]
            for kind, key, name, name_words in names:
                like = likeness(typed, name_words)
                if like <= 0 or (typed[0] in FILLERS and typed[0] != name_words[0]):
                    continue
                meaning = Meaning(kind, key, name, like, " ".join(typed))
                slot = (start, end, kind, key)
                if slot not in best or best[slot].likeness < like:
                    best[slot] = meaning
    return [(start, end, meaning) for (start, end, _, _), meaning in best.items()]


def _best(words: list[str], spans: list[_Span], without: frozenset[tuple[Kind, str]]) -> tuple[float, list[_Span]]:
    """The reading that explains most, each kind at most once, leaving out the names in ``without``."""
    starting: dict[int, list[_Span]] = {}
    for span in spans:
        if (span[2].kind, span[2].id) not in without:
            starting.setdefault(span[0], []).append(span)

    @cache
    def onward(at: int, used: frozenset[Kind]) -> tuple[float, tuple[_Span, ...]]:
        if at == len(words):
            return 0.0, ()
        value, rest = onward(at + 1, used)
        best = (value - (0.0 if words[at] in FILLERS else _UNEXPLAINED), rest)
        for span in starting.get(at, ()):
            _, end, meaning = span
            if meaning.kind in used:
                continue
            value, rest = onward(end, used | {meaning.kind})
            weight = sum(word not in FILLERS for word in words[at:end]) or 0.5
            best = max(best, (value + weight * meaning.likeness, (span, *rest)), key=lambda pair: pair[0])
        return best

    value, chosen = onward(0, frozenset())
    return value, list(chosen)


def _doubts(
    words: list[str], spans: list[_Span], value: float, chosen: list[_Span]
) -> tuple[tuple[Kind, tuple[str, ...]], ...]:
    """For each name chosen, the others that would explain the line nearly as well in its stead."""
    doubts: list[tuple[Kind, tuple[str, ...]]] = []
    for _, _, meaning in chosen:
        without = {(meaning.kind, meaning.id)}
        others: list[str] = []
        while len(without) < 6:
            next_value, instead = _best(words, spans, frozenset(without))
            rival = next((m for _, _, m in instead if m.kind == meaning.kind), None)
            if value - next_value > _MARGIN:
                break
            if rival is None:
                # The same words, read as another kind of thing altogether.
                rival = next((m for _, _, m in instead if m not in [c for _, _, c in chosen]), None)
                if rival is not None:
                    others.append(rival.name)
                break
            if meaning.likeness < 1.0 or rival.likeness >= 1.0:  # the whole name, letter for letter, is no question
                others.append(rival.name)
            without.add((rival.kind, rival.id))
        if others:
            doubts.append((meaning.kind, (meaning.name, *dict.fromkeys(others))))
    return tuple(doubts)
