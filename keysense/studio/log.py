"""The studio's log: what keysense did, in a file that turns over by size and never holds a name.

Two studios may be open in one program, such as a teacher's own and the demo beside it: each has its own lines. A line
belongs to the studio that said it (`log_of`), else to the one for which its thread works (`working_for`), else to all.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from logging.handlers import RotatingFileHandler
from pathlib import Path

__all__ = ["log_of", "start_log", "stop_log", "working_for"]

_WORKING_FOR: ContextVar[Path | None] = ContextVar("working_for", default=None)

_SIZE = 200_000
_COPIES = 3


def start_log(folder: Path) -> logging.Handler | None:
    """Write keysense's log into a folder; None where the folder cannot be written (that is no reason to stop)."""
    root = logging.getLogger("keysense")
    path = folder / "keysense.log"
    for handler in root.handlers:
        if isinstance(handler, RotatingFileHandler) and Path(handler.baseFilename) == path.absolute():
            return None
    try:
        handler = RotatingFileHandler(path, maxBytes=_SIZE, backupCount=_COPIES, encoding="utf-8", delay=True)
    except OSError:
        return None
    handler.addFilter(lambda record: _whose(record) in (None, folder.parent.absolute()))
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    return handler


def stop_log(handler: logging.Handler | None) -> None:
    """Close a log that `start_log` opened."""
    if handler is not None:
        logging.getLogger("keysense").removeHandler(handler)
        handler.close()


def log_of(root: Path) -> logging.LoggerAdapter[logging.Logger]:
    """Where one studio says what it did. root: its folder."""
    return logging.LoggerAdapter(logging.getLogger("keysense.studio"), {"studio": root.absolute()})


@contextmanager
def working_for(root: Path) -> Iterator[None]:
    """All that this thread says inside is said of one studio."""
    token = _WORKING_FOR.set(root.absolute())
    try:
        yield
    finally:
        _WORKING_FOR.reset(token)


def _whose(record: logging.LogRecord) -> Path | None:
    said: Path | None = getattr(record, "studio", None)
    return said or _WORKING_FOR.get()
