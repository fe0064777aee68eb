"""Which sounding of each written note is judged.

Conventions
    Of the passes of a take the last one that is as good as whole is judged; a written note it lacks is judged by its
    last sounding.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following.following import Following
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["ROW", "judged"]

Ints = npt.NDArray[np.int64]
_NEARLY_WHOLE = 0.9

ROW = np.dtype(
    [
        ("target", "i8"), ("played", "i8"), ("passing", "i8"), ("matched", "?"), ("again", "?"), ("onset_s", "f8"),
        ("release_s", "f8"), ("pitch", "i8"), ("velocity", "f8"), ("quarter", "f8"), ("length", "f8"), ("bar", "i8"),
        ("hand", "U1"), ("voice", "i8"), ("grace", "?"), ("id", "U64"),
    ]
)  # fmt: skip


def judged(take: Take, target: Target, following: Following) -> npt.NDArray[np.void]:
    """Rows of dtype ROW, one a written note that sounded, sorted by written onset then pitch."""
    pairs = following.pairs
    pairs = pairs[(pairs["target"] >= 0) & (pairs["played"] >= 0)]
    pairs = pairs[np.argsort(pairs["played"], kind="stable")]
    if not len(pairs):
        return np.zeros(0, ROW)
    passing = _pass_of(following, pairs["played"])
    main = _last_whole_pass(pairs["target"], passing)
    # the last sounding wins, and a sounding in the judged pass wins over all others
    order = np.lexsort((pairs["played"], passing == main, pairs["target"]))
    note = pairs["target"][order]
    keep = order[np.append(note[1:] != note[:-1], True)] if len(order) else order
    rows = np.zeros(len(keep), ROW)
    notes, asked = take.notes[pairs["played"][keep]], target.notes[pairs["target"][keep]]
    rows["target"], rows["played"], rows["passing"] = pairs["target"][keep], pairs["played"][keep], passing[keep]
    rows["matched"] = pairs["kind"][keep] == "match"
    times = np.unique(np.stack([pairs["target"], passing]), axis=1, return_inverse=True, return_counts=True)
    rows["again"] = times[2][times[1].reshape(-1)][keep] > 1
    for name in ("onset_s", "release_s", "pitch", "velocity"):
        rows[name] = notes[name]
    for name, of in (("quarter", "onset_quarter"), ("length", "duration_quarter"), ("bar", "bar"), ("hand", "hand"),
                     ("voice", "voice")):  # fmt: skip
        rows[name] = asked[of]
    rows["grace"], rows["id"] = asked["is_grace"], asked["id"]
    return rows[np.lexsort((rows["pitch"], rows["quarter"]))]


def _pass_of(following: Following, played: npt.NDArray[np.int32]) -> Ints:
    starts = np.array(sorted(p["first_played"] for p in following.passes), np.int64)
    if not len(starts):
        return np.zeros(len(played), np.int64)
    return np.clip(np.searchsorted(starts, played, side="right") - 1, 0, None).astype(np.int64)


def _last_whole_pass(target: npt.NDArray[np.int32], passing: Ints) -> int:
    seen = np.unique(np.stack([passing, target.astype(np.int64)]), axis=1)
    counts = np.bincount(seen[0])
    return int(np.flatnonzero(counts >= _NEARLY_WHOLE * counts.max())[-1])
