"""`keysense hear` where there is no piano, no MIDI system, or nowhere to write: one clear line, exit code 2."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from keysense.cli import app
from keysense.cli.glue import run


def hear(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = run(app, ["hear", *words])
    out, err = capsys.readouterr()
    return code, out, err


def test_without_rtmidi_it_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "rtmidi", None)
    code, out, err = hear(capsys, "--list")
    assert (code, out) == (2, "")
    assert "pip install 'keysense[listen]'" in err
    assert err.count("\n") == 1


def test_an_unknown_midi_system_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = hear(capsys, "--list", "--midi", "telegraph")
    assert (code, out) == (2, "")
    assert "alsa, core, jack, windows" in err


def test_a_silence_out_of_reach_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = hear(capsys, "--silence", "300")
    assert code == 2
    assert err.count("\n") == 1


def test_the_help_is_a_teachers(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = hear(capsys, "--help")
    assert code == 0
    assert "nothing to press" in out
    for word in ("port", "process", "journal", "daemon"):
        assert word not in out.lower().split()


def test_a_studio_that_cannot_be_written_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("")
    code, out, err = hear(capsys, "--studio", str(tmp_path / "file" / "studio"))
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
