"""The catalogue: every word a page or a command says to a person is looked up here, through gettext.

The English text in `keysense.words.table` is the message id. A translation is a compiled catalogue
``locale/LANGUAGE/LC_MESSAGES/keysense.mo`` beside this file; the language is the one that `use_language` set, else it
is taken from LANGUAGE, LC_ALL, LC_MESSAGES and LANG, as gettext does. What has no translation is said in English.
"""

from __future__ import annotations

import gettext
from functools import cache
from pathlib import Path

from keysense.words.table import PLURALS, TABLE

__all__ = ["counted", "has_word", "template", "translation", "use_language", "word"]

DOMAIN = "keysense"
LOCALES = Path(__file__).with_name("locale")


_chosen = ""


def use_language(language: str) -> None:
    """Say everything in this language from now on, such as ``nl``; empty takes the machine's own again."""
    global _chosen
    _chosen = language


def translation() -> gettext.NullTranslations:
    """The translation that is used now."""
    return _loaded(_chosen)


@cache
def _loaded(language: str) -> gettext.NullTranslations:
    return gettext.translation(DOMAIN, LOCALES, [language] if language else None, fallback=True)


def word(key: str, /, **slots: object) -> str:
    """The words of this key, with their slots filled. Raises KeyError on a key that is not in the table."""
    text = translation().gettext(TABLE[key])
    return text.format(**slots) if slots else text


def has_word(key: str) -> bool:
    """Whether the table has this key."""
    return key in TABLE


def counted(key: str, n: int, /, **slots: object) -> str:
    """The words for one or for many: ``n`` chooses the form and fills the slot of that name."""
    one, many = PLURALS[key]
    return translation().ngettext(one, many, n).format(n=n, **slots)


def template() -> str:
    """The catalogue template for translators, in gettext's own format: one entry a key, the key as its comment."""
    lines = ['msgid ""', 'msgstr ""', '"Content-Type: text/plain; charset=UTF-8\\n"', ""]
    for key, text in TABLE.items():
        lines += [f"#. {key}", f"msgid {_quoted(text)}", 'msgstr ""', ""]
    for key, (one, many) in PLURALS.items():
        lines += [f"#. {key}", f"msgid {_quoted(one)}", f"msgid_plural {_quoted(many)}"]
        lines += ['msgstr[0] ""', 'msgstr[1] ""', ""]
    from keysense.words.elsewhere import templates

    for text in sorted(set(templates()) - set(TABLE.values())):
        lines += ["#. said by a room or a command; slots are numbered", f"msgid {_quoted(text)}", 'msgstr ""', ""]
    return "\n".join(lines)


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'
