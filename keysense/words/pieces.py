"""Marks of the music and the wishes of a character, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from keysense.words.catalogue import word
from keysense.words.figures import start_large

if TYPE_CHECKING:
    from keysense.comparing.characters import Character
    from keysense.following.teacher import Question
    from keysense.targets.marking import Marking

__all__ = ["key_word", "number_word", "say_character", "say_marking", "say_question", "wish_words"]

_MOST_NUMBERED = 6


def key_word(pitch: int) -> str:
    """The name of a key, middle C being C4 (common practice, no source)."""
    return word(f"pitch.{pitch % 12}", octave=pitch // 12 - 1)


def say_marking(marking: Marking, *, page: bool = False) -> str:
    """One mark as a sentence. page: it came with the music."""
    first, last = (word("mark.at", bar=bar, quarter=f"{quarter:g}") for bar, quarter in (marking.first, marking.last))
    if page:
        return word("mark.said.page", first=first)
    if marking.kind == "guide" and marking.pitch is None:
        said = word("mark.said.guide.any", first=first)
    elif marking.kind == "guide":
        said = word("mark.said.guide", first=first, key=key_word(marking.pitch or 0))
    else:
        said = word(f"mark.said.{marking.kind}", first=first, last=last)
    return word("mark.said.layer", character=start_large(marking.layer), said=said) if marking.layer else said


def wish_words(character: Character) -> list[str]:
    """What is wished, dimension by dimension, in the order in which wishes are told."""
    from keysense.comparing.characters import WISHES

    wishes = (character.wishes.get(dimension) for dimension in WISHES)
    return [word("want.breath.short" if wish == "breath" else f"want.{wish}") for wish in wishes if wish]


def say_character(character: Character) -> str:
    """A character's wishes in one line; that there are none where there are none."""
    said = ", ".join(wish_words(character))
    return f"{start_large(said)}." if said else word("character.empty")


def say_question(question: Question) -> str:
    """Where one of the teacher's recordings differs, and what was taken."""
    which = number_word(question.recording)
    slots = {"bar": question.bar, "which": which}
    if question.heard is not None:
        slots["heard"] = key_word(question.heard)
    if question.taken is not None:
        slots["taken"] = key_word(question.taken)
    return word(f"teach.{question.kind.replace(' ', '_')}", **slots)


def number_word(recording: int) -> str:
    """``first`` for recording 0."""
    return word(f"teach.{min(recording, _MOST_NUMBERED - 1) + 1}")
