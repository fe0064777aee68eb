"""Standard MIDI Files in and out. The files read here are written byte by byte, not by keysense."""

from __future__ import annotations

import contextlib
import random
import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keysense.errors import TakeFileError
from keysense.notes import PEDAL, Take, TakeMeta
from keysense.smf import messages_to_smf, read_smf_score, read_take, smf_to_take, take_to_smf


def varied(n: int) -> bytes:
    """A variable-length quantity."""
    out = [n & 127]
    while n := n >> 7:
        out.insert(0, n & 127 | 128)
    return bytes(out)


def track(*events: tuple[int, str]) -> bytes:
    """A track chunk of (ticks to wait, bytes in hex)."""
    body = b"".join(varied(wait) + bytes.fromhex(raw) for wait, raw in (*events, (0, "ff 2f 00")))
    return b"MTrk" + struct.pack(">I", len(body)) + body


def smf(kind: int, division: int, *tracks: bytes) -> bytes:
    return b"MThd" + struct.pack(">IHHH", 6, kind, len(tracks), division) + b"".join(tracks)


TEMPO_60 = "ff 51 03 0f 42 40"
TEMPO_120 = "ff 51 03 07 a1 20"
TEMPO_240 = "ff 51 03 03 d0 90"
ONE_NOTE = smf(0, 480, track((0, TEMPO_60), (480, "90 3c 50"), (240, "80 3c 40")))


def test_a_file_of_type_0() -> None:
    take = smf_to_take(ONE_NOTE, "one.mid")
    assert take.notes.tolist() == [(1.0, 1.5, 60, 80, 0, 0)]
    assert take.meta == TakeMeta(file="one.mid")


def test_without_a_tempo_a_quarter_lasts_half_a_second() -> None:
    take = smf_to_take(smf(0, 96, track((96, "90 3c 50"), (96, "3c 00"))))
    assert take.notes[["onset_s", "release_s"]].tolist() == [(0.5, 1.0)]


def test_the_tempo_map_of_type_1_holds_for_all_tracks() -> None:
    tempo = track((0, TEMPO_60), (960, TEMPO_120), (480, TEMPO_240))
    right = track(*[(480 if i else 0, f"90 {60 + i:02x} 50") for i in range(6)], (480, "b0 7b 00"))
    left = track((240, "91 30 40"), (960, "81 30 40"))
    take = smf_to_take(smf(1, 480, tempo, right, left))
    onsets = dict(zip(take.notes["pitch"].tolist(), take.notes["onset_s"].tolist(), strict=True))
    assert [onsets[60 + i] for i in range(6)] == pytest.approx([0, 1, 2, 2.5, 2.75, 3.0])
    assert onsets[48] == pytest.approx(0.5)
    assert take.notes["release_s"][take.notes["pitch"] == 48][0] == pytest.approx(2.25)


def test_a_tempo_in_a_later_track_holds_too() -> None:
    take = smf_to_take(smf(1, 480, track((480, "90 3c 50"), (480, "80 3c 00")), track((0, TEMPO_60))))
    assert take.notes[["onset_s", "release_s"]].tolist() == [(1.0, 2.0)]


def test_hands_on_one_channel_in_two_tracks_keep_their_unisons() -> None:
    right = track((0, "90 3c 50"), (960, "80 3c 00"))
    left = track((480, "90 3c 30"), (240, "80 3c 00"))
    take = smf_to_take(smf(1, 480, right, left))
    assert take.notes[["onset_s", "release_s", "velocity"]].tolist() == [(0, 1, 80), (0.5, 0.75, 48)]
    assert take.meta.flags == ()


def test_smpte_division_counts_film_frames() -> None:
    # 25 frames a second, 40 ticks a frame: a tick is a millisecond
    division = struct.unpack(">H", struct.pack("bB", -25, 40))[0]
    take = smf_to_take(smf(0, division, track((0, TEMPO_60), (1500, "90 3c 50"), (250, "80 3c 00"))))
    assert take.notes[["onset_s", "release_s"]].tolist() == [(1.5, 1.75)]


def test_an_empty_track_is_an_empty_take() -> None:
    assert len(smf_to_take(smf(0, 480, track()))) == 0


def noise(n: int) -> bytes:
    return random.Random(7).randbytes(n)


