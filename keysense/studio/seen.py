"""Readings that were made a moment ago: a page that is opened again does not follow and look anew.

Kept in memory only, and only a few. A reading hangs on what it was made from, so a change of any of it makes another.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable
from threading import Lock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from keysense.findings import Reading

__all__ = ["forget_seen", "seen"]

_MOST = 32
_SEEN: OrderedDict[tuple[Hashable, ...], Reading] = OrderedDict()
_LOCK = Lock()


def seen(key: tuple[Hashable, ...], make: Callable[[], Reading]) -> Reading:
    """The reading of this key, made where there is none. key: the take's id, then everything else it hangs on."""
    with _LOCK:
        reading = _SEEN.get(key)
    if reading is None:
        reading = make()
    with _LOCK:
        _SEEN[key] = reading
        _SEEN.move_to_end(key)
        if len(_SEEN) > _MOST:
            _SEEN.popitem(last=False)
    return reading


def forget_seen(take_ids: Iterable[str]) -> None:
    """What was heard in these takes is no longer held."""
    ids = set(take_ids)
    with _LOCK:
        for key in [key for key in _SEEN if key[0] in ids]:
            del _SEEN[key]
