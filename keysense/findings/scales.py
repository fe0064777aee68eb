"""How even are the runs of a scale, those upward and those downward?

Conventions
    A run is five neighbouring notes or more of one hand, of equal written length, that go on upward or downward by
    steps of no more than three semitones; it is broken where the pitch turns, and wherever `keysense.findings.evenness`
    breaks a run. Steps as there: as they were played, swing and all.

Findings
    sd_ioi_up, sd_ioi_down (ms): median over the runs of one direction of the standard deviation of their steps; one row
        a hand, n is the runs. The interval is that of the standard deviation the runs share, chi-square at all their
        degrees of freedom, widened to hold the median, which lies low where runs are short. Missing below two runs;
        not asked where no such run was heard.

References
    Jabusch 2006, as cited: 13 professional pianists, scales at 125 ms a step, right hand: 8.1 ms up, 8.9 ms down.
    van Vugt, Jabusch, Altenmueller 2012, Front Psychol 3:495 (method).
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding
from keysense.findings.evenness import place_of_steps
from keysense.findings.heard import Events, Heard
from keysense.findings.stats import chi_interval
from keysense.findings.steps import Steps, steps_of
from keysense.findings.tempo import FREE

__all__ = ["scale_runs"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_FEWEST_STEPS = 4
_FEWEST_RUNS = 2
_WIDEST = 3  # semitones: the second and third of a scale, no broken chord
_EQUAL = 1e-3
_WAYS: tuple[tuple[Literal[1, -1], str], ...] = ((1, "sd_ioi_up"), (-1, "sd_ioi_down"))


def scale_runs(heard: Heard) -> list[Finding]:
    """sd_ioi_up and sd_ioi_down of each hand that played such a run."""
    rows: list[Finding] = []
    for hand, events in heard.hand_events.items():
        steps = steps_of(heard, events)
        rise = _rises(heard, events, steps)
        for way, name in _WAYS:
            runs = _runs(steps, np.flatnonzero(steps.steady & (np.sign(rise) == way)))
            if runs:
                rows.append(_of_runs(heard, name, hand, events, steps, runs))
    return rows


def _rises(heard: Heard, events: Events, steps: Steps) -> Ints:
    """Semitones from each single note to the next; 0 where a chord is struck or the step is no step of a scale."""
    pitch = heard.target.notes["pitch"][heard.rows["target"][events.row]].astype(np.int64)
    rise = pitch[steps.second] - pitch[steps.first]
    single = (events.size[steps.first] == 1) & (events.size[steps.second] == 1)
    return np.where(single & (np.abs(rise) <= _WIDEST), rise, 0)


def _runs(steps: Steps, rows: Ints) -> list[Ints]:
    """Neighbouring rows of one written length, cut where they do not follow each other; four or more."""
    if not len(rows):
        return []
    broken = (steps.first[rows[1:]] != steps.second[rows[:-1]]) | (
        np.abs(steps.length[rows[1:]] - steps.length[rows[:-1]]) > _EQUAL
    )
    return [run for run in np.split(rows, np.flatnonzero(broken) + 1) if len(run) >= _FEWEST_STEPS]


def _of_runs(heard: Heard, name: str, hand: str, events: Events, steps: Steps, runs: list[Ints]) -> Finding:
    place, n = place_of_steps(events, steps, np.concatenate(runs), hand), len(runs)
    if heard.free or n < _FEWEST_RUNS:
        why = FREE if heard.free else f"it takes {_FEWEST_RUNS} runs that go one way, and {n} came"
        return Finding.missing(name, "ms", why, n=n, place=place)
    played = [1000 * steps.seconds[run] for run in runs]
    middle = float(np.median([part.std(ddof=1) for part in played]))
    df = sum(len(part) - 1 for part in played)
    low, high = chi_interval(math.sqrt(sum(float(((part - part.mean()) ** 2).sum()) for part in played) / df), df)
    return Finding(name, middle, "ms", n, min(low, middle), max(high, middle), None, place)
