"""``make bench`` runs every set, ``make bench BENCH=following`` one: each ``bench_NAME.py`` has a ``main()``.

What is printed is also kept in ``bench-results/NAME.txt``, with the date and the machine.
"""

from __future__ import annotations

import contextlib
import importlib
import io
import os
import platform
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TextIO

import numpy as np

HERE = Path(__file__).resolve().parent
RESULTS = HERE.parents[1] / "bench-results"


class Both(io.StringIO):
    """Writes to the screen and to the file kept."""

    def __init__(self, kept: TextIO, screen: TextIO) -> None:
        super().__init__()
        self.kept, self.screen = kept, screen

    def write(self, text: str) -> int:
        self.screen.write(text)
        self.screen.flush()
        return self.kept.write(text)

    def flush(self) -> None:
        self.screen.flush()


def main(names: list[str]) -> None:
    sets = sorted(path.stem.removeprefix("bench_") for path in HERE.glob("bench_*.py"))
    unknown = [name for name in names if name not in sets]
    if unknown:
        sys.exit(f"no such set: {', '.join(unknown)}; there are {', '.join(sets)}")
    RESULTS.mkdir(exist_ok=True)
    sys.path.append(str(HERE.parents[1]))  # last, so that the installed keysense is the one measured
    for name in names or sets:
        both = (RESULTS / f"{name}.txt").open("w", encoding="utf-8")
        with both, contextlib.redirect_stdout(Both(both, sys.stdout)):
            print(f"== {name}: {datetime.now(UTC):%Y-%m-%d}, {machine()}")
            importlib.import_module(f"bench_{name}").main()


def machine() -> str:
    """What this was measured on, without a name or a path."""
    return (
        f"{os.cpu_count()} cores, {platform.system()} {platform.machine()}, Python {platform.python_version()}, "
        f"numpy {np.__version__}"
    )


if __name__ == "__main__":
    main(sys.argv[1:])
