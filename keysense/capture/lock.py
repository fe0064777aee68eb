"""One listener a studio: a lock that the system itself lets go of when its holder dies."""

from __future__ import annotations

from pathlib import Path

from filelock import FileLock, Timeout

from keysense.errors import AlreadyListening, JournalError
from keysense.files import what_went_wrong

__all__ = ["LOCK", "hold"]

LOCK = "listener.lock"


def hold(path: str | Path, wait_s: float = 1.0) -> FileLock:
    """Take the lock at ``path`` and keep it until `release` or the end of the process.

    A listener whose window was closed a moment ago is given ``wait_s`` to end. Raises AlreadyListening if another
    process holds it longer, JournalError where the folder cannot be written.
    """
    path = Path(path)
    lock = FileLock(path, mode=0o600)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        lock.acquire(timeout=wait_s, poll_interval=0.02)
    except Timeout as cause:
        raise AlreadyListening(
            f"keysense is already listening for the studio in {path.parent.parent}: use that window, or close it first"
        ) from cause
    except OSError as cause:
        raise JournalError(what_went_wrong(cause, path)) from cause
    return lock
