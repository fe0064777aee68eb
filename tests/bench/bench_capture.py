"""How surely and how soon the keys are written down, over a real MIDI system without hardware.

``python tests/bench/bench_capture.py [kills]`` prints the figures; nothing is asserted. A second process plays through
a JACK port. In the kill run a third one hears the same and is never killed: what it heard was delivered.
"""

from __future__ import annotations

import os
import random
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from keysense.capture.cutting import cut
from keysense.capture.journal import JournalWriter, journals, read_journal
from keysense.capture.keeping import recover
from keysense.capture.records import Kind
from keysense.capture.state import ListeningState
from keysense.capture.supervisor import Supervisor
from keysense.listening import Event, Lesson
from keysense.studio import Studio
from keysense.targets.target import Target
from tests.jack.server import Jack, wait_for
from tests.jack.stage import (
    Hear,
    Messages,
    Piano,
    Witness,
    lost_and_skipped,
    marks,
    numbered,
    raw_of,
    records,
    sessions,
)


def percentiles(ms: np.ndarray) -> str:
    return "  ".join(
        f"{name} {np.percentile(ms, at):7.3f}" for name, at in (("median", 50), ("p99", 99), ("most", 100))
    )


def ten_thousand(folder: Path) -> None:
    """5,000 notes into `keysense hear`, 667 messages a second."""
    chance = random.Random(1)
    sent: Messages = [
        event
        for i in range(5000)
        for pitch in [chance.randrange(21, 109)]
        for event in (
            (i * 0.003, bytes((0x90, pitch, chance.randrange(1, 128)))),
            (i * 0.003 + 0.002, bytes((0x80, pitch, chance.randrange(1, 64)))),
        )
    ]
    with (
        Jack(sync=True) as jack,
        Hear(jack, folder, "--silence", "1", "--takes", "1") as hear,
        Piano(jack, sent) as piano,
    ):
        hear.wait_to_hear("Listening to")
        piano.play()
        stamps = np.array(piano.played())
        hear.process.wait(60)
        heard = [record for record in records(hear.journal) if record.kind is Kind.MESSAGE]
        period_ms = 1000 * jack.period_s
    with Studio.open(folder) as studio:
        notes = studio.take_notes("last").notes
    same = [record.payload for record in heard] == [raw for _, raw in sent]
    print(f"10,000 messages sent, {len(heard):,} in the journal, the same in the same order: {same}")
    print(f"notes of the stored take: {len(notes):,} of 5,000")
    if same:
        late = (np.array([record.time_ns for record in heard]) - stamps) * 1e-6
        print(f"from sent to stamped, ms (a period is {period_ms:.2f}): {percentiles(late)}")
        due = (stamps[::2] - stamps[0]) * 1e-9
        print(f"onset in the take against when it was sent, ms: {percentiles(np.abs(notes['onset_s'] - due) * 1000)}")


def killed(folder: Path, kills: int) -> None:
    """Kill -9 of the listener at random moments while 400 messages a second come in."""
    chance, a_second = random.Random(2), 400
    seconds = kills * 0.9 + 10
    sent = list(numbered(int(seconds * a_second), a_second))
    with Jack(period=1024) as jack, Piano(jack, sent) as piano:
        with Witness(jack) as witness:
            os.environ.update(jack.env)
            state = ListeningState(folder / "journal")
            state.switch(True)
            supervisor = Supervisor(folder / "journal", "", "jack")
            supervisor.start()
            piano.play()
            deaths = []
            wait_for(lambda: len(raw_of(folder / "journal")) > 10)
            for _ in range(kills):
                before = state.now().pid
                time.sleep(chance.uniform(0.05, 0.7))
                os.kill(before, signal.SIGKILL)
                deaths.append(time.perf_counter_ns())
                wait_for(lambda before=before: state.now().pid not in (0, before) and state.now().connected)
            time.sleep(0.3)
            supervisor.stop()
            delivered = witness.heard()
        period_ns = round(jack.period_s * 1e9)
    report_kills(folder, deaths, delivered, {raw for _, raw in sent}, period_ns)


def report_kills(
    folder: Path, deaths: list[int], delivered: list[tuple[int, bytes]], sent: set[bytes], period_ns: int
) -> None:
    heard = raw_of(folder / "journal")
    starts = sessions(folder / "journal")
    present = set(heard)
    torn = sum(len(read_journal(path).torn) for path in journals(folder / "journal"))
    missing, skipped, due_all = [], 0, 0
    for died in deaths:
        opened = max((start for start in starts if start < died), default=died)
        due = [raw for at, raw in delivered if opened + period_ns < at < died - period_ns]
        lost, late = lost_and_skipped(due, present)
        due_all, skipped = due_all + len(due), skipped + late
        missing.append(lost)
    gaps = [(min((s for s in starts if s > died), default=died) - died) * 1e-9 for died in deaths]
    marked = sum(word in ("open", "back") for word, _ in marks(folder / "journal"))
    print(f"{len(deaths)} kills under load; delivered before a kill: {due_all:,} messages")
    print(f"missing of those delivered: {sum(missing)} in all, at most {max(missing)} a kill")
    print(f"left out by the server while the listener lived on (no real-time scheduling here): {skipped}")
    print(f"records torn: {torn}; read as good but never sent: {len(present - sent)}")
    print(f"gap, s: median {statistics.median(gaps):.2f}, longest {max(gaps):.2f}; starts marked {marked}")
    with Studio.open(folder) as studio:
        found = recover(studio)
        flags = sorted({flag for take in studio.takes() for flag in take.flags})
    struck = sum(raw[0] & 0xF0 == 0x90 for raw in heard)
    kept = sum(one.n for one in found)
    print(f"recovered: {len(found)} takes, {kept:,} notes of {struck:,} in the journal, flags {', '.join(flags)}")


