"""Readings that were made a moment ago, and pairs of them: a page opened again does not follow, look and compare anew.

Kept in memory only, and only a few. Each hangs on what it was made from, so a change of any of it makes another.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable
from threading import Lock
from typing import Any, TypeVar

__all__ = ["forget_seen", "seen"]

Made = TypeVar("Made")

_MOST = 32
_SEEN: OrderedDict[tuple[Hashable, ...], Any] = OrderedDict()
_LOCK = Lock()


def seen(key: tuple[Hashable, ...], make: Callable[[], Made]) -> Made:
    """What was made under this key, made where there is none. key: ids of takes, and everything else it hangs on."""
    with _LOCK:
        made: Made | None = _SEEN.get(key)
    if made is None:
        made = make()
    with _LOCK:
        _SEEN[key] = made
        _SEEN.move_to_end(key)
        if len(_SEEN) > _MOST:
            _SEEN.popitem(last=False)
    return made


def forget_seen(take_ids: Iterable[str]) -> None:
    """What was heard in these takes is no longer held."""
    ids = set(take_ids)
    with _LOCK:
        for key in [key for key in _SEEN if not ids.isdisjoint(key)]:
            del _SEEN[key]
