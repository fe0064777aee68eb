"""Are the steps even in time?

Conventions
    One row a hand, hands never mixed. The shape of each phrase (a quadratic in ln period) is taken away first, so a
    breathing phrase is not called uneven; so is the swing of eighths that are swung alike throughout, and the place
    then says how: ``swung``. The spread within a run is that of the plain steps, swing and all.

Findings
    evenness_timing (%): 100 * sqrt(RSS / (n - p)) of ln(seconds / written quarters) over steady steps, p parameters in
        all; chi-square interval. Independent normal scatter in ln IOI is what it measures; scatter of the onsets
        themselves is another thing, whose neighbours go against each other: it reads sqrt(n / (n - p)) high, and the
        interval then covers about 90 % instead of 95.
    evenness_timing_robust (%): the same from the median absolute residual, 148.26 * median * sqrt(n / (n - p)).
    sd_ioi (ms), cv_ioi (%): standard deviation of the steps of one run of equal values, and its share of their mean;
        one row a run and hand, chi-square interval. The run is broken at rests, waits and phrase ends.

References
    van Vugt, Jabusch, Altenmueller 2012, Front Psychol 3:495 (method). Jabusch 2006, as cited: 13 professional
    pianists, IOI 125 ms, right hand: 8.1 ms up, 8.9 ms down.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.rhythm_pairs import OWN_VERSION
from keysense.findings.stats import MAD_TO_SD, chi_interval, middle_of, robust_interval
from keysense.findings.steps import Steps, steady_shape, steps_of
from keysense.findings.tempo import FREE

__all__ = ["equal_runs", "evenness_timing", "place_of_steps", "runs_of_equal_values"]

Floats = npt.NDArray[np.float64]
_FEWEST_DF = 8
_FEWEST_IN_RUN = 7  # steps: eight notes of equal value
_EQUAL = 1e-3


def evenness_timing(heard: Heard) -> list[Finding]:
    """Scatter of the steps about the shape of their phrase, one row a hand, in two forms."""
    rows: list[Finding] = []
    for hand, events in heard.hand_events.items():
        rows += _evenness_of(heard, hand, events)
    return rows


def _evenness_of(heard: Heard, hand: str, events: Events) -> list[Finding]:
    steps = steps_of(heard, events)
    use = steps.steady
    n = int(np.count_nonzero(use))
    place = replace(place_of_steps(events, steps, np.flatnonzero(use), hand), how="swung" if steps.swung else "")
    fitted, p = steady_shape(heard, steps)
    why = FREE if heard.free else "" if n - p >= _FEWEST_DF else _too_few(n, p)
    why = OWN_VERSION if steps.own_rhythm else why
    if why:
        names = ("evenness_timing", "evenness_timing_robust")
        return [Finding.missing(name, "%", why, n=n, place=place) for name in names]
    residual = 100 * (steps.y[use] - fitted)
    limit = heard.practice.limit("evenness_timing")
    sd = math.sqrt(float(residual @ residual) / (n - p))
    robust = MAD_TO_SD * middle_of(np.sort(np.abs(residual))) * math.sqrt(n / (n - p))
    return [
        Finding("evenness_timing", sd, "%", n, *chi_interval(sd, n - p), limit, place),
        Finding("evenness_timing_robust", robust, "%", n, *robust_interval(robust, n, p), limit, place),
    ]


def _too_few(n: int, p: int) -> str:
    return f"it takes {p + _FEWEST_DF} steady steps to tell their scatter from the phrases' shape, and {n} came"


def place_of_steps(events: Events, steps: Steps, rows: npt.NDArray[np.int64], hand: str) -> Place:
    """The bars of some steps of one hand."""
    if not len(rows):
        return Place(None, hand_or_none(hand))
    first, last = events.bar[steps.first[rows]].min(), events.bar[steps.second[rows]].max()
    return Place((int(first), int(last)), hand_or_none(hand))


def runs_of_equal_values(heard: Heard) -> list[Finding]:
    """sd_ioi and cv_ioi of each run of at least eight notes of one written value, one hand."""
    rows: list[Finding] = []
    for hand, events in heard.hand_events.items():
        steps = steps_of(heard, events)
        runs = [] if heard.free else equal_runs(steps)
        why = FREE if heard.free else "no run of eight notes of equal value was heard"
        rows += _of_runs(heard, hand, events, steps, runs) if runs else []
        if not runs:
            place = Place(None, hand_or_none(hand))
            rows.append(Finding.missing("sd_ioi", "ms", why, place=place))
            rows.append(Finding.missing("cv_ioi", "%", why, place=place))
    return rows


def equal_runs(steps: Steps) -> list[npt.NDArray[np.int64]]:
    """Rows of steady steps that follow each other and are written equal, seven or more."""
    good = np.flatnonzero(steps.steady)
    if not len(good):
        return []
    breaks = (steps.first[good[1:]] != steps.second[good[:-1]]) | (
        np.abs(steps.length[good[1:]] - steps.length[good[:-1]]) > _EQUAL
    )
    return [run for run in np.split(good, np.flatnonzero(breaks) + 1) if len(run) >= _FEWEST_IN_RUN]


def _of_runs(heard: Heard, hand: str, events: Events, steps: Steps, runs: list[npt.NDArray[np.int64]]) -> list[Finding]:
    counts, rows, limit = np.array([len(run) for run in runs]), np.concatenate(runs), heard.practice.limit("cv_ioi")
    start, number = np.cumsum(counts) - counts, np.repeat(np.arange(len(runs)), counts)
    ioi_ms = 1000 * steps.seconds[rows]
    mean = np.add.reduceat(ioi_ms, start) / counts
    sds = np.sqrt(np.add.reduceat((ioi_ms - mean[number]) ** 2, start) / (counts - 1)).tolist()
    first = np.minimum.reduceat(events.bar[steps.first[rows]], start).tolist()
    last = np.maximum.reduceat(events.bar[steps.second[rows]], start).tolist()
    found: list[Finding] = []
    for sd, n, share, *bars in zip(sds, counts.tolist(), (100 / mean).tolist(), first, last, strict=True):
        place, (low, high) = Place((bars[0], bars[1]), hand_or_none(hand)), chi_interval(sd, n - 1)
        found.append(Finding("sd_ioi", sd, "ms", n, low, high, None, place))
        found.append(Finding("cv_ioi", sd * share, "%", n, low * share, high * share, limit, place))
    return found
