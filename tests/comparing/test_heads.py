"""Whoever opens one file of comparing or of the survey finds what it takes for granted, what it finds and from whom."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import keysense.comparing
import keysense.survey

FILES = [path for room in (keysense.comparing, keysense.survey)
         for path in sorted(Path(room.__file__).parent.glob("*.py")) if path.name != "__init__.py"]  # fmt: skip


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_head_says_its_conventions_findings_and_references(path: Path) -> None:
    head = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
    titles = [line for line in head.splitlines() if line in ("Conventions", "Findings", "References")]
    assert titles == ["Conventions", "Findings", "References"]
    said = head.split("References\n")[1].strip()
    assert len(said) > 10
    assert len(path.read_text("utf-8").splitlines()) <= 250
