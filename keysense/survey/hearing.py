"""How does this piano answer touch? Read from what a teacher played by the script.

Conventions
    The script: in three regions (low, in the middle, high) one key each, five times soft, five middling, five loud;
    ten two-note touches; the pedal; silence. Notes within 80 ms of each other are a two-note touch; keys struck fewer
    than nine times alone are strays. Where a key was not struck fifteen times, its three strengths are cut where they
    differ most.

Findings
    touch_soft, touch_middle, touch_loud (velocity): means with Student's interval. touch_floor, touch_ceiling: where
    the softest and the loudest twentieth begin (mean -+ 1.645 spreads of the soft, the loud), with their error.
    key_bias (velocity), a row a region, named in the place's mark: louder than the others at the same strength.
    pair_gap (ms), pair_loudness (velocity): the higher of two keys struck together, against the lower.
    clock_step, the pedal's kind: `keysense.survey.clock`. stray_messages (count).

References
    All of it common practice, no source. Fixed velocity: at most two values in twelve notes or more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
import numpy.typing as npt

from keysense.errors import SurveyError
from keysense.finding import Finding, Place
from keysense.findings.ranks import median_of
from keysense.findings.reading import finding_from_json
from keysense.findings.stats import Estimate, mean_of, t_quantile, welch
from keysense.notes import Take
from keysense.practice import Practice, read_practice
from keysense.survey.clock import PedalKind, clock_step, pedal_kind
from keysense.survey.curve import STRENGTHS, TouchCurve

__all__ = ["REGIONS", "Survey", "hear_survey", "moved"]

Floats = npt.NDArray[np.float64]
REGIONS = ("low", "middle", "high")
_LOWEST, _HIGHEST = 0.5, 126.5  # a curve needs room below its softest and above its loudest
_FEWEST_STROKES, _FEWEST_OF_EACH = 9, 3
_TWENTIETH = 1.645
_ONE_VELOCITY = "the piano sends one loudness"


@dataclass(frozen=True)
class Survey:
    """What is known of one piano. curve is None where it sends one loudness whatever the touch (``fixed``)."""

    findings: tuple[Finding, ...]
    curve: TouchCurve | None
    pedal: PedalKind
    fixed: bool
    n: int

    def one(self, name: str, region: str | None = None) -> Finding:
        """The finding of this name, of one region where it is given; KeyError where there is none."""
        for finding in self.findings:
            if finding.name == name and region in (None, finding.place.mark):
                return finding
        raise KeyError(name)

    @property
    def clock_step_ms(self) -> float:
        """Gaps shorter than this are not judged; 0 where the clock is finer than half a millisecond."""
        return self.one("clock_step").value or 0.0

    def to_json(self) -> dict[str, Any]:
        """Plain types only; `from_json` gives back an equal survey."""
        return {
            "findings": [finding.to_json() for finding in self.findings],
            "curve": None if self.curve is None else self.curve.to_json(),
            "pedal": self.pedal,
            "fixed": self.fixed,
            "n": self.n,
        }

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Survey:
        """A survey from what `to_json` gave."""
        curve = None if kept["curve"] is None else TouchCurve.from_json(kept["curve"])
        findings = tuple(finding_from_json(row) for row in kept["findings"])
        return cls(findings, curve, cast(PedalKind, kept["pedal"]), bool(kept["fixed"]), int(kept["n"]))


def hear_survey(take: Take, *, practice: Practice | None = None) -> Survey:
    """What a teacher's playing by the script tells of the piano; raises SurveyError where the script is not in it."""
    table = practice or read_practice()
    paired, alone = _split(take.notes, table.value("survey_together") / 1000)
    strokes, strays = _strokes(alone, table.value("survey_low_below"), table.value("survey_high_from"))
    if not strokes:
        raise SurveyError("this playing is no survey: one key is struck five times soft, five middling, five loud")
    velocity = np.concatenate([alone["velocity"], paired["velocity"].reshape(-1)]).astype(float)
    kinds, fewest = table.value("one_velocity_kinds"), table.value("one_velocity_notes")
    fixed = len(np.unique(velocity)) <= kinds and len(velocity) >= fewest
    touches, curve = _missing_touch(len(velocity)) if fixed else _touches(strokes)
    findings = (
        *touches,
        *([] if fixed else _key_bias(strokes, table)),
        *_pairs(paired, fixed=fixed),
        clock_step(take.notes["onset_s"]),
        Finding("stray_messages", len(strays), "count", len(take.notes), places=(Place(),) * len(strays)),
    )
    return Survey(findings, curve, pedal_kind(take.pedals), fixed, len(take.notes))


def _split(notes: npt.NDArray[np.void], together_s: float) -> tuple[npt.NDArray[np.void], npt.NDArray[np.void]]:
    """Pairs as rows of (lower, higher), and the notes struck alone."""
    near = np.flatnonzero((np.diff(notes["onset_s"]) <= together_s) & (np.diff(notes["pitch"].astype(int)) != 0))
    first = [int(k) for i, k in enumerate(near) if i == 0 or k != near[i - 1] + 1]
    rows = np.array([[k, k + 1] for k in first], np.intp).reshape(-1, 2)
    alone = np.delete(notes, rows.reshape(-1))
    pairs = notes[rows]
    order = np.argsort(pairs["pitch"], axis=1)
    return np.take_along_axis(pairs, order, axis=1).reshape(-1, 2), alone


