"""The register by commands: a copy for the guardian, a nickname that is mended."""

from __future__ import annotations

import json
import zipfile


def test_all_that_is_kept_of_a_pupil_is_copied_into_one_file(lesson, files, tmp_path):
    lesson("bring", files / "sleepy.mid", "--for", "pip cat")
    lesson("pupil", "add", "Odile", "--agreed-by", "x", "--on", "2026-09-01")
    where = tmp_path / "kept of pip.zip"
    said = lesson("pupil", "copy", "pip", where)
    assert said.code == 0 and "with one take" in said.out and str(where) in said.out
    with zipfile.ZipFile(where) as kept:
        told = json.loads(kept.read("kept.json"))
        assert len([name for name in kept.namelist() if name.endswith(".mid")]) == len(told["take"]) == 1
        assert [row["nickname"] for row in told["pupil"]] == ["Pip"]
    assert lesson("pupil", "copy", "pip", tmp_path / "pip.txt").is_one_clear_line
    assert lesson("pupil", "copy", "nobody here", where).is_one_clear_line


def test_a_nickname_is_mended(lesson):
    assert "Pip is called Pippa now" in lesson("pupil", "name", "pip", "Pippa").out
    assert "Pippa" in lesson("pupil", "list").out
    lesson("pupil", "add", "Odile", "--agreed-by", "x", "--on", "2026-09-01")
    assert lesson("pupil", "name", "pippa", "odile").is_one_clear_line
