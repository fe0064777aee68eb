"""How unlike are neighbouring lengths, as they were played?

Conventions
    One row a hand: the lengths are the steps from each event to the next as they came, phrase ends and waits set aside;
    neighbours are two steps that share an event.

Findings
    npvi (%): 100 times the mean over neighbours of their difference over their mean; 0 is all alike, 200 the most.
        Student's interval on what each pair of written lengths has beside its own mean, with the covariance of pairs
        that share a step. Scatter alone makes a contrast, so an uneven run of equal notes reads above 0. Missing below
        eight neighbours.

References
    nPVI: Daniele & Patel 2013, appendix (published): 42.2 for their worked example; Condit-Schultz 2019 (published).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding
from keysense.findings.evenness import place_of_steps
from keysense.findings.heard import Events, Heard
from keysense.findings.rhythm_pairs import pair_kinds
from keysense.findings.stats import t_quantile
from keysense.findings.steps import Steps, steps_of

__all__ = ["contrast", "npvi"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_FEWEST = 8


def contrast(heard: Heard) -> list[Finding]:
    """npvi of each hand that has steps of more than one length, or none."""
    return [_of_hand(hand, events, steps_of(heard, events)) for hand, events in heard.hand_events.items()]


def _of_hand(hand: str, events: Events, steps: Steps) -> Finding:
    kept = ~(steps.free | steps.long | steps.short)
    row = np.arange(max(0, len(steps.y) - 1))
    pair = row[kept[row] & kept[row + 1] & (steps.second[row] == steps.first[row + 1])]
    n, place = len(pair), place_of_steps(events, steps, np.concatenate([pair, pair + 1]), hand)
    if n < _FEWEST:
        why = f"it takes {_FEWEST} pairs of neighbouring steps, and {n} came"
        return Finding.missing("npvi", "%", why, n=n, place=place)
    each = neighbours(steps.seconds[pair], steps.seconds[pair + 1])
    value = float(each.mean())
    written = pair_kinds(steps.length[pair], steps.length[pair + 1])
    half = _half(each, np.unique(written, return_inverse=True)[1].reshape(-1), pair)
    return Finding("npvi", value, "%", n, max(0.0, value - half), min(200.0, value + half), None, place)


def _half(each: Floats, kind: Ints, pair: Ints) -> float:
    """Half the interval of the mean."""
    mean, df = np.bincount(kind, each) / np.bincount(kind), max(1, len(each) - int(kind.max()) - 1)
    off = each - mean[kind]
    beside = off[:-1][np.diff(pair) == 1] @ off[1:][np.diff(pair) == 1]  # pairs that share a step
    total = float(off @ off)
    variance = max(total, total + 2 * float(beside)) / df / len(each)
    return t_quantile(df) * math.sqrt(variance)


def neighbours(before: Floats, after: Floats) -> Floats:
    """100 times the difference of each two lengths over their mean."""
    return np.asarray(100 * np.abs(before - after) / ((before + after) / 2))


def npvi(length: Floats) -> float:
    """Contrast of neighbouring lengths, 0 to 200. NaN for fewer than two lengths."""
    return float(neighbours(length[:-1], length[1:]).mean()) if len(length) > 1 else float("nan")
