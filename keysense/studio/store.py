"""The database of a studio: opening it, bringing it up to date, and turning its faults into plain words.

SQLite keeps a write-ahead log, so that other processes read while one writes; a writer takes its lock at once
(``BEGIN IMMEDIATE``) and waits for the one before it, instead of failing half way. Freed pages are overwritten
(``secure_delete``). Any other database is reached by URL with the same models and the same queries.
"""

from __future__ import annotations

import logging
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

from sqlalchemy import Engine, create_engine, event, exc, inspect, text
from sqlalchemy.orm import Session

from keysense.errors import StudioError
from keysense.studio.folder import Folder

__all__ = ["HEAD", "Store"]

# The newest revision under migrations/versions; a test holds the two together. Kept here so that opening a studio
# that is up to date does not cost the import of alembic.
HEAD = "0006"

_WAIT_S = 15.0


class Store:
    """One database, opened. ``where`` is what a message calls it."""

    def __init__(self, engine: Engine, where: str) -> None:
        self.engine = engine
        self.where = where
        self._writing = threading.local()
        self._reading = threading.local()
        self._writer = engine.execution_options(keysense_writes=True)

    @classmethod
    def open(cls, folder: Folder, url: str = "") -> Store:
        """Open the folder's own file, or the database at a URL, and bring it up to date."""
        if url:
            store = cls(_by_url(url), url.split("@")[-1])
        else:
            store = cls(_sqlite(f"sqlite:///{folder.database}"), str(folder.database))
        try:
            with store.faults():
                store._upgrade(folder)
        except BaseException:
            store.close()
            raise
        return store

    @contextmanager
    def read(self) -> Iterator[Session]:
        """A session that sees one moment of the studio."""
        joined = self._joined() or self._shared()
        if joined is not None:
            with self.faults(), self._deeper():
                yield joined
            return
        with self.faults(), Session(self.engine, expire_on_commit=False) as session:
            yield session

    @contextmanager
    def one_moment(self) -> Iterator[None]:
        """All that this thread reads inside is read in one session, as one moment of the studio; a write ends it."""
        if getattr(self._reading, "session", None) is not None:
            yield
            return
        with Session(self.engine, expire_on_commit=False) as session:  # asks nothing until it is asked
            self._reading.session, self._reading.stale, self._reading.told = session, False, {}
            try:
                yield
            finally:
                self._reading.session, self._reading.told = None, {}

    def _shared(self) -> Session | None:
        """The session of this thread's one moment; begun anew where something was written since."""
        session: Session | None = getattr(self._reading, "session", None)
        if session is not None and self._reading.stale and not self._depth:
            session.close()
            self._reading.stale, self._reading.told = False, {}
        return session

    @property
    def told(self) -> dict[tuple[object, ...], Any] | None:
        """What was answered in this thread's one moment already; None outside of one, and while it writes."""
        if self._joined() is not None or self._shared() is None or self._reading.stale:
            return None
        answers: dict[tuple[object, ...], Any] = self._reading.told
        return answers

    @property
    def _depth(self) -> int:
        """How many readings of this thread lie inside one another: none of them may lose its session."""
        return getattr(self._reading, "depth", 0)

    @contextmanager
    def _deeper(self) -> Iterator[None]:
        self._reading.depth = self._depth + 1
        try:
            yield
        finally:
            self._reading.depth -= 1

    @contextmanager
    def write(self) -> Iterator[Session]:
        """A session whose changes are kept together, or not at all; inside another one it is part of that one."""
        joined = self._joined()
        if joined is not None:
            yield joined
            joined.flush()
            return
        with self.faults(), Session(self._writer, expire_on_commit=False) as session, session.begin():
            self._writing.session = session
            try:
                yield session
            finally:
                self._writing.session = None
                self._reading.stale = True

    def _joined(self) -> Session | None:
        """The session in which this thread is writing already."""
        return getattr(self._writing, "session", None)

    @contextmanager
    def faults(self) -> Iterator[None]:
        """Turn the database's own errors into one plain line."""
        try:
            yield
        except (exc.DBAPIError, exc.ArgumentError, exc.NoSuchModuleError) as cause:
            raise StudioError(self._in_words(cause)) from cause

    @property
    def is_sqlite(self) -> bool:
        """Whether the studio is one file."""
        return self.engine.dialect.name == "sqlite"

    def forget(self, *, thorough: bool = False) -> None:
        """Leave no trace of what was deleted: its pages are zeroed already, and the write-ahead log is emptied.

        thorough: also rewrite the whole file, which leaves not even the shape of what was there.
        """
        if not self.is_sqlite:
            return
        with self.faults(), self.engine.execution_options(keysense_plain=True).connect() as connection:
            if thorough:
                connection.execute(text("VACUUM"))
            busy = connection.execute(text("PRAGMA wal_checkpoint(TRUNCATE)")).scalar()
        if busy:  # another process has been reading for longer than we wait: the next one to close empties the log
            logging.getLogger("keysense.studio").warning("the write-ahead log could not be emptied yet")

    def close(self) -> None:
        """Let go of the database, leaving it what it needs to choose its indexes well as the studio grows."""
        if self.is_sqlite:
            with suppress(exc.SQLAlchemyError), self.engine.execution_options(keysense_plain=True).connect() as one:
                one.execute(text("PRAGMA busy_timeout = 100"))  # nobody waits for this
                one.execute(text("PRAGMA analysis_limit = 400"))
                one.execute(text("PRAGMA optimize"))
        self.engine.dispose()

    def _in_words(self, cause: Exception) -> str:
        said = str(getattr(cause, "orig", cause)).splitlines()[0]
        low = said.lower()
        if "full" in low or "disk i/o" in low or "no space" in low:
            return f"the disk is full ({self.where}): what was kept before is safe; free some room and try again"
        if "readonly" in low or "read-only" in low:
            return f"{self.where} cannot be written: allow writing there, or choose another folder with --studio"
        if "unable to open" in low:
            return f"{self.where} cannot be opened: is the folder there, and may you write in it?"
        if "locked" in low:
            return f"{self.where} is busy with another keysense: wait a moment and try again"
        if "not a database" in low or "malformed" in low:
            return f"{self.where} is damaged or no studio ({said}): put a copy of it back"
        return f"{self.where}: the database said {said!r}"

    def _upgrade(self, folder: Folder) -> None:
        if self._revision() == HEAD:
            return
        from filelock import FileLock

        from keysense.studio.migrations import upgrade

        # Two programs may open a new studio at the same moment; one makes it, the other finds it made.
        with FileLock(folder.root / "studio.lock", timeout=_WAIT_S):
            if self._revision() != HEAD:
                upgrade(self.engine)

    def _revision(self) -> str:
        with self.engine.connect() as connection:
            if not inspect(connection).has_table("alembic_version"):
                return ""
            return connection.execute(text("SELECT version_num FROM alembic_version")).scalar() or ""


