"""A lesson by commands: what each says, and what it leaves in the studio."""

from __future__ import annotations

import json
from pathlib import Path

import mido
import pytest

from keysense.cli import app
from keysense.studio import Studio


def commands() -> list[tuple[str, ...]]:
    found = [(info.name,) for info in app.registered_commands]
    for group in app.registered_groups:
        found += [
            (group.name, info.name or info.callback.__name__) for info in group.typer_instance.registered_commands
        ]
    return found


@pytest.mark.parametrize("words", commands(), ids=" ".join)
def test_every_command_explains_itself(say, words):
    said = say(*words, "--help")
    assert (said.code, said.err) == (0, "")
    assert len(said.out.splitlines()) > 4
    for inside in ("<str>", "<int>", "{", "sql", "json schema", "traceback", "ioi", "recipe", "interval"):
        assert inside not in said.out.lower()


def test_keysense_alone_tells_what_it_is_and_what_it_can(say):
    said = say()
    assert said.code == 0
    for words in commands():
        assert words[0] in said.out
    assert "never" in said.out


def test_the_version_is_told(say):
    assert say("--version").out.startswith("keysense ")


def test_a_take_is_brought_named_and_looked_at(lesson, files):
    said = lesson("bring", files / "sleepy.mid", "--for", "pip cat slepy")
    assert said.code == 0
    assert "Pip, The Miller's Cat, sleepy" in said.out
    looked = lesson("look", "last")
    assert looked.code == 0
    assert "quarters a minute" in looked.out
    assert len(looked.out.splitlines()) <= 7  # the title, five sentences, and that there is more
    assert len(lesson("look", "last", "--all").out.splitlines()) > 8


def test_what_is_brought_without_a_name_waits(lesson, files):
    said = lesson("bring", files / "sleepy.mid", files / "random.mid")
    assert "perhaps The Miller's Cat" in said.out
    assert "no name yet" in said.out
    with Studio.open() as studio:
        assert [take.state for take in studio.takes()] == ["waiting", "waiting"]
        assert studio.takes()[0].source == "file"


def test_the_day_of_a_take_can_be_told(lesson, files):
    lesson("bring", files / "sleepy.mid", "--on", "2026-09-07")
    with Studio.open() as studio:
        [take] = studio.takes()
        assert take.started_utc.astimezone(studio.settings.zone).date().isoformat() == "2026-09-07"


def test_the_music_of_a_brought_file_is_kept_as_it_was(lesson, files):
    lesson("bring", files / "sleepy.mid")
    with Studio.open() as studio:
        assert studio.take_smf("last") == (files / "sleepy.mid").read_bytes()


def test_a_take_is_named_afterwards_in_any_words(lesson, files):
    lesson("bring", files / "sleepy.mid")
    said = lesson("name", "sleepy", "cat", "pip")
    assert said.out.endswith("Pip, The Miller's Cat, sleepy.\n")
    with Studio.open() as studio:
        ref = studio.take("last").id
    assert "proud" in lesson("name", ref[:6], "proud").out


def test_a_doubtful_name_is_asked_and_nothing_is_done(lesson, files):
    lesson("piece", "add", files / "tune.mid", "--title", "Cat and Dog")
    lesson("bring", files / "sleepy.mid")
    said = lesson("name", "pip", "cat")
    assert said.is_one_clear_line
    assert "Cat and Dog" in said.err
    assert "Miller" in said.err
    assert lesson("name", "last", "pip", "umbrella", "zebra").is_one_clear_line
    with Studio.open() as studio:
        assert studio.take("last").state == "waiting"


def test_a_new_character_needs_a_yes(lesson, files):
    lesson("bring", files / "sleepy.mid")
    assert "new character" in lesson("name", "pip millers gloomy").err
    assert "gloomy" in lesson("name", "pip millers gloomy", "--yes").out


def test_dropping_and_taking_back(lesson, files):
    lesson("bring", files / "sleepy.mid", "--for", "pip cat")
    assert "--undo" in lesson("drop").out
    assert lesson("look", "last").is_one_clear_line
    assert "is back: Pip" in lesson("drop", "--undo").out
    lesson("drop")
    assert "is back: Pip" in lesson("drop", "last", "--undo").out
    assert lesson("look", "last").code == 0


def test_a_piece_is_played_in_and_the_take_becomes_the_teachers_own(lesson, files):
    lesson("bring", files / "tune.mid")
    said = lesson("piece", "play-in", "By Ear", "--tempo", "120")
    assert said.code == 0, said.err
    assert "26 notes" in said.out
    with Studio.open() as studio:
        take = studio.take("last")
        assert take.is_model
        assert studio.piece(take.piece_id).title == "By Ear"
        assert studio.target_of(take.piece_id).kind == "model"
    assert "played in" in lesson("piece", "list").out


def test_the_same_title_again_is_a_new_version(lesson, files):
    assert "version 2" in lesson("piece", "add", files / "tune.mid", "--title", "the millers cat").out


