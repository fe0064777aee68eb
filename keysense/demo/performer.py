"""Invented hands: a target and a way of playing, turned into the raw messages a piano would have sent.

Nothing here is measured or kept; the messages go in where a piano's would.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from keysense.targets.target import Target

__all__ = ["Playing", "RawMessage", "perform"]

RawMessage = tuple[float, bytes]

NOTE_ON, CONTROL = 0x90, 0xB0
SUSTAIN = 64


@dataclass(frozen=True)
class Playing:
    """One way of playing a tune.

    tempo_qpm: quarters a minute. loudness: (quarter, velocity) points, straight lines between them. hold: key-down time
    over written time; above 1 the keys overlap. unsteady: spread of ln IOI. touch_spread: spread of velocity.
    left_softer: velocity taken off the left hand. left_late_ms: how far the left hand comes behind.
    breaths: quarter -> quarters of time taken before it. waits: row -> seconds stood still before it.
    other: row -> the pitch struck instead. left_out: rows not played. goes_back: (row reached, row returned to).
    only: a hand played alone. up: semitones away from the page. one_loudness: the piano's touch is switched off.
    stops_after: the row after which nothing more is played. pedal: hold the pedal down through each bar.
    """

    tempo_qpm: float
    loudness: Sequence[tuple[float, float]]
    hold: float = 0.95
    unsteady: float = 0.02
    touch_spread: float = 3.0
    left_softer: float = 8.0
    left_late_ms: float = 5.0
    breaths: Mapping[float, float] = field(default_factory=dict)
    waits: Mapping[int, float] = field(default_factory=dict)
    other: Mapping[int, int] = field(default_factory=dict)
    left_out: Sequence[int] = ()
    goes_back: tuple[int, int] | None = None
    only: str = ""
    up: int = 0
    one_loudness: bool = False
    stops_after: int | None = None
    pedal: bool = False


def perform(target: Target, playing: Playing, seed: int) -> list[RawMessage]:
    """The messages of one playing, in order of time from 0; the same seed gives the same bytes."""
    rng = np.random.default_rng(seed)
    messages: list[RawMessage] = []
    start_s = 0.0
    for first, last in _stretches(len(target.notes), playing):
        start_s = _stretch(target, playing, rng, range(first, last), start_s, messages)
    return sorted(messages, key=lambda message: message[0])


def _stretches(n: int, playing: Playing) -> list[tuple[int, int]]:
    """Rows played straight on: up to where the child stops and goes back, then from there to the end."""
    end = n if playing.stops_after is None else playing.stops_after + 1
    if playing.goes_back is None:
        return [(0, end)]
    reached, returned = playing.goes_back
    return [(0, reached + 1), (returned, end)]


def _stretch(
    target: Target,
    playing: Playing,
    rng: np.random.Generator,
    rows: range,
    start_s: float,
    messages: list[RawMessage],
) -> float:
    """Play the rows from ``start_s`` on; gives back the second at which a further stretch may begin."""
    notes = target.notes
    clock = _clock(target, playing, rng, rows, start_s)
    at, velocity = zip(*playing.loudness, strict=True)
    struck: list[tuple[float, float, int, int]] = []
    for row in rows:
        note = notes[row]
        if row in playing.left_out or (playing.only and note["hand"] != playing.only):
            continue
        late_s = playing.left_late_ms / 1000 if note["hand"] == "L" else 0.0
        onset_s = clock[float(note["onset_quarter"])] + late_s + rng.normal(0, 0.003)
        hold = playing.hold * (1 + rng.normal(0, 0.03))
        release_s = onset_s + float(note["duration_quarter"]) * hold * 60.0 / playing.tempo_qpm
        level = float(np.interp(note["onset_quarter"], at, velocity)) + rng.normal(0, playing.touch_spread)
        level -= playing.left_softer if note["hand"] == "L" else 0.0
        pressed = 80 if playing.one_loudness else int(np.clip(round(level), 1, 127))
        pitch = playing.other.get(row, int(note["pitch"]) + playing.up)
        struck.append((onset_s, release_s, pitch, pressed))
    messages.extend(_keys(struck))
    end_s = max([start_s, *(release_s for _, release_s, _, _ in struck)])
    if playing.pedal:
        messages.extend(_pedal(target, clock, rows))
    return end_s + 0.7


def _keys(struck: list[tuple[float, float, int, int]]) -> list[RawMessage]:
    """Presses (onset, release, pitch, velocity) as messages; a key comes up before it goes down again."""
    messages: list[RawMessage] = []
    for onset_s, release_s, pitch, pressed in struck:
        again_s = min((other for other, _, same, _ in struck if same == pitch and other > onset_s), default=np.inf)
        messages.append((onset_s, bytes([NOTE_ON, pitch, pressed])))
        messages.append((min(release_s, again_s - 0.03), bytes([NOTE_ON, pitch, 0])))
    return messages


def _clock(
    target: Target, playing: Playing, rng: np.random.Generator, rows: range, start_s: float
) -> dict[float, float]:
    """Written onset -> second, with unsteadiness, breaths and waits."""
    onsets = np.unique(target.notes["onset_quarter"][rows.start : rows.stop])
    waited = {float(target.notes["onset_quarter"][row]): seconds for row, seconds in playing.waits.items()}
    period_s = 60.0 / playing.tempo_qpm
    clock = {float(onsets[0]): start_s}
    now = start_s
    for before, onset in pairwise(onsets.tolist()):
        now += (onset - before) * period_s * float(np.exp(rng.normal(0, playing.unsteady)))
        now += playing.breaths.get(onset, 0.0) * period_s + waited.get(onset, 0.0)
        clock[onset] = now
    return clock


def _pedal(target: Target, clock: dict[float, float], rows: range) -> list[RawMessage]:
    starts = [clock[q] for q in target.bars["start_quarter"].tolist() if q in clock]
    messages = [(second + 0.12, bytes([CONTROL, SUSTAIN, 127])) for second in starts]
    messages += [(second - 0.02, bytes([CONTROL, SUSTAIN, 0])) for second in starts[1:]]
    messages.append((max(clock.values()) + 0.4, bytes([CONTROL, SUSTAIN, 0])))
    return messages
