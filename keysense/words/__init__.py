"""Words for people: findings as sentences, and everything the pages say, through one gettext catalogue."""

from __future__ import annotations

from keysense.errors import KeysenseError
from keysense.words.catalogue import counted, has_word, word
from keysense.words.child import say_asked_to_child, say_for_child, say_outcome_to_child
from keysense.words.elsewhere import translated
from keysense.words.followed import say_lost, say_shift, say_ties
from keysense.words.heard import say_all_for_teacher, say_for_teacher, title_of

__all__ = [
    "counted",
    "has_word",
    "say_all_for_teacher",
    "say_asked_to_child",
    "say_for_child",
    "say_for_teacher",
    "say_lost",
    "say_outcome_to_child",
    "say_shift",
    "say_ties",
    "title_of",
    "translated",
    "word",
]

KeysenseError.spoken[1:] = [translated]
