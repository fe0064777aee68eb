"""One take's page as a file that stands by itself."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fixtures.studio_for_pages import PagesStudio
from keysense.errors import ServeError
from keysense.export import LARGEST, export_take
from keysense.studio.studio import Studio


def test_the_file_holds_everything_and_asks_for_nothing(studio: Studio, furnished: PagesStudio, tmp_path: Path) -> None:
    file = export_take(studio, furnished.sleepy, tmp_path / "take.html")
    text = file.read_text("utf-8")
    assert file.stat().st_size <= LARGEST
    assert "asked and heard" in text and "<em>sleepy</em>" in text
    assert "font/woff2;base64," in text and "<script" not in text and "<form" not in text and "<link" not in text
    addresses = re.findall(r'(?:href|src|action)="([^"#][^"]*)"|url\((?!data:)([^)]*)\)', text)
    assert not [address for address in addresses if address[0] or address[1]]


def test_a_folder_that_is_not_there_is_one_line(studio: Studio, furnished: PagesStudio, tmp_path: Path) -> None:
    with pytest.raises(ServeError) as raised:
        export_take(studio, furnished.sleepy, tmp_path / "nowhere" / "take.html")
    assert "\n" not in str(raised.value)
