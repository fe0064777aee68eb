"""Whatever is wrong with what is given: exit code 2, one clear line, nothing on stdout, nothing lost."""

from __future__ import annotations

import socket
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from keysense.smf import take_to_smf
from keysense.studio import Studio

from .conftest import played

BOMB = """<?xml version="1.0"?>
<!DOCTYPE score-partwise [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">
<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;"><!ENTITY d "&c;&c;&c;&c;&c;&c;&c;&c;&c;&c;">]>
<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>&d;</part-name></score-part></part-list>
<part id="P1"><measure number="1"/></part></score-partwise>"""


@pytest.fixture
def bad(tmp_path: Path) -> Path:
    place = tmp_path / "bad"
    place.mkdir()
    whole = take_to_smf(played())
    (place / "empty.mid").write_bytes(b"")
    (place / "half.mid").write_bytes(whole[: len(whole) // 2])
    (place / "header.mid").write_bytes(whole[:14])
    (place / "text.mid").write_text("Dear teacher, here is my playing.\n" * 20)
    (place / "noise.mid").write_bytes(np.random.default_rng(1).bytes(3_000_000))
    (place / "empty.musicxml").write_bytes(b"")
    (place / "text.musicxml").write_text("no score at all")
    (place / "bomb.musicxml").write_text(BOMB)
    (place / "noise.mxl").write_bytes(np.random.default_rng(2).bytes(3_000_000))
    (place / "song.wav").write_bytes(b"RIFF")
    return place


@pytest.mark.parametrize("name", ["empty.mid", "half.mid", "header.mid", "text.mid", "noise.mid", "missing.mid"])
@pytest.mark.parametrize("command", ["look", "bring"])
def test_a_take_that_cannot_be_read(say, bad, files, name, command, tmp_path):
    more = ("--target", files / "tune.mid") if command == "look" else ()
    said = say(command, bad / name, *more)
    assert said.is_one_clear_line, said
    assert name in said.err


@pytest.mark.parametrize(
    "name",
    ["empty.mid", "text.mid", "noise.mid", "empty.musicxml", "text.musicxml", "bomb.musicxml", "noise.mxl", "song.wav",
     "missing.musicxml"],
)  # fmt: skip
def test_music_that_cannot_be_read(say, bad, files, name):
    for words in (("look", files / "sleepy.mid", "--target", bad / name), ("piece", "add", bad / name)):
        said = say(*words)
        assert said.is_one_clear_line, said
        assert name in said.err


def test_one_bad_file_among_good_ones_brings_none(say, bad, files):
    assert say("bring", files / "sleepy.mid", bad / "half.mid").is_one_clear_line
    with Studio.open() as studio:
        assert studio.takes() == []


def test_a_playing_without_a_key_pressed_is_not_brought(say, files):
    assert say("bring", files / "nothing.mid").is_one_clear_line


@pytest.mark.parametrize(
    "words",
    [
        ("look", "last"),
        ("look", "nosuchtake"),
        ("look", "ab"),
        ("look", "abcdef12"),
        ("look", "last", "--target", "no such piece"),
        ("beside", "last", "abcd"),
        ("weeks", "nobody"),
        ("name", "pip", "cat"),
        ("drop",),
        ("drop", "--undo"),
        ("export", "last", "out.html"),
        ("pupil", "add", "Pip"),
        ("pupil", "add", "Pip", "--agreed-by", "x", "--on", "someday"),
        ("pupil", "erase", "nobody", "--yes"),
        ("piece", "play-in", "New Tune"),
        ("piece", "list", "--nonsense"),
        ("serve", "--port", "0"),
        ("serve", "--port", "seven"),
        ("practice", "nothing"),
        ("no-such-command",),
        ("look",),
        ("pupil",),
    ],
    ids=" ".join,
)
def test_words_that_name_nothing(say, words):
    said = say(*words)
    assert said.is_one_clear_line, said


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--finding", "nope"), "hold_ratio"),
        (("--finding", "tempo", "--wish", "joined"), "slower, quicker"),
        (("--finding", "drift", "--wish", "even"), "lower, higher"),
        (("--wish", "nope"), "even, free"),
    ],
)
def test_weeks_name_what_can_be_followed_and_wished(lesson, words, named):
    said = lesson("weeks", "pip", "--piece", "cat", *words)
    assert said.is_one_clear_line, said
    assert named in said.err


