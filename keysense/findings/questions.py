"""The table of questions: what is asked of a take, in the order it is told."""

from __future__ import annotations

from collections.abc import Callable

from keysense.finding import Finding
from keysense.findings.accents import accents
from keysense.findings.arches import arch_loudness, arch_tempo
from keysense.findings.articulation import hold_ratios
from keysense.findings.breathing import breaths
from keysense.findings.changes import tempo_change
from keysense.findings.chords import chord_spread, chords_rolled
from keysense.findings.clock import scatter_parted
from keysense.findings.closing import closing
from keysense.findings.contrast import contrast
from keysense.findings.counted import notes_counted
from keysense.findings.evenness import evenness_timing, runs_of_equal_values
from keysense.findings.hairpins import rises
from keysense.findings.hands import hands_lag
from keysense.findings.heard import Heard
from keysense.findings.keyboard import keyboard
from keysense.findings.level import loudness_level
from keysense.findings.loudness import evenness_loudness, loudness_contrast
from keysense.findings.pedal import pedalling
from keysense.findings.playings import runs_played_again
from keysense.findings.pulse import final_slowing, period_spread
from keysense.findings.rhythm import rhythms
from keysense.findings.scales import scale_runs
from keysense.findings.sections import drift_by_section
from keysense.findings.sighs import sighs
from keysense.findings.slurs import overlaps
from keysense.findings.steps import going_back, waits
from keysense.findings.tempo import drift, tempo
from keysense.findings.two_notes import two_note_touch
from keysense.findings.voicing import melody_lead, voicing

__all__ = ["QUESTIONS"]

QUESTIONS: tuple[Callable[[Heard], list[Finding]], ...] = (
    tempo,
    drift,
    drift_by_section,
    tempo_change,
    period_spread,
    final_slowing,
    closing,
    rhythms,
    contrast,
    evenness_timing,
    runs_of_equal_values,
    scale_runs,
    runs_played_again,
    scatter_parted,
    evenness_loudness,
    loudness_level,
    loudness_contrast,
    rises,
    accents,
    overlaps,
    sighs,
    hold_ratios,
    hands_lag,
    chord_spread,
    chords_rolled,
    melody_lead,
    voicing,
    two_note_touch,
    breaths,
    arch_tempo,
    arch_loudness,
    pedalling,
    notes_counted,
    waits,
    going_back,
    keyboard,
)
