"""Takes beside each other in words: one lesson and the next, by ear and from the page, beside the model."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from keysense.finding import Place
from keysense.units import Unit
from keysense.words.catalogue import counted, word
from keysense.words.comparing import dimension_lead, say_dimension
from keysense.words.elsewhere import translated
from keysense.words.figures import figure, place_words, size, start_large

if TYPE_CHECKING:
    from keysense.comparing.lessons import Overnight
    from keysense.comparing.manners import MannerDifference
    from keysense.comparing.phrases import PhraseShape

__all__ = [
    "say_manners",
    "say_model_to_child",
    "say_overnight",
    "say_overnight_to_child",
    "say_shapes",
]


def say_overnight(found: Sequence[Overnight]) -> list[str]:
    """What became of each wish, for the teacher."""
    names = word("overnight.last"), word("overnight.first")
    return [
        word("overnight.said", dimension=dimension_lead(one.dimension), word=word(f"overnight.{one.word}"),
             said=say_dimension(one.dimension, names))
        for one in found
    ]  # fmt: skip


def say_overnight_to_child(pairs: Sequence[tuple[str, Sequence[Overnight]]]) -> str:
    """One sentence over all tunes (title, what was found): what grew, else what stayed; what went is not told."""
    for told in ("grew overnight", "kept", "can't tell yet"):
        for title, found in pairs:
            if any(one.word == told for one in found):
                return word(f"child.overnight.{told}", piece=title)
    return word("child.overnight.none")


_UNITS: dict[str, Unit] = {
    "waits_per_ten": "quarters",
    "breath": "1",
    "contrast": "velocity",
}  # the grain each is said in


def say_manners(found: Sequence[MannerDifference], pieces: tuple[int, int]) -> list[str]:
    """What differs between the two ways of learning, for the teacher; early days are told once."""
    if found and all(one.word == "early days" for one in found):
        by_ear, page = (
            counted(f"manners.so_far.{manner}", n) if n else word(f"manners.none.{manner}")
            for manner, n in zip(("by ear", "from the page"), pieces, strict=True)
        )
        return [word("manners.early", ear=by_ear, page=page)]
    said = [word("manners.from", ear=pieces[0], page=pieces[1])]
    return [*said, *(_manner(one) for one in found), word("manners.caution")]


def _manner(one: MannerDifference) -> str:
    finding = one.difference
    if finding.value is None or finding.low is None or finding.high is None:
        return word("manners.missing", name=word(f"manners.name.{one.name}"), why=translated(finding.why_missing))
    unit, ends = _UNITS[one.name], (finding.low, finding.high)
    if one.word not in ("more", "less"):
        return word(f"manners.{one.word}.{one.name}", low=figure(ends[0], unit), high=figure(ends[1], unit))
    low, high = sorted(map(abs, ends))
    slots = {"value": size(finding.value, unit), "low": size(low, unit), "high": size(high, unit)}
    return word(f"manners.{one.word}.{one.name}", **slots)


def say_shapes(phrases: Sequence[PhraseShape]) -> list[str]:
    """Each phrase beside the model's, for the teacher."""
    rows: dict[int, dict[str, PhraseShape]] = {}
    for one in phrases:
        rows.setdefault(one.phrase, {})[one.line] = one
    said = []
    for lines in rows.values():
        first, last = (pick(one.bars[k] for one in lines.values()) for k, pick in ((0, min), (1, max)))
        parts = {line: _line(line, lines.get(line)) for line in ("loudness", "time")}
        said.append(start_large(word("model.said", place=place_words(Place((first, last))), **parts)))
    return said or [word("model.none")]


def _line(line: str, one: PhraseShape | None) -> str:
    name = word(f"model.line.{line}")
    if one is None:
        return word("model.part.one", line=name, word=word("model.can't tell yet"))
    if one.why:
        return word("model.part.why", line=name, why=translated(one.why))
    return word("model.part.one", line=name, word=word(f"model.{one.word}"))


def say_model_to_child(phrases: Sequence[PhraseShape]) -> str:
    """One thing for the child: where it goes its own way that is asked after, else that it goes along."""
    words = {one.word for one in phrases}
    if "a shape of its own" in words:
        return word("child.model.own")
    return word("child.model.same" if "same shape" in words else "child.model.unsure")
