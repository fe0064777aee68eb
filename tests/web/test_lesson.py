"""The page of the lesson: questions about takes, tapping, splitting and joining, the wish carried on, faulty forms."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from datetime import timedelta

import httpx
import numpy as np
import pytest

from fixtures.serving import served
from fixtures.studio_for_pages import SLEEPY, PagesStudio, play_take
from keysense.capture.state import ListeningState
from keysense.demo.performer import Playing
from keysense.errors import StudioError
from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio.looking import heard
from keysense.studio.studio import Studio
from keysense.web.app import create_app
from keysense.words import word
from tests.browser.conftest import Played

CALM = Playing(90, [(0, 60), (32, 66)])


def put(studio: Studio, take: Take, ago_s: float = 0.0) -> str:
    return studio.add_take(take, take_to_smf(take), started_utc=studio.now() - timedelta(seconds=ago_s))


def called_by_another(studio: Studio, there: PagesStudio) -> str:
    """Stairs, called the cat by a slip of the tongue."""
    studio.set_warmup(there.stairs, on=False)
    take = play_take(studio, studio.target_of(there.stairs).target, CALM, seed=50)
    studio.name_take(take, pupil=there.pip, piece=there.cat)
    heard(studio, take)
    return take


def test_a_wrong_piece_is_asked_about_and_a_yes_or_a_no_settles_it(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    take = called_by_another(studio, furnished)
    asked = "This sounds like Up and Down the Stairs rather than The Miller’s Cat."
    assert asked in client.get("/").text and asked in client.get(f"/take/{take}").text
    text = client.post(f"/take/{take}/answer/piece", data={"said": "yes", "back": "/"}).text
    assert studio.take(take).piece_id == furnished.stairs and asked not in text and "Noted." in text
    other = called_by_another(studio, furnished)
    client.post(f"/take/{other}/answer/piece", data={"said": "no"})
    assert studio.take(other).piece_id == furnished.cat and asked not in client.get("/").text
    assert "answered already" in client.post(f"/take/{other}/answer/piece", data={"said": "no"}).text


def test_what_another_pupil_plays_is_asked_and_answered_by_one_press(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    studio.set_warmup(furnished.stairs, on=False)
    studio.set_context(pupil=furnished.pip, piece=furnished.cat)
    notes = studio.take_notes(called_by_another(studio, furnished))
    studio.set_context(pupil=furnished.pip, piece=furnished.cat)
    for kept in studio.takes(pupil=furnished.pip, piece=furnished.stairs):
        studio.drop_take(kept.id)
    take = put(studio, notes)
    heard(studio, take)
    text = client.get("/").text
    assert "Pip has not played Up and Down the Stairs yet; Odile has. Who played?" in text
    client.post(f"/take/{take}/answer/pupil", data={"said": furnished.odile})
    now = studio.take(take)
    assert (now.state, now.pupil_id, now.piece_id) == ("kept", furnished.odile, furnished.stairs)


def two_tunes(studio: Studio, there: PagesStudio) -> str:
    a, b = studio.take_notes(there.sleepy), studio.take_notes(called_by_another(studio, there))
    late = b.notes.copy()
    for name in ("onset_s", "release_s"):
        late[name] += a.duration_s + 1.4
    take = put(studio, Take(np.concatenate([a.notes, late]), a.pedals), ago_s=200)
    studio.name_take(take, pupil=there.pip, piece=there.cat, character="sleepy")
    heard(studio, take)
    return take


def test_two_tunes_in_one_are_split_by_one_press_and_put_back_by_another(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    take = two_tunes(studio, furnished)
    assert "Two tunes in one?" in client.get("/").text
    text = client.post(f"/take/{take}/answer/cut", data={"said": "yes"}).text
    made = [studio.take(one) for one in studio.replaced_by(take)]
    assert [one.piece_id for one in made] == [furnished.cat, furnished.stairs]
    assert "Two takes now." in text and "put it back as it was" in text
    assert "split or joined" in client.get(f"/take/{take}").text
    text = client.post(f"/take/{made[1].id}/uncut").text
    assert studio.take(take).state == "kept" and "As it was before." in text


def test_a_take_is_split_at_a_silence_and_joined_again(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    take = two_tunes(studio, furnished)
    note = re.search(rf'/take/{take}/split".*?name="note" value="(\d+)"', client.get("/").text, re.S)
    assert note
    client.post(f"/take/{take}/split", data={"note": note[1], "back": f"/take/{take}"})
    first, second = (studio.take(one) for one in studio.replaced_by(take))
    assert first.n == int(note[1]) and studio.reading(first.id) is not None
    assert f"/take/{second.id}/join" in client.get(f"/take/{second.id}").text
    text = client.post(f"/take/{second.id}/join").text
    assert "One take now." in text and studio.replaced_by(first.id) == studio.replaced_by(second.id)
    answer = client.post(f"/take/{first.id}/split", data={"note": "x"})
    assert answer.status_code == 200 and "no silence" in answer.text


def test_a_name_is_given_by_tapping(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    take = furnished.unnamed
    text = client.get("/").text
    assert f'action="/take/{take}/tap"' in text and ">Odile<" in text
    empty = client.post(f"/take/{take}/tap", data={"back": "/"})
    assert empty.status_code == 200 and "Nothing was tapped" in empty.text
    said = {"pupil": furnished.pip, "piece": furnished.cat, "character": "proud", "back": "/"}
    client.post(f"/take/{take}/tap", data=said)
    now = studio.take(take)
    assert (now.state, now.pupil_id, now.piece_id, now.character) == ("kept", furnished.pip, furnished.cat, "proud")
    assert studio.reading(take) is not None


def test_again_carries_the_name_and_leaves_the_old_shape_behind_the_new_one(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    assert 'class="before"' not in client.get(f"/shape/{furnished.sleepy}").text
    client.post("/again", data={"take": furnished.sleepy, "said": "Can it grow?"})
    music = studio.target_of(furnished.cat).target
    take = put(studio, studio.take_notes(play_take(studio, music, Playing(64, [(0, 40), (32, 90)]), seed=31)))
    studio.note_again(take)
    heard(studio, take)
    now = studio.take(take)
    assert (now.pupil_id, now.piece_id, now.character) == (furnished.pip, furnished.cat, "sleepy")
    for path in (f"/shape/{take}", f"/take/{take}?guess=skip"):
        text = client.get(path).text
        assert 'class="before"' in text and "The faint outline behind is how it went before." in text
        assert '<th scope="col">before</th>' in text, "the twin in words tells both"
    assert client.get(f"/shape/{take}").text.count("Again") >= 1


@pytest.mark.parametrize(("waits", "said"), [({}, "child.asked.waits"), ({13: 1.2}, "child.not.waits")])
def test_a_wish_that_was_pressed_is_answered_by_the_take_that_follows(
    client: httpx.Client, studio: Studio, furnished: PagesStudio, waits: dict[int, float], said: str
) -> None:
    wish = word("try.waits", place="bar 3")
    client.post(f"/take/{furnished.proud}/drop")
    assert wish in client.get(f"/take/{furnished.sleepy}?guess=skip").text
    client.post("/again", data={"take": furnished.sleepy, "said": wish})
    music = studio.target_of(furnished.cat).target
    played = replace(SLEEPY, waits=waits, other={})
    take = put(studio, studio.take_notes(play_take(studio, music, played, seed=31)))
    studio.note_again(take)
    heard(studio, take)
    assert word(said, place="bar 3") in client.get(f"/take/{take}?guess=skip").text


def test_the_shape_of_a_take_without_music_is_its_thread(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    bang = Take.from_notes(onset_s=[0, 0.4], release_s=[0.3, 0.7], pitch=[61, 66], velocity=[50, 60])
    text = client.get(f"/shape/{put(studio, bang)}").text
    assert "drawn as a thread" in text and 'class="before"' not in text


def test_a_warm_up_is_set_shown_and_taken_away(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    client.post("/warmup", data={"piece": furnished.cat, "hand": "L"})
    assert [(piece.id, piece.warmup_hand) for piece in studio.warmups()] == [(furnished.cat, "L")]
    assert "The Miller’s Cat, left hand" in client.get("/").text
    assert "no warm-up any more" in client.post("/warmup", data={"piece": ""}).text
    assert studio.warmups() == []
    wrong = client.post("/warmup", data={"piece": "ffff"})
    assert wrong.status_code == 200 and 'role="alert"' in wrong.text


def test_what_the_last_take_left_open_is_shown_before_playing(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    studio.set_context(pupil=furnished.pip)
    between = client.get("/").text  # of a proud tune nobody asks that its notes be joined
    assert "In sleepy, where would the tune like to linger?" in between and "hold hands" not in between
    studio.name_take(furnished.proud, pupil=furnished.pip, piece=furnished.cat, character="sleepy")
    heard(studio, furnished.proud)
    assert "still open" in client.get("/").text and "hold hands" in client.get("/").text
    studio.set_context(pupil=furnished.odile)
    assert "still open" not in client.get("/").text


@pytest.mark.parametrize("wrong", ["nickname", "agreed"])
def test_a_faulty_form_of_a_pupil_keeps_what_was_typed(
    client: httpx.Client, studio: Studio, furnished: PagesStudio, wrong: str
) -> None:
    typed = {"nickname": "Tamsin", "agreed_by": "Grandfather Quill", "agreed": "yes", "back": "/"}
    typed |= {"nickname": "Pip"} if wrong == "nickname" else {"agreed": ""}
    answer = client.post("/pupil", data=typed)
    assert answer.status_code == 200 and 'role="alert"' in answer.text
    assert f'value="{typed["nickname"]}"' in answer.text and 'value="Grandfather Quill"' in answer.text
    assert len(studio.pupils()) == 2


def test_a_faulty_playing_in_keeps_what_was_typed(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    typed = {"title": "Ferry Bell", "pace": "eighty", "bar": "3"}
    answer = client.post(f"/take/{furnished.unnamed}/model", data=typed)
    assert answer.status_code == 200 and "eighty" in answer.text and 'role="alert"' in answer.text
    for said in typed.values():
        assert f'value="{said}"' in answer.text
    assert re.search(r'<details class="teacher" id="teacher" open>', answer.text)


def test_a_line_that_no_agreement_covers_stays_in_its_field(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    studio.withdraw(furnished.pip)
    answer = client.post("/ahead", data={"line": "pip cat sleepy"})
    assert "agreement" in answer.text and 'value="pip cat sleepy"' in answer.text


def test_every_page_opens_folded(client: httpx.Client, furnished: PagesStudio) -> None:
    pair = f"/beside/{furnished.sleepy}/{furnished.proud}"
    paths = ["/", f"/take/{furnished.sleepy}", f"/take/{furnished.sleepy}?guess=skip", f"/take/{furnished.unnamed}"]
    paths += [pair, f"{pair}?guess=second", f"/weeks/{furnished.odile}", "/studio", f"/shape/{furnished.sleepy}"]
    for path in [*paths, f"/spots/{furnished.pip}/{furnished.cat}"]:
        text = client.get(path).text
        assert not re.search(r'class="teacher"[^>]* open', text), path
        assert "open=1" not in text, f"{path} leads to a page that opens unfolded"


class Troubled(Played):
    """A lesson that trouble ends, until it is begun again."""

    began = 0

    def run(self, on_event) -> None:  # type: ignore[no-untyped-def]
        self.began += 1
        if self.began == 1:
            raise StudioError("the disk is full: free some room")
        super().run(on_event)


def test_a_lesson_that_trouble_ended_is_begun_again_by_the_listening_press(studio: Studio) -> None:
    lesson = Troubled()
    ListeningState(studio.folder.journal).switch(True)
    app = create_app(studio, lesson)
    with served(app) as address, httpx.Client(base_url=address, follow_redirects=True) as client:
        while "the disk is full" not in (text := client.get("/").text):
            time.sleep(0.02)
        assert "start listening" in text
        text = client.post("/listening", data={"on": "yes"}).text
        assert lesson.began == 2 and "the disk is full" not in text
        client.post("/listening", data={"on": "yes"})
        assert lesson.began == 2, "a lesson that is at work is left alone"


def test_no_other_child_stands_on_a_childs_page(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    studio.name_take(furnished.unnamed, pupil=furnished.odile, piece=furnished.stairs)
    studio.set_context(pupil=furnished.pip, piece=furnished.cat)
    seen, behind = client.get("/").text.split('<details class="teacher"')
    seen = re.sub(r'<label class="tap">.*?</label>', "", seen)  # whom a take may be given to
    assert "Pip" in seen and "Odile" not in seen and furnished.unnamed not in seen
    assert f'href="/take/{furnished.unnamed[:12]}">Odile, Up and Down the Stairs' in behind
    assert f'href="/note/{furnished.odile}"' in behind