@pytest.mark.parametrize("name", ["page.txt", "page", "page.html.gz"])
def test_a_page_goes_into_a_file_that_ends_in_html(lesson, files, tmp_path, name):
    lesson("bring", files / "sleepy.mid", "--for", "pip cat")
    said = lesson("export", "last", tmp_path / name)
    assert said.is_one_clear_line, said
    assert ".html" in said.err
    assert not (tmp_path / name).exists()


def test_a_file_needs_its_tune(say, files):
    said = say("look", files / "sleepy.mid")
    assert said.is_one_clear_line
    assert "--target" in said.err


def test_an_unknown_character_is_named_with_those_there_are(lesson, files):
    said = lesson(
        "beside", files / "sleepy.mid", files / "proud.mid", "--target", files / "tune.mid", "--wants-a", "purple"
    )
    assert said.is_one_clear_line
    assert "sleepy" in said.err


def test_a_character_file_that_cannot_be_read(say, files, tmp_path):
    (tmp_path / "odd.toml").write_text("word = ")
    said = say(
        "beside", files / "sleepy.mid", files / "proud.mid", "--target", files / "tune.mid",
        "--wants-a", tmp_path / "odd.toml",
    )  # fmt: skip
    assert said.is_one_clear_line
    assert "odd.toml" in said.err


def test_a_character_file_that_asks_for_nothing_of_this_tune_is_refused(say, files, tmp_path):
    beyond = '[[marks]]\nkind = "crescendo"\nstart_quarter = 800\nend_quarter = 808\n'
    for text, named in (('[wish]\ntempo = "slower"\n', "did you mean 'wishes'"), (beyond, "the music ends at")):
        (tmp_path / "odd.toml").write_text(text)
        take, tune = files / "sleepy.mid", files / "tune.mid"
        said = say("look", take, "--target", tune, "--character", tmp_path / "odd.toml")
        assert said.is_one_clear_line
        assert named in said.err


def test_settings_that_cannot_be_read_are_named(say, tmp_path):
    (tmp_path / "studio").mkdir()
    (tmp_path / "studio" / "settings.toml").write_text("silence_s = 'long'\n")
    said = say("pupil", "list")
    assert said.is_one_clear_line
    assert "settings.toml" in said.err


def test_a_page_number_that_is_in_use(lesson):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        said = lesson("serve", "--no-browser", "--port", taken.getsockname()[1])
    assert said.is_one_clear_line, said


def test_the_demo_plays_nothing_where_its_page_number_is_in_use(say, monkeypatch):
    played = []
    monkeypatch.setattr("keysense.demo.telling.tell", lambda *given: played.append(given))
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        said = say("demo", "--no-browser", "--port", port)
    assert said.is_one_clear_line, said
    assert f"keysense demo --port {port + 1 if port < 65535 else 8766}" in said.err
    assert not played


def test_the_program_itself_ends_with_2_and_one_line(files, bad):
    said = subprocess.run(
        [sys.executable, "-m", "keysense", "look", str(bad / "text.mid"), "--target", str(files / "tune.mid")],
        capture_output=True, text=True, cwd=files,
    )  # fmt: skip
    assert (said.returncode, said.stdout, len(said.stderr.splitlines())) == (2, "", 1), said
    assert said.stderr.startswith("keysense: ")


def test_a_reader_that_goes_away_is_no_fault(files):
    program = f"{sys.executable} -m keysense practice | head -1"
    said = subprocess.run(program, shell=True, capture_output=True, text=True, cwd=files)
    assert said.stderr == ""
    assert len(said.stdout.splitlines()) == 1


def test_an_unknown_character_without_any_studio(say, files):
    said = say(
        "beside", files / "sleepy.mid", files / "proud.mid", "--target", files / "tune.mid", "--wants-a", "purple"
    )
    assert said.is_one_clear_line
    assert "proud, sleepy" in said.err
    assert say("look", files / "sleepy.mid", "--target", files / "tune.mid", "--character", "purple").is_one_clear_line
    assert say("look", files / "sleepy.mid", "--target", files / "tune.mid", "--character", "Slepy").code == 0
