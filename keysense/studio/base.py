"""What every part of the studio stands on: its folder, its database, the clock, and what it remembers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from copy import copy
from datetime import UTC, date, datetime
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from keysense.studio.folder import Folder, Settings
from keysense.studio.log import log_of
from keysense.studio.store import Store
from keysense.studio.tables import SettingRow

__all__ = ["CONTEXT", "StudioBase", "once_a_moment", "utc_now"]

_S = TypeVar("_S", bound="StudioBase")
_P = ParamSpec("_P")
_R = TypeVar("_R")

# What is remembered of the name that the next take carries.
CONTEXT = "context"


def utc_now() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)


def once_a_moment(method: Callable[Concatenate[_S, _P], _R]) -> Callable[Concatenate[_S, _P], _R]:
    """A question whose answer is kept for the rest of `Store.one_moment`: one page asks many things twice."""

    @wraps(method)
    def asked(self: _S, /, *args: _P.args, **named: _P.kwargs) -> _R:
        told = self._store.told
        if told is None:
            return method(self, *args, **named)
        key = (method.__qualname__, args, tuple(sorted(named.items())))
        if key not in told:
            told[key] = method(self, *args, **named)
        answer: _R = told[key]
        return copy(answer) if isinstance(answer, list | dict) else answer  # whoever asks may write in what is given

    return asked


class StudioBase:
    """The folder and the database of one studio.

    ``now`` is the clock; tests and demos set another.
    """

    def __init__(
        self, folder: Folder, store: Store, settings: Settings, *, now: Callable[[], datetime] = utc_now
    ) -> None:
        self.folder = folder
        self.settings = settings
        self.now = now
        self._store = store
        self._log = log_of(folder.root)

    @contextmanager
    def together(self) -> Iterator[None]:
        """What is done inside is kept whole, or not at all where anything in it fails."""
        with self._store.write():
            yield

    def today(self) -> date:
        """The day it is in the studio's time zone."""
        return self.now().astimezone(self.settings.zone).date()

    @once_a_moment
    def recall(self, name: str) -> dict[str, Any]:
        """What was remembered under a name; empty where nothing was."""
        with self._store.read() as session:
            row = session.get(SettingRow, name)
            return {} if row is None else dict(row.value)

    def remember(self, name: str, value: dict[str, Any]) -> None:
        """Remember plain values under a name, instead of what was there."""
        with self._store.write() as session:
            session.merge(SettingRow(name=name, value=value))
