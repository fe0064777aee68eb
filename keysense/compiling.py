"""Having the sweep of `following` and the second look compiled, once on a machine, never in front of the user.

``keysense serve`` asks for it quietly (`quietly`): a while after its start a process of its own compiles, at the lowest
priority, and what it made is read in when it is there. By hand: ``python -m keysense.compiling``. Where the compiler
(numba, the extra ``fast``) is not installed, nothing happens.
"""

from __future__ import annotations

import hashlib
import os
import platform
import subprocess
import sys
import threading
import time
from importlib import metadata, util
from pathlib import Path

__all__ = ["LOOKS", "OFF", "folder", "main", "quietly"]

OFF = "KEYSENSE_NO_COMPILER"  # set to anything: never compiled, never loaded
LOOKS = ("attempts", "looks", "pairing", "same_pitch", "surest")  # files whose plain functions are compiled, too

_AFTER_S = 20.0  # after the start: the first pages come before
_AGAIN_S = 86_400.0  # a compiling that came to nothing is tried again after a day
_MOST_S = 900.0


def folder() -> Path | None:
    """Where what is compiled for this machine, this Python and this source is kept; None without a compiler."""
    if os.environ.get(OFF) or util.find_spec("numba") is None:
        return None
    from platformdirs import user_cache_path

    here = Path(__file__).parent / "following"
    try:
        parts = [platform.node(), platform.machine(), sys.version, str(here)]
        parts += [metadata.version(name) for name in ("numba", "llvmlite", "numpy")]
        for source in [*sorted(here.glob("kernel*.py")), *(here / f"{name}.py" for name in LOOKS)]:
            parts += [source.read_text("utf-8"), str(source.stat().st_mtime_ns)]
    except (OSError, metadata.PackageNotFoundError):
        return None
    return user_cache_path("keysense", appauthor=False) / hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]


def quietly(after_s: float = _AFTER_S) -> threading.Thread:
    """Have it compiled if it never was, and read it in; all of it behind what the user does."""
    thread = threading.Thread(target=_behind, args=(after_s,), name="compiling", daemon=True)
    thread.start()
    return thread


def _behind(after_s: float) -> None:
    from keysense.following import fast

    time.sleep(after_s)
    at = folder()
    if at is None or fast.load(at) or not _is_turn(at):
        return
    try:
        subprocess.run(
            [sys.executable, "-m", "keysense.compiling"], check=False, timeout=_MOST_S,
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            start_new_session=True, creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )  # fmt: skip
    except (OSError, subprocess.TimeoutExpired):
        return
    fast.load(at)


def _is_turn(at: Path) -> bool:
    """Whether nobody tried within a day; says that this process now does."""
    tried = at / "tried"
    try:
        if tried.is_file() and time.time() - tried.stat().st_mtime < _AGAIN_S:
            return False
        at.mkdir(parents=True, exist_ok=True)
        tried.touch()
    except OSError:  # no place to keep it
        return False
    return True


def main() -> int:
    """Compile now, in this process, giving way to every other; 0 where it was compiled and checked."""
    at = folder()
    if at is None:
        print("numba is not installed: following goes on without it", file=sys.stderr)  # noqa: T201
        return 1
    if hasattr(os, "nice"):
        os.nice(15)
    from keysense.following import fast

    return 0 if fast.compile_into(at) else 1


if __name__ == "__main__":
    sys.exit(main())
