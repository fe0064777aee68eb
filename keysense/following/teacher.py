"""Several recordings of one tune by the teacher: one target, her own spread at each note, and questions.

The notes are those most recordings have (`keysense.targets.model`). Each recording is then followed by that target:
what agrees gives the spread, and where one recording differs a question is put, which stands? Nothing a recording plays
otherwise goes into the spread, so a slip is asked about and not learnt.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from keysense.errors import TargetError
from keysense.following.follow import follow
from keysense.following.following import EXTRA, MATCH, SUBSTITUTION, Following
from keysense.notes import Take
from keysense.targets.model import model_target
from keysense.targets.target import SPREAD, Target

__all__ = ["Question", "Taught", "teach"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Question:
    """Where one recording differs from the target that was made: which of them stands?

    kind: ``other`` (another key), ``left out``, ``more`` (a key the target has not) or ``again`` (it went back, or left
    bars out). recording: from 0, the one that differs. taken, heard: MIDI pitches, None for none. agreeing: how many of
    the recordings play it as it was taken.
    """

    kind: Literal["other", "left out", "more", "again"]
    recording: int
    bar: int
    taken: int | None
    heard: int | None
    agreeing: int


@dataclass(frozen=True)
class Taught:
    """target: with its spread filled in. questions: in the order of the tune."""

    target: Target
    questions: tuple[Question, ...]


def teach(takes: Sequence[Take], **how: Any) -> Taught:
    """One target from recordings of one tune; ``how`` as for `model_target`, whose errors are raised.

    Raises TargetError too where a recording cannot be followed by what the recordings agree on.
    """
    target = model_target(takes, **how)
    followings = [follow(target, take) for take in takes]
    for number, following in enumerate(followings, 1):
        if following.lost and len(takes) > 1:
            raise TargetError(f"recording {number} goes its own way: bring recordings of one tune, each whole")
    target = replace(target, spread=_spread(target, takes, followings))
    return Taught(target, _questions(target, takes, followings) if len(takes) > 1 else ())


def _as_taken(following: Following) -> npt.NDArray[np.void]:
    """The pairs that agree, of a note sounded more than once the last."""
    pairs = following.pairs[following.pairs["kind"] == MATCH]
    last = {int(row["target"]): i for i, row in enumerate(pairs)}
    agreed: npt.NDArray[np.void] = pairs[sorted(last.values())]
    return agreed


def _spread(target: Target, takes: Sequence[Take], followings: Sequence[Following]) -> npt.NDArray[np.void]:
    columns = [_of_one(target, take, _as_taken(following)) for take, following in zip(takes, followings, strict=True)]
    spread = np.zeros(len(target.notes), SPREAD)
    spread["takes"] = np.sum([np.isfinite(velocity) for _, velocity, _ in columns], axis=0)
    for name, stack in zip(("timing_ratio", "velocity", "hold_ratio"), zip(*columns, strict=True), strict=True):
        values = np.log(stack) if name == "timing_ratio" else np.asarray(stack)
        middle, scatter = _middle_and_scatter(values)
        spread[name] = np.exp(middle) if name == "timing_ratio" else middle
        spread[name.removesuffix("_ratio") + "_spread"] = scatter
    return spread


def _middle_and_scatter(values: Floats) -> tuple[Floats, Floats]:
    """Mean and standard deviation of each column, without what is missing; NaN below one and below two values."""
    known = np.isfinite(values)
    n = known.sum(0)
    mean = np.where(n > 0, np.where(known, values, 0.0).sum(0) / np.maximum(n, 1), np.nan)
    squares = np.where(known, (values - np.nan_to_num(mean)) ** 2, 0.0).sum(0)
    return mean, np.where(n > 1, np.sqrt(squares / np.maximum(n - 1, 1)), np.nan)


def _of_one(target: Target, take: Take, pairs: npt.NDArray[np.void]) -> tuple[Floats, Floats, Floats]:
    """Of one recording, a value a target note: length of the step over its usual length, velocity, share held."""
    step, velocity, hold = np.full((3, len(target.notes)), np.nan)
    row, notes = pairs["target"], take.notes[pairs["played"]]
    quarter, of = np.unique(target.notes["onset_quarter"], return_inverse=True)
    heard = np.bincount(of[row], minlength=len(quarter))
    with np.errstate(invalid="ignore"):
        came = np.bincount(of[row], notes["onset_s"], minlength=len(quarter)) / np.where(heard, heard, np.nan)
    velocity[row] = notes["velocity"]
    periods = np.diff(came) / np.diff(quarter)
    periods[~(periods > 0)] = np.nan
    if np.isfinite(periods).any():
        usual = float(np.nanmedian(periods))
        step = np.append(periods / usual, np.nan)[of]
        own = np.append(periods, usual)[of]  # the last note has no step of its own: the usual one
        lasts = target.notes["duration_quarter"] * np.where(np.isfinite(own), own, usual)
        hold[row] = (notes["release_s"] - notes["onset_s"]) / np.maximum(lasts[row], 1e-3)
    return step, velocity, hold


def _questions(target: Target, takes: Sequence[Take], followings: Sequence[Following]) -> tuple[Question, ...]:
    agreeing = np.zeros(len(target.notes), np.int64)
    for following in followings:
        agreeing[_as_taken(following)["target"]] += 1
    out = [
        question
        for number, (take, following) in enumerate(zip(takes, followings, strict=True))
        for question in _of_recording(number, target, take, following, agreeing, len(takes))
    ]
    return tuple(sorted(out, key=lambda q: (q.bar, q.recording)))


def _of_recording(
    number: int, target: Target, take: Take, following: Following, agreeing: Ints, recordings: int
) -> list[Question]:
    bar, written = target.notes["bar"].tolist(), target.notes["pitch"].tolist()
    out = []
    matched = set(_as_taken(following)["target"].tolist())
    here = bar[0]
    for played, row, kind in following.pairs[["played", "target", "kind"]].tolist():
        here = bar[row] if row >= 0 else here
        heard = int(take.notes["pitch"][played])
        if kind == SUBSTITUTION and row not in matched:
            out.append(Question("other", number, here, written[row], heard, int(agreeing[row])))
        elif kind in (EXTRA, SUBSTITUTION):
            out.append(Question("more", number, here, None, heard, recordings - 1))
    unsounded = sorted(set(range(len(written))) - set(following.pairs["target"].tolist()))
    out += [Question("left out", number, bar[row], written[row], None, int(agreeing[row])) for row in unsounded]
    again = following.passes[1:]
    return out + [Question("again", number, stretch["first_bar"], None, None, recordings - 1) for stretch in again]