def test_weeks_of_the_standing_warm_up(lesson, files):
    lesson("piece", "add", files / "tune.mid", "--title", "Stairs", "--warm-up", "right")
    for week, name in enumerate(("sleepy", "proud"), 1):
        lesson("bring", files / f"{name}.mid", "--for", "pip stairs", "--on", f"2026-09-{7 * week:02d}")
    said = lesson("weeks", "pip", "--finding", "tempo", "--wish", "slower", "--hand", "")
    assert said.code == 0, said.err
    assert "2026, week 37" in said.out
    assert "2026, week 38" in said.out
    assert "can’t tell yet" in said.out
    body = json.loads(lesson("weeks", "pip", "--json").out)
    assert len(body["weeks"]) == 2
    assert (body["piece"], body["hand"]) == ("Stairs", "R")


def test_weeks_of_a_piece_are_told_hand_by_hand(lesson):
    fixtures = Path(__file__).parents[2] / "fixtures"
    lesson("piece", "add", fixtures / "scores" / "up_and_down_the_stairs.musicxml", "--title", "Stairs")
    lesson("bring", fixtures / "takes" / "even_stairs.mid", "--for", "pip stairs", "--on", "2026-09-07")
    said = lesson("weeks", "pip", "--piece", "stairs")
    assert said.code == 0, said.err
    assert "right hand" in said.out
    assert "Nothing" not in said.out


def test_weeks_of_two_hands_are_one_line_a_hand(lesson, tmp_path):
    file = mido.MidiFile(type=1, ticks_per_beat=480)
    for first in (72, 48):
        ladder = [first + step for step in (0, 2, 4, 5, 7, 5, 4, 2)] * 2
        keys = [(kind, key, wait) for key in ladder for kind, wait in (("note_on", 80), ("note_off", 400))]
        file.tracks.append(mido.MidiTrack(mido.Message(kind, note=key, time=wait) for kind, key, wait in keys))
    file.save(tmp_path / "ladders.mid")
    assert lesson("piece", "add", tmp_path / "ladders.mid", "--title", "Two Ladders", "--warm-up", "both").code == 0
    brought = lesson("bring", tmp_path / "ladders.mid", "--for", "pip ladders", "--on", "2026-09-07")
    assert brought.code == 0, brought.err
    said = lesson("weeks", "pip")
    assert said.code == 0, said.err
    assert [words in said.out for words in ("right hand", "left hand", "Nothing")] == [True, True, False], said.out
    assert [line["hand"] for line in json.loads(lesson("weeks", "pip", "--json").out)] == ["R", "L"]


def test_the_register_shows_who_may_be_kept(lesson):
    assert "takes are kept" in lesson("pupil", "list").out
    lesson("pupil", "withdraw", "pip")
    assert "nothing is kept" in lesson("pupil", "list").out
    lesson("pupil", "agree", "pip", "--agreed-by", "her father", "--on", "2026-10-01")
    assert "2026-10-01" in lesson("pupil", "list").out


def test_a_pupil_is_erased_on_word(lesson, files):
    lesson("bring", files / "sleepy.mid", "--for", "pip cat")
    assert "with one take." in lesson("pupil", "erase", "Pip", "--yes").out
    assert "Nobody yet" in lesson("pupil", "list").out


def test_the_table_of_limits_says_where_each_comes_from(say):
    said = say("practice")
    assert said.code == 0
    assert "no source" in said.out
    one = say("practice", "drift").out
    assert one.startswith("drift: within")
    assert set(json.loads(say("practice", "drift", "--json").out)) == {"drift"}
    assert say("practice", "nothing-such").is_one_clear_line


def test_the_studio_may_be_named_on_any_command(say, tmp_path):
    for words in (
        ("--studio", tmp_path / "a", "pupil", "add", "Pip"),
        ("pupil", "add", "Pip", "--studio", tmp_path / "b"),
    ):
        assert say(*words, "--agreed-by", "x", "--on", "2026-09-01").code == 0
    assert (tmp_path / "a" / "studio.sqlite").exists()
    assert (tmp_path / "b" / "studio.sqlite").exists()


def test_what_comes_next_is_said_before_it_is_played(lesson):
    assert lesson("name", "--next", "pip", "cat", "sleepy").out == "What comes next: Pip, The Miller's Cat, sleepy.\n"
    assert lesson("name", "--next", "pip", "umbrella", "zebra").is_one_clear_line


def test_without_an_agreement_a_take_is_not_kept_and_one_line_says_how(lesson, files):
    lesson("pupil", "withdraw", "pip")
    lesson("bring", files / "sleepy.mid")
    said = lesson("name", "pip", "cat")
    assert said.is_one_clear_line
    assert "--agreed-by" in said.err
    assert lesson("look", "last").code == 0


def test_on_a_terminal_a_sign_of_life_comes_and_goes(capsys, monkeypatch):
    import sys
    import threading

    from keysense.cli.glue import progress

    seen = threading.Event()
    write = sys.stderr.write
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(sys.stderr, "write", lambda text: (write(text), seen.set() if "1 s" in text else None))
    with progress("listening again"):
        assert seen.wait(10)
    err = capsys.readouterr().err
    assert err.startswith("\rlistening again ... 1 s")
    assert err.endswith(" \r")


def test_where_no_terminal_is_nothing_is_added_to_stderr(capsys):
    import time

    from keysense.cli.glue import progress

    with progress("listening again"):
        time.sleep(1.2)
    assert capsys.readouterr().err == ""
