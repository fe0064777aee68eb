"""The demo studio beside the teacher's own: made in a folder of its own, shown in its place, removed by one press."""

from __future__ import annotations

import logging
import shutil
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Literal

from keysense.errors import KeysenseError, StudioError
from keysense.studio.log import working_for
from keysense.studio.studio import Studio

__all__ = ["DemoRoom"]

State = Literal["none", "making", "ready", "spoilt"]


class DemoRoom:
    """The demo studio of one teacher's studio. ``lines``: what was told while it was made; ``why``: what went wrong.

    Listening goes on in the teacher's own studio all the while.
    """

    def __init__(self, own: Studio, tell: Callable[[], None] = lambda: None) -> None:
        self.own, self._tell = own, tell
        self._lock = threading.Lock()
        self._open: Studio | None = None
        self._making = False
        self.shown = False
        self.lines: list[str] = []
        self.why = ""

    @property
    def studio(self) -> Studio:
        """The studio that the pages show."""
        with self._lock:
            return self._open if self.shown and self._open is not None else self.own

    @property
    def state(self) -> State:
        """Whether it is there."""
        if self._making:
            return "making"
        return "ready" if self._folder.exists() else "spoilt" if self.why else "none"

    def open(self) -> bool:
        """Show it; where there is none yet it is begun to be made, and False is given back."""
        with self._lock:
            state = self.state
            if state == "ready":
                self._open = self._open or Studio.open(self._folder, create=False)
                self.shown = True
                return True
            if state != "making":
                self.lines, self.why, self._making = [], "", True
                threading.Thread(target=self._make, name="keysense demo studio", daemon=True).start()
            return False

    def leave(self) -> None:
        """Show the teacher's own studio again."""
        self.shown = False

    def remove(self) -> None:
        """Take it away, all of it; raises StudioError where the machine does not let it be taken."""
        with self._lock:
            if self.state == "making":
                raise StudioError("the demo studio is being made just now: remove it when it is there")
            self.shown = False
            self.close()
            try:
                if self._folder.exists():
                    shutil.rmtree(self._folder)
            except OSError as cause:
                raise StudioError(f"{self._folder} cannot be removed ({cause.strerror}): delete it by hand") from cause

    def close(self) -> None:
        """Let go of its files."""
        if self._open is not None:
            self._open.close()
            self._open = None

    @property
    def _folder(self) -> Path:
        return self.own.folder.demo

    def _make(self) -> None:
        """In a folder beside, which gets its name when all is there: half a studio is none."""
        from keysense.demo.telling import tell

        half = self._folder.with_name(f"{self._folder.name}.half")
        try:
            shutil.rmtree(half, ignore_errors=True)
            with working_for(half), Studio.open(half) as studio:
                tell(studio, self._said)
                studio.remember("demo", {"beside": True})
            half.rename(self._folder)
        except (KeysenseError, OSError) as cause:
            self.why = str(cause)
            logging.getLogger("keysense.web").exception("the demo studio could not be made")
            shutil.rmtree(half, ignore_errors=True)
        finally:
            self._making = False  # before the last word, which is what a page looks afresh at
        self._tell()

    def _said(self, line: str) -> None:
        self.lines.append(line)
        self._tell()
