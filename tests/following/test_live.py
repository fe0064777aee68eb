"""Following while it is played."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.errors import NotesError
from keysense.following import LiveFollower, follow
from keysense.targets.target import Target
from tests.bench import disturb, tunes


def heard(live: LiveFollower, playing: disturb.Playing) -> tuple[np.ndarray, np.ndarray]:
    """The target given to each press at once, and five presses later."""
    n = len(playing.presses)
    now, later = np.full(n, -1), np.full(n, -1)
    for i, row in enumerate(playing.take.notes):
        position = live.hear(float(row["onset_s"]), int(row["pitch"]), int(row["velocity"]))
        now[i] = position.target
        if position.settled is not None:
            later[position.settled[0]] = position.settled[1]
    return now, later


@pytest.mark.parametrize("name", ["nothing", "restart", "wait", "one hand", "tempo", "brushed"])
def test_the_place_is_known_at_once_and_better_five_notes_later(name: str) -> None:
    shares = []
    for seed in range(6):
        rng = np.random.default_rng(seed)
        playing = disturb.DISTURBANCES[name](disturb.plain(tunes.piece(seed, bars=8), rng), rng)
        now, later = heard(LiveFollower(playing.target), playing)
        true = playing.presses["meant"]
        shares.append([(now == true).mean(), (later == true)[:-5].mean()])
    at_once, settled = np.mean(shares, axis=0)
    assert at_once > 0.9
    assert settled > 0.94


def test_a_hand_an_octave_off_and_another_key_are_found_while_playing() -> None:
    for seed, name in ((3, "octave"), (5, "octave"), (4, "another key"), (6, "another key")):
        rng = np.random.default_rng(seed)
        playing = disturb.DISTURBANCES[name](disturb.plain(tunes.piece(seed, bars=8), rng), rng)
        now, later = heard(LiveFollower(playing.target), playing)
        true = playing.presses["meant"]
        assert (now == true)[20:].mean() > 0.9
        assert (later == true)[20:-5].mean() > 0.94


def test_a_pause_moves_nothing_on() -> None:
    playing = disturb.plain(tunes.piece(1, bars=8), np.random.default_rng(0))
    presses = playing.presses.copy()
    presses["onset_s"][40:] += 9.0
    now, _ = heard(LiveFollower(playing.target), playing.sorted(presses))
    assert (now == presses["meant"]).mean() > 0.97


def test_the_end_is_what_following_the_whole_gives() -> None:
    playing = disturb.restart(disturb.plain(tunes.piece(2, bars=8), np.random.default_rng(0)), np.random.default_rng(1))
    live = LiveFollower(playing.target)
    heard(live, playing)
    assert live.finish(playing.take).to_json() == follow(playing.target, playing.take).to_json()
    assert live.finish().pairs["target"].tolist()[:10] == playing.presses["meant"].tolist()[:10]


@pytest.mark.parametrize(
    ("onset_s", "pitch", "velocity"),
    [
        (np.nan, 60, 64), (np.inf, 60, 64), (1.0, 128, 64), (1.0, -1, 64), (1.0, 60.5, 64), (1.0, 60, 200),
        (1.0, 60, -1), (0.4, 60, 64), (1e6, 60, 64),
    ],
)  # fmt: skip
def test_a_press_that_cannot_be_is_refused_and_the_rest_is_followed(onset_s: float, pitch: int, velocity: int) -> None:
    playing = disturb.plain(tunes.piece(1, bars=2, hands=1), np.random.default_rng(3))
    live = LiveFollower(playing.target)
    presses = playing.take.notes
    for row, press in enumerate(presses):
        assert live.hear(float(press["onset_s"]), int(press["pitch"]), int(press["velocity"])).played == row
        if row == 3:
            with pytest.raises(NotesError):
                live.hear(onset_s, pitch, velocity)
    assert live.finish().pairs["target"].tolist() == playing.presses["meant"].tolist()
    assert live.take().notes["velocity"].tolist() == presses["velocity"].tolist()


def test_nothing_heard_is_lost() -> None:
    live = LiveFollower(tunes.piece(1, bars=2))
    assert live.hear(0.0, 5).quarter is None
    assert LiveFollower(tunes.piece(1, bars=2)).finish().lost


def test_a_page_without_notes_is_heard_and_never_placed() -> None:
    empty = Target.from_notes(onset_quarter=[], duration_quarter=[], pitch=[])
    live = LiveFollower(empty)
    assert [live.hear(0.4 * row, 60 + row).target for row in range(12)] == [-1] * 12
