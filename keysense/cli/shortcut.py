"""``keysense shortcut``: an icon that opens the lesson pages."""

from __future__ import annotations

import sys
from importlib.resources import as_file, files
from pathlib import Path

from keysense.cli.glue import echo
from keysense.errors import KeysenseError

__all__ = ["shortcut"]


def shortcut() -> None:
    """Put an icon on the desktop that opens keysense, ready for the next lesson."""
    echo(f"The icon is on the desktop: {place_icon()}")


def place_icon() -> Path:
    """Make the icon and say where it lies; raises KeysenseError where the desktop cannot be written."""
    from pyshortcuts import make_shortcut

    icon = "keysense.icns" if sys.platform == "darwin" else "keysense.ico"
    try:
        with as_file(files("keysense.cli").joinpath("icons", icon)) as path:
            made = make_shortcut(
                "_ -m keysense serve",
                name="keysense",
                description="Listens to the piano in the lesson",
                icon=str(path),
                executable=sys.executable,
                terminal=False,
            )
    except OSError as cause:
        raise KeysenseError(
            f"the icon could not be written ({cause}): start keysense by typing 'keysense serve' instead"
        ) from cause
    return Path(made.desktop_dir) / str(made.target)
