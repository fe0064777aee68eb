"""The journal: what was written is read, what a crash tore is not, what must be forgotten is gone."""

from __future__ import annotations

import errno
import os
import random
import struct
import zlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keysense.capture.journal import JournalWriter, journals, read_journal, tail_journal, wipe, wipe_between
from keysense.capture.records import OVERHEAD, Kind, Record, blank, pack, pack_mark, scan
from keysense.errors import JournalError


def whole(data: bytes) -> list[Record]:
    return [piece for piece in scan(data) if isinstance(piece, Record)]


def test_the_layout_is_the_one_written_down() -> None:
    data = pack(Kind.MESSAGE, b"\x90\x3c\x50", 1_000_000_007, port=2)
    head = b"\xa5\x4b" + bytes((1, 2)) + struct.pack("<I", 3) + struct.pack("<q", 1_000_000_007) + b"\x90\x3c\x50"
    assert data == head + struct.pack("<I", zlib.crc32(head))
    assert len(data) == OVERHEAD + 3


@given(st.lists(st.tuples(st.binary(max_size=40), st.integers(0, 2**62), st.integers(0, 255)), max_size=30))
def test_what_was_written_is_read(rows: list[tuple[bytes, int, int]]) -> None:
    data = b"".join(pack(Kind.MESSAGE, payload, time_ns, port) for payload, time_ns, port in rows)
    assert [(r.payload, r.time_ns, r.port) for r in whole(data)] == rows


def day(n: int) -> tuple[list[bytes], bytes]:
    records = [pack(Kind.MESSAGE, bytes((0x90, 60 + i % 12, 1 + i % 127)), i * 10**7) for i in range(n)]
    return records, b"".join(records)


