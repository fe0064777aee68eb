"""A note, a slip and a card by commands: drafted, signed, and only then a file."""

from __future__ import annotations

import pytest

from keysense.studio import Studio


@pytest.fixture
def kept(lesson, files):
    assert lesson("bring", files / "sleepy.mid", "--for", "pip cat sleepy").code == 0
    return lesson


@pytest.mark.parametrize("command", ["note", "slip", "card"])
def test_a_draft_is_shown_marked_and_not_written_out(kept, tmp_path, command):
    said = kept(command, "pip")
    assert said.code == 0
    assert "A draft, not signed." in said.out
    assert "sleepy" in said.out or command == "slip"
    for name in ("paper.txt", "paper.html", "paper.pdf"):
        refused = kept(command, "Pip", "--write", tmp_path / name)
        assert refused.is_one_clear_line and "sign it first" in refused.err
        assert not (tmp_path / name).exists()


def test_signed_it_is_written_as_its_ending_says(kept, tmp_path):
    assert "Signed: Ann Teacher" in kept("note", "Pip", "--sign", "Ann Teacher").out
    for name, start in (("n.txt", b"Pip, lesson note"), ("n.html", b"<!doctype html>"), ("n.pdf", b"%PDF")):
        said = kept("note", "Pip", "--write", tmp_path / name)
        assert (said.code, said.err) == (0, "")
        assert (tmp_path / name).read_bytes().startswith(start)
    page = (tmp_path / "n.html").read_text("utf-8")
    assert "Ann Teacher" in page and "<textarea" not in page and 'href="/' not in page and "src=" not in page
    with Studio.open() as studio:
        (paper,) = studio.papers(studio.find_pupil("Pip").id)
        assert paper.kind == "note" and paper.is_signed and len(paper.basis) == 1


def test_a_signed_card_is_written_with_its_picture_and_no_figure(kept, tmp_path):
    said = kept("card", "Pip", "--sign", "Ann Teacher")
    assert said.code == 0 and "Signed: Ann Teacher" in said.out
    for name, start in (("c.txt", b"Pip, card"), ("c.html", b"<!doctype html>"), ("c.pdf", b"%PDF")):
        said = kept("card", "Pip", "--write", tmp_path / name)
        assert (said.code, said.err) == (0, "")
        assert (tmp_path / name).read_bytes().startswith(start)
    page = (tmp_path / "c.html").read_text("utf-8")
    assert "<svg" in page and "<textarea" not in page and "src=" not in page
    told = [line for line in (tmp_path / "c.txt").read_text("utf-8").splitlines() if "2026" not in line]
    assert not any(sign.isdigit() for line in told[1:] for sign in line)


def test_signing_twice_keeps_the_first_signature(kept):
    kept("slip", "Pip", "--sign", "Ann")
    assert "Signed: Ann" in kept("slip", "Pip", "--sign", "Somebody").out


def test_what_cannot_be_is_one_clear_line(kept, tmp_path):
    assert kept("note", "Nobody").is_one_clear_line
    assert kept("note", "Pip", "--day", "yesterday").is_one_clear_line
    assert kept("note", "Pip", "--day", "2020-01-01", "--sign", "Ann").is_one_clear_line  # nothing on it to sign
    kept("note", "Pip", "--sign", "Ann")
    assert kept("note", "Pip", "--write", tmp_path / "no" / "such" / "folder.txt").is_one_clear_line
