"""One wish for a pupil and a lesson: the same on the lesson's page, between two characters and on every paper."""

from __future__ import annotations

from dataclasses import replace
from html import unescape
from typing import TYPE_CHECKING

import pytest

from fixtures.studio_for_pages import SLEEPY, PagesStudio, play_take
from keysense.papers import lesson_of, open_aim, pressed
from keysense.studio.looking import beside, heard
from keysense.words import word
from keysense.words.comparing import dimension_to_try

if TYPE_CHECKING:
    import httpx

    from keysense.studio.studio import Studio

WAITS = word("try.waits", place="bar 3")


def pages(client: httpx.Client, there: PagesStudio) -> dict[str, str]:
    paths = {
        "lesson": "/", "two": f"/beside/{there.sleepy}/{there.proud}?guess=skip", "note": f"/note/{there.pip}",
        "slip": f"/slip/{there.pip}", "card": f"/card/{there.pip}", "take": f"/take/{there.proud}?guess=skip",
        "shape": f"/shape/{there.sleepy}",
    }  # fmt: skip
    return {name: unescape(client.get(path).text) for name, path in paths.items()}


def test_between_two_characters_the_wish_is_the_same_everywhere(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    studio.set_context(pupil=furnished.pip)
    both = beside(studio, furnished.sleepy, furnished.proud)
    trying = dimension_to_try(both, ("sleepy", "proud"))
    if trying is None:
        pytest.fail("the two of the fixture leave nothing open")
    seen, aim = pages(client, furnished), open_aim(lesson_of(studio, furnished.pip))
    assert aim.trying == trying[1]
    assert all(trying[1] in seen[name] for name in ("lesson", "two", "note", "card", "take", "shape"))
    asked_of = (furnished.sleepy, furnished.proud)[trying[0]]
    assert all(f'name="take" value="{asked_of}"' in seen[name] for name in ("two", "take", "shape"))
    asking, quiet = unescape(client.get("/studio").text).split(word("roster.quiet"))
    assert trying[1] in asking and f"/weeks/{furnished.pip}" not in quiet
    assert word(f"paper.wish.{aim.key}", character=aim.character) in seen["slip"]


def test_a_wish_that_was_pressed_stands_on_every_page_until_it_came(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    client.post("/again", data={"take": furnished.sleepy, "said": WAITS})
    seen = pages(client, furnished)
    assert all(WAITS in seen[name] for name in ("lesson", "two", "note", "take", "shape"))
    assert "In bar three, slowly: can the tune keep going?" in seen["card"]
    assert word("paper.wish.waits") in seen["slip"] and "In bar three" in seen["slip"]
    assert "still open" not in seen["lesson"]
    music = studio.target_of(furnished.cat).target
    take = play_take(studio, music, replace(SLEEPY, waits={}, other={}), seed=31)
    studio.note_again(take)
    studio.name_take(take, pupil=furnished.pip, piece=furnished.cat, character="sleepy")
    heard(studio, take)
    assert pressed(studio, furnished.pip) is None
    assert not [name for name, text in pages(client, furnished).items() if WAITS in text]
