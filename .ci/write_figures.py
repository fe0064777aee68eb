"""Writes what ``make bench BENCH=following`` kept in bench-results/following.txt into DEVELOPERS.md, as tables."""

from __future__ import annotations

import re
import sys
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE, KEPT = ROOT / "DEVELOPERS.md", ROOT / "bench-results" / "following.txt"
NAME = "figures of following"

_ROW = re.compile(
    r"^(?P<name>\S.*?) +(?P<match>\d\.\d{4}) +(?P<intent>\d\.\d{4}) +(?P<ms>\d+)"
    r" +(?P<public>\d\.\d{4}) +(?P<public_ms>\d+) +(?P<missed>\S+)$"
)


def tables(kept: str) -> str:
    """The day and the machine, a row a disturbance, and the lines on time and memory as they were printed."""
    head, *lines = kept.splitlines()
    found = re.match(r"== following: (\d{4}-\d\d-\d\d), (.+)", head)
    if not found:
        sys.exit(f"{KEPT.name} does not begin with its day and machine: run make bench BENCH=following")
    day = date.fromisoformat(found[1])
    rows = [row for line in lines if (row := _ROW.match(line))]
    if not rows:
        sys.exit(f"{KEPT.name} holds no row with the public matcher: pip install '.[bench]', then run the bench again")
    others = [line for line in lines if re.match(r"(live|numpy|compiled)\b.*[,:] ", line)]
    return "\n".join([
        f"Measured on {day.day} {day:%B %Y}: {found[2]}.", "",
        "| disturbance | F1 | intent | public F1 | missed, ratio | time, ratio |", "|---|---|---|---|---|---|",
        *map(_written, rows), "", "| live, time and memory, as printed |", "|---|", *(f"| {line} |" for line in others),
    ])  # fmt: skip


def _written(row: re.Match[str]) -> str:
    missed = "none missed by either" if row["missed"] == "nan" else row["missed"]
    time = int(row["ms"]) / int(row["public_ms"])
    return f"| {row['name']} | {row['match']} | {row['intent']} | {row['public']} | {missed} | {time:.2f} |"


def written(page: str, kept: str) -> str:
    """The page with its tables put in afresh."""
    marks = rf"(<!-- {NAME}: written by .ci/write_figures.py -->\n).*?(\n<!-- end -->)"
    page, found = re.subn(marks, lambda m: m[1] + tables(kept) + m[2], page, flags=re.S)
    if not found:
        sys.exit(f"{PAGE.name} has no place for the {NAME}")
    return page


if __name__ == "__main__":
    if not KEPT.is_file():
        sys.exit("there are no figures yet: run make bench BENCH=following")
    PAGE.write_text(written(PAGE.read_text("utf-8"), KEPT.read_text("utf-8")), "utf-8")
