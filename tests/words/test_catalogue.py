"""The catalogue: a translation is used where there is one, and English is said where there is none."""

from __future__ import annotations

import struct
from collections import Counter
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest

from keysense import words
from keysense.words import catalogue, counted, word
from keysense.words.table import PLURALS, TABLE


def compiled(entries: dict[str, str]) -> bytes:
    """A catalogue in gettext's binary form (GNU gettext manual, section 10.3)."""
    pairs = sorted((key.encode(), text.encode()) for key, text in entries.items())
    keys_at, texts_at = 28, 28 + 8 * len(pairs)
    at, index, data = 28 + 16 * len(pairs), ([], []), b""
    for part in (0, 1):
        for pair in pairs:
            index[part].append((len(pair[part]), at + len(data)))
            data += pair[part] + b"\0"
    head = struct.pack("<7I", 0x950412DE, 0, len(pairs), keys_at, texts_at, 0, 0)
    return head + b"".join(struct.pack("<2I", *entry) for part in index for entry in part) + data


@pytest.fixture
def dutch(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    folder = tmp_path / "nl" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    one, many = PLURALS["n.notes"]
    entries = {
        "": "Content-Type: text/plain; charset=UTF-8\nPlural-Forms: nplurals=2; plural=(n != 1);\n",
        TABLE["now.play"]: "Speel maar.",
        TABLE["place.bar"]: "maat {first}",
        f"{one}\0{many}": "een noot\0{n} noten",
    }
    (folder / "keysense.mo").write_bytes(compiled(entries))
    monkeypatch.setattr(catalogue, "LOCALES", tmp_path)
    catalogue._loaded.cache_clear()
    catalogue.use_language("nl")
    yield
    catalogue.use_language("")
    catalogue._loaded.cache_clear()


def test_a_translation_is_used_where_there_is_one(dutch: None) -> None:
    assert word("now.play") == "Speel maar."
    assert word("place.bar", first=3) == "maat 3"
    assert (counted("n.notes", 1), counted("n.notes", 4)) == ("een noot", "4 noten")


def test_english_is_said_where_there_is_none(dutch: None) -> None:
    assert word("now.nothing") == "Nothing to press."
    catalogue.use_language("xx")
    assert word("now.play") == "Just play."


def test_a_key_that_is_not_in_the_table_is_a_fault_of_ours() -> None:
    with pytest.raises(KeyError):
        word("no such words")


def test_no_word_stands_in_two_tables() -> None:
    """One would take the place of the other, on a page that nobody is looking at."""
    names = [module.name for module in iter_modules([str(Path(words.__file__).parent)]) if "table_" in module.name]
    tables = [value for name in names for value in vars(import_module(f"keysense.words.{name}")).values()]
    keys = Counter(key for table in tables if isinstance(table, dict) and "__name__" not in table for key in table)
    assert [key for key, times in keys.items() if times > 1 and key in TABLE] == []
