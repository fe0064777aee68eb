"""The first minute of a studio, step by step; and the demo studio beside it, opened, left and removed."""

from __future__ import annotations

import re
import time
from pathlib import Path

import httpx
import pytest

from fixtures.studio_for_pages import SCORES, PagesStudio, play_take
from keysense.capture.state import ListeningState
from keysense.demo import telling
from keysense.demo.performer import Playing
from keysense.errors import StudioError
from keysense.studio.first import first_steps, step_done
from keysense.studio.studio import Studio
from keysense.targets import read_target

JUNO = {"nickname": "Juno", "agreed_by": "her mother", "agreed": "yes"}


def steps(text: str) -> dict[str, str]:
    return dict(re.findall(r'<li id="first-(\w+)" class="(\w+)"', text))


def test_each_step_ticks_itself_and_the_guide_goes_for_good(client: httpx.Client, studio: Studio) -> None:
    assert steps(client.get("/").text) == {
        "plug": "now", "note": "ahead", "who": "ahead", "tune": "ahead", "warmup": "ahead",
    }  # fmt: skip
    text = client.post("/pupil", data={**JUNO, "until": "2027-07-31"}).text
    assert steps(text)["who"] == "done" and "Juno is in the register." in text
    assert str(studio.pupils()[0].agreements[0].until) == "2027-07-31"
    file = SCORES / "gate_posts.musicxml"
    text = client.post("/piece", files=[("file", (file.name, file.read_bytes()))]).text
    assert steps(text)["tune"] == "done"
    text = client.post("/warmup", data={"piece": studio.pieces()[0].id, "back": "/"}).text
    assert steps(text)["warmup"] == "done"
    client.post("/first/note")
    text = client.post("/first/plug/skip").text
    assert not steps(text) and "the first minute" not in text
    studio.set_warmup(studio.pieces()[0].id, on=False)
    assert not steps(client.get("/").text), "what was done once does not come back"


def test_a_step_is_left_out_and_all_of_them_can_be(client: httpx.Client) -> None:
    text = client.post("/first/who/skip").text
    assert steps(text)["who"] == "skipped" and "left out for now" in text
    text = client.post("/first/all/skip").text
    assert not steps(text) and "someone new" in text
    assert client.post("/first/dance/skip").status_code == 200


def test_a_tune_just_played_is_named_in_the_guide(client: httpx.Client, studio: Studio) -> None:
    client.get("/")
    take = play_take(studio, read_target(SCORES / "gate_posts.musicxml"), Playing(80, [(0, 60)]), seed=1)
    text = client.get("/").text
    assert steps(text)["note"] == "done" and f'value="{take}"' in text
    form = {"title": "Gate Posts", "pace": "80", "bar": "4", "take": [take], "back": "/"}
    client.post("/pieces/teach", data=form)
    assert steps(client.get("/").text)["tune"] == "done"


def test_a_studio_that_began_without_a_guide_never_gets_one(client: httpx.Client, furnished: PagesStudio) -> None:
    assert not steps(client.get("/").text)


def test_a_name_that_is_no_step_is_let_pass(studio: Studio) -> None:
    first_steps(studio)
    step_done(studio, "dance")
    assert "dance" not in studio.recall("first minute")["done"]


def small_studio(studio: Studio, say: object) -> None:
    """In place of the whole invented studio, which takes long and has tests of its own."""
    assert callable(say)
    studio.remember("demo", {"alone": True})
    studio.add_pupil("Odile", agreed_by="father", on="2026-09-01")
    say("Odile comes in.")


def files_of(folder: Path) -> dict[str, bytes]:
    kept = (path for path in folder.rglob("*") if path.is_file() and path.suffix != ".log")
    return {str(path.relative_to(folder)): path.read_bytes() for path in kept if "demo" not in path.parts}


def pupils_logged(folder: Path) -> int:
    log = folder / "log" / "keysense.log"
    return log.read_text("utf-8").count("a pupil was added") if log.exists() else 0


def opened(client: httpx.Client) -> None:
    until = time.monotonic() + 20
    client.post("/demo/open")
    while "It is ready." not in client.get("/demo").text:
        assert time.monotonic() < until
        time.sleep(0.02)


def test_the_demo_studio_is_opened_labelled_left_and_removed(
    client: httpx.Client, studio: Studio, furnished: PagesStudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(telling, "tell", small_studio)
    assert "Open the demo studio" in client.get("/studio").text
    client.get("/demo")
    before, logged = files_of(studio.folder.root), pupils_logged(studio.folder.root)
    opened(client)
    assert pupils_logged(studio.folder.root) == logged and pupils_logged(studio.folder.demo) == 1, "each its own lines"
    assert "Odile comes in." in client.get("/demo").text
    assert "The demo studio." not in client.get("/").text, "it is not shown before somebody goes in"
    assert "The demo studio." in client.post("/demo/open").text
    for path in ("/", "/weeks", "/studio", "/pieces", "/beside", "/character/sleepy", "/nowhere"):
        assert "Everyone and everything here is made up" in client.get(path).text, path
    assert "Pip" not in client.get("/studio").text and "Odile" in client.get("/studio").text
    client.post("/listening", data={"on": "yes", "back": "/"})
    assert ListeningState(studio.folder.journal).wanted, "listening goes on in the teacher's own studio"
    client.post("/listening", data={"on": "no", "back": "/"})
    client.post("/pupil", data=JUNO)
    assert "Your own studio again." in client.post("/demo/leave").text
    assert "Pip" in client.get("/studio").text and "Juno" not in client.get("/studio").text
    client.post("/demo/open")
    text = client.post("/demo/remove").text
    assert "Yours is as it was." in text and "made up" not in text
    assert not studio.folder.demo.exists()
    after = files_of(studio.folder.root)
    assert {name for name in after if before.get(name) != after[name]} <= {"journal/switch.json"}
    assert before.keys() <= after.keys()


def test_a_demo_studio_that_cannot_be_made_leaves_nothing_behind(
    client: httpx.Client, studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    def spoilt(studio: Studio, say: object) -> None:
        raise StudioError("the disk is full")

    monkeypatch.setattr(telling, "tell", spoilt)
    client.post("/demo/open")
    until = time.monotonic() + 20
    while "It could not be made: the disk is full" not in client.get("/demo").text:
        assert time.monotonic() < until
        time.sleep(0.02)
    assert not [path.name for path in studio.folder.root.iterdir() if "demo" in path.name]
    assert "Welcome." in client.get("/").text
