"""Two players on one keyboard: the pupil's part comes out as if it had been played alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from keysense.following import follow, follow_two
from keysense.notes import Take
from keysense.targets.target import Target
from tests.bench import disturb, tunes


def parts(seed: int, bars: int = 8) -> tuple[Target, Target]:
    """A pupil's tune, and a teacher's part below it that crosses into the tune's octave."""
    pupil = tunes.piece(seed, bars=bars, hands=1)
    teacher = tunes.piece(seed + 500, bars=bars, hands=2)
    notes = teacher.notes.copy()
    notes["pitch"] -= 14
    return pupil, replace(teacher, notes=notes)


def merged(one: Take, other: Take) -> tuple[Take, np.ndarray]:
    notes = np.concatenate([one.notes, other.notes])
    order = np.argsort(notes["onset_s"], kind="stable")
    return Take(notes[order], one.pedals), np.repeat([0, 1], [len(one), len(other)])[order]


def played(seed: int, way: str) -> tuple[tuple[Target, Target], Take, np.ndarray, Take]:
    pupil, teacher = parts(seed)
    alone = disturb.plain(pupil, np.random.default_rng(seed), noise_log=0.01)
    alone = disturb.DISTURBANCES[way](alone, np.random.default_rng(seed))
    below = disturb.plain(teacher, np.random.default_rng(seed), noise_log=0.01)
    take, whose = merged(alone.take, below.take)
    return (pupil, teacher), take, whose, alone.take


@pytest.mark.parametrize("way", ["nothing", "other pitch", "omitted", "brushed"])
def test_the_pupils_presses_are_told_from_the_teachers(way: str) -> None:
    right = []
    for seed in range(8):
        both, take, whose, alone = played(seed, way)
        duet = follow_two(both, take)
        assert duet.apart
        assert [len(t) for t in duet.takes] == [int((duet.player == p).sum()) for p in (0, 1)]
        right.append(float((duet.player == whose).mean()))
        solo = follow(both[0], alone)
        matched = [int((f.pairs["kind"] == "match").sum()) for f in (duet.followings[0], solo)]
        assert matched[0] == pytest.approx(matched[1], abs=max(1.0, 0.04 * matched[1]))
    assert np.mean(right) > 0.98


def test_pace_and_loudness_of_the_pupil_are_those_of_the_solo_within_two_percent() -> None:
    for seed in range(8):
        both, take, _, alone = played(seed, "nothing")
        duet = follow_two(both, take)
        solo = follow(both[0], alone)
        assert duet.followings[0].tempo_ratio == pytest.approx(solo.tempo_ratio, rel=0.02)
        assert duet.takes[0].notes["velocity"].mean() == pytest.approx(alone.notes["velocity"].mean(), rel=0.02)


def test_a_silent_second_player_leaves_the_take_to_the_first() -> None:
    both, _, _, alone = played(1, "nothing")
    duet = follow_two(both, alone)
    assert (duet.player == 0).all()
    assert len(duet.takes[1]) == 0
    assert duet.followings[1].lost


def test_keys_for_no_note_go_by_channel_where_each_has_one() -> None:
    both, take, whose, _ = played(2, "brushed")
    take.notes["channel"] = whose
    assert (follow_two(both, take).player == whose).all()


def test_what_is_no_duet_is_not_told_apart() -> None:
    rng = np.random.default_rng(5)
    onset = np.cumsum(rng.exponential(0.3, 80))
    take = Take.from_notes(
        onset_s=onset, release_s=onset + 0.3, pitch=rng.integers(30, 90, 80), velocity=np.full(80, 64)
    )
    assert not follow_two(parts(3), take).apart
    empty = Take.from_notes(onset_s=[], release_s=[], pitch=[], velocity=[])
    assert not follow_two(parts(3), empty).apart
