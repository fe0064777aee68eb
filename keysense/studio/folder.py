"""Where a studio lives, and the teacher's own settings file in it.

Order: the folder given, the environment's ``KEYSENSE_STUDIO``, ``studio = "..."`` in the settings.toml of the usual
place, the usual place itself (the user's data folder).
"""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass, fields
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from keysense.errors import StudioError

__all__ = ["Folder", "Settings", "studio_folder", "usual_folder", "write_setting"]

ENVIRONMENT = "KEYSENSE_STUDIO"


@dataclass(frozen=True)
class Folder:
    """The paths inside one studio folder."""

    root: Path

    @property
    def database(self) -> Path:
        """The one file that holds pupils, pieces, takes and findings."""
        return self.root / "studio.sqlite"

    @property
    def journal(self) -> Path:
        """The day's listening."""
        return self.root / "journal"

    @property
    def characters(self) -> Path:
        """The studio's own characters, one plain file each."""
        return self.root / "characters"

    @property
    def settings(self) -> Path:
        """The teacher's settings."""
        return self.root / "settings.toml"

    @property
    def log(self) -> Path:
        """What keysense did, without names."""
        return self.root / "log"

    @property
    def tempo_words(self) -> Path:
        """The teacher's own table of tempo words, where she has written one."""
        return self.root / "tempo_words.toml"

    @property
    def practice(self) -> Path:
        """The teacher's own rows of the table of limits."""
        return self.root / "practice.toml"

    @property
    def own_practice(self) -> Path | None:
        """The same where she has written any."""
        return self.practice if self.practice.exists() else None

    @property
    def demo(self) -> Path:
        """The demo studio, a studio of its own; not there unless it was opened."""
        return self.root / "demo"

    def make(self) -> None:
        """Make the folder and the folders in it; raises StudioError where that is not allowed."""
        try:
            for place in (self.root, self.journal, self.characters, self.log):
                place.mkdir(parents=True, exist_ok=True)
        except OSError as cause:
            raise StudioError(
                f"the studio folder {self.root} cannot be written ({cause.strerror or cause}): "
                "choose another with --studio, or allow writing there"
            ) from cause


@dataclass(frozen=True)
class Settings:
    """What settings.toml may say. Every line may be left out.

    studio: folder of another studio (read only in the usual place). database: a database URL instead of the file.
    port: part of the piano's name. silence_s: seconds of silence that end a take. time_zone: such as
    "Europe/Lisbon"; empty is this computer's. language: of the words.
    """

    studio: str = ""
    database: str = ""
    port: str = ""
    silence_s: float = 3.0
    time_zone: str = ""
    language: str = ""

    @property
    def zone(self) -> tzinfo:
        """The studio's time zone; raises StudioError on a name that is none."""
        if not self.time_zone:
            return datetime.now().astimezone().tzinfo or ZoneInfo("UTC")
        try:
            return ZoneInfo(self.time_zone)
        except (ZoneInfoNotFoundError, ValueError, OSError) as cause:
            raise StudioError(
                f'settings.toml: time_zone = "{self.time_zone}" is no time zone: write one such as "Europe/Lisbon"'
            ) from cause

    @classmethod
    def read(cls, path: Path) -> Settings:
        """The settings in a file; the defaults where there is none. Raises StudioError naming file and line."""
        if not path.exists():
            return cls()
        try:
            kept = tomllib.loads(path.read_text("utf-8"))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as cause:
            raise StudioError(f"{path} cannot be read ({cause}): mend the line it names") from cause
        known = {field.name: getattr(cls(), field.name) for field in fields(cls)}
        values: dict[str, Any] = {}
        for name, value in kept.items():
            if name not in known:
                raise StudioError(f"{path}: there is no setting {name!r}; there are {', '.join(known)}")
            usual = known[name]
            if isinstance(value, bool) or not isinstance(value, (int, float) if isinstance(usual, float) else str):
                raise StudioError(f"{path}: {name} = {value!r} should be like {usual!r}")
            values[name] = type(usual)(value)
        return cls(**values)


def usual_folder() -> Path:
    """The user's data folder for keysense."""
    from platformdirs import user_data_path

    return user_data_path("keysense", appauthor=False)


def studio_folder(folder: Path | str | None = None) -> Folder:
    """The folder to open: given, from the environment, from the usual settings.toml, or the usual place."""
    if folder is not None:
        return Folder(Path(folder).expanduser().absolute())
    if named := os.environ.get(ENVIRONMENT):
        return Folder(Path(named).expanduser().absolute())
    usual = Folder(usual_folder())
    if elsewhere := Settings.read(usual.settings).studio:
        return Folder(Path(elsewhere).expanduser().absolute())
    return usual


def write_setting(path: Path, name: str, value: str | float) -> None:
    """Set one line of a settings file; the teacher's comments and order stay."""
    import tomlkit

    if name not in {field.name for field in fields(Settings)}:
        raise StudioError(f"there is no setting {name!r}")
    try:
        text = path.read_text("utf-8") if path.exists() else ""
        document = tomlkit.parse(text)
        document[name] = value
        path.parent.mkdir(parents=True, exist_ok=True)
        fresh = path.with_suffix(".toml.new")
        fresh.write_text(tomlkit.dumps(document), "utf-8")
        fresh.replace(path)
    except OSError as cause:
        raise StudioError(f"{path} cannot be written ({cause.strerror or cause}): allow writing there") from cause