BAD = {
    "empty": (b"", "empty"),
    "text": (b"Dear teacher, here is my take.\n", "plain text"),
    "random bytes": (noise(3_000_000), "not a Standard MIDI File"),
    "a sound file": (b"RIFF\x00\x00\x00\x00WAVE", "sound"),
    "cut inside a track": (ONE_NOTE[:-6], "cut short"),
    "cut inside the head": (ONE_NOTE[:9], "cut short"),
    "no track": (smf(0, 480), "damaged"),
    "type 2": (smf(2, 480, track()), "type 2"),
    "noise after a good head": (ONE_NOTE[:14] + noise(5000), "damaged"),
    "noise inside a track": (smf(0, 480, b"MTrk" + struct.pack(">I", 9000) + noise(9000)), "one.mid"),
    "no division": (smf(0, 0, track((0, "90 3c 50"))), "no beat"),
}


@pytest.mark.parametrize("case", BAD)
def test_a_bad_file_is_one_clear_line(case: str, tmp_path: Path) -> None:
    data, says = BAD[case]
    path = tmp_path / "one.mid"
    path.write_bytes(data)
    for read in (read_take, read_smf_score):
        with pytest.raises(TakeFileError) as told:
            read(path)
        assert says in str(told.value)
        assert "one.mid" in str(told.value)
        assert "\n" not in str(told.value)


@pytest.mark.parametrize("cut", range(1, len(ONE_NOTE)))
def test_wherever_a_file_is_cut_nothing_but_a_take_file_error_comes(cut: int) -> None:
    with pytest.raises(TakeFileError):
        smf_to_take(ONE_NOTE[:cut])


@settings(max_examples=300, deadline=None)
@given(st.integers(14, len(ONE_NOTE) - 1), st.integers(0, 255))
def test_whatever_byte_is_changed_nothing_but_a_take_file_error_comes(at: int, byte: int) -> None:
    with contextlib.suppress(TakeFileError):
        smf_to_take(ONE_NOTE[:at] + bytes([byte]) + ONE_NOTE[at + 1 :])


def test_a_missing_file_and_a_folder_are_one_clear_line(tmp_path: Path) -> None:
    with pytest.raises(TakeFileError, match=r"there is no .*nothing\.mid"):
        read_take(tmp_path / "nothing.mid")
    with pytest.raises(TakeFileError, match="is a folder"):
        read_take(tmp_path)


midi = st.integers(0, 127)
notes = st.lists(
    st.tuples(st.floats(0, 600), st.floats(0.001, 20), midi, st.integers(1, 127), st.integers(0, 63)), max_size=60
)
pedals = st.lists(st.tuples(st.floats(0, 600), st.sampled_from([64, 66, 67]), midi), max_size=20)


@settings(max_examples=150, deadline=None)
@given(notes, pedals, st.sets(st.sampled_from(["cut", "still_held", "gap"])))
def test_written_and_read_again_a_take_is_the_same(
    played: list[tuple[float, float, int, int, int]], pedalled: list[tuple[float, int, int]], flags: set[str]
) -> None:
    # one key can be down only once at a time; a keyboard cannot send anything else
    free: dict[int, float] = {}
    rows = []
    for onset, length, pitch, velocity, let_go in sorted(played):
        if onset >= free.get(pitch, -1) + 0.001:
            rows.append((onset, onset + length, pitch, velocity, let_go))
            free[pitch] = onset + length
    columns = list(zip(*rows, strict=True)) or [(), (), (), ()]
    take = Take.from_notes(
        onset_s=columns[0],
        release_s=columns[1],
        pitch=columns[2],
        velocity=columns[3],
        pedals=np.array(sorted(pedalled, key=lambda row: row[0]), PEDAL),
        meta=TakeMeta(flags=tuple(sorted(flags))),
    )
    take.notes["release_velocity"] = [row[4] for row in rows]
    again = smf_to_take(take_to_smf(take))
    a, b = take.notes, again.notes
    assert len(a) == len(b)
    assert np.abs(np.sort(a["onset_s"]) - b["onset_s"]).max(initial=0) <= 0.0000251
    for pitch in set(a["pitch"].tolist()):
        mine, other = a[a["pitch"] == pitch], b[b["pitch"] == pitch]
        for name in ("velocity", "release_velocity"):
            assert mine[name].tolist() == other[name].tolist()
        assert np.abs(mine["release_s"] - other["release_s"]).max() <= 0.0000251
    assert again.pedals["value"].tolist() == take.pedals["value"].tolist()
    assert set(flags) <= set(again.meta.flags)


