"""Where a studio lives, and what settings.toml may say."""

from __future__ import annotations

import logging
from pathlib import Path

import pytest

from keysense.errors import StudioError
from keysense.studio import Settings, Studio, studio_folder
from keysense.studio.folder import Folder, write_setting


@pytest.fixture
def usual(tmp_path, monkeypatch) -> Path:
    monkeypatch.setattr("keysense.studio.folder.usual_folder", lambda: tmp_path / "usual")
    monkeypatch.delenv("KEYSENSE_STUDIO")
    return tmp_path / "usual"


def test_the_order_is_option_environment_settings_default(usual, tmp_path, monkeypatch):
    assert studio_folder().root == usual
    usual.mkdir()
    (usual / "settings.toml").write_text(f"studio = '{tmp_path / 'elsewhere'}'\n")
    assert studio_folder().root == tmp_path / "elsewhere"
    monkeypatch.setenv("KEYSENSE_STUDIO", str(tmp_path / "environment"))
    assert studio_folder().root == tmp_path / "environment"
    assert studio_folder(tmp_path / "option").root == tmp_path / "option"


def test_a_studio_has_its_places(tmp_path):
    with Studio.open(tmp_path / "s") as studio:
        assert studio.folder.database.exists()
        for place in (studio.folder.journal, studio.folder.characters, studio.folder.log):
            assert place.is_dir()
            assert place.parent == tmp_path / "s"


def test_nothing_is_made_where_nothing_was_to_be_made(tmp_path):
    with pytest.raises(StudioError, match="no studio in"):
        Studio.open(tmp_path / "s", create=False)
    assert not (tmp_path / "s").exists()


def test_a_folder_that_cannot_be_made_is_said_plainly(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StudioError, match="cannot be written"):
        Studio.open(tmp_path / "file" / "s")


def test_settings_are_read_and_changed_with_the_teachers_words_round_them(tmp_path):
    path = tmp_path / "settings.toml"
    path.write_text("# the room upstairs\nsilence_s = 4\n")
    assert Settings.read(path) == Settings(silence_s=4.0)
    write_setting(path, "port", "Upright")
    assert path.read_text().startswith("# the room upstairs\nsilence_s = 4\n")
    assert Settings.read(path) == Settings(silence_s=4.0, port="Upright")


@pytest.mark.parametrize(
    ("text", "said"),
    [("silence = 4", "no setting 'silence'"), ("port = 3", "should be like"), ("port", "cannot be read")],
)
def test_settings_that_cannot_be_meant_are_named(tmp_path, text, said):
    (tmp_path / "settings.toml").write_text(text)
    with pytest.raises(StudioError, match=said):
        Settings.read(tmp_path / "settings.toml")


def test_a_time_zone_that_is_none_is_named():
    with pytest.raises(StudioError, match="Europe/Lisbon"):
        _ = Settings(time_zone="Nowhere/Atall").zone
    assert str(Settings(time_zone="Europe/Lisbon").zone) == "Europe/Lisbon"


def test_the_log_turns_over_and_holds_no_name(tmp_path):
    with Studio.open(tmp_path / "s") as studio:
        studio.add_pupil("Wrenikin", agreed_by="Ottoline", on="2026-09-01")
        log = Folder(tmp_path / "s").log
        for i in range(9000):
            logging.getLogger("keysense.studio").info("padding line number %d of the log", i)
    files = sorted(log.iterdir())
    assert 2 <= len(files) <= 4
    said = b"".join(path.read_bytes() for path in files)
    assert b"renikin" not in said
    assert b"ttoline" not in said
