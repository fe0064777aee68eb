"""Standard MIDI Files in and out: the only place that knows mido.

Conventions
    Written files are of type 0, 10,000 ticks a quarter at 120 quarters a minute (the standard's own tempo): one tick
    is 0.05 ms, so no time moves by more than 0.025 ms. Time 0 is the first event, unless a take begins before zero.
    Flags of a take travel as one text event, ``keysense: cut still_held``. No name of a person is ever written.
    Read files may be of type 0 or 1, with any tempo map or SMPTE division; seconds count from the start of the file.

Reference: Standard MIDI Files 1.0 (RP-001), from memory.
"""

from __future__ import annotations

import io
import re
import struct
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from keysense.errors import TakeFileError
from keysense.files import looks_like, read_whole
from keysense.messages import normalise_tracks
from keysense.notes import Take, TakeMeta
from keysense.units import qpm_from_period_s
from keysense.wire import Message, whole_messages

__all__ = [
    "SMF_NOTE",
    "SmfScore",
    "SmfTrack",
    "messages_to_smf",
    "read_smf_score",
    "read_take",
    "smf_to_take",
    "take_to_smf",
]

SMF_NOTE = np.dtype(
    [("onset_quarter", "f8"), ("duration_quarter", "f8"), ("pitch", "u1"), ("velocity", "u1"), ("channel", "u1")]
)

TICKS_PER_QUARTER = 10_000
_TEMPO_US = 500_000
_TICK_S = _TEMPO_US * 1e-6 / TICKS_PER_QUARTER
_MARK = "keysense:"

_Event = tuple[int, Any]


@dataclass(frozen=True)
class SmfTrack:
    """One track: notes are `SMF_NOTE` rows sorted by onset, in quarters from the start of the file."""

    name: str
    notes: npt.NDArray[np.void]


@dataclass(frozen=True)
class SmfScore:
    """A file read as written music.

    tempo_qpm: the first tempo, None where the file gives none. time_signatures: (quarter, numerator, denominator).
    key: as the file says it, such as ``G`` or ``Em``, or None.
    """

    tracks: list[SmfTrack]
    tempo_qpm: float | None
    time_signatures: list[tuple[float, int, int]]
    key: str | None = None


def read_take(path: str | Path) -> Take:
    """The take in a Standard MIDI File of type 0 or 1.

    Raises TakeFileError, in one line, when the file is missing, empty, cut short or no such file.
    """
    path = Path(path)
    return smf_to_take(read_whole(path), path.name)


def smf_to_take(data: bytes, name: str = "") -> Take:
    """As `read_take`, from the bytes of a file; ``name`` is what messages and the take call it."""
    file = _parse(data, name or "this MIDI file")
    tracks = [_absolute(track) for track in file.tracks]
    seconds = _clock(file, tracks)
    streams = [
        [(seconds(tick), bytes(m.bytes())) for tick, m in track if not m.is_meta and m.type != "sysex"]
        for track in tracks
    ]
    return normalise_tracks(streams, TakeMeta(file=name, flags=_flags_inside(tracks)))


def read_smf_score(path: str | Path) -> SmfScore:
    """A file of type 0 or 1 as written music, its tracks kept apart and times in quarters.

    Raises TakeFileError as `read_take` does, and for a file that counts film frames and so has no quarters.
    """
    path = Path(path)
    file = _parse(read_whole(path), path.name)
    if file.ticks_per_beat <= 0:
        raise TakeFileError(f"{path.name} counts film frames, not quarters: export it again with musical time")
    quarter = 1.0 / file.ticks_per_beat
    tracks = [_absolute(track) for track in file.tracks]
    everything = sorted((event for track in tracks for event in track), key=lambda event: event[0])
    tempo = next((m.tempo for _, m in everything if m.type == "set_tempo"), None)
    return SmfScore(
        tracks=[_score_track(track, quarter) for track in tracks],
        tempo_qpm=None if tempo is None else qpm_from_period_s(tempo * 1e-6),
        time_signatures=[
            (tick * quarter, m.numerator, m.denominator) for tick, m in everything if m.type == "time_signature"
        ],
        key=next((str(m.key) for _, m in everything if m.type == "key_signature"), None),
    )


def take_to_smf(take: Take) -> bytes:
    """The take as a file: every note with its velocities and channel, the pedals, and the flags.

    Times before zero move the whole take to begin at zero.
    """
    events: list[tuple[float, int, bytes]] = []
    for onset_s, release_s, pitch, velocity, let_go, channel in take.notes.tolist():
        # at one instant keys go up before others go down, but a key's own zero-length note keeps its order
        events.append((onset_s, 1, bytes((0x90 | channel & 15, pitch, max(velocity, 1)))))
        events.append((release_s, 0 if release_s > onset_s else 2, bytes((0x80 | channel & 15, pitch, let_go))))
    for time_s, controller, value in take.pedals.tolist():
        events.append((time_s, 1, bytes((0xB0, controller, value))))
    events.sort(key=lambda event: event[:2])
    start_s = min(0.0, events[0][0]) if events else 0.0
    return _write(((time_s - start_s, raw) for time_s, _, raw in events), take.meta.flags)


