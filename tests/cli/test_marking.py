"""keysense piece mark, unmark and marks."""

from __future__ import annotations


def test_marks_are_made_shown_and_taken_back(lesson):
    said = lesson("piece", "mark", "cat", "phrase", "4.3")
    assert said.code == 0 and said.out == "A phrase ends after bar 4, quarter 3.\n"
    said = lesson("piece", "mark", "cat", "grows", "5.1", "6.3", "--for", "sleepy")
    assert "Sleepy: It grows from bar 5, quarter 1 to bar 6, quarter 3." in said.out
    assert lesson("piece", "marks", "cat").out == said.out
    assert lesson("piece", "unmark", "cat").out == "A phrase ends after bar 4, quarter 3.\n"
    assert lesson("piece", "mark", "cat", "phrase", "4.3").out == "Nothing is marked yet.\n"


def test_what_cannot_be_marked_is_one_clear_line(lesson):
    for words in (("swirl", "4.1"), ("phrase", "soon"), ("phrase", "99.1"), ("grows", "1.1"), ("grows", "2.1", "1.1")):
        assert lesson("piece", "mark", "cat", *words).is_one_clear_line, words
    assert lesson("piece", "mark", "harbour", "phrase", "1.1").is_one_clear_line
    assert lesson("piece", "unmark", "cat").is_one_clear_line