def gone_and_back(folder: Path, times: int = 10) -> None:
    """How soon a piano that goes is noticed, and one that returns is heard again."""
    with Jack() as jack:
        os.environ.update(jack.env)
        ListeningState(folder / "journal").switch(True)
        supervisor = Supervisor(folder / "journal", "", "jack")
        supervisor.start()
        gone, back = [], []
        for _ in range(times):
            piano = Piano(jack)
            plugged = time.perf_counter_ns()
            with piano:
                wait_for(lambda: ListeningState(folder / "journal").now().connected)
                back.append(marks(folder / "journal")[-1][1] - plugged)
                unplugged = time.perf_counter_ns()
            wait_for(lambda: marks(folder / "journal")[-1][0] == "lost")
            gone.append(marks(folder / "journal")[-1][1] - unplugged)
            wait_for(lambda: not ListeningState(folder / "journal").now().connected)
        supervisor.stop()
    print(f"a piano that goes is noticed after, ms: {percentiles(np.array(gone) * 1e-6)}")
    print(f"one that comes is taken up after, ms:   {percentiles(np.array(back) * 1e-6)}")


def after_the_silence(folder: Path, times: int = 5) -> None:
    """From the end of the silence after 200 notes to the take kept, and to what was heard in it."""
    chance = random.Random(3)
    pitches = [60 + step for step in (0, 2, 4, 5, 7, 5, 4, 2)] * 25
    music = Target.from_notes(
        onset_quarter=np.arange(200) / 2, duration_quarter=np.full(200, 0.5), pitch=pitches, tempo_qpm=300
    )
    sent: Messages = []
    for i, pitch in enumerate(pitches):
        at = i * 0.1 + chance.gauss(0, 0.002)
        sent += [(at, bytes((0x90, pitch, chance.randrange(40, 90)))), (at + 0.08, bytes((0x80, pitch, 64)))]
    sent.sort(key=lambda message: message[0])
    waits: dict[str, list[float]] = {"take": [], "looked": []}
    with Jack() as jack, Studio.open(folder) as studio:
        os.environ.update(jack.env)
        piece = studio.add_piece("Up And Down")
        studio.add_target(piece.id, music)
        studio.set_context(piece=piece.id)
        for _ in range(times):
            last_s = [0.0]
            lesson = Lesson(studio, silence_s=0.5, api="jack", listen=True)

            def heard(event: Event, lesson: Lesson = lesson, last_s: list[float] = last_s) -> None:
                if event["kind"] in waits:
                    waits[event["kind"]].append(time.perf_counter() - last_s[0])
                if event["kind"] == "looked":
                    lesson.stop()

            thread = threading.Thread(target=lesson.run, args=(heard,))
            thread.start()
            with Piano(jack, sent) as piano:
                wait_for(lambda lesson=lesson: lesson.now().connected)
                piano.play()
                last_s[0] = piano.played()[-1] * 1e-9 + 0.5
                thread.join()
    for kind, said in (("take", "the take kept"), ("looked", "what was heard in it, followed and looked at")):
        print(f"from the end of the silence to {said}, ms: median {1000 * statistics.median(waits[kind]):.0f}")


def own_cost(folder: Path) -> None:
    """What the journal itself costs."""
    writer = JournalWriter(folder)
    spent = []
    for i in range(20_000):
        begun = time.perf_counter_ns()
        writer.message(b"\x90\x3c\x40", begun)
        spent.append(time.perf_counter_ns() - begun)
        if i % 50 == 0:
            time.sleep(0.001)
    writer.close()
    print(f"one message into the journal, ms: {percentiles(np.array(spent) * 1e-6)}")
    begun = time.process_time()
    found = read_journal(journals(folder)[0]).records
    read = time.process_time()
    cut(found)
    done = time.process_time()
    print(
        f"{len(found):,} records: reading {1000 * (read - begun):.0f} ms CPU, cutting {1000 * (done - read):.0f} ms CPU"
    )


def main(kills: int = 200) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ten_thousand(folder / "hear")
        own_cost(folder / "cost" / "journal")
        after_the_silence(folder / "silence")
        gone_and_back(folder / "cable")
        killed(folder / "kills", kills)


if __name__ == "__main__":
    try:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
    except subprocess.SubprocessError as cause:
        sys.exit(str(cause))
