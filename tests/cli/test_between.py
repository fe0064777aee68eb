"""Takes beside each other that the studio finds by itself, by commands."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from fixtures.make.music import Music, millers_cat, pattern
from fixtures.make.player import Planted, play
from keysense.smf import take_to_smf
from keysense.studio import Studio

CAT = millers_cat()
PLAIN = Planted(ioi_noise=0.05, touch_noise=5)


def put(studio: Studio, music: Music, planted: Planted, seed: int, day: str, piece: str, pupil: str = "", **how) -> str:
    take = play(music, planted, seed).take()
    take_id = studio.add_take(take, take_to_smf(take), started_utc=f"2026-02-{day}T15:00:00Z", source="file")
    if not pupil:
        return studio.mark_model(take_id, piece).id
    return studio.name_take(take_id, pupil=pupil, piece=piece, **how).id


@pytest.fixture
def cat():
    """A pupil who has played the Cat on two days, the teacher's own playing beside it."""
    with Studio.open() as studio:
        piece = studio.add_piece("The Miller’s Cat").id
        studio.add_target(piece, CAT.target())
        pip = studio.add_pupil("Pip", agreed_by="a guardian", on="2026-01-01").id
        put(studio, CAT, Planted(ioi_noise=0.02, touch_noise=3, swell=35, arch=0.3), 1, "01", piece)
        put(studio, CAT, replace(PLAIN, tempo_qpm=110), 2, "02", piece, pip, character="sleepy")
        return put(studio, CAT, replace(PLAIN, tempo_qpm=70, swell=-35), 3, "09", piece, pip, character="sleepy")


def test_a_take_beside_the_playing_it_was_learnt_from(say, cat):
    said = say("model", cat[:8])
    assert said.code == 0, said.err
    assert "a shape of its own" in said.out and "Only the shape is compared" in said.out
    body = json.loads(say("model", cat[:8], "--json").out)
    assert {one["line"] for one in body["phrases"]} == {"loudness", "time"}
    assert say("model", "last", "--child").out == "Yours has its own shape. Did you mean it?\n"


def test_without_a_playing_of_ones_own_it_says_how_to_come_by_one(say, cat):
    with Studio.open() as studio:
        piece = studio.add_piece("Stairs").id
        music = pattern([1] * 16)
        studio.add_target(piece, music.target())
        put(studio, music, PLAIN, 1, "03", piece, studio.find_pupil("Pip").id)
        mine = play(music, PLAIN, 2).take()
        kept = studio.add_take(mine, take_to_smf(mine), started_utc="2026-02-04T15:00:00Z", source="file")
        of_pip = next(take.id for take in studio.takes(piece=piece) if take.pupil_id)
    assert "play-in" in say("model", of_pip).err
    assert "own playing of Stairs" in say("piece", "model", "stairs", kept[:8]).out
    assert say("model", of_pip).code == 0


def test_from_one_lesson_to_the_next(say, cat):
    said = say("overnight", "pip")
    assert said.code == 0, said.err
    assert said.out.startswith("Pip, The Miller’s Cat\nPace: grew overnight. The first of this day was the slower one")
    child = say("overnight", "pip", "--child").out
    assert child.startswith("The Miller’s Cat grew while you were away") and not any(c.isdigit() for c in child)
    (pair,) = json.loads(say("overnight", "pip", "--piece", "cat", "--json").out)["pieces"]
    assert {one["name"]: one["word"] for one in pair["found"]}["tempo"] == "grew overnight"


def test_by_ear_beside_from_the_page(say, cat):
    assert "Early days" in say("manners", "pip").out
    with Studio.open() as studio:
        pip = studio.find_pupil("Pip").id
        for k in range(8):
            piece = studio.add_piece(f"Tune {k}").id
            studio.add_target(piece, CAT.target())
            waits = {4: 2.5, 9: 2.5, 20: 2.5, **({13: 2.5} if k == 5 else {})} if k % 2 else {}
            manner = "from the page" if k % 2 else "by ear"
            put(studio, CAT, replace(PLAIN, waits=waits, breath_time=0.4), 20 + k, f"1{k}", piece, pip, manner=manner)
    said = say("manners", "pip").out
    assert "4 learnt by ear, 4 from the page" in said
    assert "From the page the tune waited and went back more" in said and "no word on which way" in said
    body = json.loads(say("manners", "pip", "--json").out)
    assert body["pieces"] == {"by_ear": 4, "from_the_page": 4}
    child = say("manners", "pip", "--child").out
    assert child.endswith("?\n") and not any(letter.isdigit() for letter in child)
