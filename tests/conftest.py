"""What every test shares: the repository's root is importable last, so that the installed keysense is the one tested."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
if str(ROOT) not in sys.path:
    sys.path.append(str(ROOT))


@pytest.fixture(autouse=True)
def _own_studio(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test touches the studio of whoever runs it."""
    monkeypatch.setenv("KEYSENSE_STUDIO", str(tmp_path / "studio"))
