"""Writes the generated tables into DEVELOPERS.md; with ``--check`` only says whether they are current."""

from __future__ import annotations

import re
import sys
from pathlib import Path

from keysense.findings.registry import REGISTER
from keysense.practice import read_practice
from keysense.words import title_of
from keysense.words.table import TABLE

ROOT = Path(__file__).resolve().parent.parent
sys.path.append(str(ROOT))  # the list of realities stands beside the tests, not in the package

from sentences import FILE as SENTENCES  # noqa: E402
from sentences import sentences  # noqa: E402

from fixtures.make.realities import REALITIES  # noqa: E402

PAGE = ROOT / "DEVELOPERS.md"


def limits() -> str:
    """Every row of the table of limits."""
    rows = ["| limit | value | unit | basis | source | meaning |", "|---|---|---|---|---|---|"]
    for row in read_practice().rows.values():
        bound = "" if row.side == "none" else f" ({row.side})"
        rows.append(
            f"| `{row.name}` | {row.value:g} | {row.unit}{bound} | {row.basis} | {row.source} | {row.meaning} |"
        )
    return "\n".join(rows)


def findings() -> str:
    """Every finding: its definition, its limit and its basis, what it was checked against and where."""
    practice = read_practice().rows
    rows = [
        "| finding | on pages | definition | unit | limit | basis | outside check | mark | test |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for row in REGISTER.values():
        bound = practice.get(row.limit)
        limit = "" if bound is None else f"{bound.value:g} {bound.unit} (`{bound.name}`)"
        basis = "" if bound is None else bound.basis
        rows.append(
            f"| `{row.name}` | {title_of(row.name)} | {row.definition} | {row.unit} | {limit} | {basis} | {row.check} "
            f"| {row.mark} | `tests/{row.test}` |"
        )
    others = sorted({key.removeprefix("title.") for key in TABLE if key.startswith("title.")} - set(REGISTER))
    said = ", ".join(f"`{name}` ({title_of(name)})" for name in others)
    rows += ["", f"Of pairs of takes, of weeks and of pianos: {said}."]
    return "\n".join(rows)


def realities() -> str:
    """Every awkward reality: what happens, what keysense does, and where that is tested."""
    rows = ["| | what happens | what keysense does | tests |", "|---|---|---|---|"]
    for row in REALITIES:
        tests = ", ".join(f"`tests/{test}`" for test in row.tests)
        rows.append(f"| {row.number} | {row.happens} | {row.does} | {tests} |")
    return "\n".join(rows)


def written(page: str) -> str:
    """The page with each generated table put in afresh."""
    tables = {"findings": findings(), "limits": limits(), "realities": realities()}
    for name, table in tables.items():
        marks = rf"(<!-- {name}: written by .ci/write_docs.py -->\n).*?(\n<!-- end -->)"
        page, found = re.subn(marks, lambda m, table=table: m[1] + table + m[2], page, flags=re.S)  # type: ignore[misc]
        if not found:
            sys.exit(f"{PAGE.name} has no place for the table {name!r}")
    return page


if __name__ == "__main__":
    said = "\n".join(sentences()) + "\n"
    if "--check" in sys.argv and SENTENCES.read_text("utf-8") != said:
        sys.exit("keysense/words/said_elsewhere.txt is not current: run make docs")
    SENTENCES.write_text(said, "utf-8")
    before = PAGE.read_text("utf-8")
    after = written(before)
    if "--check" in sys.argv and before != after:
        sys.exit("the tables in DEVELOPERS.md are not current: run make docs")
    PAGE.write_text(after, "utf-8")
