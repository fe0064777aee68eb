"""MIDI files become targets; the files are written with mido, which the reading of scores does not use."""

from __future__ import annotations

from pathlib import Path

import mido
import pytest

from keysense.errors import TargetError
from keysense.targets import read_target
from keysense.targets.midifile import bars_from_signatures

Row = tuple[int, int, int]  # onset and length in ticks, pitch


def write(
    path: Path, tracks: list[list[Row]], *, kind: int = 1, meta: list[mido.MetaMessage] | None = None, channel: int = 0
) -> Path:
    file = mido.MidiFile(type=kind, ticks_per_beat=480)
    if kind == 1:
        file.tracks.append(mido.MidiTrack(meta or []))
    for rows in tracks:
        events = [(at, 1, mido.Message("note_on", note=p, velocity=64, channel=channel)) for at, _, p in rows]
        events += [(at + n, 0, mido.Message("note_off", note=p, velocity=0, channel=channel)) for at, n, p in rows]
        track = mido.MidiTrack(meta or [] if kind == 0 else [])
        now = 0
        for at, _, message in sorted(events, key=lambda e: e[:2]):
            track.append(message.copy(time=at - now))
            now = at
        file.tracks.append(track)
    file.save(path)
    return path


RIGHT = [(0, 480, 72), (480, 480, 74), (960, 960, 76)]
LEFT = [(0, 1920, 48)]


def test_two_tracks_are_right_and_left(tmp_path: Path) -> None:
    meta = [
        mido.MetaMessage("track_name", name="Two Lanterns"),
        mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(90)),
        mido.MetaMessage("time_signature", numerator=4, denominator=4),
    ]
    target = read_target(write(tmp_path / "t.mid", [RIGHT, LEFT], meta=meta))
    assert target.hands == ("R", "L")
    columns = ["hand", "onset_quarter", "duration_quarter", "pitch"]
    assert target.notes[columns].tolist() == [
        ("R", 0, 1, 72), ("L", 0, 4, 48), ("R", 1, 1, 74), ("R", 2, 2, 76),
    ]  # fmt: skip
    assert target.tempo_qpm == pytest.approx(90, abs=1e-3)
    assert (target.source.kind, target.source.title, target.source.musicxml) == ("midi", "Two Lanterns", "")
    assert target.notes["id"].tolist() == ["n1", "n2", "n3", "n4"]


def test_one_track_tells_no_hands_until_a_split_is_given(tmp_path: Path) -> None:
    path = write(tmp_path / "t.mid", [RIGHT + LEFT], kind=0)
    assert read_target(path).hands == ()
    split = read_target(path, split_pitch=60)
    assert dict(zip(split.notes["pitch"].tolist(), split.notes["hand"].tolist(), strict=True))[48] == "L"
    assert read_target(path, split_pitch=60, title="Lanterns").source.title == "Lanterns"
    assert read_target(path).source.title == "t"
    with pytest.raises(TargetError, match="split pitch 200"):
        read_target(path, split_pitch=200)


def test_bars_follow_the_time_signatures(tmp_path: Path) -> None:
    meta = [
        mido.MetaMessage("time_signature", numerator=3, denominator=4),
        mido.MetaMessage("time_signature", numerator=2, denominator=4, time=3 * 480),
    ]
    rows = [(k * 480, 480, 60 + k) for k in range(7)]
    target = read_target(write(tmp_path / "t.mid", [rows], meta=meta))
    assert target.bars["start_quarter"].tolist() == [0, 3, 5]
    assert target.bars["length_quarter"].tolist() == [3, 2, 2]
    assert target.notes["bar"].tolist() == [1, 1, 1, 2, 2, 3, 3]


def test_without_a_signature_a_bar_has_four_quarters(tmp_path: Path) -> None:
    target = read_target(write(tmp_path / "t.mid", [[(0, 480, 60), (1920, 480, 62)]]))
    assert target.bars["start_quarter"].tolist() == [0, 4]
    assert target.tempo_qpm is None


def test_a_signature_inside_a_bar_cuts_it_short() -> None:
    bars = bars_from_signatures([(0.0, 4, 4), (6.0, 3, 4)], 12.0, "t.mid")
    assert bars["start_quarter"].tolist() == [0, 4, 6, 9]
    assert bars["length_quarter"].tolist() == [4, 2, 3, 3]


def test_drums_are_not_the_tune(tmp_path: Path) -> None:
    with pytest.raises(TargetError, match="no notes"):
        read_target(write(tmp_path / "t.mid", [RIGHT], channel=9))


@pytest.mark.parametrize("data", [b"", b"C4 E4 G4", b"MThd\x00\x00\x00\x06\x00\x01", bytes(range(256)) * 40])
def test_what_is_no_midi_file_is_one_line(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "t.mid").write_bytes(data)
    with pytest.raises(TargetError) as caught:
        read_target(tmp_path / "t.mid")
    assert str(caught.value).count("t.mid") == 1
    assert "\n" not in str(caught.value)
