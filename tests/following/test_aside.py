"""Somebody accompanies on the same keyboard, and the page has no part for it."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.findings import look
from keysense.following import Following, follow, own_of, placed
from keysense.notes import Take
from keysense.targets.target import Target
from keysense.words import say_shift
from tests.bench import disturb, tunes


def accompanied(tune: Take, *, keys: tuple[int, ...], every_s: float) -> tuple[Take, np.ndarray]:
    """The tune with a chord again and again from its first press to its last; and which presses are the tune's."""
    at = np.repeat(np.arange(tune.notes["onset_s"][0], tune.notes["onset_s"][-1], every_s), len(keys))
    chords = Take.from_notes(
        onset_s=at, release_s=at + 0.9 * every_s, pitch=np.resize(keys, len(at)), velocity=np.full(len(at), 50)
    )
    notes = np.concatenate([tune.notes, chords.notes])
    order = np.argsort(notes["onset_s"], kind="stable")
    return Take(notes[order], tune.pedals), order < len(tune)


def tune_of(seed: int) -> disturb.Playing:
    return disturb.plain(tunes.piece(seed, bars=8, hands=1), np.random.default_rng(seed))


@pytest.mark.parametrize("keys", [(31, 38, 43), (97, 100, 104)])
def test_chords_far_from_the_tune_are_set_aside_and_the_tune_is_judged(keys: tuple[int, ...]) -> None:
    for seed in range(4):
        playing = tune_of(seed)
        take, mine = accompanied(playing.take, keys=keys, every_s=1.1)
        own, following = own_of(playing.target, take)
        assert following.set_aside == (~mine).sum()
        assert own.notes.tolist() == take.notes[mine].tolist()
        assert following.pairs["target"].tolist() == playing.presses["meant"].tolist()
        whole = placed(playing.target, take)
        assert whole.pairs["target"][mine].tolist() == playing.presses["meant"].tolist()
        assert (whole.pairs["target"][~mine] == -1).all()
        reading, alone = look(take, playing.target), look(playing.take, playing.target)
        assert [(f.name, f.value) for f in reading.findings] == [(f.name, f.value) for f in alone.findings]
        assert str((~mine).sum()) in say_shift(following)[0]
        assert Following.from_json(following.to_json()).set_aside == following.set_aside


def test_chords_among_the_keys_of_the_page_are_nobody_elses() -> None:
    for seed in range(4):
        page = tunes.piece(seed, bars=8, hands=2)
        right = page.notes["hand"] == "R"
        playing = disturb.plain(page, np.random.default_rng(seed))
        melody = playing.take.notes[right[playing.presses["meant"]]]
        low = int(page.notes["pitch"].min())
        take, _ = accompanied(Take(melody, playing.take.pedals), keys=(low, low + 1, low + 3), every_s=0.5)
        _, following = own_of(page, take)
        assert not following.set_aside


def test_another_tune_with_chords_is_lost_still() -> None:
    kept = 0
    for seed in range(12):
        take, _ = accompanied(tune_of(seed + 300).take, keys=(31, 38, 43), every_s=1.1)
        page: Target = tunes.piece(seed, bars=8, hands=1)
        assert follow(page, take).lost
        kept += not own_of(page, take)[1].lost
    assert kept <= 1
