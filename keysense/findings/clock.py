"""Where does the scatter of an even run come from: the inner pulse, or the fingers?

Conventions
    Runs of equal written values of one hand, thirty steps or more, cut into stretches of 30 to 59 steps; from each a
    straight line is taken away. A clock gives steps with independent errors; each key comes a little after the clock's
    tick, late or early by itself, so a late key makes one step long and the next one short. The variance of the keys is
    minus the covariance of neighbouring steps; that of the clock is what is left. The bias that the line brings is
    taken out (both are exact on average, whatever the length).

Findings
    pulse_scatter (ms): standard deviation of the clock's steps; key_scatter (ms): that of the single keys. One row
        each a hand; the interval holds all variances that the estimate does not refuse, whose error is worked out for
        each. Missing below thirty steps, where freedom of time was asked, and where one of the two variances comes out
        negative: then the steps do not part this way (the model is violated).

References
    Wing & Kristofferson 1973 (memory): keys -g(1), clock g(0) + 2 g(1). Check values (computed): [510 495 505 490 512
    493 507 488] ms: g(0) 79.5, g(1) -57.75, so the clock's variance is negative and the model violated. Sums of squares
    by three moments: Pearson's third kind (Imhof 1961, memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding
from keysense.findings.evenness import equal_runs, place_of_steps
from keysense.findings.heard import Events, Heard, distinct
from keysense.findings.stats import LEVEL
from keysense.findings.steps import steps_of
from keysense.findings.tempo import FREE

__all__ = ["autocovariances", "clock_and_keys", "scatter_parted"]

Floats = npt.NDArray[np.float64]
_FEWEST = 30
_LEANS = 1e-3  # a smaller skewness is none
_TRIED, _FARTHEST = 300, 12.0  # variances tried, up to so many times the one found
VIOLATED = "the steps do not part into an inner pulse and single keys (model violated)"
_NAMES = ("pulse_scatter", "key_scatter")


def autocovariances(ioi_ms: Floats) -> tuple[float, float]:
    """g(0) and g(1) of some steps about their mean, both divided by the number of steps."""
    off = ioi_ms - ioi_ms.mean()
    return float(off @ off) / len(off), float(off[:-1] @ off[1:]) / len(off)


def scatter_parted(heard: Heard) -> list[Finding]:
    """pulse_scatter and key_scatter, one row each a hand that has a run of thirty steps on the page."""
    rows: list[Finding] = []
    for hand, events in heard.hand_events.items():
        if _written(heard, hand):
            rows += _of_hand(heard, hand, events)
    return rows


def _written(heard: Heard, hand: str) -> bool:
    """Whether the page has a run of thirty equal steps in this hand, phrase ends and all."""
    onset = distinct(heard.asked_onsets(hand))
    turns = np.flatnonzero(np.abs(np.diff(onset, 2)) > 1e-3)
    return int(np.diff(np.concatenate([[-1], turns, [len(onset) - 2]])).max(initial=0)) >= _FEWEST


def _of_hand(heard: Heard, hand: str, events: Events) -> list[Finding]:
    steps = steps_of(heard, events)
    runs = [run for run in equal_runs(steps) if len(run) >= _FEWEST]
    place = place_of_steps(events, steps, np.concatenate([np.zeros(0, np.int64), *runs]), hand)
    parts = [part for run in runs for part in np.array_split(run, len(run) // _FEWEST)]
    n = sum(len(part) for part in parts)
    found = clock_and_keys([1000 * steps.even_s[part] for part in parts]) if parts else None
    if found is None or heard.free:
        why = FREE if heard.free else VIOLATED if parts else f"it takes a run of {_FEWEST} even steps, and none came"
        return [Finding.missing(name, "ms", why, n=n, place=place) for name in _NAMES]
    return [
        Finding(name, sd, "ms", n, low, high, None, place) for name, (sd, low, high) in zip(_NAMES, found, strict=True)
    ]


def clock_and_keys(parts: list[Floats]) -> list[tuple[float, float, float]] | None:
    """Standard deviation in ms and its interval, of the clock and of the keys; None where a variance is not positive.

    parts: stretches of neighbouring steps in ms, ten or more each.
    """
    sums, means = np.zeros(2), np.zeros((2, 2))
    spread, skew = np.zeros((2,) * 4), np.zeros((2,) * 6)
    for part in parts:
        laws = _laws(len(part))
        left = laws.away @ part
        sums += float(left @ left), float(left[:-1] @ left[1:])
        means, spread, skew = means + laws.mean, spread + laws.spread, skew + laws.skew
    back = np.linalg.inv(means)
    variance = back @ sums
    if np.any(variance <= 0):
        return None
    second = np.einsum("ai,bj,ijkl->abkl", back, back, spread)
    third = np.einsum("ai,aj,ak,ijkuvw->auvw", back, back, back, skew)
    return [_interval(variance, k, second, third[k]) for k in range(2)]


def _interval(variance: Floats, k: int, second: Floats, third: Floats) -> tuple[float, float, float]:
    """All variances that the estimate does not refuse, in standard deviations.

    second: the errors' covariance is variance @ second @ variance; third: their third moment likewise. Both estimates
    err against each other, so with each variance that is tried the other one moves along. An estimate is told only
    where it is positive, and its chance is that among such ones.
    """
    found = float(variance[k])
    here = _lag(variance[None, :], k, second)
    tried = _moved(variance, k, here)
    tried = _moved(variance, k, (here + _lag(tried, k, second)) / 2)  # the way bends, so its middle slope is taken
    error = np.sqrt(np.maximum(np.einsum("ti,ij,tj->t", tried, second[k, k], tried), 1e-12))
    lean = np.einsum("ti,tj,tk,ijk->t", tried, tried, tried, third) / error**3
    beyond = _above((found - tried[:, k]) / error, lean) / _above(-tried[:, k] / error, lean)
    held = tried[(beyond > (1 - LEVEL) / 2) & (beyond < (1 + LEVEL) / 2), k]
    low, high = (float(held.min()), float(held.max())) if len(held) else (0.0, _FARTHEST * found)
    return math.sqrt(found), math.sqrt(min(low, found)), math.sqrt(max(high, found))


def _lag(variances: Floats, k: int, second: Floats) -> Floats:
    """How far the other estimate moves when this one moves by one, at some variances."""
    errors = np.einsum("bij,ti,tj->tb", second[k], variances, variances)
    return np.asarray(errors[:, 1 - k] / np.maximum(errors[:, k], 1e-12))


def _moved(variance: Floats, k: int, lag: Floats) -> Floats:
    """The variances tried for one of the two, and what the other one then is."""
    tried = np.zeros((_TRIED, 2))
    tried[:, k] = np.linspace(0, _FARTHEST * variance[k], _TRIED)
    tried[:, 1 - k] = np.maximum(variance[1 - k] + lag * (tried[:, k] - variance[k]), 0)
    return tried


def _above(z: Floats, lean: Floats) -> Floats:
    """The chance of more than z standard deviations above the mean, of a gamma moved and turned to have that skewness.

    A sum of squares leans to the right, more so the fewer steps it rests on: three moments tell it well (Pearson's
    third kind), two do not.
    """
    from scipy.special import gammainc, gammaincc

    shape = 4 / np.maximum(np.abs(lean), _LEANS) ** 2
    at = np.maximum(shape + np.sign(lean) * z * np.sqrt(shape), 0)
    return np.asarray(np.maximum(np.where(lean >= 0, gammaincc(shape, at), gammainc(shape, at)), 1e-12))


@dataclass(frozen=True, eq=False)
class _Laws:
    """Of n steps: the moments of two sums, and what takes the line away.

    The sums are those of squares and of neighbours' products of what is left; the two variances are the clock's, whose
    steps are independent, and the keys', each of which two neighbouring steps share. mean (sum, variance); spread: the
    covariance of two sums for each two variances; skew: the third moment of three sums for each three.
    """

    mean: Floats
    spread: Floats
    skew: Floats
    away: Floats


@cache
def _laws(n: int) -> _Laws:
    line = np.linalg.qr(np.stack([np.ones(n), np.arange(n) - (n - 1) / 2], axis=1))[0]
    away = np.eye(n) - line @ line.T
    beside = (np.eye(n, k=1) + np.eye(n, k=-1)) / 2
    laws = [np.eye(n), 2 * np.eye(n) - 2 * beside]
    sums = [away, away @ beside @ away]
    made = np.array([[s @ law for law in laws] for s in sums])
    two = np.einsum("iuab,jvbc->ijuvac", made, made)
    return _Laws(
        np.einsum("iuaa->iu", made),
        2 * np.einsum("ijuvaa->ijuv", two),
        8 * np.einsum("ijuvab,kwba->ijkuvw", two, made),
        away,
    )
