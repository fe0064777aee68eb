"""The studio's log: what keysense did, in a file that turns over by size and never holds a name."""

from __future__ import annotations

import logging
from logging.handlers import RotatingFileHandler
from pathlib import Path

__all__ = ["start_log", "stop_log"]

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
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    return handler


def stop_log(handler: logging.Handler | None) -> None:
    """Close a log that `start_log` opened."""
    if handler is not None:
        logging.getLogger("keysense").removeHandler(handler)
        handler.close()
