"""Many takes and a known piano, by commands."""

from __future__ import annotations

import json

import pytest

from fixtures.make.many import Piano, Reader, random_card, read_card, survey_take
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted, play
from keysense.smf import take_to_smf
from keysense.studio import Studio


@pytest.fixture
def played():
    """A studio in which four pupils have played the Cat five times each; three wait before the same note."""
    cat = millers_cat()
    with Studio.open() as studio:
        piece = studio.add_piece("The Miller's Cat")
        studio.add_target(piece.id, cat.target())
        for number, name in enumerate(("Pip", "Odile", "Marek", "Juno")):
            pupil = studio.add_pupil(name, agreed_by="a guardian", on="2026-01-01")
            for k in range(5):
                waits = {18: 2.4} if number < 3 else {}
                take = play(cat, Planted(ioi_noise=0.05, waits=waits), 10 * number + k).take()
                started = f"2026-02-0{k + 1}T15:00:00Z"
                take_id = studio.add_take(take, take_to_smf(take), started_utc=started, source="file")
                studio.name_take(take_id, pupil=pupil.id, piece=piece.id)


def test_the_spots_of_a_pupil_and_of_the_piece(say, played):
    said = say("spots", "cat", "--pupil", "pip")
    assert said.code == 0, said.err
    assert said.out.splitlines()[0] == "Pip, The Miller's Cat"
    assert "waited, in 5 of 5 takes." in said.out
    assert "known tricky spot of this piece: 3 of 4 pupils" in said.out
    for name in ("Odile", "Marek", "Juno"):
        assert name not in said.out
    assert "No spot" in say("spots", "cat", "--pupil", "juno").out


def test_a_child_hears_one_sentence_of_them(say, played):
    said = say("spots", "cat", "--pupil", "pip", "--child").out
    assert said.startswith("The tune waited in ") and len(said.splitlines()) == 1
    assert not any(letter.isdigit() for letter in said)
    assert say("spots", "cat", "--child").is_one_clear_line


def test_the_spots_as_json_name_nobody_else(say, played):
    body = json.loads(say("spots", "cat", "--pupil", "pip", "--json").out)
    (spot,) = body["own"]["spots"]
    assert (spot["takes"], spot["of"], spot["kinds"]) == (5, 5, {"waited": 5})
    (tricky,) = body["over_all_pupils"]
    assert tricky == {"bar": spot["bar"], "pupils": 3, "of": 4}
    over_all = json.loads(say("spots", "cat", "--json").out)
    assert over_all["own"] is None and over_all["pupil"] is None


def test_an_erased_pupil_is_not_counted(say, played):
    with Studio.open() as studio:
        studio.erase_pupil(studio.find_pupil("Odile").id)
    assert "known tricky spot" not in say("spots", "cat").out


def test_reading_at_first_sight(say):
    with Studio.open() as studio:
        odile = studio.add_pupil("Odile", agreed_by="a guardian", on="2026-01-01")
        for k in range(3):
            music = random_card(28, k)
            piece = studio.add_piece(f"Door {k}")
            studio.add_target(piece.id, music.target())
            for again in range(2):  # only the first playing of a card is at first sight
                take = read_card(music, Reader(0.15, {} if again else {"leap": 2.0}), k).take()
                started = f"2026-02-0{k + 1}T15:0{again}:00Z"
                take_id = studio.add_take(take, take_to_smf(take), started_utc=started, source="file")
                studio.name_take(take_id, pupil=odile.id, piece=piece.id, manner="first sight")
    said = say("sight", "odile")
    assert said.code == 0, said.err
    assert said.out.splitlines()[0] == "Odile, Door 0, Door 1, Door 2"
    assert "Waited before leaps" in said.out
    assert say("sight", "odile", "--child").out == "You waited before the big jumps.\n"
    body = json.loads(say("sight", "odile", "--json").out)
    assert (body["cards"], body["why_missing"]) == (3, None)
    assert {one["word"] for one in body["classes"]} <= {"waited", "went on", "can't tell"}


def test_a_pupil_who_read_nothing_is_told_how_much_it_takes(say, played):
    assert "24 notes" in say("sight", "pip").out


def test_a_piano_is_made_known_from_a_file_and_from_the_studio(say, tmp_path):
    path = tmp_path / "survey.mid"
    path.write_bytes(take_to_smf(survey_take(Piano(), 1)))
    said = say("survey", path, "--piano", "upstairs", "--touch-setting", "medium")
    assert said.code == 0, said.err
    assert said.out.startswith("upstairs is known now.")
    with Studio.open() as studio:
        assert studio.survey_of("upstairs").touch_setting == "medium"
        take = survey_take(Piano(gamma=1.6), 2)
        studio.add_take(take, take_to_smf(take), started_utc=studio.now(), instrument="upstairs")
    said = say("survey", "last")
    assert "upstairs is known anew" in said.out and "than it did the time before" in said.out
    with Studio.open() as studio:
        assert studio.takes() == []  # it was no pupil's playing


def test_without_a_playing_the_script_is_told(say):
    assert "low C" in say("survey").out


def test_a_tune_is_no_survey(say, files):
    said = say("survey", files / "tune.mid")
    assert said.is_one_clear_line
    assert "no survey" in said.err


def test_weeks_say_how_large_a_change_must_be(say):
    cat = millers_cat()
    with Studio.open() as studio:
        piece = studio.add_piece("Cat")
        studio.add_target(piece.id, cat.target())
        pupil = studio.add_pupil("Pip", agreed_by="a guardian", on="2026-01-01")
        for k in range(12):
            take = play(cat, Planted(ioi_noise=0.05, tempo_qpm=80 + k), k).take()
            started, piano = (
                f"2026-0{1 + k // 4}-{5 + 7 * (k // 2 % 2):02}T15:0{k % 2}:00Z",
                "hall" if k == 11 else "home",
            )
            take_id = studio.add_take(take, take_to_smf(take), started_utc=started, source="file", instrument=piano)
            studio.name_take(take_id, pupil=pupil.id, piece=piece.id)
    said = say("weeks", "pip", "--piece", "cat", "--finding", "tempo", "--wish", "quicker")
    assert said.code == 0, said.err
    assert "Over the weeks: nearer the wish." in said.out
    assert "differ by less than" in said.out and "(10 takes)" in said.out and "by chance alone" in said.out
    assert "another piano" in said.out