def messages_to_smf(messages: Iterable[Message], flags: Sequence[str] = ()) -> bytes:
    """Raw messages as they came, time 0 at the first; clock, active sensing and other real-time bytes are left out."""
    whole = list(whole_messages(messages))
    start_s = whole[0][0] if whole else 0.0
    # a clock that steps back, as after a restart of the machine, must not give negative waits
    return _write(((max(time_s - start_s, 0.0), raw) for time_s, raw in whole), flags)


def _write(events: Iterable[Message], flags: Sequence[str]) -> bytes:
    import mido

    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=_TEMPO_US, time=0)])
    if flags:
        track.append(mido.MetaMessage("text", text=" ".join([_MARK, *flags]), time=0))
    before = 0
    for time_s, raw in events:
        tick = max(round(time_s / _TICK_S), before)
        track.append(mido.Message.from_bytes(raw, time=tick - before))
        before = tick
    file = mido.MidiFile(type=0, ticks_per_beat=TICKS_PER_QUARTER, tracks=[track])
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def _parse(data: bytes, name: str) -> Any:
    """The file as mido reads it, or TakeFileError with a guess at the cause."""
    import mido

    if not data:
        raise TakeFileError(f"{name} is empty (0 bytes): copy it again from where it was recorded")
    if not data.startswith(b"MThd"):
        raise TakeFileError(
            f"{name} is not a Standard MIDI File ({looks_like(data)}): give a file that a recorder wrote"
        )
    try:
        file = mido.MidiFile(file=io.BytesIO(data))
    except EOFError as cause:
        raise TakeFileError(
            f"{name} is cut short ({len(data)} bytes): copy it again from where it was recorded"
        ) from cause
    except Exception as cause:  # mido raises its own, OSError, ValueError, IndexError, KeyError, struct.error ...
        raise TakeFileError(f"{name} is damaged and cannot be read ({cause}): copy or export it again") from cause
    if file.type not in (0, 1):
        raise TakeFileError(f"{name} is a MIDI file of type {file.type}: export it again as type 0 or 1")
    if not file.ticks_per_beat or not file.tracks:
        raise TakeFileError(
            f"{name} is damaged: it gives no {'tracks' if file.ticks_per_beat else 'beat'}; export it again"
        )
    if any(m.type == "set_tempo" and not m.tempo for track in file.tracks for m in track):
        raise TakeFileError(f"{name} gives a tempo in which a quarter lasts no time: export it again with its tempo")
    return file


def _absolute(track: Any) -> list[_Event]:
    """The events of a track with ticks from the start of the file."""
    tick, events = 0, []
    for message in track:
        tick += message.time
        events.append((tick, message))
    return events


def _clock(file: Any, tracks: Sequence[Sequence[_Event]]) -> Callable[[int], float]:
    """Ticks to seconds: through the tempo map of all tracks, or by film frames."""
    division = file.ticks_per_beat
    if division < 0:
        frames, ticks = struct.unpack("bB", struct.pack(">h", division))
        a_second = (30_000 / 1001 if frames == -29 else -frames) * max(ticks, 1)
        return lambda tick: tick / a_second
    changes = sorted((tick, m.tempo) for track in tracks for tick, m in track if m.type == "set_tempo")
    ticks_at, seconds_at, tempo_at = [0], [0.0], [_TEMPO_US]
    for tick, tempo in changes:
        seconds_at.append(seconds_at[-1] + (tick - ticks_at[-1]) * tempo_at[-1] * 1e-6 / division)
        ticks_at.append(tick)
        tempo_at.append(tempo)
    starts = np.array(ticks_at)

    def seconds(tick: int) -> float:
        row = int(np.searchsorted(starts, tick, side="right")) - 1
        return float(seconds_at[row] + (tick - ticks_at[row]) * tempo_at[row] * 1e-6 / division)

    return seconds


def _flags_inside(tracks: Sequence[Sequence[_Event]]) -> tuple[str, ...]:
    """The flags that keysense itself once wrote into the file."""
    texts = (str(m.text) for track in tracks for _, m in track if m.type == "text")
    marked = [text.removeprefix(_MARK).split() for text in texts if text.startswith(_MARK)]
    return tuple(sorted({word for words in marked for word in words if re.fullmatch(r"[a-z0-9_]{1,30}", word)}))


def _score_track(track: Sequence[_Event], quarter: float) -> SmfTrack:
    """One track in quarters, by the same rules as a take so that a key-up means the same in both."""
    name = next((str(m.name) for _, m in track if m.type == "track_name"), "")
    take = normalise_tracks([_played(track, quarter)])
    notes = np.zeros(len(take.notes), SMF_NOTE)
    notes["onset_quarter"] = take.notes["onset_s"]
    notes["duration_quarter"] = take.notes["release_s"] - take.notes["onset_s"]
    for column in ("pitch", "velocity", "channel"):
        notes[column] = take.notes[column]
    return SmfTrack(name, notes)


def _played(track: Sequence[_Event], quarter: float) -> Iterator[Message]:
    for tick, message in track:
        if not message.is_meta and message.type in ("note_on", "note_off"):
            yield tick * quarter, bytes(message.bytes())
