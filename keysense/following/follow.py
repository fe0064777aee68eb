"""`follow`: the notes of a take set beside the notes of its target.

The steps are told in the head of `keysense.following`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following.choose import Reading, decode
from keysense.following.confidence import confidence_of, is_lost, lost_at, own_tune, pair_confidence
from keysense.following.decode import JUMPED
from keysense.following.following import EXTRA, MATCH, ORNAMENT, PAIR, Following, Pass
from keysense.following.looks import second_looks
from keysense.following.ornaments import play_out
from keysense.following.pairing import Sounding
from keysense.following.passes import Span, Stretch, spans, stretches
from keysense.following.ties import elsewhere
from keysense.following.turns import by_turns
from keysense.following.values import median
from keysense.following.written import written
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["follow"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


class _Paired(NamedTuple):
    """The pairs once more, a value a press: the row of the target, -1 for none; whether it is a match, an ornament."""

    note: Ints
    matched: Bools
    ornament: Bools


def follow(target: Target, take: Take) -> Following:
    """Pair every key press of a take with the note of the target it was played for.

    Survives other pitches, omissions, extra notes, waits, corrected notes, restarts and skips, any tempo from a third
    to three times, another tonality, a hand an octave off or silent, one hand and then the other, starts in the middle
    and unfinished takes.
    Nothing is raised on odd music: where the place is lost, `Following.lost` says so.
    """
    return by_turns(target, take, _follow(target, take), _follow)


def _follow(target: Target, take: Take) -> Following:
    """The same, the whole take by one reading."""
    if not len(take.notes) or not len(target.notes):
        return _nothing(target, take)
    reading = decode(target, take)
    if not len(reading.path):
        return _nothing(target, take)
    sounding = _sounding(target, reading)
    parts = stretches(reading.path, len(take.notes))
    pairs = _unpaired(take)
    second_looks(parts, sounding, take, pairs)
    play_out(target, take, parts, sounding, pairs)
    paired = _Paired(pairs["target"].astype(np.int64), pairs["kind"] == MATCH, pairs["kind"] == ORNAMENT)
    pairs["passing"] = _passings(paired.note)
    pairs["confidence"] = pair_confidence(paired.matched | paired.ornament, paired.note < 0)
    pitch = take.notes["pitch"][~paired.ornament]
    n, jumps = int(np.count_nonzero(paired.matched)), int(np.count_nonzero(reading.path["how"][1:] == JUMPED))
    sure, kept = confidence_of(reading.value, len(pitch), n, jumps)
    lost = is_lost(sure, kept, own_tune(reading.value, n, jumps, pitch), len(pitch))
    places = spans(sounding.onset_of[sounding.at_row[paired.note]], paired.note >= 0, parts)
    return Following(
        pairs=pairs,
        omitted=_omitted(paired, places, reading, sounding),
        passes=_passes(target, paired, parts),
        shift_semitones=_shift(target, reading),
        tempo_ratio=_tempo_ratio(target, take, paired),
        confidence=sure,
        lost=lost,
        lost_at_s=lost_at(take.notes["onset_s"], paired.matched) if lost else None,
        ties=_ties(target, paired, parts, places, sounding),
    )


def _unpaired(take: Take) -> npt.NDArray[np.void]:
    pairs = np.zeros(len(take.notes), PAIR)
    pairs["played"], pairs["target"], pairs["kind"] = np.arange(len(pairs)), -1, EXTRA
    return pairs


def _nothing(target: Target, take: Take) -> Following:
    """No path: lost. A press all by itself is laid on the first note of its key, which proves nothing."""
    pairs = _unpaired(take)
    at = float(take.notes["onset_s"][0]) if len(take.notes) else None
    alone = take.notes["pitch"][0] if len(take.notes) == 1 else -1
    rows = np.flatnonzero(target.notes["pitch"] == alone)
    if len(rows):
        pairs["target"], pairs["kind"] = rows[0], MATCH
    return Following(pairs, np.zeros(0, np.int32), [], {}, None, 0.0, True, at)


def _sounding(target: Target, reading: Reading) -> Sounding:
    at, left = reading.lane.onsets, written(target).left
    left = left if len(at.rows) == len(left) else left[at.rows]
    return Sounding(at.rows, at.onset_of, at.onset_quarter, reading.hypothesis.pitch, left, at.at_row)


def _passings(note: Ints) -> list[int]:
    """How often the note of each press was sounded before; 0 where it is of none."""
    passing, times = [], {-1: 0}
    for row in note.tolist():
        before = times.get(row, 0)
        passing.append(before)
        if row >= 0:
            times[row] = before + 1
    return passing


def _omitted(paired: _Paired, places: list[Span], reading: Reading, sounding: Sounding) -> npt.NDArray[np.int32]:
    """Sounding notes inside the played span that no press was paired with.

    Two notes written on one key at one time, by two voices or both hands, are one press: neither is left out then.
    """
    onset_of = sounding.onset_of
    within = np.zeros(len(onset_of), bool)
    for first, last in places:
        within[onset_of.searchsorted(first) : onset_of.searchsorted(last, side="right")] = True
    sounded = np.zeros(len(sounding.at_row) + 1, bool)
    sounded[paired.note] = True  # -1, none, is the last
    heard = sounded[sounding.row]
    (silent,) = (within & ~heard).nonzero()
    if len(silent) and len(reading.lane.unisons):
        key = 1000 * onset_of + sounding.pitch
        pressed = {*key[heard].tolist()}
        silent = silent[[k not in pressed for k in key[silent].tolist()]]
    return sounding.row[silent].astype(np.int32)


def _passes(target: Target, paired: _Paired, parts: list[Stretch]) -> list[Pass]:
    bars = spans(written(target).bar[paired.note], paired.note >= 0, parts)
    return [
        Pass(first_bar=first, last_bar=last, first_played=part.first_played, last_played=part.end_played - 1)
        for part, (first, last) in zip(parts, bars, strict=True)
        if first <= last
    ]


def _ties(
    target: Target, paired: _Paired, parts: list[Stretch], places: list[Span], sounding: Sounding
) -> list[tuple[int, tuple[int, ...]]]:
    """Of each pass that may lie elsewhere: its number and every bar it may start in. The start of the piece is sure."""
    out = []
    passes = (part for part, (first, last) in zip(parts, places, strict=True) if first <= last)
    for number, part in enumerate(passes):
        own = slice(part.first_played, part.end_played)
        matched = sounding.at_row[paired.note[own][paired.matched[own]]]
        at = sounding.onset_of[matched]
        others = elsewhere(sounding, matched) if len(at) and (number or at.min()) else []
        if others:
            rows = sounding.row[sounding.onset_of.searchsorted([*others, at.min()])]
            out.append((number, tuple(sorted({*written(target).bar[rows].tolist()}))))
    return out


def _shift(target: Target, reading: Reading) -> dict[str, int]:
    shift = reading.hypothesis.shift
    return {hand: shift.get(hand, 0) for hand in written(target).hands or ("",)}


def _over_a_quarter(quarter: Floats, onset_s: Floats) -> tuple[Floats, Floats]:
    """Quarters and seconds from each note to the first at least a quarter further in its run, else to the next one."""
    back = (quarter[1:] - quarter[:-1] < -1e-6).nonzero()[0] + 1
    steps, times, first = [], [], 0
    for end in (*back.tolist(), len(quarter)):
        run, seconds = quarter[first:end], onset_s[first:end]
        later = run.searchsorted(run + 1.0 - 1e-6)
        if not (later < len(run)).any():
            later = np.arange(1, len(run) + 1)
        (at,) = (later < len(run)).nonzero()
        steps.append(run[later[at]] - run[at])
        times.append(seconds[later[at]] - seconds[at])
        first = end
    return np.concatenate(steps), np.concatenate(times)


def _tempo_ratio(target: Target, take: Take, paired: _Paired) -> float | None:
    """Played quarters a minute over the target's: the middle of the paces from each matched onset to one a quarter on.

    Over a quarter, since the long and the short note of a swung or a softened pair are of two paces.
    """
    if not target.tempo_qpm:
        return None
    quarter = written(target).quarter[paired.note[paired.matched]]
    steps, times = _over_a_quarter(quarter, take.notes["onset_s"][paired.matched])
    use = (steps > 1e-6) & (times > 0.02)
    if not use.any():
        return None
    return float(60.0 * median(steps[use] / times[use]) / target.tempo_qpm)
