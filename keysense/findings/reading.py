"""A reading: everything that was found in one take, and the way it is written down."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import numpy as np

from keysense.finding import Finding, Limit, Place
from keysense.findings.contours import Contour
from keysense.following.following import Following
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["RECIPE", "SCHEMA", "Reading", "finding_from_json"]

SCHEMA = 1
_FEWEST_KEPT = 8  # notes that were followed, so that there was a place to be lost
RECIPE = 9  # the way of listening; a change of any definition or limit of the table raises it


@dataclass(frozen=True)
class Reading:
    """One take looked at against one target. ``findings`` is empty where the place was lost."""

    take: Take
    target: Target
    following: Following
    findings: tuple[Finding, ...]
    contours: tuple[Contour, ...]
    recipe: int = RECIPE

    @property
    def why_lost(self) -> str:
        """The key of the word for why nothing is said: place lost, or two players not told apart; "" if neither."""
        if not self.following.lost:
            return ""
        return "following.lost" if self.target.beside is None else "following.two"

    @property
    def lost_after_bar(self) -> int | None:
        """The written bar up to which the playing was followed before the place was lost; None where it never was."""
        following = self.following
        if not following.lost or following.lost_at_s is None:
            return None
        pairs = following.pairs[np.argsort(following.pairs["played"], kind="stable")]
        since = self.take.notes["onset_s"][pairs["played"]] >= following.lost_at_s
        gone = np.flatnonzero(since & (pairs["kind"] != "match"))
        kept = pairs[: int(gone[0]) if len(gone) else len(pairs)]
        kept = kept[kept["kind"] == "match"]
        return int(self.target.notes["bar"][kept["target"][-1]]) if len(kept) >= _FEWEST_KEPT else None

    def named(self, name: str) -> tuple[Finding, ...]:
        """Every finding of one name, in the order of the music."""
        return tuple(finding for finding in self.findings if finding.name == name)

    def one(self, name: str, hand: str | None = None, mark: str | None = None) -> Finding | None:
        """The first finding of one name, of one hand and one mark where they are given; None if there is none."""
        for finding in self.named(name):
            if hand in (None, finding.place.hand) and mark in (None, finding.place.mark):
                return finding
        return None

    def to_json(self, *, take_id: str | None = None, target_id: str | None = None) -> dict[str, Any]:
        """The contract's JSON: plain types only, no NaN."""
        return {
            "schema": SCHEMA,
            "keysense": _version(),
            "recipe": self.recipe,
            "take": {
                "id": take_id,
                "file": self.take.meta.file or None,
                "n": len(self.take),
                "duration_s": round(self.take.duration_s, 6),
            },
            "target": {
                "id": target_id,
                "title": self.target.source.title,
                "kind": self.target.source.kind,
                "n": len(self.target.notes),
                "bars": len(self.target.bars),
                "note_ids": self.target.notes["id"].tolist(),
            },
            "following": self.following.to_json(),
            "findings": [finding.to_json() for finding in self.findings],
        }


def finding_from_json(kept: dict[str, Any]) -> Finding:
    """A finding from what its `to_json` gave; the verdict is worked out afresh."""
    limit = kept.get("limit")
    return Finding(
        kept["name"],
        kept["value"],
        kept["unit"],
        kept["n"],
        kept["low"],
        kept["high"],
        None if limit is None else Limit(limit["value"], limit["side"]),
        _place(kept["place"]),
        kept.get("why_missing") or "",
        tuple(_place(place) for place in kept.get("places", ())),
        kept.get("stands", True),
    )


def _place(kept: dict[str, Any]) -> Place:
    bars = kept["bars"]
    return Place(
        None if bars is None else (int(bars[0]), int(bars[1])), kept["hand"], kept["mark"], kept.get("how", "")
    )


def _version() -> str:
    try:
        return version("keysense")
    except PackageNotFoundError:  # run from a copy that was never installed
        return "0"
