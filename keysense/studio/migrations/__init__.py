"""The history of the tables, as Alembic revisions inside the package; `upgrade` runs them without any ini file."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError
from sqlalchemy import Engine

from keysense.errors import StudioError

__all__ = ["config", "head", "upgrade"]


def config() -> Config:
    """Alembic's settings, pointing at this folder wherever it is installed."""
    settings = Config()
    settings.set_main_option("script_location", str(Path(__file__).parent).replace("%", "%%"))
    settings.set_main_option("path_separator", "os")
    settings.set_main_option("file_template", "r%%(rev)s_%%(slug)s")
    return settings


def head() -> str:
    """The newest revision."""
    return ScriptDirectory.from_config(config()).get_current_head() or ""


def upgrade(engine: Engine, to: str = "head") -> None:
    """Bring a database up to a revision; raises StudioError on one that a newer keysense made."""
    settings = config()
    with engine.connect() as connection:
        settings.attributes["connection"] = connection
        try:
            command.upgrade(settings, to)
        except CommandError as cause:
            raise StudioError(
                f"this studio was made by a newer keysense ({cause}): install the newest keysense to open it"
            ) from cause
        connection.commit()
