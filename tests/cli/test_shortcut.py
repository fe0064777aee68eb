"""The icon on the desktop starts what a teacher would type."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.skipif(sys.platform != "linux", reason="reads the desktop entry that Linux desktops use")
def test_the_icon_starts_the_pages(tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-m", "keysense", "shortcut"],
        cwd=tmp_path, env={**os.environ, "HOME": str(tmp_path)}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    entry = tmp_path / "Desktop" / "keysense.desktop"
    assert str(entry) in run.stdout
    lines = dict(line.split("=", 1) for line in entry.read_text("utf-8").splitlines() if "=" in line)
    assert shlex.split(lines["Exec"]) == [sys.executable, "-m", "keysense", "serve"]
    assert Path(lines["Icon"]).is_file()
    assert lines["Terminal"] == "false"