@pytest.mark.parametrize("cut", range(1, 3 * (OVERHEAD + 3)))
def test_a_record_torn_by_a_crash_is_never_read_as_good(cut: int) -> None:
    records, data = day(3)
    read = whole(data[:cut])
    assert read == whole(data)[: cut // len(records[0])]


@pytest.mark.parametrize("cut", range(1, OVERHEAD + 3))
def test_after_a_torn_record_reading_goes_on_at_the_next_whole_one(cut: int) -> None:
    records, _ = day(4)
    data = records[0] + records[1][:cut] + records[2] + records[3]
    pieces = list(scan(data))
    assert [p.payload for p in pieces if isinstance(p, Record)] == [
        whole(records[i])[0].payload for i in (0, 2, 3)
    ]  # fmt: skip
    assert [p for p in pieces if not isinstance(p, Record)] == [(len(records[0]), len(records[0]) + cut)]


@settings(max_examples=300)
@given(st.integers(0, 10**6), st.integers(0, 255))
def test_no_single_changed_byte_is_read_as_good(where: int, byte: int) -> None:
    _, data = day(5)
    at = where % len(data)
    if data[at] == byte:
        return
    good = whole(data)
    read = whole(data[:at] + bytes([byte]) + data[at + 1 :])
    assert len(read) == 4
    assert set(read) <= set(good)


def test_noise_is_no_journal() -> None:
    assert whole(random.Random(3).randbytes(200_000)) == []


def test_a_torn_length_does_not_swallow_the_rest_of_the_day() -> None:
    records, _ = day(3)
    torn = bytearray(records[0])
    torn[4:8] = struct.pack("<I", 2**31)
    assert len(whole(bytes(torn) + records[1] + records[2])) == 2


def test_writer_and_reader(tmp_path: Path) -> None:
    writer = JournalWriter(tmp_path)
    writer.wall()
    writer.mark("open", piano="Study")
    writer.message(b"\x90\x3c\x50", 5)
    writer.count({"clock": 3})
    writer.close()
    (path,) = journals(tmp_path)
    records = read_journal(path).records
    assert [r.kind for r in records] == [Kind.WALL, Kind.MARK, Kind.MESSAGE, Kind.COUNT]
    assert records[1].mark == "open"
    assert records[1].said()["piano"] == "Study"
    assert records[2].time_ns == 5
    assert records[3].said() == {"clock": 3}
    if os.name == "posix":
        assert path.stat().st_mode & 0o077 == 0, "nobody else on this computer may read it"


def test_a_second_sitting_appends(tmp_path: Path) -> None:
    for n in range(3):
        writer = JournalWriter(tmp_path)
        writer.message(bytes([0x90, n, 1]), n)
        writer.close()
    (path,) = journals(tmp_path)
    assert [r.payload[1] for r in read_journal(path).records] == [0, 1, 2]


def test_a_new_day_begins_a_new_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    writer = JournalWriter(tmp_path)
    assert not writer.roll()
    monkeypatch.setattr("keysense.capture.journal._name_of_today", lambda: "2999-01-01.journal")
    assert writer.roll()
    writer.message(b"\x90\x3c\x50", 5)
    writer.close()
    last = read_journal(journals(tmp_path)[-1]).records
    assert journals(tmp_path)[-1].name == "2999-01-01.journal"
    assert [r.kind for r in last] == [Kind.MARK, Kind.WALL, Kind.MESSAGE]


def test_a_respawned_listener_goes_on_in_the_same_file_across_midnight(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    JournalWriter(tmp_path).close()
    (before,) = journals(tmp_path)
    monkeypatch.setattr("keysense.capture.journal._name_of_today", lambda: "2999-01-01.journal")
    writer = JournalWriter(tmp_path)
    writer.close()
    assert writer.path == before


def test_the_tail_is_read_from_where_it_was_left(tmp_path: Path) -> None:
    records, data = day(3)
    path = tmp_path / "2030-01-01.journal"
    path.write_bytes(data[: len(records[0]) + 5])
    first = tail_journal(path, 0)
    assert len(first.records) == 1
    assert first.end == len(records[0])
    path.write_bytes(data)
    second = tail_journal(path, first.end)
    assert [r.start for r in second.records] == [len(records[0]), 2 * len(records[0])]
    assert tail_journal(path, second.end).records == []


def test_a_blank_record_is_whole_and_says_nothing() -> None:
    for length in range(OVERHEAD, OVERHEAD + 40):
        (record,) = whole(blank(length))
        assert (record.kind, record.time_ns, set(record.payload)) in ((Kind.BLANK, 0, {0}), (Kind.BLANK, 0, set()))
        assert record.end == length


def written(tmp_path: Path) -> tuple[Path, list[bytes]]:
    records, _ = day(8)
    records.insert(4, pack_mark("lost", 1))
    records.insert(6, pack(Kind.MESSAGE, bytes((0x90, 99, 98)), 987654321)[:-5])  # torn
    path = tmp_path / "2030-01-01.journal"
    path.write_bytes(b"".join(records))
    return path, records


def test_wiping_leaves_no_byte_of_what_was_played(tmp_path: Path) -> None:
    path, records = written(tmp_path)
    starts = [sum(map(len, records[:i])) for i in range(len(records) + 1)]
    assert wipe(path, starts[2], starts[8]) == 4
    data = path.read_bytes()
    assert len(data) == starts[-1]
    for i, record in enumerate(records):
        wiped = 2 <= i < 8 and i != 4
        assert (record in data) is not wiped
        if wiped and len(record) >= OVERHEAD + 3:
            assert record[16:19] not in data, "neither its bytes"
            assert record[8:16] not in data, "nor its time"
    again = read_journal(path)
    assert [r.kind for r in again.records].count(Kind.BLANK) == 4
    assert [r.mark for r in again.records if r.kind is Kind.MARK] == ["lost"]


def test_wiping_a_stretch_touches_only_what_lies_wholly_in_it(tmp_path: Path) -> None:
    path, records = written(tmp_path)
    one = len(records[0])
    assert wipe(path, 1, 2 * one - 1) == 0
    assert wipe(path, one, 2 * one) == 1
    assert wipe(path, 0, 0) == 0


def test_everything_outside_the_stretches_to_keep_is_wiped(tmp_path: Path) -> None:
    records, data = day(10)
    path = tmp_path / "2030-01-01.journal"
    path.write_bytes(data)
    one = len(records[0])
    assert wipe_between(path, [(6 * one, 7 * one), (2 * one, 4 * one)], 9 * one) == 6
    kept = [r.start // one for r in read_journal(path).records if r.kind is Kind.MESSAGE]
    assert kept == [2, 3, 6, 9]


def test_a_full_disk_loses_nothing_once_there_is_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    writer = JournalWriter(tmp_path)
    real, room = os.write, [OVERHEAD + 3 + 7]

    def small(descriptor: int, data: bytes) -> int:
        if room[0] <= 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        done = real(descriptor, data[: room[0]])
        room[0] -= done
        return done

    monkeypatch.setattr("keysense.capture.journal.os.write", small)
    for n in range(5):
        writer.message(bytes([0x90, n, 1]), n)
    assert "the disk is full" in writer.trouble
    assert "\n" not in writer.trouble
    assert [r.payload[1] for r in read_journal(writer.path).records] == [0]
    assert writer.path.stat().st_size == OVERHEAD + 3, "no torn half is left"
    room[0] = 10**6
    writer.message(bytes([0x90, 5, 1]), 5)
    writer.close()
    assert writer.trouble == ""
    assert [r.payload[1] for r in read_journal(writer.path).records] == [0, 1, 2, 3, 4, 5]


def test_a_folder_that_cannot_be_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(JournalError) as told:
        JournalWriter(tmp_path / "file" / "journal")
    assert "\n" not in str(told.value)


def test_a_read_only_journal_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> int:  # root may write anywhere, so the refusal is played
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr("keysense.capture.journal.os.open", refuse)
    with pytest.raises(JournalError, match="allow it in"):
        JournalWriter(tmp_path)


def test_a_missing_journal_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="there is no"):
        read_journal(tmp_path / "2030-01-01.journal")
