"""The page of the pianos: begun, played, known; reached from the lesson and the studio."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fixtures.make.many import Piano, survey_take
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted, play
from fixtures.studio_for_pages import PagesStudio
from keysense.notes import Take
from keysense.smf import take_to_smf

if TYPE_CHECKING:
    import httpx

    from keysense.studio.studio import Studio


def put(studio: Studio, take: Take) -> None:
    studio.add_take(take, take_to_smf(take), started_utc=studio.now(), instrument="hall")


def test_a_piano_is_made_known_on_its_page(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    for path in ("/", "/studio"):
        text = client.get(path).text
        assert 'href="/pianos"' in text and "is not known yet" in text
    first = client.get("/pianos").text
    assert "No piano is known yet" in first and "Middle C" not in first
    begun = client.post("/pianos/begin", data={"setting": "medium"}).text
    assert begun.index("A low C") < begun.index("Middle C") < begun.index("Hands and feet away")
    assert "Nothing has been heard yet" in begun
    put(studio, play(millers_cat(), Planted(), 1).take())
    assert "no survey" in client.post("/pianos/done").text
    for take in studio.takes(state="waiting"):
        studio.drop_take(take.id)
    put(studio, survey_take(Piano(bias={"high": 14.0}), 1))
    assert "65 notes have been heard so far" in client.get("/pianos").text
    done = client.post("/pianos/done").text
    assert "is known now" in done and "its touch set to medium" in done and "The high keys answer louder" in done
    assert "hall is known" not in client.get("/take/" + furnished.sleepy).text
    assert studio.survey_of("hall") is not None


def test_not_now_keeps_nothing(client: httpx.Client, studio: Studio) -> None:
    client.post("/pianos/begin", data={"setting": ""})
    put(studio, survey_take(Piano(), 1))
    text = client.post("/pianos/stop").text
    assert "Nothing was kept" in text and "No piano is known yet" in text
    assert studio.takes() == [] and studio.surveys() == []
