"""Characters as plain files."""

from __future__ import annotations

import pytest

from keysense.comparing import Character, read_character, shipped_characters
from keysense.comparing.characters import WISHES, wish_direction
from keysense.errors import CharacterError


def test_two_characters_ship_with_the_italian_beneath() -> None:
    assert {c.word: c.italian for c in shipped_characters()} == {
        "proud": "marcato, con spirito",
        "sleepy": "dolce, tranquillo",
    }
    for character in shipped_characters():
        assert character.says
        assert set(character.wishes) <= set(WISHES)


def test_a_teachers_own_file_with_marks_of_its_own(tmp_path) -> None:
    path = tmp_path / "creeping.toml"
    path.write_text(
        'word = "creeping"\nitalian = "misterioso"\nsays = "On tiptoe."\n[wishes]\nloudness = "softer"\n'
        'touch = "apart"\n[[marks]]\nkind = "crescendo"\nstart_quarter = 16\nend_quarter = 24\nhand = "R"\n'
    )
    character = read_character(str(path))
    assert character.wishes == {"loudness": "softer", "touch": "apart"}
    (mark,) = character.marks
    assert (mark.kind, mark.start_quarter, mark.end_quarter, mark.hand) == ("crescendo", 16, 24, "R")
    assert (mark.layer, mark.id) == ("creeping", "creeping-1")


def test_a_file_without_a_word_goes_by_its_name_and_may_be_empty(tmp_path) -> None:
    path = tmp_path / "stormy.toml"
    path.write_text("")
    assert read_character(path) == Character("stormy")


@pytest.mark.parametrize(("text", "says"), [
    ("word = ", "TOML"), ('[wishes]\ntempo = "louder"', "slower or quicker"), ('[wishes]\ncolour = "red"', "dimension"),
    ("word = 3", "texts"), ('[[marks]]\nkind = "slur"', "start_quarter"),
    ('[[marks]]\nkind = "glitter"\nstart_quarter = 0\nend_quarter = 4', "glitter"),
])  # fmt: skip
def test_a_file_that_cannot_be_read_names_itself_and_the_remedy(tmp_path, text: str, says: str) -> None:
    path = tmp_path / "odd.toml"
    path.write_text(text)
    with pytest.raises(CharacterError, match=says) as caught:
        read_character(path)
    assert "odd.toml" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_missing_file_is_said_in_one_line(tmp_path) -> None:
    with pytest.raises(CharacterError, match="nowhere"):
        read_character(tmp_path / "nowhere.toml")


def test_every_wish_has_its_direction() -> None:
    for dimension, (less, more) in WISHES.items():
        assert wish_direction(dimension, less) == -1
        assert wish_direction(dimension, more) == 1
        assert wish_direction(dimension, None) == 0
