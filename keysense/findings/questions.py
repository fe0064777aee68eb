"""The table of questions: what is asked of a take, in the order it is told."""

from __future__ import annotations

from collections.abc import Callable

from keysense.finding import Finding
from keysense.findings.articulation import hold_ratios
from keysense.findings.breathing import breaths
from keysense.findings.counted import notes_counted
from keysense.findings.evenness import evenness_timing, runs_of_equal_values
from keysense.findings.hairpins import rises
from keysense.findings.hands import hands_lag
from keysense.findings.heard import Heard
from keysense.findings.loudness import evenness_loudness, loudness_contrast
from keysense.findings.slurs import overlaps
from keysense.findings.steps import going_back, waits
from keysense.findings.tempo import drift, tempo

__all__ = ["QUESTIONS"]

QUESTIONS: tuple[Callable[[Heard], list[Finding]], ...] = (
    tempo,
    drift,
    evenness_timing,
    runs_of_equal_values,
    evenness_loudness,
    loudness_contrast,
    rises,
    overlaps,
    hold_ratios,
    hands_lag,
    breaths,
    notes_counted,
    waits,
    going_back,
)
