"""Characters as plain files."""

from __future__ import annotations

import pytest

from fixtures.make.music import five_fingers
from keysense.comparing import Character, read_character, shipped_characters
from keysense.comparing.characters import WISHES, must_fit, wish_direction
from keysense.errors import CharacterError
from keysense.targets.target import Mark


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


MARK = "[[marks]]\nkind = {}\nstart_quarter = {}\nend_quarter = {}\n"


@pytest.mark.parametrize(("text", "says"), [
    ("word = ", "TOML"), ('[wishes]\ntempo = "louder"', "slower or quicker"), ('[wishes]\ncolour = "red"', "dimension"),
    ("word = 3", "word is 3: give a text"), ('word = ""', "word is empty"), ("italian = 1", "italian is 1"),
    ('[wish]\ntempo = "slower"', "no 'wish'; .*did you mean 'wishes'"), ("colour = 1", "no 'colour'; .*word, italian"),
    ("[[mark]]\nkind = 'slur'", "did you mean 'marks'"), ('[wishes]\ntmpo = "slower"', "did you mean 'tempo'"),
    ("wishes = 5", "wishes is 5: write a table"), ("[wishes]\ntempo = 1", "tempo cannot be wished 1"),
    ("marks = 5", "marks is 5: write a table"), ("marks = [1]", "write a table"), ("[marks]\nkind = 'slur'", "write a"),
    ('[[marks]]\nkind = "slur"', "mark 1 has no start_quarter, end_quarter"),
    (MARK.format('"glitter"', 0, 4), "'glitter'; there are slur"), (MARK.format(3, 0, 4), "kind is 3"),
    (MARK.format('"crescend"', 0, 4), "did you mean 'crescendo'"), (MARK.format('"slur"', '"a"', 4), "quarter is 'a'"),
    (MARK.format('"slur"', "true", 4), "start_quarter is True"),
    (MARK.format('"slur"', "nan", 4), "start_quarter is nan"),
    (MARK.format('"slur"', 0, "inf"), "end_quarter is inf"), (MARK.format('"slur"', 9, 0), "not before the start"),
    (MARK.format('"crescendo"', 4, 4), "has no length"), (MARK.format('"slur"', 0, 4) + "colour = 1", "no 'colour'"),
    (MARK.format('"slur"', 0, 4) + "hands = 'R'", "did you mean 'hand'"),
    (MARK.format('"slur"', 0, 4) + "hand = 'left'", "is 'left'"),
    (MARK.format('"dynamic"', 0, 4) + "value = 5", "value is 5"),
    ((MARK.format('"slur"', 0, 4) + 'id = "one"\n') * 2, "two marks have the id 'one'"),
])  # fmt: skip
def test_a_file_that_cannot_be_read_names_itself_and_the_remedy(tmp_path, text: str, says: str) -> None:
    path = tmp_path / "odd.toml"
    path.write_text(text)
    with pytest.raises(CharacterError, match=says) as caught:
        read_character(path)
    assert "odd.toml" in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("change", [{"marks": 5}, {"marks": ("slur",)}, {"wishes": ["slower"]}])
def test_a_character_made_in_code_is_looked_at_as_well(change: dict) -> None:
    with pytest.raises(CharacterError, match=next(iter(change))):
        Character("odd", **change)


@pytest.mark.parametrize(("start", "end", "fits"), [(0, 36, True), (32, 36, True), (24, 37, False), (80, 90, False)])
def test_marks_beyond_the_music_are_refused_where_the_tune_is_known(start: float, end: float, fits: bool) -> None:
    target = five_fingers(4).target()
    assert target.end_quarter == 36
    character = Character("odd", marks=(Mark("crescendo", start, end, "odd-1", layer="odd"),))
    if fits:
        must_fit(character, target)
    else:
        with pytest.raises(CharacterError, match="the music ends at 36"):
            must_fit(character, target)


def test_a_missing_file_is_said_in_one_line(tmp_path) -> None:
    with pytest.raises(CharacterError, match="nowhere"):
        read_character(tmp_path / "nowhere.toml")


def test_every_wish_has_its_direction() -> None:
    for dimension, (less, more) in WISHES.items():
        assert wish_direction(dimension, less) == -1
        assert wish_direction(dimension, more) == 1
        assert wish_direction(dimension, None) == 0
