"""Pressing: naming by one free line, dropping and taking back, the next take, listening or not."""

from __future__ import annotations

import re

import httpx
import pytest

from fixtures.studio_for_pages import SCORES, PagesStudio, play_take
from keysense.capture.state import ListeningState
from keysense.demo.performer import Playing, perform
from keysense.messages import normalise
from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio.looking import heard
from keysense.studio.studio import Studio
from keysense.targets import read_target


def test_one_free_line_names_a_take(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    answer = client.post(f"/take/{furnished.unnamed}/name", data={"line": "pip miller sleepy", "back": "/"})
    take = studio.take(furnished.unnamed)
    assert answer.status_code == 200 and take.pupil_id == furnished.pip and take.character == "sleepy"
    assert take.state == "kept" and studio.reading(take.id) is not None


def test_a_line_that_nobody_understands_is_asked_back(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    text = client.post(f"/take/{furnished.unnamed}/name", data={"line": "qqq zzz vvv", "back": "/"}).text
    assert "Who or what is" in text and 'value="qqq zzz vvv"' in text
    assert studio.take(furnished.unnamed).pupil_id is None


def test_a_name_refused_and_then_right_stays_on_the_page_it_was_typed_on(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    for back in ("/", f"/take/{furnished.unnamed}"):
        refused = client.post(f"/take/{furnished.unnamed}/name", data={"line": "zzz qqq", "back": back}).text
        led_back = set(re.findall(r'name="back" value="([^"]*)"', refused))
        assert led_back == {back}
        named = client.post(f"/take/{furnished.unnamed}/name", data={"line": "pip cat proud", "back": back})
        assert named.url.path == back


def test_whoever_is_at_the_piano_is_one_press_away(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    studio.set_context(pupil=furnished.odile)
    heard(studio, furnished.unnamed)
    card = client.get("/").text.split(f'id="card-{furnished.unnamed}"')[1].split("</li>")[0]
    assert "yes, Odile’s" in card and 'placeholder="odile cat"' in card
    client.post(f"/take/{furnished.unnamed}/tap", data=dict(re.findall(r'name="(pupil|piece)" value="([^"]+)"', card)))
    named = studio.take(furnished.unnamed)
    assert (named.pupil_id, named.piece_id, named.state) == (furnished.odile, furnished.cat, "kept")


def test_an_empty_line_asks_and_only_a_press_of_its_own_forgets(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    client.post("/ahead", data={"line": "pip cat sleepy"})
    assert "Write who plays next" in client.post("/ahead", data={"line": "  "}).text
    assert studio.context.pupil_id == furnished.pip
    assert "Nobody in particular" in client.post("/ahead", data={"line": "", "nobody": "1"}).text
    assert studio.context.is_empty


def test_what_is_asked_of_a_name_behind_the_fold_opens_the_fold(client: httpx.Client, furnished: PagesStudio) -> None:
    asked = client.post(
        f"/take/{furnished.sleepy}/name", data={"line": "odile cat grumpy", "back": f"/take/{furnished.sleepy}"}
    ).text
    assert 'id="teacher" open' in asked and "“grumpy”" in asked


def test_a_page_that_answered_a_press_can_be_read_again(client: httpx.Client, furnished: PagesStudio) -> None:
    again = client.get(f"/take/{furnished.sleepy}/name")
    assert again.status_code == 200 and str(again.url).endswith(f"/take/{furnished.sleepy}")
    assert client.get("/ahead").status_code == 200


def test_a_new_character_is_asked_about_and_a_yes_takes_it(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    line = {"line": "pip cat thunderous", "back": f"/take/{furnished.unnamed}"}
    asked = client.post(f"/take/{furnished.unnamed}/name", data=line).text
    assert "new character" in asked and 'name="accept"' in asked
    client.post(f"/take/{furnished.unnamed}/name", data={**line, "accept": "1"})
    assert studio.take(furnished.unnamed).character == "thunderous"


def test_drop_with_one_press_and_undo(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    text = client.post(f"/take/{furnished.unnamed}/drop").text
    assert studio.take(furnished.unnamed).state == "dropped" and "bring it back" in text
    text = client.post(f"/take/{furnished.unnamed}/undo").text
    assert studio.take(furnished.unnamed).state == "waiting" and "bring it back" not in text


def test_the_next_take_is_named_before_it_is_played(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    text = client.post("/ahead", data={"line": "odile stairs"}).text
    assert "The next take is Odile, Up and Down the Stairs" in text
    assert studio.context.pupil_id == furnished.odile


def test_again_carries_the_name_and_the_wish(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    wish = "In bar 3, can the notes hold hands?"
    text = client.post("/again", data={"take": furnished.sleepy, "said": wish}).text
    assert wish in text and studio.context.character == "sleepy" and studio.context.pupil_id == furnished.pip


def test_listening_is_switched_by_one_press(client: httpx.Client, studio: Studio) -> None:
    state = ListeningState(studio.folder.journal)
    client.post("/listening", data={"on": "yes"})
    assert state.wanted
    client.post("/listening", data={"on": "no"})
    assert not state.wanted


def test_without_a_guardians_agreement_a_name_is_refused_in_words(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    studio.withdraw(furnished.pip)
    text = client.post(f"/take/{furnished.unnamed}/name", data={"line": "pip cat sleepy", "back": "/"}).text
    assert "agreement" in text and studio.take(furnished.unnamed).state == "waiting"


def test_a_take_that_is_only_taken_for_a_piece_waits_for_a_yes(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    studio.set_context(pupil=furnished.pip, piece=furnished.cat)
    music = studio.target_of(furnished.cat).target
    played = normalise(perform(music, Playing(90, [(0, 70), (32, 75)]), 9))
    take = studio.add_take(played, take_to_smf(played), started_utc=studio.now())
    text = client.get("/").text
    assert "The Miller’s Cat, perhaps?" in text and f"/take/{take}/yes" in text
    client.post(f"/take/{take}/yes")
    assert studio.take(take).state == "kept" and "perhaps?" not in client.get("/").text


def test_bits_that_are_no_tune_fold_into_one_line(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    for seed in range(4):
        bang = Take.from_notes(onset_s=[0, 0.1], release_s=[0.1, 0.2], pitch=[60 + seed, 61], velocity=[90, 90])
        studio.uncarry(studio.add_take(bang, take_to_smf(bang), started_utc=studio.now()))
    text = client.get("/").text
    shown = text.count(">This one has no name yet.</h2>") + text.count(">No name yet</h2>")
    assert "2 bits without a name" in text and shown == 3


def test_the_page_of_a_piece_is_brought_as_a_file(client: httpx.Client, studio: Studio) -> None:
    score = (SCORES / "snail_at_the_gate.musicxml").read_bytes()
    for _ in range(2):
        answer = client.post("/piece", files={"file": ("C:\\music\\snail.musicxml", score)})
        assert answer.status_code == 200
    pieces = studio.pieces()
    assert [piece.title for piece in pieces] == ["Snail at the Gate"]
    assert studio.target_of(pieces[0].id).version == 2


@pytest.mark.parametrize(
    ("name", "data"), [("x.musicxml", b"<score"), ("x.mid", b"hello"), ("x.txt", b"hello"), ("../../x.mxl", b"PK")]
)
def test_a_file_that_is_no_music_is_one_sentence_and_leaves_nothing(
    client: httpx.Client, studio: Studio, name: str, data: bytes
) -> None:
    answer = client.post("/piece", files={"file": (name, data)})
    assert answer.status_code == 200 and 'role="alert"' in answer.text
    assert "Traceback" not in answer.text and "brought" not in answer.text
    assert studio.pieces() == []
    assert 'role="alert"' in client.post("/piece", files={"other": ("x.mid", b"")}).text


def test_the_teachers_own_playing_becomes_the_music_of_a_piece(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    bell = read_target(SCORES / "snail_at_the_gate.musicxml")
    take = play_take(studio, bell, Playing(80, [(0, 60), (8, 64)]), seed=4)
    assert "this is how it goes" in client.get(f"/take/{take}").text
    client.post(f"/take/{take}/model", data={"title": "Ferry Bell", "pace": "eighty", "bar": "4"})
    assert "Ferry Bell" not in [piece.title for piece in studio.pieces()]
    client.post(f"/take/{take}/model", data={"title": "Ferry Bell", "pace": "80", "bar": "4"})
    piece = next(piece for piece in studio.pieces() if piece.title == "Ferry Bell")
    assert studio.target_of(piece.id).kind == "model" and studio.take(take).is_model
    assert "Your own playing" in client.get("/").text
