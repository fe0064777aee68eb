"""Words that belong to nobody here: no grading, no praise, no blame, no jargon, in any sentence of any catalogue."""

from __future__ import annotations

import re

import pytest

from keysense.words.elsewhere import templates
from keysense.words.table import PLURALS, TABLE
from keysense.words.table_child import CHILD, FORBIDDEN

# Never said to anybody: marking and ranking, blame, praise of cleverness, and the analyst's words.
NEVER = (
    "grade", "grades", "graded", "percent", "percentage", "accuracy", "accurate", "streak", "badge", "rank", "ranking",
    "mistake", "mistakes", "incorrect", "correctly", "well done", "good job", "clever", "talented", "weak pupil",
    "better than", "worse than", "pass mark", "points", "stars", "ioi", "kot", "z-score", "p-value",
    "confidence interval",
)  # fmt: skip
SENTENCES = {
    **TABLE,
    **{
        f"{key} ({form})": text
        for key, pair in PLURALS.items()
        for form, text in zip(("one", "many"), pair, strict=True)
    },
    **{text: text for text in templates()},
}


def holds(text: str, word: str) -> bool:
    return re.search(rf"(?<![a-z]){re.escape(word)}(?![a-z])", text.lower()) is not None


@pytest.mark.parametrize("word", NEVER)
def test_no_sentence_of_any_catalogue_says_it(word: str) -> None:
    assert {key: text for key, text in SENTENCES.items() if holds(text, word)} == {}


def test_every_sentence_for_a_child_is_held_to_the_child_s_list() -> None:
    for key, text in SENTENCES.items():
        if key in CHILD or key.startswith("child."):
            assert not [word for word in FORBIDDEN if holds(text, word)], key
            assert not re.search(r"\d", text), key