def test_a_note_of_no_length_and_a_repeated_note_keep_their_order() -> None:
    take = Take.from_notes(onset_s=[0, 1, 1.5], release_s=[1, 1, 2], pitch=[60, 60, 60], velocity=[10, 20, 30])
    again = smf_to_take(take_to_smf(take))
    assert again.notes[["onset_s", "release_s", "velocity"]].tolist() == [(0, 1, 10), (1, 1, 20), (1.5, 2, 30)]
    assert again.meta.flags == ()


def test_the_end_of_a_long_lesson_is_as_exact_as_its_beginning() -> None:
    onset = np.linspace(0, 3600, 5000)
    take = Take.from_notes(onset_s=onset, release_s=onset + 0.1, pitch=np.full(5000, 60), velocity=np.full(5000, 64))
    again = smf_to_take(take_to_smf(take))
    assert np.abs(again.notes["onset_s"] - onset).max() <= 0.0000251


def test_raw_messages_go_into_the_file_as_they_came() -> None:
    sent = [
        (10.0, bytes.fromhex("f0 41 10 42 f7")),
        (10.5, bytes.fromhex("b0 58 11")),
        (10.5, bytes.fromhex("90 3c 50")),
        (10.6, b"\xfe"),
        (11.0, bytes.fromhex("d0 20")),
        (11.25, bytes.fromhex("80 3c 2a")),
    ]
    data = messages_to_smf(sent, ["cut"])
    for raw in ("58 11", "d0 20", "80 3c 2a", "41 10 42 f7"):
        assert bytes.fromhex(raw) in data
    take = smf_to_take(data)
    assert take.notes.tolist() == [(0.5, 1.25, 60, 80, 42, 0)]
    assert take.meta.flags == ("cut",)


def test_a_clock_that_steps_back_does_not_break_the_file() -> None:
    take = smf_to_take(messages_to_smf([(5.0, b"\x90\x3c\x50"), (4.0, b"\x80\x3c\x00"), (6.0, b"\x90\x3e\x50")]))
    assert take.notes["onset_s"].tolist() == [0, 1]


def test_a_file_as_written_music(tmp_path: Path) -> None:
    tempo = track((0, "ff 03 04 54 75 6e 65"), (0, TEMPO_120), (0, "ff 58 04 03 02 18 08"), (0, "ff 59 02 01 00"))
    later = track((0, "ff 03 01 52"), (1440, "ff 58 04 04 02 18 08"), (0, "90 3c 50"), (480, "80 3c 00"))
    (tmp_path / "score.mid").write_bytes(smf(1, 480, tempo, later))
    score = read_smf_score(tmp_path / "score.mid")
    assert [t.name for t in score.tracks] == ["Tune", "R"]
    assert score.tempo_qpm == 120
    assert score.time_signatures == [(0, 3, 4), (3, 4, 4)]
    assert score.key == "G"
    assert score.tracks[1].notes.tolist() == [(3.0, 1.0, 60, 80, 0)]
    assert score.tracks[0].notes.size == 0


def test_a_file_of_film_frames_is_no_written_music(tmp_path: Path) -> None:
    path = tmp_path / "film.mid"
    path.write_bytes(smf(0, struct.unpack(">H", struct.pack("bB", -25, 40))[0], track((0, "90 3c 50"))))
    with pytest.raises(TakeFileError, match="film frames"):
        read_smf_score(path)


@pytest.mark.parametrize("read", [read_take, read_smf_score])
def test_a_tempo_in_which_no_time_passes_is_refused(tmp_path: Path, read: Callable[[Path], object]) -> None:
    track = b"\x00\xff\x51\x03\x00\x00\x00\x00\x90\x3c\x40\x60\x80\x3c\x40\x00\xff\x2f\x00"
    path = tmp_path / "still.mid"
    path.write_bytes(b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk" + len(track).to_bytes(4, "big") + track)
    with pytest.raises(TakeFileError, match=r"still\.mid gives a tempo"):
        read(path)
