"""A studio's own characters: written and changed as plain files, comments and marks in them left as they were."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

import tomlkit

from keysense.errors import CharacterError
from keysense.files import write_atomically
from keysense.studio.base import StudioBase
from keysense.studio.matching import words_of

if TYPE_CHECKING:
    from keysense.comparing.characters import Character

__all__ = ["Characters"]

_LONGEST = 40
_HEAD = (
    "A character of your own. wishes: tempo slower|quicker, loudness softer|louder, contrast more|less,",
    "touch joined|apart, evenness even|free, breath breath|none. Leave out what you do not ask for.",
)


class Characters(StudioBase):
    """Writing and forgetting the characters of a studio."""

    def keep_character(
        self, word: str, *, italian: str = "", says: str = "", wishes: Mapping[str, str] | None = None
    ) -> Character:
        """Write a character's file, or change what it says; without wishes it is an empty character.

        Raises CharacterError where the word is none or too long, or a wish is none.
        """
        from keysense.comparing.characters import Character

        word, italian, says = (" ".join(text.split()) for text in (word, italian, says))
        if not words_of(word):
            raise CharacterError("a character needs a word of at least one letter")
        if len(word) > _LONGEST:
            raise CharacterError(f"a character's word has {_LONGEST} letters at most, so that it can be said")
        character = Character(word, italian, {key: wish for key, wish in (wishes or {}).items() if wish}, (), says)
        path = self._file_of(word) or _free(self.folder.characters, _file_name(word))
        document = tomlkit.parse(path.read_text("utf-8")) if path.exists() else _fresh()
        document["word"], document["italian"], document["says"] = word, italian, says
        document["wishes"] = character.wishes
        write_atomically(path, tomlkit.dumps(document).encode("utf-8"), error=CharacterError)
        return character

    def forget_character(self, word: str) -> None:
        """Take its file away; one that ships is as it came again. Raises CharacterError where there is no file."""
        path = self._file_of(word)
        if path is None:
            raise CharacterError(f"{word!r} has no file of your own: there is nothing to forget")
        path.unlink()

    def is_own_character(self, word: str) -> bool:
        """Whether the studio has a file of its own for this word."""
        return self._file_of(word) is not None

    def _file_of(self, word: str) -> Path | None:
        from keysense.comparing.characters import read_character

        files = sorted(self.folder.characters.glob("*.toml"), reverse=True)  # of two files the later one counts
        return next((path for path in files if read_character(path).word == word), None)


def _free(folder: Path, name: str) -> Path:
    """A file that is not there yet: another character's is never written over."""
    names = (folder / f"{name}{f'-{number}' if number > 1 else ''}.toml" for number in count(1))
    return next(path for path in names if not path.exists())


def _fresh() -> tomlkit.TOMLDocument:
    document = tomlkit.document()
    for line in _HEAD:
        document.add(tomlkit.comment(line))
    return document


def _file_name(word: str) -> str:
    """A name for the file that every system allows; the word itself stands inside."""
    plain = unicodedata.normalize("NFKD", word.lower()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or f"character-{word.encode().hex()[:24]}"
