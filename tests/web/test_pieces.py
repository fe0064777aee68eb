"""The pages of the pieces through their forms alone: files, marks, tunes played in, characters as wishes."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import httpx
import pytest

from fixtures.studio_for_pages import SCORES, PagesStudio, play_take
from keysense.demo.performer import Playing
from keysense.studio.studio import Studio
from keysense.targets import read_target
from keysense.words import word as said_as


def test_the_shelf_is_by_title_and_says_how_each_piece_came(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    studio.add_piece("A Song Without Music")
    text = client.get("/pieces").text
    places = [text.index(title) for title in ("A Song Without Music", "The Miller’s Cat", "Up and Down the Stairs")]
    assert places == sorted(places)
    assert "1 pupil plays it, from printed music." in " ".join(text.split())
    assert "Nobody plays it yet, no music yet." in text and "the standing warm-up" in text


def test_a_file_becomes_a_piece_and_its_page_shows_it_engraved(client: httpx.Client, studio: Studio) -> None:
    file = SCORES / "snail_at_the_gate.mxl"
    answer = client.post("/pieces", files=[("file", (file.name, file.read_bytes()))])
    (piece,) = studio.pieces()
    assert answer.url.path == f"/piece/{piece.id}" and "The piece is on the shelf." in answer.text
    assert 'class="engraved' in answer.text and piece.title in answer.text


def test_of_several_files_those_that_can_be_read_are_kept_and_the_other_is_named(
    client: httpx.Client, studio: Studio
) -> None:
    good = SCORES / "ferry_bell.musicxml"
    sent = [("file", (good.name, good.read_bytes())), ("file", ("tea list.mid", b"milk, sugar"))]
    answer = client.post("/pieces", files=sent)
    assert "tea list.mid" in answer.text and "The others are on the shelf." in answer.text
    assert len(studio.pieces()) == 1 and '<details class="twoplayers">' in answer.text
    nothing = client.post("/pieces", files=[("file", ("", b""))])
    assert "No file came" in nothing.text


def test_a_piece_for_two_players_takes_the_names_of_their_parts(client: httpx.Client, studio: Studio) -> None:
    file = SCORES / "two_on_a_bench.musicxml"
    sent = [("file", (file.name, file.read_bytes()))]
    unknown = client.post("/pieces", files=sent, data={"part": "Top", "beside": "Teacher"}).text
    assert "Pupil, Teacher" in unknown and '<details class="twoplayers" open>' in unknown
    assert 'value="Top"' in unknown and studio.pieces() == []
    answer = client.post("/pieces", files=sent, data={"part": "Pupil", "beside": "Teacher"})
    assert said_as("two.stands") in answer.text
    (piece,) = studio.pieces()
    target = studio.target_of(piece.id).target
    assert target.beside is not None and len(target.beside.notes) != len(target.notes)
    midi = client.post("/pieces", files=[("file", ("tune.mid", b"MThd"))], data={"part": "Pupil"})
    assert said_as("two.midi") in midi.text


def test_a_newer_file_of_a_piece_keeps_its_title_and_its_marks(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    client.post(f"/piece/{furnished.cat}/mark", data={"kind": "guide", "first": "1.1", "pitch": "60"})
    file = SCORES / "millers_cat.musicxml"
    client.post(f"/piece/{furnished.cat}/file", files=[("file", (file.name, file.read_bytes()))])
    assert studio.piece(furnished.cat).title == "The Miller’s Cat"
    assert "guide" in {mark.kind for mark in studio.target_of(furnished.cat).target.marks}


def test_a_newer_file_keeps_what_a_character_asks_for_where_its_notes_are_still_there(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    page = studio.target_of(furnished.cat).target
    (wedge, *_) = [mark for mark in page.marks if mark.kind == "crescendo"]
    layered = replace(wedge, layer="sleepy", id="sleepy-1")
    gone = replace(layered, id="sleepy-2", note_ids=("nowhere",))
    studio.add_target(furnished.cat, page.with_marks([*page.marks, layered, gone]))
    file = SCORES / "millers_cat.musicxml"
    client.post(f"/piece/{furnished.cat}/file", files=[("file", (file.name, file.read_bytes()))])
    newest = studio.target_of(furnished.cat)
    assert newest.version == 3
    assert [mark.id for mark in newest.target.marks if mark.layer == "sleepy"] == ["sleepy-1"]


def test_marks_are_made_rubbed_out_and_taken_back_by_the_form_alone(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    path = f"/piece/{furnished.cat}/mark"
    text = client.post(path, data={"kind": "crescendo", "first": "1.1", "last": "2.3", "for": "sleepy"}).text
    assert "Sleepy: It grows from bar 1, quarter 1 to bar 2, quarter 3." in text and "Marked." in text
    assert '<title>it grows</title><path class="paper"' in text
    (one,) = studio.markings(furnished.cat)
    assert "Sleepy: It grows" not in client.get(path).text  # of everyone's marks it is none
    text = client.post(f"/piece/{furnished.cat}/rub", data={"id": one.id, "for": "sleepy"}).text
    assert "Rubbed out." in text and "It grows from" not in text
    text = client.post(f"/piece/{furnished.cat}/unmark", data={"for": "sleepy"}).text
    assert "Taken back." in text and "It grows from" in text


def test_a_hairpin_that_was_marked_lies_under_the_take_as_paper(client: httpx.Client, furnished: PagesStudio) -> None:
    def wedges() -> int:
        return client.get(f"/shape/{furnished.sleepy}").text.count('class="paper"')

    before = wedges()
    client.post(f"/piece/{furnished.cat}/mark", data={"kind": "diminuendo", "first": "1.1", "last": "2.3"})
    assert wedges() > before


def test_an_end_that_came_with_the_page_is_rubbed_out_and_marked_again(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    path, phrases = f"/piece/{furnished.cat}/mark", len(studio.target_of(furnished.cat).target.phrases)
    text = client.post(path, data={"kind": "phrase", "first": "4.3"}).text
    assert "No phrase ends after bar 4, quarter 3" in text and "came with the music" not in text
    assert len(studio.target_of(furnished.cat).target.phrases) < phrases
    text = client.post(path, data={"kind": "phrase", "first": "4.3"}).text
    assert "came with the music" in text and len(studio.target_of(furnished.cat).target.phrases) == phrases


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"kind": "phrase", "first": "soon"}, "is no place"),
        ({"kind": "crescendo", "first": "5.1", "last": ""}, "is no place"),
        ({"kind": "guide", "first": "77.1"}, "No note begins at 77.1"),
        ({"kind": "swirl", "first": "1.1"}, "no mark"),
    ],
)
def test_a_place_that_is_none_comes_back_with_what_was_written(
    client: httpx.Client, studio: Studio, furnished: PagesStudio, typed: dict[str, str], said: str
) -> None:
    answer = client.post(f"/piece/{furnished.cat}/mark", data={**typed, "for": "sleepy"})
    assert said in answer.text and f'value="{typed["first"]}"' in answer.text
    assert "only when it is played sleepy" in answer.text and not studio.markings(furnished.cat)


def played_in(studio: Studio, *playings: Playing) -> list[str]:
    bell = read_target(SCORES / "ferry_bell.musicxml")
    return [play_take(studio, bell, one, seed=k, ago=timedelta(minutes=k)) for k, one in enumerate(playings, 1)]


STEADY = Playing(88, [(0, 60), (12, 64)], unsteady=0.01, touch_spread=2.0)


def test_several_playings_become_the_tune_and_where_one_differs_is_asked(client: httpx.Client, studio: Studio) -> None:
    slip = Playing(88, [(0, 60), (12, 64)], unsteady=0.01, other={3: 55})
    takes = played_in(studio, STEADY, STEADY, slip)
    assert "3 notes" not in client.get("/pieces").text
    form = {"title": "Ferry Bell", "pace": "88", "bar": "3", "take": takes}
    text = client.post("/pieces/teach", data=form).text
    (piece,) = studio.pieces()
    assert "That is how the tune goes now." in text and "your third playing has G3" in text
    assert all(studio.take(take).is_model and studio.take(take).piece_id == piece.id for take in takes)
    text = client.post(f"/piece/{piece.id}/stands", data={"which": "2"}).text
    assert "your third playing" not in text
    assert 55 in studio.target_of(piece.id).target.notes["pitch"].tolist()


def test_playing_in_with_something_missing_keeps_what_was_typed(client: httpx.Client, studio: Studio) -> None:
    (take,) = played_in(studio, STEADY)
    answer = client.post("/pieces/teach", data={"title": "Bell", "pace": "ninety", "bar": "3", "take": [take]})
    assert 'value="Bell"' in answer.text and f'value="{take}" checked' in answer.text and not studio.pieces()
    answer = client.post("/pieces/teach", data={"title": "Bell", "pace": "88", "bar": "3"})
    assert "No playing was chosen" in answer.text and not studio.pieces()


def test_a_tune_that_was_played_in_is_drawn_and_marked_on_its_thread(client: httpx.Client, studio: Studio) -> None:
    takes = played_in(studio, STEADY, STEADY)
    client.post("/pieces/teach", data={"title": "Ferry Bell", "pace": "88", "bar": "3", "take": takes})
    (piece,) = studio.pieces()
    text = client.post(f"/piece/{piece.id}/mark", data={"kind": "diminuendo", "first": "2.1", "last": "4.1"}).text
    assert "Thread drawing of Ferry Bell" in text and "It fades from bar 2" in text
    assert '<title>it fades</title><path class="paper"' in text


def test_a_character_is_written_changed_and_forgotten(client: httpx.Client, studio: Studio) -> None:
    wishes = {"word": "stormy", "italian": "con fuoco", "loudness": "louder", "contrast": "more", "tempo": ""}
    text = client.post("/character", data=wishes).text
    assert "The character is kept." in text
    assert studio.characters()["stormy"].wishes == {"loudness": "louder", "contrast": "more"}
    assert "Louder, it grows and fades." in client.get("/pieces").text
    file = next(studio.folder.characters.glob("*.toml"))
    file.write_text(f"# hers\n{file.read_text('utf-8')}", "utf-8")
    client.post("/character", data={"word": "stormy", "tempo": "quicker"})
    assert file.read_text("utf-8").startswith("# hers") and studio.characters()["stormy"].wishes == {"tempo": "quicker"}
    client.post("/character/stormy/forget")
    assert "stormy" not in studio.characters()


def test_a_word_nobody_knows_is_an_empty_character_and_one_that_ships_can_come_back(
    client: httpx.Client, studio: Studio
) -> None:
    client.post("/character", data={"word": "wie Watte"})
    assert studio.characters()["wie Watte"].wishes == {}
    assert "A word without wishes so far." in client.get("/pieces").text
    client.post("/character", data={"word": "sleepy", "tempo": "quicker"})
    assert studio.characters()["sleepy"].wishes == {"tempo": "quicker"}
    assert "It is as it came." in client.post("/character/sleepy/forget").text
    assert studio.characters()["sleepy"].wishes["tempo"] == "slower"


@pytest.mark.parametrize("word", ["", "!!!", "x" * 41])
def test_what_is_no_word_comes_back(client: httpx.Client, studio: Studio, word: str) -> None:
    answer = client.post("/character", data={"word": word, "loudness": "softer"})
    assert 'value="softer" checked' in answer.text
    assert not list(studio.folder.characters.glob("*.toml"))


def test_two_words_that_look_alike_as_files_stay_two_characters(studio: Studio) -> None:
    studio.keep_character("léger")
    studio.keep_character("leger", wishes={"tempo": "quicker"})
    assert studio.characters()["léger"].wishes == {} and studio.characters()["leger"].wishes
    assert len(list(studio.folder.characters.glob("*.toml"))) == 2


def test_a_page_of_a_piece_that_is_not_there_says_so(client: httpx.Client, furnished: PagesStudio) -> None:
    for path in ("/piece/nothing", "/piece/nothing/mark", "/character/nothing"):
        assert client.get(path).status_code == 404
