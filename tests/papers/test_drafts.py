"""Drafts: what they say of a lesson, and what none of them may say of any."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keysense.comparing.characters import WISHES
from keysense.finding import Finding, Place
from keysense.papers import LIMITS, PARTS, Lesson, Pair, Played, draft, remarks
from keysense.papers.drafts import pictured
from keysense.papers.lint import count_words

from .conftest import BREATHED, DAY, GREW, NOT_YET, WAITED, lesson, rise, two

KINDS = tuple(PARTS)


def test_the_note_says_what_was_made_what_was_listened_for_and_what_to_enjoy() -> None:
    note = draft("note", lesson(GREW, NOT_YET, character="sleepy"))
    assert note["made"] == "Pip played The Miller’s Cat the sleepy way."
    assert note["listened"] == "We listened for the tune growing in bars 5 and 6. It grew."
    assert note["home"].startswith("Ask to hear The Miller’s Cat")
    assert "In bars 5 and 6, can the tune grow and grow?" in note["home"]
    assert note["says"] == ""


def test_cards_that_differ_in_their_number_are_named_together_and_the_picture_is_of_the_tune_for_home() -> None:
    titles = ("Three Doors 3", "Long Walk", "Three Doors 1", "Three Doors 2")
    played = tuple(Played(letter * 32, title) for letter, title in zip("abcd", titles, strict=True))
    here = Lesson("p", "Odile", DAY, played)
    note = draft("note", here)
    assert note["made"] == "Odile played Three Doors 1, 2 and 3. We also heard Long Walk."
    shown = next(one.piece for one in played if one.take_id == pictured(here))
    assert note["home"] == f"Ask to hear {shown}, and say what you heard."


def test_what_came_in_one_take_is_not_unsaid_by_another() -> None:
    played = [Played(letter * 32, "Cat", findings=(found,)) for letter, found in (("a", GREW), ("b", NOT_YET))]
    note = draft("note", Lesson("p", "Pip", DAY, tuple(played)))
    assert note["listened"] == "We listened for the tune growing in bars 5 and 6. It grew."


def test_two_characters_are_told_by_what_was_asked_and_heard() -> None:
    note = draft("note", two((0, "joined")))
    assert note["made"] == "Pip played The Miller’s Cat in two characters, sleepy and proud."
    assert note["listened"].startswith("The proud one was quicker and louder than the sleepy one")
    assert note["home"].endswith("In sleepy, can the notes hold hands?")


def test_one_wish_what_was_pressed_then_between_two_then_on_the_page() -> None:
    taken = tuple(replace(one, findings=(NOT_YET,)) for one in two().played)
    between = replace(two((1, "even")), played=taken)
    assert draft("slip", between)["wish"] == "The proud one wants to walk, step by step."
    on_the_page = replace(two(), played=taken)
    assert draft("slip", on_the_page)["wish"] == "The tune wants to grow."
    pressed = replace(between, asked="In bars 5 and 6, can the tune grow and grow?")
    assert draft("slip", pressed)["wish"] == "The tune wants to grow."
    assert draft("card", pressed)["try"] == "In bars five and six, can the tune grow and grow?"
    assert pressed.asked in draft("note", pressed)["home"]
    other = replace(between, asked="In sleepy, where would the tune like to linger?")
    assert draft("slip", other)["wish"] == "The sleepy one would like to linger somewhere."


def test_a_slip_names_the_tune_and_the_bars_in_it() -> None:
    walk = Played("a" * 32, "The Long Walk", findings=(WAITED,))
    slip = draft("slip", Lesson("p", "Juno", DAY, (walk,)))
    assert slip["place"] == "In bar three of The Long Walk."
    assert draft("slip", two((0, "free")))["place"] == "In The Miller’s Cat: choose the place together."
    assert draft("slip", two((0, "quicker")))["place"] == "In The Miller’s Cat."
    asked_nothing = replace(walk, findings=())
    assert draft("slip", Lesson("p", "Juno", DAY, (asked_nothing,)))["place"] == "In The Long Walk."
    assert not draft("slip", Lesson("p", "Juno", DAY, (replace(asked_nothing, piece=""),)))["place"]


def test_the_picture_is_of_the_tune_that_the_wish_is_for() -> None:
    played = (Played("a" * 32, "Cat", findings=(GREW,)), Played("b" * 32, "Long Walk", findings=(WAITED,)))
    card = Lesson("p", "Pip", DAY, played)
    assert pictured(card) == "b" * 32 and "bar three" in draft("card", card)["try"]


def test_where_nothing_was_asked_a_tune_that_never_waited_to_its_end_is_something_that_came() -> None:
    never = Finding("waits", 0, "count", 20)
    whole, broken_off = (lesson(never, to_the_end=to_the_end) for to_the_end in (True, False))
    assert draft("card", whole)["came"] == "You kept going, from the first note to the last."
    assert draft("note", whole)["listened"] == "The tune kept going, from its first note to its last."
    assert draft("card", broken_off)["came"] == "I listened all the way, from the first note to the last."
    assert draft("note", broken_off)["listened"].startswith("We listened to the whole tune")


def test_a_breath_is_told_with_its_place_and_own_music_without_any_verdict() -> None:
    assert "There was a breath after bar 4." in draft("note", lesson(BREATHED))["listened"]
    own = draft("note", lesson(manner="own"))
    assert own["made"] == "Pip made music of their own, too."


def test_the_slip_has_a_wish_a_place_a_way_and_a_question_without_a_figure() -> None:
    slip = draft("slip", lesson(NOT_YET))
    assert slip == {
        "wish": "The tune wants to grow.",
        "place": "In bars five and six of The Miller’s Cat.",
        "way": "Sing it first. Then begin so softly that there is room to grow.",
        "question": "Where is it loudest?",
    }
    assert draft("slip", lesson(WAITED))["place"] == "In bar three of The Miller’s Cat."


def test_a_bar_without_a_word_of_its_own_is_the_place_that_was_marked() -> None:
    far = rise(1, -3, 4, bars=(43, 44))
    assert draft("slip", lesson(far))["place"] == "In the place we marked in the music of The Miller’s Cat."
    assert not re.search(r"\d", " ".join(draft("card", lesson(far)).values()))


def test_the_card_begins_with_something_that_came() -> None:
    assert draft("card", lesson(NOT_YET, GREW, character="sleepy")) == {
        "came": "You wanted it to grow, and it grew.",
        "question": "Where was it most sleepy?",
        "try": "In bars five and six, can the tune grow and grow?",
    }
    assert draft("card", two())["came"] == "You wanted your proud one quicker than your sleepy one, and it was."
    assert draft("card", lesson(BREATHED))["came"] == "I heard the tune breathe."
    assert "I didn" not in draft("card", lesson(NOT_YET))["came"]


def test_the_take_in_the_picture_is_one_in_which_something_came() -> None:
    played = [Played(letter * 32, "Cat", findings=(found,)) for letter, found in (("a", GREW), ("b", NOT_YET))]
    assert pictured(Lesson("p", "Pip", DAY, tuple(played))) == "a" * 32
    assert pictured(two()) == "a" * 32


@pytest.mark.parametrize("kind", KINDS)
def test_of_a_day_without_a_take_nothing_is_claimed(kind: str) -> None:
    assert not any(draft(kind, Lesson("p", "Pip", DAY)).values())  # type: ignore[arg-type]


WISH_WORDS = sorted({wish for wishes in WISHES.values() for wish in wishes})


@pytest.mark.parametrize("wish", WISH_WORDS)
@pytest.mark.parametrize("kind", KINDS)
def test_every_wish_has_words_and_none_of_them_judges(kind: str, wish: str) -> None:
    said = draft(kind, two((1, wish), (wish,)))  # type: ignore[arg-type]
    assert remarks(kind, said, two().names) == []  # type: ignore[arg-type]


@pytest.mark.parametrize("finding", [GREW, NOT_YET, WAITED, BREATHED, rise(2, -3, 5, fall=True)])
@pytest.mark.parametrize("kind", KINDS)
def test_no_draft_judges_or_counts_for_a_child(kind: str, finding: object) -> None:
    here = lesson(finding, character="sleepy")  # type: ignore[arg-type]
    said = draft(kind, here)  # type: ignore[arg-type]
    assert remarks(kind, said, here.names) == []  # type: ignore[arg-type]


names = st.text(st.characters(categories=["L", "N", "Zs", "P"]), min_size=1, max_size=200).filter(str.strip)


@settings(max_examples=60, deadline=None)
@given(pupil=names, titles=st.lists(names, min_size=1, max_size=6), characters=st.lists(names, min_size=1, max_size=6))
def test_no_names_make_a_paper_too_long(pupil: str, titles: list[str], characters: list[str]) -> None:
    rows = tuple(
        Played(f"{k:032x}", title, characters[k % len(characters)], findings=(NOT_YET, GREW, BREATHED, WAITED))
        for k, title in enumerate(titles)
    )
    pair = Pair(titles[0], (characters[0], characters[-1]), (rows[0].take_id,) * 2, ("quicker", "louder", "apart"))
    for which_pair in (None, pair, replace(pair, trying=(0, "joined"))):
        here = Lesson("p", pupil, DAY, rows, which_pair)
        for kind in KINDS:
            said = draft(kind, here)
            assert set(said) == set(PARTS[kind])
            assert 0 < count_words(said) <= LIMITS[kind], said


def test_a_slip_has_two_to_four_lines_for_every_aim() -> None:
    for here in (lesson(NOT_YET), lesson(WAITED), lesson(), two((0, "slower")), lesson(replace(GREW, place=Place()))):
        assert 2 <= sum(bool(line) for line in draft("slip", here).values()) <= 4
