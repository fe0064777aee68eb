"""No untested sentence: what the docs show is run, and what there is stands in the docs."""

from __future__ import annotations

import os
import re
import runpy
import shlex
import subprocess
import sys
import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PROGRAM = Path(sys.executable).with_name("keysense")


def blocks(language: str) -> list[str]:
    found = re.findall(rf"^( *)```{language}\n(.*?)^ *```", README, re.M | re.S)
    return [re.sub(rf"^{indent}", "", body, flags=re.M) for indent, body in found]


def commands() -> list[str]:
    return [line[2:] for block in blocks("console") for line in block.splitlines() if line.startswith("$ ")]


@pytest.mark.parametrize("code", blocks("python"))
def test_each_python_example_runs(code: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    exec(compile(code, "README.md", "exec"), {})


def test_every_command_shown_runs_in_the_order_shown(tmp_path: Path) -> None:
    assert len(commands()) >= 5
    for line in commands():
        words = shlex.split(line)
        assert words[0] == "keysense"
        run = subprocess.run(
            [PROGRAM, *words[1:]], cwd=ROOT, env={**os.environ, "KEYSENSE_STUDIO": str(tmp_path / "shown")},
            capture_output=True, text=True,
        )  # fmt: skip
        assert (run.returncode, run.stderr) == (0, ""), line
        assert run.stdout, line


def test_every_command_there_is_stands_in_the_readme() -> None:
    import typer.main

    from keysense.cli import app

    there = set(typer.main.get_command(app).commands)  # type: ignore[attr-defined]
    shown = set(re.findall(r"`keysense ([a-z]+)", README))
    assert there <= shown, f"not in the README: {sorted(there - shown)}"
    assert shown <= there, f"in the README, but no such command: {sorted(shown - there)}"


def test_the_changelog_begins_with_this_version() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    newest = re.search(r"^## (\S+)", (ROOT / "CHANGELOG.md").read_text("utf-8"), re.M)
    assert newest is not None
    assert newest[1] == project["version"] == version("keysense")


def test_the_tables_in_the_docs_are_what_the_code_says() -> None:
    run = subprocess.run([sys.executable, ROOT / ".ci/write_docs.py", "--check"], capture_output=True, text=True)
    assert run.returncode == 0, run.stdout + run.stderr


def test_every_room_stands_on_the_map() -> None:
    rooms = {path.name for path in (ROOT / "keysense").iterdir() if (path / "__init__.py").exists()}
    assert all(f"`{room}/`" in DEVELOPERS or f"`{room}/`," in DEVELOPERS or f"{room}/" in DEVELOPERS for room in rooms)


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_every_make_target_named_exists(page: str) -> None:
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text("utf-8"), re.M))
    named = set(re.findall(r"\bmake ([a-z]+)\b(?=[^\n]*`|\s+#)", (ROOT / page).read_text("utf-8")))
    assert named
    assert named <= targets


PRINTED = """\
== following: 2026-11-05, 4 cores, Linux x86_64, Python 3.12.1, numpy 2.4.6
disturbance              match  intent  ms/1000   public: match, ms/1000, loss ours : public
going back              0.9900  0.9800      100    0.9600     400   0.25
another key             1.0000  1.0000       50    1.0000     500    nan

-- live
live, restart, 5018 written: right at once 0.9925, CPU 0.10 ms a note, p99 0.49 ms, most 5 ms
"""


def test_the_figures_of_following_come_from_what_the_bench_printed() -> None:
    figures = runpy.run_path(str(ROOT / ".ci" / "write_figures.py"))
    said = figures["tables"](PRINTED)
    assert "Measured on 5 November 2026: 4 cores" in said
    assert "| going back | 0.9900 | 0.9800 | 0.9600 | 0.25 | 0.25 |" in said
    assert "| another key | 1.0000 | 1.0000 | 1.0000 | none missed by either | 0.10 |" in said
    assert "| live, restart, 5018 written: right at once 0.9925" in said
    assert said in figures["written"](DEVELOPERS, PRINTED)
    with pytest.raises(SystemExit, match="day and machine"):
        figures["tables"]("nothing\n")
