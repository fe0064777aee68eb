"""No word on a page or of a command passes the catalogue by: in a made-up language all of them change."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from fixtures.serving import served
from fixtures.studio_for_pages import NOW, PROUD, SLEEPY, furnish, play_take
from keysense.studio.studio import Studio
from keysense.web.app import create_app
from keysense.words import counted, translated, word
from tests.words.pseudo import DATA, LANGUAGE, latin_words, pseudo, seen, spoken


@pytest.fixture(scope="module")
def language(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with spoken(tmp_path_factory.mktemp("locale")):
        yield


def test_the_made_up_language_is_spoken(language: None) -> None:
    assert word("now.play") == pseudo("Just play.")
    assert counted("n.notes", 2) == "2" + pseudo(" notes")
    assert translated("it takes 4 notes, and 3 came") == pseudo("it takes {1} notes, and {2} came").replace(
        "{1}", "4"
    ).replace("{2}", "3")


def test_no_page_says_a_word_of_its_own(language: None, tmp_path: Path) -> None:
    with Studio.open(tmp_path / "studio", now=lambda: NOW) as studio:
        studio.set_setting("language", LANGUAGE)
        there = furnish(studio, weeks=6)
        music = studio.target_of(there.cat).target
        studio.mark_model(play_take(studio, music, PROUD, seed=77), there.cat)
        for day in (2, 9, 16):
            take = play_take(studio, music, SLEEPY, seed=60 + day, ago=timedelta(days=day))
            studio.name_take(take, pupil=there.pip, piece=there.cat, character="sleepy", manner="first sight")
        paths = [
            "/", f"/take/{there.sleepy}", f"/take/{there.sleepy}?guess=end&open=1", f"/take/{there.unnamed}",
            f"/shape/{there.sleepy}", f"/beside/{there.sleepy}/{there.proud}",
            f"/beside/{there.sleepy}/{there.proud}?guess=second&open=1", "/weeks", f"/weeks/{there.odile}?open=1",
            "/studio", f"/spots/{there.pip}/{there.cat}?open=1", "/pianos", f"/overnight/{there.pip}",
            f"/sight/{there.pip}", f"/manners/{there.pip}", f"/model/{there.sleepy}", f"/note/{there.pip}",
            f"/slip/{there.pip}", f"/card/{there.pip}", f"/draw/{there.pip}/{there.cat}?character=sleepy", "/pieces",
            "/take/ffffffff",
        ]  # fmt: skip
        said = {}
        with served(create_app(studio)) as address:
            import httpx

            with httpx.Client(base_url=address, follow_redirects=True) as client:
                for path in paths:
                    said[path] = latin_words(seen(client.get(path).text), [DATA])
    assert {path: words for path, words in said.items() if words} == {}
