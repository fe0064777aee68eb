"""What following a take against a target gives: who was played for whom, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, TypedDict, cast

import numpy as np
import numpy.typing as npt

__all__ = ["EXTRA", "MATCH", "ORNAMENT", "PAIR", "SUBSTITUTION", "Following", "Pass"]

MATCH, SUBSTITUTION, EXTRA, ORNAMENT = "match", "substitution", "extra", "ornament"

PAIR = np.dtype([("played", "i4"), ("target", "i4"), ("passing", "i4"), ("kind", "U12"), ("confidence", "f4")])


class Pass(TypedDict):
    """One stretch played straight on: written bars and rows of the take, first and last both counted."""

    first_bar: int
    last_bar: int
    first_played: int
    last_played: int


@dataclass(frozen=True)
class Following:
    """The notes of a take set beside the notes of its target.

    pairs: `PAIR` rows, one a played note, in the order played. ``played`` and ``target`` are 0-based rows of
        ``take.notes`` and ``target.notes``, -1 for none; ``passing`` is 0 the first time a target note is sounded,
        1 the next time; ``kind`` is ``match`` (the pitch is right after the shift), ``substitution`` (another pitch,
        played for this note), ``extra`` (target -1) or ``ornament`` (target -1 too: of a trill, mordent or turn that
        the page asks for, beside the one press that is its note's).
    omitted: rows of ``target.notes`` inside the played span that were never sounded.
    passes: the stretches played straight on, in the order played.
    shift_semitones: how far each hand was played from where it is written; key "" where the target tells no hands.
    tempo_ratio: played quarters a minute over the target's, None if the target has no tempo.
    confidence: 0..1, how far the whole is to be believed. lost: the place was lost, so nothing may be concluded.
    lost_at_s: when the place was lost, None if it was kept.
    ties: groups of passes that could as well lie elsewhere (identical bars): (pass number, first bars it may start in).
    set_aside: presses of the take that are taken for another player's, who has no part on the page (`own_of`).
    """

    pairs: npt.NDArray[np.void]
    omitted: npt.NDArray[np.int32]
    passes: list[Pass]
    shift_semitones: dict[str, int]
    tempo_ratio: float | None
    confidence: float
    lost: bool
    lost_at_s: float | None = None
    ties: list[tuple[int, tuple[int, ...]]] = field(default_factory=list)
    set_aside: int = 0

    def to_json(self) -> dict[str, Any]:
        """Plain types only; `from_json` gives back an equal following."""
        return {
            "pairs": [
                {
                    "played": int(row["played"]),
                    "target": int(row["target"]),
                    "passing": int(row["passing"]),
                    "kind": str(row["kind"]),
                    "confidence": round(float(row["confidence"]), 4),
                }
                for row in self.pairs
            ],
            "omitted": self.omitted.tolist(),
            "passes": [dict(p) for p in self.passes],
            "shift_semitones": dict(self.shift_semitones),
            "tempo_ratio": self.tempo_ratio,
            "confidence": self.confidence,
            "lost": self.lost,
            "lost_at_s": self.lost_at_s,
            "ties": [{"pass": number, "first_bars": list(bars)} for number, bars in self.ties],
            "set_aside": self.set_aside,
        }

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Following:
        """A following from what `to_json` gave."""
        pairs = np.zeros(len(kept["pairs"]), PAIR)
        for i, row in enumerate(kept["pairs"]):
            pairs[i] = (row["played"], row["target"], row["passing"], row["kind"], row["confidence"])
        return cls(
            pairs,
            np.asarray(kept["omitted"], np.int32),
            [cast(Pass, dict(p)) for p in kept["passes"]],
            dict(kept["shift_semitones"]),
            kept["tempo_ratio"],
            kept["confidence"],
            kept["lost"],
            kept["lost_at_s"],
            [(tie["pass"], tuple(tie["first_bars"])) for tie in kept["ties"]],
            kept.get("set_aside", 0),
        )
