"""Where takes begin and end: the journal of a lesson is played out record by record."""

from __future__ import annotations

import itertools
import struct
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keysense.capture.cutting import Cutter, Span, cut, messages_of
from keysense.capture.records import Kind, Record, pack, pack_mark, scan
from keysense.messages import normalise

Script = list[tuple[float, bytes | str | float]]


def journal(script: Script) -> list[Record]:
    """Records of (seconds, raw bytes | mark | wall clock in seconds)."""
    data = b""
    for time_s, what in script:
        time_ns = round(time_s * 1e9)
        if isinstance(what, bytes):
            data += pack(Kind.MESSAGE, what, time_ns)
        elif isinstance(what, str):
            data += pack_mark(what, time_ns)
        else:
            data += pack(Kind.WALL, struct.pack("<q", round(what * 1e9)), time_ns)
    return [piece for piece in scan(data) if isinstance(piece, Record)]


def on(pitch: int, velocity: int = 64, channel: int = 0) -> bytes:
    return bytes((0x90 | channel, pitch, velocity))


def off(pitch: int, channel: int = 0) -> bytes:
    return bytes((0x80 | channel, pitch, 64))


def pedal(value: int, controller: int = 64) -> bytes:
    return bytes((0xB0, controller, value))


def tune(at: float, n: int = 4, step: float = 0.5) -> Script:
    return [
        event for i in range(n) for event in ((at + i * step, on(60 + i)), (at + i * step + 0.9 * step, off(60 + i)))
    ]


def told(spans: list[Span]) -> list[tuple[float, float, int, tuple[str, ...]]]:
    return [(round(s.start_ns * 1e-9, 3), round(s.end_ns * 1e-9, 3), s.n, s.flags) for s in spans]


def test_silence_ends_a_take() -> None:
    assert told(cut(journal(tune(1) + tune(7)))) == [(1, 2.95, 4, ()), (7, 8.95, 4, ())]


@pytest.mark.parametrize(("silence_s", "takes"), [(3.0, 1), (2.9, 2), (0.5, 2)])
def test_how_long_a_silence_is_settable(silence_s: float, takes: int) -> None:
    # the first tune's last key comes up at 1.95, the second begins at 4.9: 2.95 s
    assert len(cut(journal(tune(0) + tune(4.9)), silence_s)) == takes


def test_a_long_note_is_no_silence() -> None:
    script = [(0.0, on(60)), (9.0, off(60)), (11.0, on(62)), (12.0, off(62))]
    assert told(cut(journal(script))) == [(0, 12, 2, ())]


def test_the_pedal_holds_a_take_together() -> None:
    held = [(0.0, pedal(127)), *tune(0.1), (8.0, pedal(0)), *tune(9), (11.2, pedal(20))]
    assert told(cut(journal(sorted(held, key=lambda e: e[0])))) == [(0, 11.2, 8, ())]


def test_a_pedal_below_64_is_up() -> None:
    script = [(0.0, pedal(63)), *tune(0.1), (2.2, pedal(40)), *tune(7)]
    assert told(cut(journal(script))) == [(0.1, 2.2, 4, ()), (7, 8.95, 4, ())]


def test_a_foot_that_rests_on_the_pedal_does_not_keep_a_take_open() -> None:
    resting = [(2 + 0.5 * i, pedal(10 + i % 5)) for i in range(12)]
    spans = cut(journal(tune(0) + resting + tune(8)))
    assert [span.n for span in spans] == [4, 4]


def test_the_pedal_alone_is_no_take() -> None:
    assert cut(journal([(0, pedal(127)), (1, pedal(0)), (9, pedal(127)), (40, pedal(0))])) == []


def test_a_stuck_key_ends_a_take_after_twenty_seconds() -> None:
    script = [(0.0, on(30)), *tune(1), *tune(30), (40.0, off(30))]
    assert told(cut(journal(script))) == [(0, 2.95, 5, ("still_held",)), (30, 31.95, 4, ())]


