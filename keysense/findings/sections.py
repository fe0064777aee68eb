"""Getting faster or slower, section by section.

Conventions
    A section is a stretch of one written tempo or, where the page writes one tempo only, eight bars. Only where there
    are two sections or more.

Findings
    drift_section (%): the change of tempo over the steady steps of one section, a straight line through ln period,
        both hands together, Student's interval; one row a section; missing below eight steps and where freedom of time
        was asked.

References
    See `keysense.findings.tempo`.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Events, Heard
from keysense.findings.stats import slope_of
from keysense.findings.steps import Steps, steps_of
from keysense.findings.tempo import FREE

__all__ = ["drift_by_section"]

Ints = npt.NDArray[np.int64]
_BARS = 8
_FEWEST = 8


def drift_by_section(heard: Heard) -> list[Finding]:
    """One row a section that was heard; nothing where the music has but one."""
    events = heard.all_events
    steps = steps_of(heard, events)
    section = _sections(heard, events)[steps.first]
    present = np.unique(section)
    return [] if len(present) < 2 else [_drift(heard, events, steps, section == number) for number in present]


def _sections(heard: Heard, events: Events) -> Ints:
    written = heard.section_of(events.quarter)
    if len(np.unique(heard.section_of(heard.target.notes["onset_quarter"].astype(float)))) > 1:
        return written
    starts = heard.target.bars["start_quarter"]
    whole = max(1, round(len(starts) / _BARS))
    bar = np.searchsorted(starts, events.quarter + 1e-6, side="right") - 1
    return np.asarray(np.minimum(bar // _BARS, whole - 1), np.int64)


def _drift(heard: Heard, events: Events, steps: Steps, inside: npt.NDArray[np.bool_]) -> Finding:
    use = inside & steps.steady
    n = int(np.count_nonzero(use))
    bar = events.bar[steps.first[inside]]
    place = Place((int(bar.min()), int(bar.max())))
    if heard.free or n < _FEWEST:
        why = FREE if heard.free else f"it takes {_FEWEST} steady steps, and {n} came"
        return Finding.missing("drift_section", "%", why, n=n, place=place)
    x, y = steps.start[use], steps.y[use]
    e = slope_of(x, y)
    span = float(np.ptp(x))
    value, high, low = (100 * math.expm1(-slope * span) for slope in e.whole())
    return Finding("drift_section", value, "%", n, low, high, heard.practice.limit("drift"), place)
