"""Raw bytes become notes: every habit of instruments, byte by byte.

Where a rule of the MIDI 1.0 specification is tested, the rule is named; the specification is quoted from memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keysense.errors import NotesError
from keysense.messages import normalise, normalise_tracks
from keysense.notes import TakeMeta
from keysense.wire import whole_messages

ON, OFF, CC = 0x90, 0x80, 0xB0


def on(pitch: int, velocity: int = 64, channel: int = 0) -> bytes:
    return bytes((ON | channel, pitch, velocity))


def off(pitch: int, velocity: int = 64, channel: int = 0) -> bytes:
    return bytes((OFF | channel, pitch, velocity))


def test_a_note_is_what_was_sent() -> None:
    take = normalise([(0.5, bytes.fromhex("90 3c 50")), (1.25, bytes.fromhex("80 3c 1e"))])
    assert take.notes.tolist() == [(0.5, 1.25, 60, 80, 30, 0)]
    assert take.meta.flags == ()


def test_velocity_zero_is_a_key_up() -> None:
    take = normalise([(0, on(60, 80)), (1, bytes.fromhex("90 3c 00")), (2, on(60, 70)), (3, off(60, 0))])
    assert take.notes["release_s"].tolist() == [1, 3]
    assert "missing_release" not in take.meta.flags


def test_a_second_key_down_closes_the_first_and_is_told() -> None:
    take = normalise([(0, on(60, 80)), (1, on(60, 70)), (2, off(60)), (3, off(60))])
    assert take.notes[["onset_s", "release_s", "velocity"]].tolist() == [(0, 1, 80), (1, 2, 70)]
    assert take.meta.flags == ("repeated_note_on",)


def test_the_same_pitch_on_two_channels_is_two_keys() -> None:
    take = normalise([(0, on(60, 80)), (0.5, on(60, 70, 1)), (1, off(60, 0, 1)), (2, off(60, 0))])
    assert take.notes[["release_s", "channel"]].tolist() == [(2, 0), (1, 1)]


def test_running_status() -> None:
    stream = bytes.fromhex("90 3c 50 3e 51 3c 00 3e 00")
    take = normalise([(0, stream[:3]), (1, stream[3:5]), (2, stream[5:7]), (3, stream[7:])])
    assert take.notes[["onset_s", "release_s", "pitch", "velocity"]].tolist() == [(0, 2, 60, 80), (1, 3, 62, 81)]


def test_a_message_may_be_split_between_packets() -> None:
    take = normalise([(0, b"\x90"), (0.1, b"\x3c"), (0.2, b"\x50"), (1, b"\x80\x3c"), (1.5, b"\x40")])
    assert take.notes[["onset_s", "release_s", "pitch"]].tolist() == [(0.2, 1.5, 60)]


def test_clock_and_active_sensing_fall_between_any_two_bytes() -> None:
    take = normalise([(0, bytes.fromhex("fe 90 f8 3c fe 50 f8")), (1, bytes.fromhex("80 3c f8 40")), (9, b"\xfe")])
    assert take.notes[["onset_s", "release_s", "pitch", "velocity"]].tolist() == [(0, 1, 60, 80)]


def test_system_exclusive_is_passed_over_and_ends_running_status() -> None:
    messages = [
        (0.0, bytes.fromhex("f0 41 10 f8 42 f7")),
        (0.5, bytes.fromhex("90 3c 50")),
        (0.7, bytes.fromhex("f0 90")),  # broken off by the status byte that follows
        (0.8, bytes.fromhex("3e 50")),
        (0.9, bytes.fromhex("f7 40 50")),  # no running status after a system message
        (1.0, bytes.fromhex("80 3c 40 80 3e 40")),
    ]
    assert normalise(messages).notes["pitch"].tolist() == [60, 62]
    assert next(raw.hex() for _, raw in whole_messages(messages)) == "f0411042f7"


def test_a_system_exclusive_over_several_packets_is_one_message() -> None:
    packets = [(0.0, b"\xf0\x41"), (0.1, b"\x10"), (0.2, b"\x42\xf7")]
    assert list(whole_messages(packets)) == [(0.2, bytes.fromhex("f0 41 10 42 f7"))]


@pytest.mark.parametrize("common", ["f2 10 20", "f3 05", "f1 33", "f6"])
def test_system_common_messages_pass_by(common: str) -> None:
    take = normalise([(0, on(60)), (0.5, bytes.fromhex(common)), (0.6, b"\x3e\x40"), (1, off(60))])
    assert take.notes["pitch"].tolist() == [60]


def test_bytes_that_belong_to_nothing_are_passed_over() -> None:
    assert normalise([(0, b"\x3c\x50\x3c")]).notes.size == 0
    assert normalise([(0, b"")]).notes.size == 0


def layered(n: int, lag_s: float, doubled: int) -> list[tuple[float, bytes]]:
    messages = []
    for i in range(n):
        messages += [(i * 0.5, on(60 + i, 70 + i, 0)), (i * 0.5 + 0.4, off(60 + i, 0, 0))]
        pitch = 60 + i if i < doubled else 30 + i
        messages += [(i * 0.5 + lag_s, on(pitch, 50, 3)), (i * 0.5 + 0.4, off(pitch, 0, 3))]
    return sorted(messages, key=lambda message: message[0])


def test_a_layered_voice_is_taken_away_and_told() -> None:
    take = normalise(layered(10, 0.005, 9))
    assert take.meta.flags == ("layered",)
    # what doubles nothing was played, and stays
    assert sorted(take.notes["pitch"].tolist()) == sorted([*range(60, 70), 39])
    assert (take.notes["channel"] == 0).sum() == 10


@pytest.mark.parametrize(("lag_s", "doubled"), [(0.005, 8), (0.02, 10)])
def test_two_players_on_two_channels_are_no_layer(lag_s: float, doubled: int) -> None:
    take = normalise(layered(10, lag_s, doubled))
    assert len(take) == 20
    assert take.meta.flags == ()


def test_a_layer_over_one_hand_of_a_split_keyboard() -> None:
    messages = layered(10, 0.001, 10)
    messages += [(i * 0.5, on(36 + i, 60, 1)) for i in range(5)] + [
        (i * 0.5 + 0.4, off(36 + i, 0, 1)) for i in range(5)
    ]
    take = normalise(sorted(messages, key=lambda message: message[0]))
    assert take.meta.flags == ("layered",)
    assert sorted(set(take.notes["channel"].tolist())) == [0, 1]
    assert len(take) == 15


def test_pedals_of_a_layer_are_heard_once() -> None:
    messages = layered(10, 0.0, 10)
    messages += [(0.1, bytes((CC, 64, 100))), (0.1, bytes((CC | 3, 64, 100))), (0.2, bytes((CC | 3, 67, 9)))]
    take = normalise(sorted(messages, key=lambda message: message[0]))
    assert take.pedals.tolist() == [(0.1, 64, 100), (0.2, 67, 9)]


@pytest.mark.parametrize("controller", [64, 66, 67])
def test_pedals_keep_all_their_values(controller: int) -> None:
    take = normalise([(i / 128, bytes((CC, controller, i))) for i in range(128)])
    assert take.pedals["value"].tolist() == list(range(128))
    assert set(take.pedals["controller"].tolist()) == {controller}


@pytest.mark.parametrize("controller", [0, 1, 7, 11, 65, 91])
def test_other_controllers_are_no_pedals(controller: int) -> None:
    assert normalise([(0, bytes((CC, controller, 100)))]).pedals.size == 0


def test_the_fine_velocity_prefix_is_neither_note_nor_pedal() -> None:
    # controller 88 before a note-on: the low 7 bits of its velocity (CA-031, from memory)
    take = normalise([(0, bytes.fromhex("b0 58 7f")), (0, bytes.fromhex("90 3c 50")), (1, bytes.fromhex("80 3c 00"))])
    assert take.notes[["pitch", "velocity"]].tolist() == [(60, 80)]
    assert take.pedals.size == 0


def test_a_release_velocity_of_always_64_is_none() -> None:
    messages = [(0, on(60)), (1, off(60, 64)), (2, on(62)), (3, off(62, 64))]
    assert normalise(messages).notes["release_velocity"].tolist() == [0, 0]
    messages[3] = (3, off(62, 65))
    assert normalise(messages).notes["release_velocity"].tolist() == [64, 65]


def test_the_rhythm_on_channel_ten_is_left_out_and_told() -> None:
    take = normalise(
        [(0, on(36, 100, 9)), (0.1, on(60)), (0.2, off(36, 0, 9)), (1, off(60)), (2, bytes((CC | 9, 64, 9)))]
    )
    assert take.notes["pitch"].tolist() == [60]
    assert take.meta.flags == ("channel_10",)
    assert take.pedals.size == 0


def test_a_key_that_never_came_up_ends_at_the_last_event() -> None:
    take = normalise([(0, on(60)), (1, on(62)), (2, off(62)), (5, b"\xfe")])
    assert take.notes["release_s"].tolist() == [2, 2]
    assert take.meta.flags == ("missing_release",)


@pytest.mark.parametrize("controller", [120, 123])
def test_all_notes_off_lifts_the_keys_of_its_channel(controller: int) -> None:
    messages = [(0, on(60)), (0, on(50, 64, 1)), (1, bytes((CC, controller, 0))), (3, off(50, 0, 1))]
    take = normalise(messages)
    assert sorted(take.notes["release_s"].tolist()) == [1, 3]
    assert take.meta.flags == ()


def test_touch_switched_off_is_told_from_twelve_notes_on() -> None:
    def playing(n: int, velocities: list[int]) -> list[tuple[float, bytes]]:
        return [
            event
            for i in range(n)
            for event in ((i * 0.5, on(60, velocities[i % len(velocities)])), (i * 0.5 + 0.4, off(60)))
        ]

    assert normalise(playing(12, [64])).meta.flags == ("one_velocity",)
    assert normalise(playing(12, [64, 80])).meta.flags == ("one_velocity",)
    assert normalise(playing(11, [64])).meta.flags == ()
    assert normalise(playing(12, [64, 80, 90])).meta.flags == ()


def test_flags_known_before_stay() -> None:
    take = normalise([(0, on(60))], TakeMeta(file="a.mid", flags=("cut",)))
    assert take.meta == TakeMeta(file="a.mid", flags=("cut", "missing_release"))


def test_a_key_up_in_one_track_does_not_lift_the_key_of_another() -> None:
    right = [(0.0, on(60, 80)), (2.0, off(60))]
    left = [(0.5, on(60, 50)), (1.0, off(60))]
    take = normalise_tracks([right, left])
    assert take.notes[["onset_s", "release_s", "velocity"]].tolist() == [(0, 2, 80), (0.5, 1, 50)]
    assert take.meta.flags == ()


def test_times_stay_as_given_and_rows_are_sorted_by_onset() -> None:
    take = normalise_tracks([[(7.0, on(60)), (8.0, off(60))], [(-1.0, on(50)), (9.0, off(50))]])
    assert take.notes["onset_s"].tolist() == [-1, 7]


@pytest.mark.parametrize("time_s", [np.nan, np.inf])
def test_a_time_that_is_none_is_refused(time_s: float) -> None:
    with pytest.raises(NotesError, match="finite"):
        normalise([(time_s, on(60))])


def test_nothing_at_all_is_an_empty_take() -> None:
    take = normalise([])
    assert len(take) == 0
    assert take.pedals.size == 0


@given(st.lists(st.tuples(st.floats(-1e6, 1e6), st.binary(max_size=12)), max_size=40))
def test_whatever_bytes_come_a_take_comes_of_them(messages: list[tuple[float, bytes]]) -> None:
    take = normalise(messages)
    assert (take.notes["release_s"] >= take.notes["onset_s"]).all()
    assert (np.diff(take.notes["onset_s"]) >= 0).all()
    assert take.notes["pitch"].max(initial=0) < 128
    assert take.notes["velocity"].min(initial=1) >= 1
    assert not (take.notes["channel"] == 9).any()


@given(st.data())
def test_where_the_stream_is_cut_into_packets_does_not_matter(data: st.DataObject) -> None:
    kinds = st.one_of(
        st.tuples(st.sampled_from([0x90, 0x80, 0x91]), st.integers(60, 63), st.integers(0, 127)),
        st.tuples(st.just(0xB0), st.sampled_from([64, 88]), st.integers(0, 127)),
        st.tuples(st.just(0xF0), st.integers(0, 127), st.just(0xF7)),
        st.sampled_from([(0xFE,), (0xF8,), (0xD0, 5)]),
    )
    stream = b"".join(bytes(message) for message in data.draw(st.lists(kinds, max_size=30)))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=20)))
    packets = [stream[a:b] for a, b in zip([0, *cuts], [*cuts, len(stream)], strict=True)]
    whole = [raw for _, raw in whole_messages([(0.0, stream)])]
    assert [raw for _, raw in whole_messages([(0.0, packet) for packet in packets])] == whole
