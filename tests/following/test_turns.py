"""One hand and then the other in one take: each is followed, and nothing is told of hands that never met."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.findings import look
from keysense.following import constants, follow
from keysense.notes import Take
from keysense.targets.target import Target
from tests.bench import disturb, tunes
from tests.bench.judge import f1


def turns(seed: int, hands: str, *, bars: int = 8, noise_log: float = 0.03) -> disturb.Playing:
    """R for the right hand alone, L for the left, B for both: one playing each, two seconds between."""
    rng = np.random.default_rng(seed)
    tune = tunes.piece(seed, bars=bars, hands=2)
    out, now = [], 0.5
    for hand in hands:
        one = disturb.plain(tune, rng, noise_log=noise_log)
        written = tune.notes["hand"][one.presses["meant"]]
        part = one.presses[(written == hand) | (hand == "B")]
        by = now - part["onset_s"].min()
        part["onset_s"] += by
        part["release_s"] += by
        out.append(part)
        now = part["onset_s"].max() + 2.0
    return one.sorted(np.concatenate(out))


def page_of(right: np.ndarray, left: np.ndarray) -> Target:
    """Quarters in the right hand; in the left as many notes as were given, as long as the right hand plays."""
    n, each = [len(right), len(left)], len(right) / len(left)
    return Target.from_notes(
        onset_quarter=np.concatenate([np.arange(n[0]), each * np.arange(n[1])]), hand=np.repeat(["R", "L"], n),
        duration_quarter=np.repeat([1.0, each], n), pitch=np.concatenate([right, left]),
    )  # fmt: skip


@pytest.mark.parametrize("hands", ["RL", "LR", "RLB", "BLR", "RRL"])
def test_every_playing_is_a_pass_and_every_press_its_note(hands: str) -> None:
    for seed in range(1, 7):  # of 0 the left hand's halves are alike
        playing = turns(seed, hands)
        following = follow(playing.target, playing.take)
        assert not following.lost and following.confidence > 0.6
        assert following.pairs["target"].tolist() == playing.presses["meant"].tolist()
        assert not len(following.omitted)
        assert len(following.passes) == len(hands)
        assert following.passes[-1]["last_played"] == len(playing.take) - 1
        seen: dict[int, int] = {}
        for note, passing in zip(following.pairs["target"].tolist(), following.pairs["passing"].tolist(), strict=True):
            assert passing == seen.get(note, 0)
            seen[note] = passing + 1


@pytest.mark.parametrize("hands", ["RL", "LR", "RLB"])
def test_a_left_hand_of_one_note_a_bar_is_a_playing_too(hands: str) -> None:
    right = []
    for seed in range(8):
        rng = np.random.default_rng(seed)
        tune, base = rng.integers(60, 77, 32), rng.integers(38, 52, 8)
        target = page_of(tune, base)
        of_hand, onset, meant, now = target.notes["hand"], [], [], 0.5
        for hand in hands:
            rows = np.flatnonzero((of_hand == hand) | (hand == "B"))
            onset.append(now + 0.6 * target.notes["onset_quarter"][rows] + rng.normal(0, 0.01, len(rows)))
            meant.append(rows)
            now = float(onset[-1].max()) + 2.0
        order = np.argsort(np.concatenate(onset), kind="stable")
        onset_s, rows = np.concatenate(onset)[order], np.concatenate(meant)[order]
        take = Take.from_notes(
            onset_s=onset_s, release_s=onset_s + 0.4, velocity=np.full(len(rows), 60), pitch=target.notes["pitch"][rows]
        )
        following = follow(target, take)
        assert not following.lost
        right.append(np.mean(following.pairs["target"] == rows))
    assert np.mean(right) > 0.97


def test_slips_and_restarts_on_the_way_are_followed_too() -> None:
    right = []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        playing = disturb.other_pitch(turns(seed, "RL"), rng, 0.05)
        following = follow(playing.target, playing.take)
        assert not following.lost
        right.append(f1(playing, following)[0])
    assert np.mean(right) > 0.99


def test_both_hands_with_a_restart_are_followed_as_before(monkeypatch: pytest.MonkeyPatch) -> None:
    for seed in range(8):
        rng = np.random.default_rng(seed)
        playing = disturb.mixed(disturb.plain(tunes.piece(seed, bars=8, hands=2), rng), rng, 2)
        with_turns = follow(playing.target, playing.take)
        monkeypatch.setattr(constants, "TURNS_TRIED", 0)
        assert np.array_equal(with_turns.pairs, follow(playing.target, playing.take).pairs)
        monkeypatch.undo()


def test_two_tunes_that_are_not_on_the_page_stay_lost() -> None:
    for seed in range(6):
        rng = np.random.default_rng(seed)
        page = tunes.piece(seed, bars=8, hands=2)
        keys = {hand: np.unique(page.notes["pitch"][page.notes["hand"] == hand]) for hand in "RL"}
        pitch = np.concatenate([rng.choice(keys[hand], 40) for hand in "RL"])
        onset_s = np.cumsum(np.append(rng.uniform(0.2, 0.7, 40), np.append(3.0, rng.uniform(0.2, 0.7, 39))))
        take = Take.from_notes(onset_s=onset_s, release_s=onset_s + 0.2, pitch=pitch, velocity=np.full(80, 60))
        assert follow(page, take).lost


@pytest.mark.parametrize("hands", ["RL", "LR"])
def test_nothing_is_told_of_hands_that_never_met(hands: str) -> None:
    rng = np.random.default_rng(1)
    up, down = rng.integers(60, 77, 64), rng.integers(40, 56, 32)
    target = page_of(up, down)
    first, then = (64, 32) if hands == "RL" else (32, 64)
    step_s = 0.6 * np.repeat([1.0 if hands == "RL" else 2.0, 2.0 if hands == "RL" else 1.0], [first, then])
    onset_s = np.cumsum(step_s) + rng.normal(0, 0.01, 96) + np.repeat([0.5, 2.5], [first, then])
    take = Take.from_notes(
        onset_s=onset_s, release_s=onset_s + 0.8 * step_s, velocity=rng.integers(50, 80, 96),
        pitch=np.concatenate([up, down] if hands == "RL" else [down, up]),
    )  # fmt: skip
    told = {finding.name: finding for finding in look(take, target).findings if finding.place.hand is None}
    for name in ("hands_lag", "voicing", "melody_lead"):
        assert told[name].value is None
    assert "one after the other" in told["voicing"].why_missing
    assert told["waits"].value == told["notes_left_out"].value == told["goings_back"].value == 0


def test_the_pace_is_that_of_the_fuller_playing_whichever_came_first() -> None:
    pace = []
    for hands in ("RL", "LR"):
        playing = turns(5, hands, bars=16, noise_log=0.0)
        (tempo,) = [f for f in look(playing.take, playing.target).findings if f.name == "tempo"]
        pace.append((tempo.value, tempo.n))
    assert pace[0][0] == pytest.approx(pace[1][0], rel=0.01)
    assert pace[0][1] == pace[1][1]