def test_a_stuck_pedal_ends_a_take_after_twenty_seconds() -> None:
    script = [(0.0, pedal(127)), *tune(1), *tune(30)]
    assert told(cut(journal(script))) == [(0, 2.95, 4, ("still_held",)), (30, 31.95, 4, ())]


def test_the_last_key_of_an_unfinished_journal_is_still_held() -> None:
    assert told(cut(journal([*tune(0), (2.0, on(70))]))) == [(0, 2, 5, ("still_held",))]


def test_velocity_zero_lifts_a_key_here_too() -> None:
    script = [(0.0, on(60)), (1.0, b"\x90\x3c\x00"), *tune(9)]
    assert [span.n for span in cut(journal(script))] == [1, 4]


def test_the_rhythm_of_channel_ten_keeps_no_take_open() -> None:
    rhythm = [(0.25 * i, on(36, 100, 9)) for i in range(60)]
    spans = cut(journal(sorted(tune(0) + rhythm + tune(10), key=lambda e: e[0])))
    assert [span.n for span in spans] == [4, 4]


def test_a_piano_that_goes_ends_its_take_and_is_told() -> None:
    script = [(0.0, on(60)), (0.5, off(60)), (0.6, on(62)), (0.8, "lost"), (9.0, "back"), *tune(10)]
    spans = cut(journal(script))
    assert [(s.n, s.flags) for s in spans] == [(2, ("cut",)), (4, ())]
    take = normalise(messages_of(spans[0]))
    assert take.notes["release_s"].tolist() == pytest.approx([0.5, 0.8]), "the keys end where the piano went"
    assert take.meta.flags == ()


def test_a_piano_that_is_soon_back_goes_on_in_the_same_take() -> None:
    script = [*tune(0), (1.9, on(50)), (2.0, "lost"), (3.0, "back"), *tune(3.2)]
    assert told(cut(journal(script))) == [(0, 5.15, 9, ("cut",))]


def test_a_listening_that_broke_off_leaves_a_gap_in_its_take() -> None:
    script = [*tune(0), (1.96, on(50)), (2.5, "start"), (2.6, "back"), *tune(2.8), *tune(12)]
    spans = cut(journal(script))
    assert [(s.n, s.flags) for s in spans] == [(9, ("gap",)), (4, ())]


def test_what_a_crash_left_open_ends_with_the_listening_before() -> None:
    script = [*tune(0), (1.9, on(50)), (60.0, "start"), (60.1, "open"), *tune(70)]
    spans = cut(journal(script))
    assert [s.n for s in spans] == [5, 4]


def test_a_machine_started_anew_counts_from_zero_again() -> None:
    script: Script = [(5000.0, 1e9), *tune(5001), (3.0, "start"), (3.0, 1e9 + 300), *tune(4)]
    spans = cut(journal(script))
    assert [s.n for s in spans] == [4, 4]
    assert [s.wall_ns / 1e9 for s in spans] == pytest.approx([1e9 + 1, 1e9 + 301])


@pytest.mark.parametrize(("word", "at", "flags"), [("paused", 0.7, ("stopped",)), ("close", 2.5, ())])
def test_switching_off_ends_a_take(word: str, at: float, flags: tuple[str, ...]) -> None:
    script = [event for event in tune(0) if event[0] < at] + [(at, word), (at + 0.5, "open"), *tune(at + 1)]
    spans = cut(journal(script))
    assert len(spans) == 2
    assert spans[0].flags == flags


def test_a_machine_that_slept_ends_what_was_quiet() -> None:
    assert len(cut(journal([*tune(0), (2.0, "slept"), *tune(2.5)]))) == 2
    assert len(cut(journal([(0.0, on(40)), *tune(0.1), (2.2, "slept"), *tune(2.5), (5.0, off(40))]))) == 1


