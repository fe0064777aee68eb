"""Does what is left of a fit wander, so that neighbours tell much the same?

Conventions
    Residuals stand in order of time. What one carries on to the next is the lag-1 autocorrelation r, with the bias of a
    fit of p parameters to n values put back: r + p (1 + 3 r) / n. It counts only where it shows: above 1.65 / sqrt n,
    from twelve values on, and at most .9; so of takes that do not wander one in twenty has a wider interval, and a
    slight wander goes unseen. A slope or a level is then known as from n (1 - r) / (1 + r) values.

Findings
    None of its own: wider intervals in `keysense.findings.stats`.

References
    Bayley & Hammersley 1946, effective number of values of a first-order autoregression; Marriott & Pope 1954, bias of
    r (memory). Simulated, 8,000 lines without a slope: with 32 and 64 values an interval leaves out zero in 4.7 to
    5.0 % where nothing wanders, in 5 to 9 % at r = .3 to .7 (14 to 43 % without this); with 16 values in 11 to 15 %.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["carried_on", "counting_as", "lag_one", "where_it_shows"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_SHOWS, _MOST = 1.65, 0.9
_FEWEST = 12
_ROUNDING = 1e-18  # mean square of what is exact


def carried_on(residual: Floats, number: Ints, n: Ints, parameters: int) -> Floats:
    """What each numbered part of the residuals carries on from one to the next, 0 where it does not show.

    number: 0, 1, .. of the part of each residual; n: how many each part has; parameters: of the fit of each.
    """
    r = lag_one(residual, number, n)
    return np.asarray(where_it_shows(r + parameters * (1 + 3 * r) / np.maximum(n, 1), n) * (r != 0))


def lag_one(residual: Floats, number: Ints, n: Ints) -> Floats:
    """The lag-1 autocorrelation of each numbered part as it is, 0 where a fit left nothing."""
    parts = len(n)
    squares = np.bincount(number, residual**2, parts)
    same = number[1:] == number[:-1]
    along = np.bincount(number[1:][same], (residual[1:] * residual[:-1])[same], parts)
    return np.asarray(np.divide(along, squares, out=np.zeros(parts), where=squares > _ROUNDING * np.maximum(n, 1)))


def where_it_shows(r: Floats, n: Ints) -> Floats:
    """The same r, at most `_MOST`, of so many values each; 0 where chance alone shows as much."""
    return np.where((n >= _FEWEST) & (r > _SHOWS / np.sqrt(np.maximum(n, 1))), np.minimum(r, _MOST), 0.0)


def counting_as(r: Floats) -> Floats:
    """What share of so many values they count as, each of which carries r on to the next."""
    return np.asarray((1 - r) / (1 + r))
