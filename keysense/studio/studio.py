"""A studio, opened: pupils, pieces, takes and what was heard in them."""

from __future__ import annotations

import logging
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from keysense.errors import StudioError
from keysense.studio.base import utc_now
from keysense.studio.characters import Characters
from keysense.studio.erasing import Erasing
from keysense.studio.folder import Settings, studio_folder, write_setting
from keysense.studio.log import start_log, stop_log
from keysense.studio.papers import Papers
from keysense.studio.parting import Parting
from keysense.studio.readings import Readings
from keysense.studio.share import Share
from keysense.studio.store import Store

__all__ = ["Studio"]


class Studio(Parting, Readings, Papers, Share, Erasing, Characters):
    """One studio. Several processes may have the same one open: they read while one of them writes.

    A context manager: ``with Studio.open() as studio``.
    """

    _log_handler: logging.Handler | None = None

    @classmethod
    def open(
        cls,
        folder: Path | str | None = None,
        *,
        create: bool = True,
        now: Callable[[], datetime] = utc_now,
    ) -> Studio:
        """Open the studio of a folder (`keysense.studio.folder` says which one None is) and bring it up to date.

        create: make it where there is none. Raises StudioError where there is none to open, or where the folder
        cannot be written, or where a newer keysense made it.
        """
        place = studio_folder(folder)
        settings = Settings.read(place.settings)
        if not create and not settings.database and not place.database.exists():
            raise StudioError(
                f"there is no studio in {place.root}: look at its path again; keysense pupil add makes one"
            )
        place.make()
        studio = cls(place, Store.open(place, settings.database), settings, now=now)
        studio._log_handler = start_log(place.log)
        return studio

    def set_setting(self, name: str, value: str | float) -> None:
        """Change one line of the studio's settings.toml; what the teacher wrote round it stays."""
        write_setting(self.folder.settings, name, value)
        self.settings = Settings.read(self.folder.settings)

    def one_moment(self) -> AbstractContextManager[None]:
        """All that this thread reads inside, as one page does, is one moment of the studio; quicker, too."""
        return self._store.one_moment()

    def close(self) -> None:
        """Let go of the database and the log."""
        stop_log(self._log_handler)
        self._log_handler = None
        self._store.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