def _sqlite(url: str) -> Engine:
    engine = create_engine(url, connect_args={"timeout": _WAIT_S})

    @event.listens_for(engine, "connect")
    def _connected(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # the driver's own BEGIN comes too late and too weak
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
            _in_its_turn(connection, f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        options = connection.get_execution_options()
        if not options.get("keysense_plain"):
            connection.exec_driver_sql("BEGIN IMMEDIATE" if options.get("keysense_writes") else "BEGIN")

    return engine


def _in_its_turn(connection: Any, pragma: str) -> None:
    """Say a pragma, after waiting for another process that is just making or closing the same file.

    Turning the write-ahead log on, and opening while the last other process cleans it up, are the two moments in
    which SQLite answers "locked" at once instead of waiting as it was told to (sqlite.org/wal.html, section 2.3).
    """
    until = time.monotonic() + _WAIT_S
    while True:
        try:
            connection.execute(pragma)
            return
        except sqlite3.OperationalError as busy:
            if "locked" not in str(busy) or time.monotonic() > until:
                raise
            time.sleep(0.02)


def _by_url(url: str) -> Engine:
    if url.startswith("sqlite"):
        return _sqlite(url)
    try:
        return create_engine(url)
    except (exc.ArgumentError, exc.NoSuchModuleError, ImportError) as cause:
        raise StudioError(
            f"the database {url.split('@')[-1]!r} in settings.toml cannot be used ({cause}): write it as "
            "postgresql+psycopg://user@host/name and install its driver"
        ) from cause
