"""The table of limits: every row whole, the teacher's own rows laid over it, bad rows named."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from fixtures.make.music import Marked, both_hands
from fixtures.make.player import Planted, play
from keysense.errors import PracticeError
from keysense.findings import look
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


def _own(folder: Path, text: str) -> Path:
    own = folder / "practice.toml"
    own.write_text(text, "utf-8")
    return own


def test_a_teachers_own_value_has_her_own_file_as_its_source(tmp_path: Path) -> None:
    shipped = read_practice().rows["tempo_step"]
    assert shipped.basis == "published"
    row = read_practice(_own(tmp_path, "[tempo_step]\nvalue = 8\n")).rows["tempo_step"]
    assert (row.value, row.basis, row.source) == (8, "common practice", "your own file")
    named = '[tempo_step]\nvalue = 8\nbasis = "computed"\nsource = "my forty lessons"\n'
    row = read_practice(_own(tmp_path, named)).rows["tempo_step"]
    assert (row.basis, row.source) == ("computed", "my forty lessons")
    row = read_practice(_own(tmp_path, '[tempo_step]\nmeaning = "so near is the same"\n')).rows["tempo_step"]
    assert (row.value, row.basis, row.source) == (shipped.value, shipped.basis, shipped.source)


@pytest.mark.parametrize(("text", "said"), [
    ("[drift]\nwhat = 3\n", r"\[drift\] has no what; it can have value"),
    ("[drift]\nvlaue = 3\n", "vlaue"),
    ("[drfit]\nvalue = 3\n", r"no row \[drfit\].*keysense practice"),
    ("[false_claims]\nvalue = 2.0\n", "above 0 and below 1"),
    ("[false_claims]\nvalue = 0\n", "above 0 and below 1"),
    ("[trend_weeks]\nvalue = 0\n", "1 or more"),
    ("[tempo_step]\nvalue = -3\n", "0 or more"),
    ("[hold_ratio_staccato]\nvalue = 75\n", "above 0, and no more than 1"),
    ("[wait]\nvalue = 0\n", "1 or more"),
    ("[pass_whole]\nvalue = 90\n", "no more than 1"),
    ('[drift]\nvalue = 8\nunit = "ms"\n', "of unit % and side both"),
])  # fmt: skip
def test_what_cannot_be_is_refused_with_its_row(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(PracticeError, match=said):
        read_practice(_own(tmp_path, text))


def test_a_row_at_either_end_of_what_it_can_be_breaks_nothing(tmp_path: Path) -> None:
    music = both_hands(4).with_phrases((0, 8), (8, 20)).with_marks(
        Marked("crescendo", 0, 8, "c1", "R"), Marked("slur", 0, 7, "s1", "R"), Marked("staccato", 8, 16, "t1", "R"),
    )  # fmt: skip
    played = play(music, Planted(ioi_noise=0.06, touch_noise=6, pedal_s=(0.03, 0.11), restart=(12, 6)), 1)
    take, target, following = played.take(), music.target(), played.following()
    for name, row in read_practice().rows.items():
        share = row.unit == "1" and row.value < 1
        for value in (1e-6, 0.999) if share else (1.0, 10 * abs(row.value) + 10):
            try:
                own = read_practice(_own(tmp_path, f"[{name}]\nvalue = {value!r}\n"))
            except PracticeError:
                continue
            assert look(take, target, following=following, practice=own).findings, (name, value)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PracticeError, match=r"nowhere\.toml"):
        read_practice(tmp_path / "nowhere.toml")


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
