"""Takes of different length: only what both have is compared, and what is shown of each is of the same music."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.comparing import Character, Comparison, compare
from keysense.finding import Finding
from keysense.notes import Take
from keysense.targets.target import Target

BARS, SECONDS = 16, {"slow": 0.75, "quick": 0.6}
NOTES = 4 * BARS
PITCH = [60 + (0, 2, 4, 5, 7, 5, 4, 2)[k % 8] for k in range(NOTES)]
PHRASES = [(16 * k, 16 * k + 16) for k in range(4)]


def music(phrases: list[tuple[int, int]] | None = None, notes: int = NOTES) -> Target:
    return Target.from_notes(
        onset_quarter=np.arange(notes), duration_quarter=np.ones(notes), pitch=PITCH[:notes], hand=["R"] * notes,
        bars_quarter=np.arange(0, notes, 4), phrases=phrases,
    )  # fmt: skip


def played(seed: int, upto: int = NOTES, *, breath: float = 0.0, period_s=lambda k: SECONDS["quick"]) -> Take:
    """Quarters with 3 % of scatter; the second half slower, softer, shorter, more uneven and without breath."""
    rng = np.random.default_rng(seed)
    half = np.arange(NOTES) >= NOTES // 2
    period = np.array([period_s(k) for k in range(NOTES)]) * np.where(half, 1.25, 1.0)
    period *= np.exp(rng.normal(0, np.where(half, 0.12, 0.03)))
    ends = np.arange(NOTES) % 16 == 15
    period[ends & ~half] *= 1 + breath
    onset = np.concatenate([[0.0], np.cumsum(period)[:-1]])
    held = np.where(half, 0.45, 0.9) + rng.normal(0, 0.03, NOTES)
    held[ends & ~half] -= breath / 2
    velocity = np.clip(np.round(np.where(half, 48, 72) + rng.normal(0, 4, NOTES)), 1, 127)
    columns = {"onset_s": onset, "release_s": onset + held * period, "pitch": PITCH, "velocity": velocity.astype(int)}
    return Take.from_notes(**{name: values[:upto] for name, values in columns.items()})


def of_half(other: int, **plan: float) -> Comparison:
    return compare(played(1, **plan), played(other, NOTES // 2, **plan), music(PHRASES))


def test_a_take_that_stops_halfway_differs_in_nothing_from_the_same_half() -> None:
    for seed in range(2, 8):
        for dimension in of_half(seed, breath=0.5).dimensions:
            assert dimension.outcome is None, dimension.name


def about(finding: Finding, planted: float, off: float) -> bool:
    return finding.value == pytest.approx(planted, abs=off)


def test_what_is_shown_of_each_is_of_the_stretch_that_both_have() -> None:
    comparison = of_half(2)
    for name, planted, off in (("tempo", 100, 2), ("loudness", 72, 2), ("touch", 0.9, 0.03), ("evenness", 3, 1.5)):
        dimension = comparison.one(name)
        assert about(dimension.a, planted, off), name
        assert about(dimension.b, planted, off), name
        assert dimension.a.n == dimension.b.n
    breathing = of_half(2, breath=0.5).one("breath")
    assert breathing.a.n == breathing.b.n == 1  # the end of the first phrase; the next ones the second take has not


def test_the_interval_of_tempo_holds_the_difference_of_what_is_shown() -> None:
    """A planted 8 % over the shared half, whatever the first take did afterwards."""
    quicker = {"period_s": lambda k: SECONDS["quick"] / 1.08}
    for seed in range(10, 16):
        tempo = compare(played(1), played(seed, NOTES // 2, **quicker), music()).one("tempo")
        assert tempo.difference.low < tempo.difference.value < tempo.difference.high
        assert tempo.difference.value == pytest.approx(tempo.b.value - tempo.a.value)
        assert tempo.difference.value == pytest.approx(8, abs=2)
        assert tempo.outcome == "heard, not asked"


@pytest.mark.parametrize("phrases", [None, [(0, 4), (4, 8)]], ids=["one phrase", "two phrases"])
def test_eight_notes_at_twice_the_tempo_are_heard(phrases: list[tuple[int, int]] | None) -> None:
    """Where the steps at phrase ends and at the close are most of what there is, they tell of tempo too."""
    calm, lively = Character("calm", wishes={"tempo": "slower"}), Character("lively", wishes={"tempo": "quicker"})
    target = music(phrases, 8)
    for seed in range(20):
        slow, fast = (played(2 * seed + k, 8, period_s=lambda _, s=s: s) for k, s in enumerate((1.0, 0.5)))
        tempo = compare(slow, fast, target, wants_a=calm, wants_b=lively).one("tempo")
        assert tempo.outcome == "asked and heard"
        assert about(tempo.a, 60, 6)
        assert about(tempo.b, 120, 12)


def test_eight_notes_at_one_tempo_are_no_difference() -> None:
    target = music([(0, 4), (4, 8)], 8)
    claims = [compare(played(2 * s, 8), played(2 * s + 1, 8), target).one("tempo").outcome for s in range(60)]
    assert sum(claim is not None for claim in claims) <= 3