def test_bytes_and_times_of_a_span_lie_in_the_journal() -> None:
    records = journal([(0.0, 1000.0), *tune(1), *tune(9)])
    first, second = cut(records)
    assert (first.start, first.end) == (records[1].start, records[8].end)
    assert (second.start, second.end) == (records[9].start, records[-1].end)
    assert second.wall_ns / 1e9 == pytest.approx(1009)


def test_live_cutting_gives_the_same_takes_as_cutting_afterwards() -> None:
    script = [*tune(0), (1.9, pedal(100)), (4.0, pedal(0)), *tune(5), *tune(20), (23.0, on(30)), *tune(60)]
    records = journal(sorted(script, key=lambda e: e[0]))
    cutter, live = Cutter(), []
    for before, record in zip([*records[:1], *records], records, strict=False):
        for step in range(before.time_ns, record.time_ns, 50_000_000):
            live += cutter.advance(step)
        live += cutter.feed(record)
    live += cutter.advance(records[-1].time_ns + 30 * 10**9)
    assert live == cut(records)
    assert cutter.idle


def test_a_written_rest_is_waited_out() -> None:
    script = tune(0) + tune(7)
    assert len(cut(journal(script), lambda pitch: 6.0 if pitch == 63 else 3.0)) == 1
    assert len(cut(journal(script), lambda pitch: 6.0 if pitch == 62 else 3.0)) == 2


def test_a_pedal_pressed_long_before_does_not_put_the_music_off() -> None:
    (span,) = cut(journal([(0.0, pedal(127)), *tune(100), (104.0, pedal(0))]))
    times = [t for t, _ in messages_of(span)]
    assert times[0] == 0
    assert times[1] == pytest.approx(1.0)
    assert times[2] - times[1] == pytest.approx(0.45)


def test_a_script_of_twelve_takes_gives_twelve() -> None:
    script: Script = []
    for take in range(12):
        script += tune(take * 150, n=40 + take)
    spans = cut(journal(script))
    assert [span.n for span in spans] == [40 + take for take in range(12)]


def test_what_was_sent_is_what_the_span_holds() -> None:
    script: list[Any] = tune(3)
    (span,) = cut(journal(script))
    assert [raw for _, raw in messages_of(span)] == [raw for _, raw in script]
    assert [t for t, _ in messages_of(span)] == pytest.approx([t - 3 for t, _ in script])


heard = st.one_of(
    st.tuples(st.just(0x90), st.integers(60, 64), st.sampled_from([0, 50, 90])),
    st.tuples(st.just(0x80), st.integers(60, 64), st.just(64)),
    st.tuples(st.just(0xB0), st.just(64), st.sampled_from([0, 40, 64, 127])),
).map(bytes)
anything = st.lists(
    st.tuples(
        st.sampled_from([0.0, 0.1, 0.5, 2.0, 2.999, 3.0, 7.0, 25.0]),
        st.one_of(heard, heard, heard, st.sampled_from(["lost", "back", "start", "paused", "close", "slept"])),
    ),
    max_size=40,
)


@settings(max_examples=300, deadline=None)
@given(anything)
def test_every_key_is_in_one_take_and_live_cutting_agrees(
    steps: list[tuple[float, bytes | str]],
) -> None:
    at, script = 0.0, []
    for wait, what in steps:
        at += wait
        script.append((at, what))
    records = journal(script)
    spans = cut(records)
    struck = [r for r in records if r.kind is Kind.MESSAGE and r.payload[0] == 0x90 and r.payload[2]]
    for record in struck:
        assert sum(span.start <= record.start < span.end for span in spans) == 1
    assert sum(span.n for span in spans) == len(struck)
    assert all(a.end <= b.start for a, b in itertools.pairwise(spans))
    cutter, live = Cutter(), []
    for before, record in zip([*records[:1], *records], records, strict=False):
        live += cutter.advance((before.time_ns + record.time_ns) // 2)
        live += cutter.feed(record)
    assert live + cutter.finish() == spans
