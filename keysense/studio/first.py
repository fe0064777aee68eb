"""The first minute of a studio: which steps are done or were left out. What was done once does not come back."""

from __future__ import annotations

from collections.abc import Collection
from typing import Literal

from keysense.studio.studio import Studio

__all__ = ["STEPS", "StepState", "first_steps", "leave_out", "step_done"]

STEPS = ("plug", "note", "who", "tune", "warmup")
"""Plug the piano in, play a note, a pupil with an agreement, a tune, a standing warm-up."""

StepState = Literal["done", "skipped", "now", "ahead"]
_NAME = "first minute"


def first_steps(studio: Studio, true_now: Collection[str] = ()) -> dict[str, StepState] | None:
    """Each step and how it stands; None where there is nothing left to guide, or the studio began without a guide.

    true_now: steps that can be seen to be done at this moment; they are remembered as done from now on.
    """
    kept = studio.recall(_NAME)
    if not kept and studio.pupils():
        return None
    done, skipped = {*kept.get("done", ()), *true_now}, set(kept.get("skipped", ()))
    if not kept or done != set(kept["done"]):
        _remember(studio, done, skipped)
    left = [step for step in STEPS if step not in done | skipped]
    if not left:
        return None
    return {
        step: "done" if step in done else "skipped" if step in skipped else "now" if step == left[0] else "ahead"
        for step in STEPS
    }


def step_done(studio: Studio, step: str) -> None:
    """A step was done: it is not asked for again. A name that is no step is let pass."""
    _add(studio, "done", step)


def leave_out(studio: Studio, step: str) -> None:
    """A step is left out; ``all``: every step that is left."""
    for one in STEPS if step == "all" else (step,):
        _add(studio, "skipped", one)


def _add(studio: Studio, how: str, step: str) -> None:
    kept = studio.recall(_NAME)
    steps = {name: set(kept.get(name, ())) for name in ("done", "skipped")}
    if step in STEPS:
        steps[how].add(step)
        _remember(studio, steps["done"], steps["skipped"])


def _remember(studio: Studio, done: set[str], skipped: set[str]) -> None:
    studio.remember(_NAME, {"done": sorted(done), "skipped": sorted(skipped)})
