"""The table of limits: every row whole, the teacher's own rows laid over it, bad rows named."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from keysense.errors import PracticeError
from keysense.practice import read_practice

ROOT = Path(__file__).resolve().parents[1]


def test_every_row_that_ships_says_its_basis_and_its_source() -> None:
    for row in read_practice().rows.values():
        assert row.source and row.meaning, row.name
        if row.basis == "common practice":
            assert "no source" in row.source, row.name


def test_a_teachers_own_value_is_laid_over_the_row_and_keeps_the_rest(tmp_path: Path) -> None:
    shipped = read_practice()
    name = next(iter(shipped.rows))
    own = tmp_path / "practice.toml"
    own.write_text(f"[{name}]\nvalue = 123.5\n", "utf-8")
    laid = read_practice(own)
    assert laid.value(name) == 123.5
    assert laid.rows[name].unit == shipped.rows[name].unit
    assert laid.rows.keys() == shipped.rows.keys()


@pytest.mark.parametrize("text", ["[new]\nvalue = 3\n", "this is no TOML", "[a]\nvalue = 'three'\n", "a = 3\n"])
def test_a_row_that_cannot_be_read_is_named(tmp_path: Path, text: str) -> None:
    own = tmp_path / "practice.toml"
    own.write_text(text, "utf-8")
    with pytest.raises(PracticeError, match=r"practice\.toml"):
        read_practice(own)


def test_an_unknown_name_says_what_to_add() -> None:
    with pytest.raises(PracticeError, match="no row 'nothing'"):
        read_practice().value("nothing")


@pytest.mark.parametrize("value", ["nan", "inf", "-5", "true", "1" + "0" * 400])
def test_a_limit_that_bounds_nothing_is_refused(tmp_path: Path, value: str) -> None:
    own = tmp_path / "practice.toml"
    own.write_text(f"[drift]\nvalue = {value}\n", "utf-8")
    with pytest.raises(PracticeError, match=r"\[drift\]"):
        read_practice(own)


def _rooms(*names: str) -> dict[Path, str]:
    found = [path for name in names for path in (ROOT / name).rglob("*.py")]
    return {path: path.read_text("utf-8") for path in found}


def test_no_limit_stands_in_the_code_beside_the_table() -> None:
    """Whole numbers count notes or places; nothing and one are no limits."""
    beside = []
    for path, text in _rooms("keysense/findings", "keysense/comparing", "keysense/survey").items():
        for node in ast.walk(ast.parse(text)):
            for part in ast.walk(node) if isinstance(node, ast.Compare) else ():
                number = part.value if isinstance(part, ast.Constant) else None
                if isinstance(number, float) and number not in (0.0, 1.0) and number > 1e-3:
                    beside.append(f"{path.name}: {ast.unparse(node)}")
    assert beside == []


def test_no_row_is_without_use() -> None:
    from keysense.findings.registry import REGISTER

    text = "".join(_rooms("keysense", "dashboards").values())
    pairs = {f"{name}_{end}" for name in REGISTER for end in ("clear", "step", "staccato", "tenuto")}
    unused = [name for name in read_practice().rows if f'"{name}"' not in text and name not in {*REGISTER, *pairs}]
    assert unused == []
