"""`keysense hear` over a real MIDI system: a second process plays through a JACK port."""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from keysense.capture.journal import journals, read_journal
from keysense.capture.state import ListeningState
from keysense.studio import Studio
from tests.jack.server import Jack, wait_for
from tests.jack.stage import PIANO, Hear, Piano, Witness, lost_and_skipped, marks, numbered, raw_of, records, sessions

pytestmark = [pytest.mark.jack, pytest.mark.xdist_group("jack")]

Messages = list[tuple[float, bytes]]


@pytest.fixture(scope="module")
def jack() -> Iterator[Jack]:
    """Nothing is late for it, however busy the machine."""
    with Jack(sync=True) as server:
        yield server


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    return tmp_path / "studio"


def tune(n: int, step_s: float = 0.06, first: int = 0) -> Messages:
    """Notes of changing pitch and velocity; `first` makes two tunes different."""
    return [
        event
        for i in range(n)
        for event in (
            (i * step_s, bytes((0x90, 40 + (first + i) % 48, 1 + (first + i * 7) % 120))),
            ((i + 0.8) * step_s, bytes((0x80, 40 + (first + i) % 48, 30 + i % 40))),
        )
    ]


def takes_of(studio: Path) -> list[tuple[int, tuple[str, ...]]]:
    with Studio.open(studio) as opened:
        # whether a take is the piece named is the studio's affair, not the listening's
        return [
            (take.n, tuple(flag for flag in take.flags if flag != "other_playing")) for take in reversed(opened.takes())
        ]


@pytest.mark.timeout(180)
def test_ten_thousand_events_are_stored_note_for_note(studio: Path) -> None:
    chance = random.Random(20)
    pitches = [chance.randrange(21, 109) for _ in range(5000)]
    velocities = [chance.randrange(1, 128) for _ in range(5000)]
    sent: Messages = []
    for i, (pitch, velocity) in enumerate(zip(pitches, velocities, strict=True)):
        sent += [(i * 0.003, bytes((0x90, pitch, velocity))), (i * 0.003 + 0.002, bytes((0x80, pitch, 1 + i % 60)))]
    with Jack(sync=True) as jack, Hear(jack, studio, "--silence", "1", "--takes", "1") as hear:
        with Piano(jack, sent) as piano:
            hear.wait_to_hear("Listening to")
            piano.play()
            stamps = piano.played()
            hear.process.wait(60)
        assert hear.process.returncode == 0
        assert raw_of(hear.journal) == [raw for _, raw in sent], "10,000 messages of 10,000, in order"
    with Studio.open(studio) as opened:
        notes = opened.take_notes("last").notes
    assert notes["pitch"].tolist() == pitches
    assert notes["velocity"].tolist() == velocities
    assert notes["release_velocity"].tolist() == [1 + i % 60 for i in range(5000)]
    # no time is asserted tightly here (the benchmark prints the percentiles): half of all within a period and 5 ms
    due = (np.array(stamps[::2]) - stamps[0]) * 1e-9
    assert np.median(np.abs(notes["onset_s"] - due)) < 256 / 48_000 + 0.005


@pytest.mark.timeout(120)
def test_takes_are_cut_at_silences_and_the_piano_is_remembered(studio: Path) -> None:
    sent = [*tune(20), *[(t + 3.5, raw) for t, raw in tune(30, first=5)]]
    with Jack(sync=True) as jack, Hear(jack, studio, "--silence", "1", "--takes", "2") as hear:
        hear.wait_to_hear("Not listening yet")
        with Piano(jack, sent) as piano:
            hear.wait_to_hear("Listening to")
            piano.play()
            hear.process.wait(30)
    assert takes_of(studio) == [(20, ()), (30, ())]
    assert ListeningState(studio / "journal").remembered.startswith(PIANO)


@pytest.mark.timeout(120)
def test_a_named_piano_is_chosen_among_others(jack: Jack, studio: Path) -> None:
    with Piano(jack, tune(5), "Other Thing"), Hear(jack, studio, "--piano", "grand", "--silence", "1") as hear:
        hear.wait_to_hear("Not listening yet")
        with Piano(jack, tune(12), "Grand Room"):
            hear.wait_to_hear("Listening to Grand Room")


@pytest.mark.timeout(120)
@pytest.mark.parametrize("soon", [True, False])
def test_a_piano_that_goes_and_comes_back(jack: Jack, studio: Path, soon: bool) -> None:
    again = Piano(jack, tune(15))
    with Hear(jack, studio, "--silence", "4", "--takes", "1" if soon else "2") as hear:
        with Piano(jack, [*tune(20), (1.3, b"\x90\x32\x40")]) as piano:
            hear.wait_to_hear("Listening to")
            piano.play()
            piano.played()
            wait_for(lambda: len(raw_of(hear.journal)) >= 41)
            gone_ns = time.perf_counter_ns()
        hear.wait_to_hear("is gone" if soon else "Take ")
        back_ns = time.perf_counter_ns()
        with again:
            hear.wait_to_hear("is back")
            again.play()
            hear.process.wait(30)
    told = dict(marks(studio / "journal"))
    assert gone_ns < told["lost"] < back_ns < told["back"]
    assert takes_of(studio) == ([(36, ("cut",))] if soon else [(21, ("cut",)), (15, ())])


