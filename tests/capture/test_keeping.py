"""Journals into the studio, and out of it again: recovering, going on, forgetting."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from keysense.capture.journal import journals, read_journal
from keysense.capture.keeping import keep, recover, sweep
from keysense.capture.lock import LOCK, hold
from keysense.capture.records import Kind, pack, pack_mark
from keysense.capture.tailing import Tail
from keysense.errors import AlreadyListening, JournalError
from keysense.studio import Studio

NOW = datetime(2031, 5, 6, 15, 0, tzinfo=UTC)
Script = list[tuple[float, bytes]]


class Clock:
    def __init__(self) -> None:
        self.now = NOW

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def studio(tmp_path: Path, clock: Clock) -> Iterator[Studio]:
    with Studio.open(tmp_path / "studio", now=clock) as opened:
        yield opened


def tune(at: float, n: int = 5, first: int = 60) -> Script:
    return [
        event
        for i in range(n)
        for event in (
            (at + 0.5 * i, bytes((0x90, first + i, 50 + 3 * i))),
            (at + 0.5 * i + 0.4, bytes((0x80, first + i, 64))),
        )
    ]


def write(studio: Studio, script: Script, *, began: datetime = NOW, closed: bool = False, again: bool = False) -> Path:
    """Append a sitting to the journal of the day, its own clock at 0 when it began."""
    path = studio.folder.journal / f"{began:%Y-%m-%d}.journal"
    wall = pack(Kind.WALL, struct.pack("<q", round(began.timestamp() * 1e9)), 0)
    data = wall + pack_mark("start", 0) + pack_mark("open", 1, piano="Study Piano")
    data += b"".join(pack(Kind.MESSAGE, raw, round(at * 1e9)) for at, raw in script)
    if closed:
        data += pack_mark("close", round((script[-1][0] + 1) * 1e9))
    with path.open("ab") as file:
        file.write(data)
    return path


def test_what_a_crash_left_open_is_recovered_once(studio: Studio) -> None:
    write(studio, tune(1) + tune(10, n=3))
    found = recover(studio)
    assert [one.n for one in found] == [5, 3]
    newest, oldest = studio.takes()
    assert oldest.started_utc == NOW + timedelta(seconds=1)
    assert newest.started_utc == NOW + timedelta(seconds=10)
    assert "recovered" in oldest.flags
    assert oldest.instrument == "Study Piano"
    assert oldest.state == "waiting"
    assert studio.take_notes(oldest.id).notes["pitch"].tolist() == [60, 61, 62, 63, 64]
    assert recover(studio) == [], "not again at the next start"
    (studio.folder.journal / "progress.json").unlink()
    assert recover(studio) == [], "nor if the place was lost"


def test_a_crash_before_the_place_was_noted_makes_no_second_take(studio: Studio) -> None:
    write(studio, tune(1))
    tail = Tail(studio.folder.journal, lambda _: 3.0)
    for playing in [*tail.read(), *tail.finish()]:
        keep(studio, playing)
    assert recover(studio) == []
    assert len(studio.takes()) == 1


def test_a_torn_end_of_the_journal_is_passed_over(studio: Studio) -> None:
    path = write(studio, tune(1))
    path.write_bytes(path.read_bytes()[:-4])
    (found,) = recover(studio)
    assert found.n == 5
    assert studio.takes()[0].flags == ("missing_release", "recovered", "still_held")


def test_nothing_is_recovered_while_another_listens(studio: Studio) -> None:
    write(studio, tune(1))
    lock = hold(studio.folder.journal / LOCK)
    with pytest.raises(AlreadyListening):
        recover(studio)
    lock.release()
    assert len(recover(studio)) == 1


def test_reading_goes_on_where_it_was_left(studio: Studio) -> None:
    write(studio, tune(1), closed=True)
    tail = Tail(studio.folder.journal, lambda _: 3.0)
    assert [playing.span.n for playing in tail.read()] == [5]
    tail.done()
    write(studio, tune(1, n=4), began=NOW + timedelta(hours=1), closed=True)
    write(studio, tune(1, n=2), began=NOW + timedelta(days=1), closed=True)
    later = Tail(studio.folder.journal, lambda _: 3.0)
    later.catch_up()
    told = list(later.read())
    assert [playing.span.n for playing in told] == [4, 2]
    assert [playing.journal for playing in told] == ["2031-05-06.journal", "2031-05-07.journal"]
    assert told[0].piano == "Study Piano"
    assert told[0].span.wall_ns == round((NOW + timedelta(hours=1, seconds=1)).timestamp() * 1e9)


def test_a_place_that_cannot_be_noted_is_one_line(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    write(studio, tune(1), closed=True)
    tail = Tail(studio.folder.journal, lambda _: 3.0)
    list(tail.read())

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("keysense.capture.tailing.write_small", full)
    with pytest.raises(JournalError, match="the disk is full"):
        tail.done()


def pitches(path: Path) -> list[int]:
    return [r.payload[1] for r in read_journal(path).records if r.kind is Kind.MESSAGE and r.payload[0] == 0x90]


def kept_take(studio: Studio) -> str:
    pupil = studio.add_pupil("Wren", agreed_by="a guardian", on=NOW.date())
    piece = studio.add_piece("Stepping Stones")
    take = studio.takes()[-1]
    studio.name_take(take.id, pupil=pupil.id, piece=piece.id)
    return take.id


def test_what_belongs_to_no_kept_take_is_gone_within_a_day(studio: Studio, clock: Clock) -> None:
    path = write(studio, tune(1) + tune(20, first=30) + [(40.0, b"\xb0\x40\x20")], closed=True)
    recover(studio)
    kept = kept_take(studio)
    assert studio.take(kept).state == "kept"
    clock.now = NOW + timedelta(hours=20)
    sweep(studio)
    assert pitches(path) == [60, 61, 62, 63, 64, 30, 31, 32, 33, 34], "a day to think it over"
    clock.now = NOW + timedelta(hours=23, minutes=45)
    sweep(studio)
    assert pitches(path) == [60, 61, 62, 63, 64]
    assert [take.id for take in studio.takes()] == [kept]
    data = path.read_bytes()
    for at, raw in tune(20, first=30):
        assert struct.pack("<q", round(at * 1e9)) + raw not in data
        assert raw not in data


def test_a_day_of_which_nothing_is_kept_leaves_no_file(studio: Studio, clock: Clock) -> None:
    old = write(studio, tune(1), closed=True)
    recover(studio)
    clock.now = NOW + timedelta(days=2)
    write(studio, tune(1, first=40), began=clock.now, closed=True)
    sweep(studio)
    assert not old.exists()
    (left,) = journals(studio.folder.journal)
    assert pitches(left) == [40, 41, 42, 43, 44]


def test_a_kept_day_is_swept_once_and_erased_all_the_same(studio: Studio, clock: Clock) -> None:
    old = write(studio, [*tune(1), *tune(20, first=30), (40.0, b"\xb0\x40\x20")], closed=True)
    recover(studio)
    kept = kept_take(studio)
    clock.now = NOW + timedelta(days=2)
    write(studio, tune(1, first=40), began=clock.now, closed=True)
    assert sweep(studio) == 1, "the foot that moved when nobody played"
    assert sweep(studio) == 0
    assert pitches(old) == [60, 61, 62, 63, 64]
    studio.erase_take(kept)
    assert pitches(old) == []
    assert b"\x90\x3c" not in old.read_bytes()


def test_a_studio_without_journals_has_nothing_to_sweep(studio: Studio) -> None:
    assert sweep(studio) == 0
