"""Two players on one keyboard: the pupil's part comes out as if it had been played alone."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from keysense.finding import Finding
from keysense.findings import Reading, look
from keysense.following import follow, follow_two, placed, recognise
from keysense.notes import Take
from keysense.targets import read_target
from keysense.targets.target import Target
from keysense.words import word
from tests.bench import disturb, tunes

SCORE = Path(__file__).parents[2] / "fixtures" / "scores" / "two_on_a_bench.musicxml"


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


def on_the_bench(seed: int, way: str = "nothing") -> tuple[Target, Take, np.ndarray, Take]:
    """The score of both players, what was heard of them together, whose each press was, and the pupil heard alone."""
    duet = read_target(SCORE, part="Pupil", beside="Teacher")
    assert duet.beside is not None
    rng = np.random.default_rng(seed)
    alone = disturb.DISTURBANCES[way](disturb.plain(duet, rng, noise_log=0.03), rng).take
    take, whose = merged(alone, disturb.plain(duet.beside, np.random.default_rng(seed), noise_log=0.01).take)
    return duet, take, whose, alone


def figures(reading: Reading) -> dict[tuple[object, ...], Finding]:
    return {(f.name, f.place): f for f in reading.findings if f.value is not None}


@pytest.mark.parametrize("way", ["nothing", "other pitch"])
def test_every_finding_of_the_pupil_is_that_of_the_pupil_alone_within_two_percent(way: str) -> None:
    for seed in range(3):
        duet, take, _, alone = on_the_bench(seed, way)
        together, solo = figures(look(take, duet)), figures(look(alone, replace(duet, beside=None)))
        assert len(solo) > 12
        assert together.keys() == solo.keys()
        for key, finding in solo.items():
            assert together[key].value == pytest.approx(finding.value, rel=0.02), key


def test_two_who_cannot_be_told_apart_are_not_judged() -> None:
    duet, take, _, _ = on_the_bench(0)
    shuffled = take.notes.copy()
    shuffled["pitch"] = np.random.default_rng(0).permutation(shuffled["pitch"])
    reading = look(Take(shuffled, take.pedals), duet)
    assert not reading.findings
    assert (
        word(reading.why_lost)
        == "Two players on one keyboard, and I cannot tell them apart: nothing is told of either."
    )


def test_the_whole_take_is_laid_out_with_the_second_players_presses_as_extras() -> None:
    duet, take, whose, _ = on_the_bench(1)
    following = placed(duet, take)
    assert following.pairs["played"].tolist() == list(range(len(take)))
    assert ((following.pairs["kind"] == "match") == (whose == 0)).all()
    assert following.passes[0]["last_played"] == int(np.flatnonzero(whose == 0)[-1])


def test_what_both_play_is_kept_with_the_music_and_recognised() -> None:
    duet, take, _, _ = on_the_bench(2)
    kept = Target.from_json(json.loads(json.dumps(duet.to_json())))
    assert kept.beside is not None
    assert recognise(take, [tunes.piece(3), kept, tunes.piece(4)]).decided == 1
