"""Silences that the page itself writes: after which note, and for how many quarters, all hands rest. Pure numpy."""

from __future__ import annotations

from collections.abc import Callable

from keysense.targets.target import Target

__all__ = ["patient_silence", "written_rests"]

# how much slower than written a beginner may take a rest (common practice, no source)
_SLOWER = 2.0
_USUAL_QPM = 60.0
_SPARE_S = 1.0
# beyond this a rest is waited out no longer: the take would never seem to end
_LONGEST_S = 12.0


def written_rests(target: Target) -> dict[int, float]:
    """For each pitch that is the last struck before a rest of all hands: the longest such rest, in quarters.

    Silence after the last note of the piece is no rest.
    """
    rests: dict[int, float] = {}
    sounding_to = -float("inf")
    before: dict[float, list[int]] = {}
    last_onset: float | None = None
    for onset, duration, pitch in zip(
        target.notes["onset_quarter"].tolist(),
        target.notes["duration_quarter"].tolist(),
        target.notes["pitch"].tolist(),
        strict=True,
    ):
        if last_onset is not None and onset > sounding_to + 1e-6:
            for last in before[last_onset]:
                rests[last] = max(rests.get(last, 0.0), onset - sounding_to)
        before.setdefault(onset, []).append(pitch)
        last_onset = onset
        sounding_to = max(sounding_to, onset + duration)
    return rests


def patient_silence(target: Target | None, usual_s: float) -> Callable[[int], float]:
    """How many seconds of silence end a take, by the pitch last struck: never so few as a written rest may last."""
    rests = written_rests(target) if target else {}
    if target is None or not rests:
        return lambda _: usual_s
    quarter_s = _SLOWER * 60.0 / (target.tempo_qpm or _USUAL_QPM)
    waits = {pitch: min(quarters * quarter_s + _SPARE_S, _LONGEST_S) for pitch, quarters in rests.items()}
    return lambda pitch: max(usual_s, waits.get(pitch, 0.0))
