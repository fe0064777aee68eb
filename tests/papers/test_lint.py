"""What is remarked on before a paper is signed, and what is taken as it is."""

from __future__ import annotations

from keysense.papers import remarks, too_long


def test_words_that_judge_are_named_and_left_to_whoever_signs() -> None:
    (said,) = remarks("note", {"made": "Pip had a perfect score."})
    assert "“score”" in said and "“perfect”" in said


def test_names_titles_and_the_pupils_own_words_are_taken_as_they_are() -> None:
    text = {"made": "Pip played A Star is Late.", "says": "my level is 3 stars"}
    assert remarks("note", text, ["A Star is Late", "Pip"]) == []
    assert remarks("note", text) != []


def test_a_word_within_another_word_is_no_judgement() -> None:
    assert remarks("note", {"made": "Start with the bass, and mark nothing as bath or badger."}) == []


def test_figures_are_remarked_on_where_a_child_reads() -> None:
    assert remarks("slip", {"wish": "Play bar 3 twice."}) != []
    assert remarks("card", {"try": "Bar 3: hold hands."}) != []
    assert remarks("note", {"home": "In bar 3, hold hands."}) == []


def test_a_long_paper_says_how_long_it_is_and_how_long_it_may_be() -> None:
    said = too_long("slip", {"wish": "la " * 81})
    assert "81" in said and "80" in said
    assert too_long("slip", {"wish": "la " * 80}) == ""
    assert remarks("slip", {"wish": "la " * 81}) == [said]
    assert "120" in too_long("note", {"made": "la " * 100, "says": "la " * 21})
