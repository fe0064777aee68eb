"""A pupil's playing beside the playing it was learnt from, phrase by phrase: does the line go the same way?

Conventions
    Only the shape is looked at. Each phrase's own mean is taken away, so neither how loud nor how fast it was played
    counts, and the way of a line is compared, never how far it goes: a child's small rise is as much a rise. No
    distance between the two is worked out or given. Notes that both have are compared in pairs; waits, rests and
    phrase ends are left out of the time. Where no phrase is marked, some sixteen neighbours make one.

Findings
    A shape is the straight and the bent part (two figures) of the line within a phrase: velocity for loudness, minus
    ln period for time. Words, for each phrase and line:
    "same shape": the pupil's line rises and falls along the model's, beyond chance (one-sided t);
    "a shape of its own": it has a shape beyond chance (F), and one that does not go along the model's;
    "can't tell yet": neither, or too few notes.
    Lines that the model itself plays without a shape have "no shape to follow", and nothing is asked there.
    Both chances are shared among the phrases and lines of the page, so noise is given a word on one page in twenty.

References
    Orthogonal polynomials and their t and F tests: any textbook of regression (memory). Common practice, no source:
    that a phrase's shape is told well enough by how it slopes and bends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from keysense.comparing.compared import shared
from keysense.findings.heard import Heard
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.shape import blocks_of
from keysense.findings.stats import t_at
from keysense.findings.steps import steps_of

__all__ = ["LINES", "PhraseShape", "phrase_shapes"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Line = Literal["loudness", "time"]
ShapeWord = Literal["same shape", "a shape of its own", "no shape to follow", "can't tell yet"]

LINES: tuple[Line, Line] = ("loudness", "time")


@dataclass(frozen=True)
class PhraseShape:
    """One line of one phrase: its number, counted from 1, its bars, how many notes (of time: steps) both have."""

    phrase: int
    bars: tuple[int, int]
    line: Line
    word: ShapeWord
    n: int
    why: str = ""

    def to_json(self) -> dict[str, Any]:
        """Plain types only."""
        return {"phrase": self.phrase, "bars": list(self.bars), "line": self.line, "word": self.word, "n": self.n,
                "why_missing": self.why or None}  # fmt: skip


@dataclass(frozen=True)
class _Rule:
    """What may be told: the chance of a page, the fewest notes, the share that goes along; tests on the page."""

    chance: float
    fewest: float
    along: float
    tests: int

    @property
    def share(self) -> float:
        """The chance that one test of the page has."""
        return self.chance / max(1, self.tests)


@dataclass(frozen=True)
class _Points:
    """What both takes have of one line: quarter, bar, number of the phrase, and the two figures."""

    quarter: Floats
    bar: Ints
    phrase: Ints
    model: Floats
    pupil: Floats
    why: str = ""


def phrase_shapes(model: Heard, pupil: Heard) -> tuple[PhraseShape, ...]:
    """Each phrase's lines, in the order of the music; empty where the place was lost in either."""
    if model.following.lost or pupil.following.lost:
        return ()
    both: dict[Line, _Points] = {"loudness": _loudness(model, pupil), "time": _time(model, pupil)}
    numbers = np.unique(np.concatenate([points.phrase for points in both.values()]))
    chance, fewest, along = (model.practice.value(row) for row in ("false_claims", "shape_notes", "shape_along"))
    rule = _Rule(chance, fewest, along, len(numbers) * len(LINES))
    return tuple(
        _told(int(number), k, line, both[line], rule)
        for k, number in enumerate(numbers, 1)
        for line in LINES
        if np.any(both[line].phrase == number)
    )


def _phrases(heard: Heard, quarter: Floats) -> Ints:
    return blocks_of(
        heard.phrase_of(quarter), np.zeros(len(quarter), np.int64), has_phrases=len(heard.target.phrases) > 0
    )


def _loudness(model: Heard, pupil: Heard) -> _Points:
    """The velocities of the upper hand's events: of the melody, as a rule."""
    sides = [hand for hand in model.hands if hand in pupil.hands][:1]
    if not sides:
        return _none("no hand was heard in both")
    a, b = (heard.hand_events[sides[0]] for heard in (model, pupil))
    in_a, in_b = shared(a.quarter, b.quarter)
    if one_velocity(model) or one_velocity(pupil):
        return _none(ONE_VELOCITY, a.quarter[in_a], a.bar[in_a], _phrases(model, a.quarter[in_a]))
    quarter = a.quarter[in_a]
    return _Points(quarter, a.bar[in_a], _phrases(model, quarter), a.velocity[in_a], b.velocity[in_b])


def _time(model: Heard, pupil: Heard) -> _Points:
    """Minus ln period of the steady steps of both: high is quick."""
    events = model.all_events
    a, b = steps_of(model, events), steps_of(pupil, pupil.all_events)
    use_a, use_b = np.flatnonzero(a.steady), np.flatnonzero(b.steady)
    in_a, in_b = shared(np.round(a.start[use_a], 6), np.round(b.start[use_b], 6))
    rows = use_a[in_a]
    quarter = a.start[rows]
    return _Points(quarter, events.bar[a.first[rows]], _phrases(model, quarter), -a.y[rows], -b.y[use_b[in_b]])


def _none(why: str, quarter: Floats | None = None, bar: Ints | None = None, phrase: Ints | None = None) -> _Points:
    empty = np.zeros(0)
    at = empty if quarter is None else quarter
    none = np.zeros(0, np.int64)
    return _Points(at, none if bar is None else bar, none if phrase is None else phrase, at, at, why)


def _told(number: int, counted: int, line: Line, points: _Points, rule: _Rule) -> PhraseShape:
    inside = points.phrase == number
    n = int(inside.sum())
    bars = int(points.bar[inside].min()), int(points.bar[inside].max())
    if points.why:
        return PhraseShape(counted, bars, line, "can't tell yet", n, points.why)
    if n < rule.fewest or len(np.unique(points.quarter[inside])) < rule.fewest:
        why = f"it takes {rule.fewest:.0f} notes of the phrase in both, and {n} came"
        return PhraseShape(counted, bars, line, "can't tell yet", n, why)
    word = _word(points.quarter[inside], points.model[inside], points.pupil[inside], rule)
    return PhraseShape(counted, bars, line, word, n)


def _word(quarter: Floats, model: Floats, pupil: Floats, rule: _Rule) -> ShapeWord:
    basis, _ = np.linalg.qr(np.vander(quarter - quarter.mean(), 3, increasing=True))
    basis = basis[:, 1:]
    asked, asked_left, df = _shape(basis, model)
    if _chance(asked, asked_left, df) >= rule.chance:
        return "no shape to follow"
    shape, left, _ = _shape(basis, pupil)
    along = float(shape @ asked) / float(np.linalg.norm(asked))
    error = math.sqrt(left / df)
    if along > t_at(df, 1 - rule.share / 2) * error and along > 0:
        return "same shape"
    if along <= rule.along * float(np.linalg.norm(shape)) and _chance(shape, left, df) < rule.share / 2:
        return "a shape of its own"
    return "can't tell yet"


def _shape(basis: Floats, y: Floats) -> tuple[Floats, float, int]:
    """The two figures of the shape, what is left of the squares without it, and its degrees of freedom."""
    centred = y - y.mean()
    shape = centred @ basis
    left = max(float(centred @ centred - shape @ shape), 1e-12)
    return shape, left, len(y) - 3


def _chance(shape: Floats, left: float, df: int) -> float:
    """How often scatter alone gives so much of a shape."""
    from scipy.special import fdtrc

    return float(fdtrc(2, df, float(shape @ shape) / 2 / (left / df)))
