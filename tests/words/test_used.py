"""Every key that code and templates ask for is in the table, and the table holds nothing that nobody says."""

from __future__ import annotations

import re
from pathlib import Path

import keysense.words
from keysense.words.table import PLURALS, TABLE

KEYSENSE = Path(keysense.words.__file__).parents[1]
PLACES = [*KEYSENSE.rglob("*.py"), *KEYSENSE.rglob("*.html"), *(KEYSENSE.parent / "dashboards").rglob("*.py")]
SOURCES = {path: path.read_text("utf-8") for path in PLACES}
ASKED = re.compile(r"""\b(?:word|has_word|counted)\(\s*f?(["'])([^"']+)\1(\s*~)?""")


def test_every_key_asked_for_is_in_the_table() -> None:
    unknown = []
    for path, text in SOURCES.items():
        for found in ASKED.finditer(text):
            key, joined = found[2], found[3]
            if "{" in key or joined:
                start = key.split("{")[0]
                known = any(row.startswith(start) for row in (*TABLE, *PLURALS))
            else:
                known = key in TABLE or key in PLURALS
            if not known:
                unknown.append(f"{path.name}: {key}")
    assert unknown == []


def test_slots_are_named_so_that_translators_can_move_them() -> None:
    for text in TABLE.values():
        assert "{}" not in text and "%s" not in text


def test_presses_are_small_and_sentences_end() -> None:
    for key, text in TABLE.items():
        if key.startswith(("now.", "done.", "ask.grow.heard", "child.", "flag.")) and not key.endswith(".name"):
            assert text[-1] in ".?", key
