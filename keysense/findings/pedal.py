"""What did the sustain pedal do?

Conventions
    Controller 64, down from 64 on. Nothing at all is said without it: its absence tells of the piano, not of the foot.
    The keys' own times are never the pedal's.

Findings
    pedal_press, pedal_release (ms): how long after the nearest key down the pedal goes down, and comes up; median,
        exact sign-test interval (the times lie lopsided); negative, before it. A movement further than a second from
        any key down belongs to none. Missing below six.
    pedal_share (%): share of the time from first key down to last key up with the pedal down; measured, not sampled,
        so its interval is itself.
    pedal_through (count): new bars with another bass through which the pedal stayed down, from the key down before
        the bar to the one after it. The bass of a bar is the lowest written note that sounds, struck or still held, at
        its first onset.

References
    Repp 1996 (published): pedal timing is neither constant in ms nor proportional to tempo, so it has no limit.
    Computed: professionals' press follows the onset by 76 to 208 ms (median by piece).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard
from keysense.findings.rows import median_row

__all__ = ["pedalling"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
_DOWN = 64
_NEAR = 1e-6  # quarters


def pedalling(heard: Heard) -> list[Finding]:
    """Press, release, share and the bars played through; nothing where no pedal was heard at all."""
    time_s, down = _movements(heard)
    if not np.any(down) or not len(heard.take):
        return []
    onset = np.sort(heard.take.notes["onset_s"])
    farthest_s = heard.practice.value("pedal_farthest") / 1000
    press, release = (_after_nearest(onset, time_s[down == way], farthest_s) for way in (True, False))
    rows = [
        median_row(heard, name, "ms", values, Place(), what="movements of the pedal", lopsided=True)
        for name, values in (("pedal_press", press), ("pedal_release", release))
    ]
    share = 100 * _share(time_s, down, float(onset[0]), float(heard.take.notes["release_s"].max()))
    rows.append(Finding("pedal_share", share, "%", int(np.count_nonzero(down)), share, share))
    return [*rows, *_played_through(heard, time_s, down)]


def _movements(heard: Heard) -> tuple[Floats, Bools]:
    """Times at which the pedal passes the threshold, and which way."""
    sustain = heard.take.pedals[heard.take.pedals["controller"] == 64]
    down = sustain["value"] >= _DOWN
    turns = np.diff(np.concatenate([[False], down]).astype(int)) != 0
    return sustain["time_s"][turns], down[turns]


def _after_nearest(onset: Floats, time_s: Floats, farthest_s: float) -> Floats:
    """Milliseconds after the nearest key down, of the movements that have one near enough."""
    right = np.clip(np.searchsorted(onset, time_s), 0, len(onset) - 1)
    left = np.clip(right - 1, 0, None)
    nearest = np.where(np.abs(onset[left] - time_s) <= np.abs(onset[right] - time_s), onset[left], onset[right])
    after = time_s - nearest
    return np.asarray(1000 * after[np.abs(after) <= farthest_s])


def _share(time_s: Floats, down: Bools, start: float, end: float) -> float:
    edges = np.clip(np.append(time_s, end), start, end)
    return float(np.diff(edges)[down].sum() / (end - start)) if end > start else 0.0


def _played_through(heard: Heard, time_s: Floats, down: Bools) -> list[Finding]:
    """New bars with another bass where the pedal did not come up between the neighbouring key downs."""
    rows = heard.rows[~heard.rows["grace"]]
    if not len(rows):
        return []
    first = np.flatnonzero(np.diff(np.round(rows["quarter"], 6), prepend=-np.inf))
    bar, when = rows["bar"][first], np.minimum.reduceat(rows["onset_s"], first)
    starts = np.flatnonzero(np.diff(bar, prepend=-1) > 0)
    bass = _basses(rows, rows["quarter"][first[starts]])
    new = starts[1:][np.diff(bass) != 0]
    start, end = when[new - 1], np.append(when[1:], rows["release_s"].max() - 1e-3)[new]
    ups = np.searchsorted(time_s[~down], np.stack([start, end]), side="right")
    kept = bar[new[heard.pedal_down(start) & (ups[0] == ups[1])]].tolist()
    return [Finding("pedal_through", len(kept), "count", len(new), places=tuple(Place((b, b)) for b in kept))]


def _basses(rows: npt.NDArray[np.void], quarter: Floats) -> npt.NDArray[np.int64]:
    """The lowest note, in written terms, that sounds at each of some written onsets."""
    onset, end, pitch = rows["quarter"], rows["quarter"] + rows["length"] - _NEAR, rows["pitch"].astype(np.int64)
    longest = float(rows["length"].max()) + _NEAR
    between = np.searchsorted(onset, [quarter - longest, quarter + _NEAR]).T.tolist()
    lowest = [
        pitch[first:after][(end[first:after] > at) | (onset[first:after] > at - _NEAR)].min()
        for (first, after), at in zip(between, quarter.tolist(), strict=True)
    ]
    return np.array(lowest, np.int64)
