"""How long each note sounds: its key, then the pedals, then the next stroke of the same string."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from keysense.notes import Take

__all__ = ["messages_of", "sounding_ends_s"]

_SUSTAIN, _SOSTENUTO, _DOWN = 64, 66, 64  # MIDI 1.0: controllers, and the value from which a pedal is down
_RINGS_OUT_S = 8.0  # a pedal that never comes up again holds no longer than this

Floats = npt.NDArray[np.float64]


def sounding_ends_s(take: Take) -> Floats:
    """When each note stops sounding (s), one a row of ``take.notes``.

    The sustain pedal holds what sounds when it goes down or is struck while it is down; the sostenuto pedal holds the
    keys that are down when it goes down. A key struck again stops its own earlier sound.
    """
    notes = take.notes
    onset, ends = notes["onset_s"], notes["release_s"].astype(float).copy()
    for down_s, up_s in _presses(take, _SOSTENUTO):
        held = (onset <= down_s) & (ends > down_s)
        ends[held] = np.maximum(ends[held], up_s)
    for down_s, up_s in _presses(take, _SUSTAIN):
        held = (ends >= down_s) & (ends < up_s)
        ends[held] = up_s
    for pitch in np.unique(notes["pitch"]):
        rows = np.flatnonzero(notes["pitch"] == pitch)
        ends[rows[:-1]] = np.minimum(ends[rows[:-1]], np.maximum(onset[rows[1:]], onset[rows[:-1]]))
    return ends


def _presses(take: Take, controller: int) -> Iterator[tuple[float, float]]:
    """From when to when a pedal was down."""
    down_s = None
    moves = take.pedals[take.pedals["controller"] == controller]
    for time_s, _, value in moves.tolist():
        if value >= _DOWN and down_s is None:
            down_s = time_s
        elif value < _DOWN and down_s is not None:
            yield down_s, time_s
            down_s = None
    if down_s is not None and len(take.notes):
        yield down_s, float(take.notes["release_s"].max()) + _RINGS_OUT_S


def messages_of(take: Take) -> list[tuple[float, bytes]]:
    """The take as raw MIDI messages at their times (s), keys and pedals, all on one channel."""
    events: list[tuple[float, int, bytes]] = []
    for onset_s, release_s, pitch, velocity, let_go, _ in take.notes.tolist():
        # at one instant keys go up before others go down
        events.append((onset_s, 1, bytes((0x90, pitch, max(velocity, 1)))))
        events.append((max(release_s, onset_s), 0 if release_s > onset_s else 2, bytes((0x80, pitch, let_go or 64))))
    events += [(time_s, 1, bytes((0xB0, controller, value))) for time_s, controller, value in take.pedals.tolist()]
    if events and any(raw[0] == 0xB0 for _, _, raw in events):
        last_s = max(time_s for time_s, _, _ in events)
        events.append((last_s, 3, bytes((0xB0, _SUSTAIN, 0))))
    return [(time_s, raw) for time_s, _, raw in sorted(events, key=lambda event: event[:2])]
