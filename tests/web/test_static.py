"""The static files: each listed with its licence, each packaged, none fetched from elsewhere."""

from __future__ import annotations

import re

from keysense.web.files import STYLES
from keysense.web.render import HERE, SCRIPTS

STATIC = HERE / "static"


def test_every_file_is_listed_with_its_licence() -> None:
    listed = set(re.findall(r"^\| `([^`]+)` \|", (STATIC / "LICENCES.md").read_text("utf-8"), re.M))
    there = {path.relative_to(STATIC).as_posix() for path in STATIC.rglob("*") if path.is_file()}
    assert there == listed


def test_styles_and_scripts_name_nothing_outside() -> None:
    for name in (*STYLES, *SCRIPTS):
        text = (STATIC / name).read_text("utf-8")
        assert "//" not in re.sub(r"//.*", "", re.sub(r"/\*.*?\*/", "", text, flags=re.S)).replace("://${", "")
        assert "@import" not in text and "http:" not in text and "https:" not in text.replace('"https:"', "")


def test_nothing_is_yellow_but_what_was_asked() -> None:
    for name in STYLES[1:]:
        text = (STATIC / name).read_text("utf-8")
        for rule in re.findall(r"([^{}]+)\{[^{}]*var\(--(?:paper|slip)\)[^{}]*\}", text):
            assert re.search(r"\.paper|\.wish", rule), rule


def test_the_picture_library_is_of_the_version_that_draws_the_figures() -> None:
    from plotly.offline import get_plotlyjs_version

    head = (STATIC / "plotly-basic.min.js").read_text("utf-8")[:200]
    assert f"v{get_plotlyjs_version()}" in head and "MIT" in head
