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

_MOST, _MOST_SMALL = 32, 1000
_SEEN: OrderedDict[tuple[Hashable, ...], Any] = OrderedDict()
_SMALL: OrderedDict[tuple[Hashable, ...], Any] = OrderedDict()
_LOCK = Lock()


def seen(key: tuple[Hashable, ...], make: Callable[[], Made], *, small: bool = False) -> Made:
    """What was made under this key, made where there is none. key: ids of takes, and everything else it hangs on.

    small: a few words, of which a whole studio's are kept.
    """
    there, most = (_SMALL, _MOST_SMALL) if small else (_SEEN, _MOST)
    with _LOCK:
        made: Made | None = there.get(key)
    if made is None:
        made = make()
    with _LOCK:
        there[key] = made
        there.move_to_end(key)
        if len(there) > most:
            there.popitem(last=False)
    return made


def forget_seen(take_ids: Iterable[str]) -> None:
    """What was heard in these takes is no longer held."""
    ids = set(take_ids)
    with _LOCK:
        for there in (_SEEN, _SMALL):
            for key in [key for key in there if not ids.isdisjoint(key)]:
                del there[key]
