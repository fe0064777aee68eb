"""A lesson kept on another machine, brought home by a form."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import httpx

from fixtures.studio_for_pages import NOW, SLEEPY, PagesStudio, play_take
from keysense.studio.studio import Studio
from keysense.words import word


def lesson_at_home(folder: Path, studio: Studio, there: PagesStudio) -> Path:
    """Another studio with one kept take of a second Pip, of the same tune."""
    with Studio.open(folder, now=lambda: NOW) as other:
        pip = other.add_pupil("Pip", agreed_by="her mother", on=date(2026, 1, 5))
        piece, music = other.add_piece("The Miller's Cat"), studio.target_of(there.cat).target
        other.add_target(piece.id, music)
        take = play_take(other, music, SLEEPY, seed=5)
        other.name_take(take, pupil=pip.id, piece=piece.id, character="sleepy")
    return folder


def test_one_child_in_two_registers_is_asked_about_and_then_her_take_comes_once(
    client: httpx.Client, studio: Studio, furnished: PagesStudio, tmp_path: Path
) -> None:
    assert 'href="/elsewhere"' in client.get("/studio").text
    assert word("gather.both") not in client.get("/elsewhere").text
    folder, before = lesson_at_home(tmp_path / "home", studio, furnished), len(studio.takes(pupil=furnished.pip))
    asked = client.post("/elsewhere", data={"folder": str(folder)})
    assert word("gather.same", pupil="Pip") in asked.text and len(studio.takes(pupil=furnished.pip)) == before
    came = client.post("/elsewhere", data={"folder": str(folder), "same": "Pip"})
    assert "1 take came in." in came.text and len(studio.takes(pupil=furnished.pip)) == before + 1
    again = client.post("/elsewhere", data={"folder": str(folder), "same": "Pip"})
    assert "0 takes came in." in again.text and "1 take was here already." in again.text


def test_a_folder_without_a_studio_comes_back_with_what_was_typed(
    client: httpx.Client, studio: Studio, furnished: PagesStudio, tmp_path: Path
) -> None:
    for folder in (str(tmp_path / "nothing"), str(studio.folder.root), " "):
        text = client.post("/elsewhere", data={"folder": folder}).text
        assert 'role="alert"' in text and f'value="{folder.strip() or folder}"' in text
    assert not (tmp_path / "nothing").exists()