def _strokes(
    alone: npt.NDArray[np.void], low_below: float, high_from: float
) -> tuple[dict[str, dict[str, Floats]], npt.NDArray[np.void]]:
    """Velocities by region and strength, and the notes that are of no region."""
    keys, counts = np.unique(alone["pitch"], return_counts=True)
    often = keys[counts >= _FEWEST_STROKES]
    strokes: dict[str, dict[str, Floats]] = {}
    for key in often.tolist():
        region = "low" if key < low_below else "high" if key >= high_from else "middle"
        strokes.setdefault(region, _by_strength(alone["velocity"][alone["pitch"] == key].astype(float)))
    return strokes, alone[~np.isin(alone["pitch"], often)]


def _by_strength(velocity: Floats) -> dict[str, Floats]:
    """Cut into soft, middle and loud: in thirds where fifteen came, else where the three differ most."""
    n = len(velocity)
    cuts = (5, 10) if n == 15 else min(
        ((a, b) for a in range(_FEWEST_OF_EACH, n - 2 * _FEWEST_OF_EACH + 1)
         for b in range(a + _FEWEST_OF_EACH, n - _FEWEST_OF_EACH + 1)),
        key=lambda cut: sum(float(((part - part.mean()) ** 2).sum()) for part in np.split(velocity, cut)),
    )  # fmt: skip
    return dict(zip(STRENGTHS, np.split(velocity, cuts), strict=True))


def _touches(strokes: dict[str, dict[str, Floats]]) -> tuple[list[Finding], TouchCurve]:
    pooled = {name: np.concatenate([region[name] for region in strokes.values()]) for name in STRENGTHS}
    means = {name: mean_of(values) for name, values in pooled.items()}
    soft, middle, loud = (e.whole()[0] for e in means.values())
    soft, loud = max(soft, _LOWEST), min(loud, _HIGHEST)
    if soft < middle and middle >= loud >= _HIGHEST:
        raise SurveyError(
            "this piano sends its loudest for a middling touch already: set it to a heavier touch, then play once more"
        )
    if not soft < middle < loud:
        raise SurveyError("soft, middle and loud did not come apart: play each key five times soft, middling, loud")
    findings = [_end("touch_floor", pooled["soft"], -1)]
    findings += [_finding(f"touch_{name}", e) for name, e in means.items()]
    findings.append(_end("touch_ceiling", pooled["loud"], 1))
    return findings, TouchCurve(soft, middle, loud)


def _missing_touch(n: int) -> tuple[list[Finding], None]:
    names = ("touch_floor", *(f"touch_{name}" for name in STRENGTHS), "touch_ceiling")
    return [Finding.missing(name, "velocity", _ONE_VELOCITY, n=n) for name in names], None


def _finding(name: str, e: Estimate) -> Finding:
    return Finding(name, e.value, "velocity", e.n, e.low, e.high)


def _end(name: str, values: Floats, side: int) -> Finding:
    n, spread = len(values), float(values.std(ddof=1))
    value = min(127.0, max(1.0, float(values.mean()) + side * _TWENTIETH * spread))
    half = t_quantile(n - 1) * spread * math.sqrt(1 / n + _TWENTIETH**2 / (2 * (n - 1)))
    return Finding(name, value, "velocity", n, max(0.0, value - half), min(127.0, value + half))


def _key_bias(strokes: dict[str, dict[str, Floats]], table: Practice) -> list[Finding]:
    """How each region answers the same three strengths, against the others."""
    usual = {name: np.mean([region[name].mean() for region in strokes.values()]) for name in STRENGTHS}
    off = {region: np.concatenate([by[name] - usual[name] for name in STRENGTHS]) for region, by in strokes.items()}
    found = []
    for region in REGIONS:
        others = [values for other, values in off.items() if other != region]
        if region not in off or not others:
            why = "it takes this region and another, each struck at all three strengths"
            found.append(Finding.missing("key_bias", "velocity", why, place=Place(mark=region)))
            continue
        e = welch(np.concatenate(others), off[region])
        n, limit = len(off[region]), table.limit("key_bias")
        found.append(Finding("key_bias", e.value, "velocity", n, e.low, e.high, limit, Place(mark=region)))
    return found


def _pairs(pairs: npt.NDArray[np.void], *, fixed: bool) -> list[Finding]:
    """What the piano itself does to two keys struck together."""
    n, why = len(pairs), "no two keys were struck together"
    if not n:
        return [Finding.missing("pair_gap", "ms", why), Finding.missing("pair_loudness", "velocity", why)]
    gap = median_of(1000 * (pairs["onset_s"][:, 1] - pairs["onset_s"][:, 0]))
    found = [Finding("pair_gap", gap.value, "ms", n, gap.low, gap.high)]
    if fixed:
        return [*found, Finding.missing("pair_loudness", "velocity", _ONE_VELOCITY, n=n)]
    louder = pairs["velocity"][:, 1].astype(float) - pairs["velocity"][:, 0]
    return [*found, _finding("pair_loudness", mean_of(louder))]


def moved(before: Survey, after: Survey, *, practice: Practice | None = None) -> dict[str, float]:
    """By how much soft, middle and loud moved between two surveys of one piano, where by more than the table allows."""
    most = (practice or read_practice()).value("survey_repeat")
    names = [f"touch_{name}" for name in STRENGTHS]
    pairs = {name: (before.one(name).value, after.one(name).value) for name in names}
    by = {name: b - a for name, (a, b) in pairs.items() if a is not None and b is not None}
    return {name: step for name, step in by.items() if abs(step) > most}
