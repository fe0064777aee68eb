"""What is heard again: planted places, the other's clock, the pedals, and what cannot be heard told plainly."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.errors import SoundError
from keysense.following import follow
from keysense.notes import PEDAL, Take
from keysense.sound import Playback, at_pace_of, from_bar, messages_of, one_hand, playback_of, slower, sounding_ends_s
from keysense.targets.target import Target

RIGHT = [72, 74, 76, 77, 79, 77, 76, 74]
LEFT = [48, 43]
MUSIC = Target.from_notes(
    onset_quarter=[*range(8), 0, 4],
    duration_quarter=[1] * 8 + [4] * 2,
    pitch=RIGHT + LEFT,
    hand=["R"] * 8 + ["L"] * 2,
    bars_quarter=[0, 4],
)


def played(clock_s: list[float], hold: float = 0.5, velocity: int = 60, late_s: float = 3.0) -> Playback:
    """Both hands by a clock of eight onsets, beginning late."""
    clock = np.array([*clock_s, 2 * clock_s[-1] - clock_s[-2]]) + late_s
    onset = [*clock[:8], clock[0], clock[4]]
    release = [*(clock[:8] + hold * np.diff(clock)), clock[3], clock[7]]
    take = Take.from_notes(onset_s=onset, release_s=release, pitch=RIGHT + LEFT, velocity=[velocity] * 10)
    return playback_of(take, MUSIC, follow(MUSIC, take))


EVEN = [0.5 * k for k in range(8)]
BRISK = [0, 0.3, 0.6, 0.9, 1.2, 1.4, 1.6, 1.8]


def test_a_take_begins_at_once_and_knows_its_places() -> None:
    playback = played(EVEN)
    assert playback.take.notes["onset_s"][0] == 0
    assert playback.hands == ("R", "L")
    assert playback.bars == [(1, 0.0), (2, 2.0)]
    ids = {
        str(label["note_id"]): int(note["pitch"])
        for note, label in zip(playback.take.notes, playback.labels, strict=True)
    }
    assert ids == {str(note["id"]): int(note["pitch"]) for note in MUSIC.notes}


def test_from_a_bar_begins_there() -> None:
    second = from_bar(played(EVEN), 2)
    assert second.take.notes["onset_s"][0] == 0
    assert sorted(second.take.notes["pitch"].tolist()) == sorted([*RIGHT[4:], 43])
    with pytest.raises(SoundError, match="bar 3 was not played"):
        from_bar(played(EVEN), 3)


def test_one_hand_alone() -> None:
    assert one_hand(played(EVEN), "L").take.notes["pitch"].tolist() == LEFT
    with pytest.raises(SoundError, match="not told apart"):
        one_hand(playback_of(played(EVEN).take), "L")


def test_slower_moves_every_time_alike() -> None:
    playback = played(EVEN)
    slow = slower(playback, 0.5)
    for column in ("onset_s", "release_s"):
        np.testing.assert_allclose(slow.take.notes[column], 2 * playback.take.notes[column])
    with pytest.raises(SoundError, match="choose from"):
        slower(playback, 0.0)


def test_a_coat_is_changed_the_clock_alone() -> None:
    sleepy, proud = played(EVEN, hold=0.9, velocity=40), played(BRISK, hold=0.4, velocity=100)
    changed = at_pace_of(sleepy, proud)
    top = changed.take.notes[changed.labels["hand"] == "R"]
    np.testing.assert_allclose(top["onset_s"], BRISK, atol=1e-9)
    assert set(top["velocity"].tolist()) == {40}
    held = (top["release_s"] - top["onset_s"])[:7] / np.diff(BRISK)
    np.testing.assert_allclose(held, 0.9)  # joined as before


def test_a_coat_put_on_and_taken_off_is_the_take_again() -> None:
    sleepy, proud = played(EVEN), played(BRISK)
    back = at_pace_of(at_pace_of(sleepy, proud), sleepy)
    np.testing.assert_allclose(back.take.notes["onset_s"], sleepy.take.notes["onset_s"], atol=1e-9)


def test_of_what_was_played_twice_the_last_time_wears_the_coat() -> None:
    clock = np.array(EVEN)
    twice = np.concatenate([clock[:4], clock + 3.0])
    pitch = RIGHT[:4] + RIGHT
    take = Take.from_notes(onset_s=twice, release_s=twice + 0.4, pitch=pitch, velocity=[50] * 12)
    changed = at_pace_of(playback_of(take, MUSIC, follow(MUSIC, take)), played(BRISK))
    assert changed.take.notes["pitch"].tolist() == RIGHT
    np.testing.assert_allclose(changed.take.notes["onset_s"], BRISK, atol=1e-9)


def test_two_tunes_share_no_pace() -> None:
    with pytest.raises(SoundError, match="too little of the page"):
        at_pace_of(played(EVEN), playback_of(played(EVEN).take))


def pedalled(*moves: tuple[float, int, int]) -> Take:
    """Two strokes of one key and one of another: 0-0.4, 1-1.4, and 0.2-0.3."""
    pedals = np.array(list(moves), PEDAL)
    return Take.from_notes(
        onset_s=[0, 1, 0.2], release_s=[0.4, 1.4, 0.3], pitch=[60, 60, 64], velocity=[60] * 3, pedals=pedals
    )


def test_without_a_pedal_a_note_ends_with_its_key() -> None:
    np.testing.assert_allclose(sounding_ends_s(pedalled()), [0.4, 0.3, 1.4])


def test_the_pedal_holds_until_it_comes_up_or_the_key_is_struck_again() -> None:
    np.testing.assert_allclose(sounding_ends_s(pedalled((0.1, 64, 127), (1.2, 64, 0))), [1.0, 1.2, 1.4])
    # half down is not down; pressed after the key let go it holds nothing
    np.testing.assert_allclose(sounding_ends_s(pedalled((0.1, 64, 50), (1.2, 64, 0))), [0.4, 0.3, 1.4])
    np.testing.assert_allclose(sounding_ends_s(pedalled((0.35, 64, 90), (0.8, 64, 0))), [0.8, 0.3, 1.4])


def test_the_middle_pedal_holds_only_the_keys_that_were_down() -> None:
    np.testing.assert_allclose(sounding_ends_s(pedalled((0.1, 66, 127), (0.9, 66, 0))), [0.9, 0.3, 1.4])


def test_a_pedal_held_from_before_a_bar_is_held_there() -> None:
    playback = played(EVEN)
    pedals = np.array([(1.2, 64, 100), (2.9, 64, 0)], PEDAL)
    take = Take.from_notes(
        **{name: playback.take.notes[name] for name in ("onset_s", "release_s", "pitch", "velocity")}, pedals=pedals
    )
    second = from_bar(Playback(take, playback.labels), 2).take
    assert second.pedals["value"].tolist() == [100, 0]
    np.testing.assert_allclose(second.pedals["time_s"], [0.0, 0.9])


def test_messages_to_the_piano_leave_no_key_and_no_pedal_down() -> None:
    messages = messages_of(pedalled((0.1, 64, 127)))
    assert [time_s for time_s, _ in messages] == sorted(time_s for time_s, _ in messages)
    down: set[int] = set()
    for _, raw in messages:
        if raw[0] == 0x90:
            assert raw[1] not in down
            down.add(raw[1])
        elif raw[0] == 0x80:
            down.discard(raw[1])
    assert not down
    assert messages[-1][1] == bytes((0xB0, 64, 0))
