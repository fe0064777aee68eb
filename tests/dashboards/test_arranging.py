"""Dashboards arrange and do nothing else: no SQL, no drawing, no arithmetic; each has its question."""

from __future__ import annotations

import ast
import importlib
from pathlib import Path

import pytest
from keysense.dashboards import listening, take, two_characters, weeks

from fixtures.studio_for_pages import NOW, PagesStudio, furnish
from keysense.page import Page
from keysense.studio.studio import Studio

FOLDER = Path(take.__file__).parent
FILES = sorted(FOLDER.glob("*.py"))
NAMES = sorted(path.stem for path in FILES if not path.stem.startswith("_"))


@pytest.mark.parametrize("name", NAMES)
def test_each_has_a_question_and_a_page(name: str) -> None:
    module = importlib.import_module(f"keysense.dashboards.{name}")
    assert module.QUESTION.endswith("?") and callable(module.page)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_no_sql_no_plotting_no_web_and_no_arithmetic(path: Path) -> None:
    tree = ast.parse(path.read_text("utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            assert node.module.split(".")[0] not in ("sqlalchemy", "numpy", "scipy", "plotly", "starlette")
            assert not node.module.startswith(("keysense.plots", "keysense.web"))
        assert not (isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult | ast.Div | ast.Pow | ast.Mod))


@pytest.fixture
def room(tmp_path: Path) -> tuple[Studio, PagesStudio]:
    studio = Studio.open(tmp_path / "studio", now=lambda: NOW)
    return studio, furnish(studio, weeks=5)


def test_every_page_keeps_the_findings_behind_the_fold(room: tuple[Studio, PagesStudio]) -> None:
    studio, there = room
    pages: list[Page] = [
        listening.page(studio),
        take.page(studio, there.sleepy),
        take.page(studio, there.sleepy, guess="middle"),
        two_characters.page(studio, there.sleepy, there.proud),
        weeks.page(studio, there.odile),
    ]
    for page in pages:
        assert page.question and page.title
        assert not [
            panel for panel in page.open_panels() if panel.kind in ("findings", "dimensions", "more", "weektable")
        ]
    studio.close()


def test_a_take_without_a_piece_asks_for_its_name_before_anything_else(room: tuple[Studio, PagesStudio]) -> None:
    studio, there = room
    assert take.page(studio, there.unnamed).panels[0].kind == "naming"
    assert [panel.kind for panel in take.page(studio, there.sleepy).open_panels()][:2] == ["hear", "ask"]
    studio.close()


def test_a_card_read_at_first_sight_has_no_weeks(room: tuple[Studio, PagesStudio]) -> None:
    studio, there = room
    shown = {panel.name for panel in weeks.page(studio, there.odile).panels}
    for card in studio.takes(pupil=there.odile):
        studio.name_take(card.id, pupil=there.odile, piece=there.stairs, manner="first sight")
    assert len(shown) == 1
    assert [panel.kind for panel in weeks.page(studio, there.odile).panels] == ["text"]


def test_takes_stand_newest_first_and_pupils_in_the_order_of_the_register(room: tuple[Studio, PagesStudio]) -> None:
    studio, there = room
    rows = listening.takes(studio).content["takes"]
    assert [row["named"].take.id for row in rows] == [there.unnamed, there.proud, there.sleepy]
    links = weeks.choose(studio).panels[0].content["links"]
    assert [link["said"] for link in links] == ["Odile", "Pip"]
    studio.close()


def test_the_latest_pair_is_of_one_pupil_and_one_tune(room: tuple[Studio, PagesStudio]) -> None:
    studio, there = room
    assert two_characters.latest(studio) == (there.sleepy, there.proud)
    studio.name_take(there.unnamed, pupil=there.odile, piece=there.cat, character="sleepy")
    assert two_characters.latest(studio) == (there.sleepy, there.proud)
    studio.close()
