"""Which sounding of each written note is judged.

Conventions
    Of the passes of a take the last one that is as good as whole is judged; a written note it lacks is judged by its
    last sounding.

Findings
    None of its own: the rows that the questions look at.

References
    None: common practice, no source (the last whole playing counts).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following.following import Following
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["ROW", "judged"]

Ints = npt.NDArray[np.int64]

ROW = np.dtype(
    [
        ("target", "i8"), ("played", "i8"), ("passing", "i8"), ("matched", "?"), ("again", "?"), ("onset_s", "f8"),
        ("release_s", "f8"), ("pitch", "i8"), ("velocity", "f8"), ("quarter", "f8"), ("length", "f8"), ("bar", "i8"),
        ("hand", "U1"), ("voice", "i8"), ("grace", "?"),
    ]
)  # fmt: skip


def judged(take: Take, target: Target, following: Following, whole: float) -> npt.NDArray[np.void]:
    """Rows of dtype ROW, one a written note that sounded, sorted by written onset then pitch.

    whole: the share of the fullest pass's notes from which another is as good as whole.
    """
    pairs = following.pairs
    pairs = pairs[(pairs["target"] >= 0) & (pairs["played"] >= 0)]
    pairs = pairs[np.argsort(pairs["played"], kind="stable")]
    if not len(pairs):
        return np.zeros(0, ROW)
    passing = _pass_of(following, pairs["played"])
    main = _last_whole_pass(pairs["target"], passing, whole)
    # the last sounding wins, and a sounding in the judged pass wins over all others
    order = np.lexsort((pairs["played"], passing == main, pairs["target"]))
    note = pairs["target"][order]
    keep = order[np.append(note[1:] != note[:-1], True)] if len(order) else order
    rows = np.zeros(len(keep), ROW)
    played, asked = pairs["played"][keep], pairs["target"][keep]
    rows["target"], rows["played"], rows["passing"] = asked, played, passing[keep]
    rows["matched"] = pairs["kind"][keep] == "match"
    sounding = passing * len(target.notes) + pairs["target"]
    rows["again"] = np.bincount(sounding)[sounding[keep]] > 1
    for name in ("onset_s", "release_s", "pitch", "velocity"):
        rows[name] = take.notes[name][played]
    for name, of in (("quarter", "onset_quarter"), ("length", "duration_quarter"), ("bar", "bar"), ("hand", "hand"),
                     ("voice", "voice"), ("grace", "is_grace")):  # fmt: skip
        rows[name] = target.notes[of][asked]
    return rows[np.lexsort((rows["pitch"], rows["quarter"]))]


def _pass_of(following: Following, played: npt.NDArray[np.int32]) -> Ints:
    starts = np.array(sorted(p["first_played"] for p in following.passes), np.int64)
    if not len(starts):
        return np.zeros(len(played), np.int64)
    return np.clip(np.searchsorted(starts, played, side="right") - 1, 0, None).astype(np.int64)


def _last_whole_pass(target: npt.NDArray[np.int32], passing: Ints, whole: float) -> int:
    notes = int(target.max()) + 1
    counts = np.bincount(np.unique(passing * notes + target) // notes)
    return int(np.flatnonzero(counts >= whole * counts.max())[-1])
