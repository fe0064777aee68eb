"""Seeded disturbances of a playing, one at a time or mixed, with the truth written by the generator.

Every disturbance takes a playing and a random generator and gives a new one. Times, rates and sizes are chosen by hand
(common practice, no source): a wait is one to three seconds, a corrected note comes .3 to 1.3 s after the slip.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from tests.bench.judge import f1
from tests.bench.playing import PRESS, Playing, plain

__all__ = ["DISTURBANCES", "PRESS", "Playing", "f1", "mixed", "plain"]

Rng = np.random.Generator


def _passes(
    playing: Playing, spans: list[tuple[int, int]], rng: Rng, pause: tuple[float, float] = (0.3, 3.0)
) -> Playing:
    """The playing cut to spans of onsets, one after another, with a pause between."""
    _, of = np.unique(playing.target.notes["onset_quarter"], return_inverse=True)
    onset_of = np.where(playing.presses["meant"] >= 0, of[np.maximum(playing.presses["meant"], 0)], -1)
    known = np.flatnonzero(onset_of >= 0)
    filled = np.interp(np.arange(len(onset_of)), known, onset_of[known]) if len(known) else onset_of
    out, now = [], 0.5
    for first, end in spans:
        part = playing.presses[(filled >= first) & (filled < end)].copy()
        if not len(part):
            continue
        by = now - part["onset_s"].min()
        part["onset_s"] += by
        part["release_s"] += by
        out.append(part)
        now = part["onset_s"].max() + rng.uniform(*pause)
    return playing.sorted(np.concatenate(out)) if out else playing


def _onsets(playing: Playing) -> int:
    return len(np.unique(playing.target.notes["onset_quarter"]))


def _bar_onsets(playing: Playing) -> np.ndarray:
    onsets = np.unique(playing.target.notes["onset_quarter"])
    starts = playing.target.bars["start_quarter"]
    return np.unique(np.searchsorted(onsets, starts[starts <= onsets[-1]] - 1e-6))


def restart(p: Playing, rng: Rng) -> Playing:
    """One to three goings-back: to a bar line, to the start, or a few onsets."""
    n = _onsets(p)
    if n < 4:
        return p
    stops = np.sort(rng.integers(max(2, n // 8), n, rng.integers(1, 4)))
    spans, first = [], 0
    bars = _bar_onsets(p)
    for stop in stops.tolist():
        if stop <= first + 1:
            continue
        spans.append((first, stop))
        way = rng.random()
        earlier = bars[bars < stop]
        first = (
            0 if way < 0.25 else int(rng.choice(earlier[-3:])) if way < 0.75 else max(0, stop - int(rng.integers(2, 9)))
        )
    return _passes(p, [*spans, (first, n)], rng)


def skip(p: Playing, rng: Rng) -> Playing:
    n, bars = _onsets(p), _bar_onsets(p)
    stop = int(rng.integers(n // 5, max(n // 5 + 1, n // 2)))
    later = bars[bars > stop + 4]
    if not len(later):
        return p
    return _passes(p, [(0, stop), (int(later[rng.integers(0, min(3, len(later)))]), n)], rng, (0.2, 1.5))


def middle(p: Playing, rng: Rng) -> Playing:
    n = _onsets(p)
    bars = _bar_onsets(p)
    inner = bars[(bars > n // 6) & (bars < 2 * n // 3)]
    first = int(rng.choice(inner)) if len(inner) and rng.random() < 0.7 else int(rng.integers(1, max(2, n // 2)))
    return _passes(p, [(first, n)], rng)


def unfinished(p: Playing, rng: Rng) -> Playing:
    n = _onsets(p)
    return _passes(p, [(0, max(2, int(n * rng.uniform(0.2, 0.8))))], rng)


def _later(presses: np.ndarray, from_s: float, by_s: float) -> None:
    after = presses["onset_s"] >= from_s
    presses["onset_s"][after] += by_s
    presses["release_s"][after] += by_s


def waits(p: Playing, rng: Rng, share: float = 0.06) -> Playing:
    out = p.presses.copy()
    times = out["onset_s"][np.diff(out["onset_s"], prepend=-1.0) > 0.06]
    for at in times[::-1][rng.random(len(times)) < share].tolist():
        _later(out, at, float(rng.uniform(1.0, 3.0)))
    return p.sorted(out)


def other_pitch(p: Playing, rng: Rng, share: float = 0.08) -> Playing:
    out = p.presses.copy()
    hit = rng.random(len(out)) < share
    out["pitch"][hit] = np.clip(out["pitch"][hit] + rng.choice([-3, -2, -1, 1, 2, 3], hit.sum()), 21, 108)
    return p.sorted(out)


def omitted(p: Playing, rng: Rng, share: float = 0.08) -> Playing:
    keep = rng.random(len(p.presses)) >= share
    return p.sorted(p.presses[keep] if keep.any() else p.presses)


def brushed(p: Playing, rng: Rng, share: float = 0.08) -> Playing:
    more = p.presses[rng.random(len(p.presses)) < share].copy()
    more["onset_s"] += rng.uniform(-0.02, 0.04, len(more))
    more["release_s"] = more["onset_s"] + rng.uniform(0.04, 0.13, len(more))
    more["pitch"] = np.clip(more["pitch"] + rng.choice([-2, -1, 1, 2], len(more)), 21, 108)
    more["velocity"] = np.maximum(5, more["velocity"] * rng.uniform(0.4, 0.65, len(more)))
    more["meant"] = -1
    return p.sorted(np.concatenate([p.presses, more]))


def corrected(p: Playing, rng: Rng, share: float = 0.06) -> Playing:
    """A neighbouring key first, silence, then the right one; all later presses wait."""
    out = p.presses.copy()
    tries = []
    for i in np.flatnonzero(rng.random(len(out)) < share).tolist():
        slip = out[i : i + 1].copy()
        by = float(rng.uniform(0.3, 1.3))
        slip["pitch"] += int(rng.choice([-2, -1, 1, 2]))
        slip["release_s"] = slip["onset_s"] + 0.2
        _later(out, float(out["onset_s"][i]), by)
        tries.append(slip)
    return p.sorted(np.concatenate([out, *tries]))


def tempo(p: Playing, rng: Rng) -> Playing:
    return _scaled(p, float(np.exp(rng.uniform(-np.log(3), np.log(3)))), 0.0)


def tempo_change(p: Playing, rng: Rng) -> Playing:
    times = p.presses["onset_s"]
    return _scaled(p, float(rng.choice([0.5, 2.0])), float(np.quantile(times, rng.uniform(0.3, 0.7))))


def _scaled(p: Playing, factor: float, from_s: float) -> Playing:
    out = p.presses.copy()
    for name in ("onset_s", "release_s"):
        late = out[name] > from_s
        out[name][late] = from_s + (out[name][late] - from_s) * factor
    return p.sorted(out)


def hands_apart(p: Playing, rng: Rng) -> Playing:
    out = p.presses.copy()
    by = float(rng.choice([-1, 1])) * rng.uniform(0.06, 0.15)
    left = (p.target.notes["hand"] == "L")[np.maximum(out["meant"], 0)]
    out["onset_s"][left] += by
    out["release_s"][left] += by
    out["onset_s"] -= min(0.0, out["onset_s"].min())
    return p.sorted(out)


def one_hand(p: Playing, rng: Rng) -> Playing:
    hands = p.target.hands
    if len(hands) < 2:
        return p
    keep = (p.target.notes["hand"] == str(rng.choice(hands)))[np.maximum(p.presses["meant"], 0)]
    return p.sorted(p.presses[keep])


def hands_by_turns(p: Playing, rng: Rng) -> Playing:
    """One hand alone, then the other, and half of the time both after that; short or long pauses between."""
    hands = [str(hand) for hand in rng.permutation(p.target.hands)]
    if len(hands) < 2:
        return p
    written = p.target.notes["hand"][np.maximum(p.presses["meant"], 0)]
    playings = [p.presses[written == hand] for hand in hands] + [p.presses] * int(rng.random() < 0.5)
    out, now = [], 0.5
    for part in (playing.copy() for playing in playings if len(playing)):
        by = now - part["onset_s"].min()
        part["onset_s"] += by
        part["release_s"] += by
        out.append(part)
        now = part["onset_s"].max() + rng.uniform(0.5, 4.0)
    return p.sorted(np.concatenate(out))


def octave_hand(p: Playing, rng: Rng) -> Playing:
    by = int(rng.choice([-12, 12]))
    shift = (by, 0) if len(p.target.hands) < 2 or rng.random() < 0.5 else (0, by)
    return replace(p, presses=p.presses.copy(), shift=shift).moved()


def transposed(p: Playing, rng: Rng) -> Playing:
    by = int(rng.choice([-7, -5, -3, -2, -1, 1, 2, 3, 5, 7]))
    return replace(p, presses=p.presses.copy(), shift=(by, by)).moved()


def nothing(p: Playing, rng: Rng) -> Playing:
    return p


DISTURBANCES: dict[str, Callable[[Playing, Rng], Playing]] = {
    "nothing": nothing, "other pitch": other_pitch, "omitted": omitted, "brushed": brushed, "wait": waits,
    "corrected": corrected, "restart": restart, "skip": skip, "middle": middle, "unfinished": unfinished,
    "tempo": tempo, "tempo change": tempo_change, "hands apart": hands_apart, "one hand": one_hand,
    "hands by turns": hands_by_turns, "octave": octave_hand, "another key": transposed,
}  # fmt: skip


def mixed(p: Playing, rng: Rng, hardness: float) -> Playing:
    """A pupil's playing: hardness 1 is light, 2 medium, 3 heavy."""
    p = other_pitch(p, rng, 0.015 * hardness)
    p = omitted(p, rng, 0.015 * hardness)
    for way in (restart, skip):
        if rng.random() < 0.35 * hardness:
            p = way(p, rng)
    p = corrected(p, rng, 0.01 * hardness)
    p = waits(p, rng, 0.015 * hardness)
    return brushed(p, rng, 0.02 * hardness)