@pytest.mark.timeout(120)
def test_not_listening_hears_nothing(jack: Jack, studio: Path) -> None:
    with Hear(jack, studio, "--silence", "1") as hear, Piano(jack, tune(10)) as piano:
        hear.wait_to_hear("Listening to")
        state = ListeningState(hear.journal)
        assert state.now().listening
        state.switch(False)
        wait_for(lambda: not state.now().connected)
        assert not state.now().listening
        piano.play()
        piano.played()
        time.sleep(0.3)
        assert raw_of(hear.journal) == []
        state.switch(True)
        wait_for(lambda: state.now().listening)
    assert not ListeningState(hear.journal).wanted, "nothing listens on by itself"


@pytest.mark.timeout(120)
def test_two_listeners_of_one_studio_are_refused(jack: Jack, studio: Path) -> None:
    with Hear(jack, studio) as hear:
        hear.wait_to_hear("Not listening yet")
        with Hear(jack, studio) as second:
            assert second.process.wait(30) == 2
            assert second.process.stderr
            line = second.process.stderr.read()
        assert "already listening" in line
        assert line.count("\n") == 1
        assert hear.process.poll() is None
        assert ListeningState(hear.journal).wanted, "the first goes on"


@pytest.mark.timeout(120)
def test_no_midi_system_is_one_line(studio: Path) -> None:
    nowhere = Jack()
    with Hear(nowhere, studio) as hear:
        assert hear.process.wait(30) == 2
        assert hear.process.stderr
        line = hear.process.stderr.read()
    assert line.startswith("keysense: no MIDI system answers")
    assert line.count("\n") == 1


@pytest.mark.timeout(180)
def test_a_listener_killed_again_and_again_loses_at_most_one_event_each_time(studio: Path) -> None:
    kills, a_second = 5, 200
    sent = list(numbered(16 * a_second, a_second))
    chance = random.Random(4)
    with Jack(period=1024) as jack, Piano(jack, sent) as piano, Witness(jack) as witness:
        with Hear(jack, studio, "--silence", "1", "--takes", "1") as hear:
            hear.wait_to_hear("Listening to")
            state = ListeningState(hear.journal)
            piano.play()
            deaths = []
            for _ in range(kills):
                time.sleep(chance.uniform(0.6, 1.6))
                pid = state.now().pid
                os.kill(pid, signal.SIGKILL)
                deaths.append(time.perf_counter_ns())
                wait_for(lambda pid=pid: state.now().pid not in (0, pid) and state.now().connected)
            stamps = piano.played()
            hear.process.wait(60)
        delivered = witness.heard()
    heard = raw_of(hear.journal)
    assert read_journal(journals(hear.journal)[0]).torn == []
    assert set(heard) <= {raw for _, raw in sent}, "nothing is read that was not sent"
    up = sessions(hear.journal)
    assert len(up) == kills + 1
    margin_ns = round(2 * jack.period_s * 1e9)  # the witness and the listener are called in turn
    for opened, died in zip(up, [*deaths, stamps[-1]], strict=True):
        due = [raw for t, raw in delivered if opened + margin_ns < t < died - margin_ns]
        assert len(due) > 5
        assert lost_and_skipped(due, set(heard))[0] <= 1
    ((n, flags),) = takes_of(studio)
    assert "gap" in flags
    assert n == sum(raw[0] & 0xF0 == 0x90 for raw in heard)
    assert "began again" in hear.said


@pytest.mark.timeout(120)
def test_a_crash_of_everything_is_recovered_at_the_next_start(jack: Jack, studio: Path) -> None:
    sent = tune(60)
    with Piano(jack, [*sent, (60.0, b"\x90\x3c\x40")]) as piano:
        with Hear(jack, studio) as hear:
            hear.wait_to_hear("Listening to")
            listener = ListeningState(hear.journal).now().pid
            piano.play()
            wait_for(lambda: len(raw_of(hear.journal)) >= 80)
            hear.process.kill()
            os.kill(listener, signal.SIGKILL)
            hear.process.wait()
        before = len([raw for raw in raw_of(hear.journal) if raw[0] == 0x90])
        assert takes_of(studio) == []
        with Hear(jack, studio, "--silence", "1") as again:
            again.wait_to_hear("ended without warning")
            assert f"{before} notes" in again.said
    (first, *_) = takes_of(studio)
    assert first[0] == before
    assert "recovered" in first[1]
    with Studio.open(studio) as opened:
        notes = [take for take in opened.takes() if "recovered" in take.flags]
        kept = opened.take_notes(notes[0].id).notes
    assert kept["pitch"].tolist() == [raw[1] for _, raw in sent if raw[0] == 0x90][:before]
    assert len(records(studio / "journal")) > 0


@pytest.mark.timeout(120)
def test_a_listener_does_not_outlive_its_window(jack: Jack, studio: Path) -> None:
    with Hear(jack, studio) as hear:
        hear.wait_to_hear("Not listening yet")
        state = ListeningState(hear.journal)
        assert state.now().running
        hear.process.kill()
        wait_for(lambda: marks(hear.journal)[-1][0] == "close")
        wait_for(lambda: not state.now().running)


@pytest.mark.timeout(120)
def test_a_midi_server_that_dies_and_comes_back(studio: Path) -> None:
    jack = Jack(sync=True)
    jack.start()
    try:
        with Hear(jack, studio, "--silence", "1", "--takes", "1") as hear:
            with Piano(jack, tune(10)):
                hear.wait_to_hear("Listening to")
                jack.stop()
                hear.wait_to_hear("is gone")
            jack.start()
            with Piano(jack, tune(25)) as piano:
                hear.wait_to_hear("is back")
                piano.play()
                hear.process.wait(30)
    finally:
        jack.stop()
    assert takes_of(studio) == [(25, ())]
