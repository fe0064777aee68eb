"""A language made by the test: every sentence of the catalogue in letters of another alphabet, its slots kept.

What still stands in a page or a command in Latin letters did not go through the catalogue, or is data.
"""

from __future__ import annotations

import re
import string
import struct
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from pathlib import Path

import pytest

from keysense.words import catalogue
from keysense.words.elsewhere import templates
from keysense.words.table import PLURALS, TABLE

__all__ = ["DATA", "LANGUAGE", "latin_words", "pseudo", "seen", "spoken"]

LANGUAGE = "xx"
# Names that people gave, words of the studio's characters and of the engraved music, commands to be typed.
DATA = (
    "Pip Odile The Miller’s Cat Up and Down the Stairs sleepy proud dolce tranquillo marcato con spirito mother father "
    "keysense MusicXML MIDI musicxml mxl mid mp3 ms ffffffff largo adagio andante moderato allegretto allegro presto"
)
_OTHER = str.maketrans({letter: chr(0x430 + k % 32) for k, letter in enumerate(string.ascii_letters)})
_SLOT = re.compile(r"(\{[^{}]*\})")
_KEPT = {"language"}
_READ = ("aria-label", "title", "alt", "placeholder", "aria-description")


def pseudo(text: str) -> str:
    """The sentence in other letters; its slots stay."""
    return "".join(part if k % 2 else part.translate(_OTHER) for k, part in enumerate(_SLOT.split(text)))


def write_catalogue(folder: Path) -> None:
    """``LANGUAGE/LC_MESSAGES/keysense.mo`` under a folder (GNU gettext manual, section 10.3)."""
    entries = {text: text if key in _KEPT else pseudo(text) for key, text in TABLE.items()}
    entries |= {text: pseudo(text) for text in templates()}
    entries |= {f"{one}\0{many}": f"{pseudo(one)}\0{pseudo(many)}" for one, many in PLURALS.values()}
    entries[""] = "Content-Type: text/plain; charset=UTF-8\nPlural-Forms: nplurals=2; plural=(n != 1);\n"
    place = folder / LANGUAGE / "LC_MESSAGES"
    place.mkdir(parents=True)
    (place / "keysense.mo").write_bytes(_compiled(entries))


@contextmanager
def spoken(folder: Path) -> Iterator[None]:
    """The made-up language is the one that is spoken, by pages and by commands."""
    write_catalogue(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(catalogue, "LOCALES", folder)
        patch.setenv("LANGUAGE", LANGUAGE)
        catalogue._loaded.cache_clear()
        catalogue.use_language(LANGUAGE)
        try:
            yield
        finally:
            catalogue.use_language("")
            catalogue._loaded.cache_clear()


def _compiled(entries: dict[str, str]) -> bytes:
    pairs = sorted((key.encode(), text.encode()) for key, text in entries.items())
    at, index, data = 28 + 16 * len(pairs), ([], []), b""
    for part in (0, 1):
        for pair in pairs:
            index[part].append((len(pair[part]), at + len(data)))
            data += pair[part] + b"\0"
    head = struct.pack("<7I", 0x950412DE, 0, len(pairs), 28, 28 + 8 * len(pairs), 0, 0)
    return head + b"".join(struct.pack("<2I", *entry) for part in index for entry in part) + data


class _Seen(HTMLParser):
    """What people see or hear of a page: texts and the attributes that are read out."""

    def __init__(self) -> None:
        super().__init__()
        self.parts: list[str] = []
        self._quiet = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._quiet += tag in ("script", "style")
        self.parts += [value for name, value in attrs if name in _READ and value]

    def handle_endtag(self, tag: str) -> None:
        self._quiet -= tag in ("script", "style")

    def handle_data(self, data: str) -> None:
        if not self._quiet:
            self.parts.append(data)


def seen(html: str) -> str:
    """The words of a page."""
    parser = _Seen()
    parser.feed(html)
    return "\n".join(parser.parts)


def latin_words(text: str, data: Iterable[str]) -> list[str]:
    """The words in Latin letters that are no data, each once."""
    text = re.sub(r"\b[0-9a-f]{8,32}\b", "", text)  # the beginnings of ids
    known = {word.lower() for said in data for word in re.findall(r"[A-Za-zÀ-ž]+", said)}
    return sorted({word for word in re.findall(r"[A-Za-zÀ-ž]{2,}", text) if word.lower() not in known})
