"""What is erased is gone from every byte of the folder; what nobody kept is gone after 24 hours."""

from __future__ import annotations

from pathlib import Path

import pytest

from keysense.errors import StudioError, UnknownName
from keysense.smf import take_to_smf
from keysense.studio import Studio

from .conftest import START, a_take


def bytes_in(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def test_erasing_a_pupil_leaves_neither_name_nor_id_nor_music(tmp_path):
    with Studio.open(tmp_path / "studio", now=lambda: START) as studio:
        wren = studio.add_pupil("Wrenikin", agreed_by="Grandmother Ottoline", on="2026-09-01")
        pip = studio.add_pupil("Pip", agreed_by="her father", on="2026-09-01")
        piece = studio.add_piece("The Miller's Cat")
        hers = a_take(40, pitch=48)
        smf = take_to_smf(hers)
        for _ in range(20):
            take = studio.add_take(hers, smf, started_utc=START)
            studio.name_take(take, pupil=wren.id, piece=piece.id, line="wrenikin cat sleepy")
        # First taken for hers, then given to another child: her name stands in the words typed.
        other = studio.add_take(a_take(5), take_to_smf(a_take(5)), started_utc=START)
        studio.name_take(other, pupil=pip.id, piece=piece.id, line="Wrenikin no it was pip")
        needle = smf[40:80]
        for trace in (b"renikin", wren.id.encode(), b"Ottoline", needle):
            assert trace in bytes_in(tmp_path)
        assert studio.erase_pupil(wren.id) == 20
        for trace in (b"renikin", wren.id.encode(), b"Ottoline", needle):
            assert trace not in bytes_in(tmp_path), trace
        assert [pupil.nickname for pupil in studio.pupils()] == ["Pip"]
        assert [take.id for take in studio.takes()] == [other]
        with pytest.raises(StudioError, match="erased"):
            studio.take(take)
    for trace in (b"renikin", wren.id.encode(), b"Ottoline", needle):
        assert trace not in bytes_in(tmp_path), trace


def test_the_sticky_context_forgets_an_erased_pupil(studio, put):
    wren = studio.add_pupil("Wren", agreed_by="x", on="2026-09-01")
    studio.name_take(put(), pupil=wren.id)
    studio.erase_pupil(wren.id)
    assert studio.context.is_empty
    with pytest.raises(UnknownName):
        studio.pupil(wren.id)


def test_what_was_dropped_is_wiped_after_24_hours_and_not_before(studio, put, clock):
    take = put()
    studio.drop_take(take)
    clock.on(hours=23, minutes=59)
    assert studio.wipe_due() == []
    clock.on(minutes=1)
    assert studio.wipe_due() == [take]
    with pytest.raises(StudioError, match="erased"):
        studio.undo_drop()


def test_what_waited_for_a_name_is_wiped_and_what_was_kept_stays(studio, put, clock):
    pip = studio.add_pupil("Pip", agreed_by="x", on="2026-09-01")
    waiting, kept = put(), put()
    studio.name_take(kept, pupil=pip.id)
    clock.on(hours=24)
    assert studio.wipe_due() == [waiting]
    assert [take.id for take in studio.takes()] == [kept]
    assert studio.wipe_due() == []


def test_taking_a_drop_back_gives_a_waiting_take_another_day(studio, put, clock):
    take = put()
    studio.drop_take(take)
    clock.on(hours=23)
    studio.undo_drop()
    clock.on(hours=2)
    assert studio.wipe_due() == []


def test_only_kept_takes_hold_their_stretch_of_the_journal(studio, put):
    pip = studio.add_pupil("Pip", agreed_by="x", on="2026-09-01")
    kept = put(journal_span=("a.journal", 10, 90))
    put(journal_span=("a.journal", 90, 200))
    studio.name_take(kept, pupil=pip.id)
    assert studio.kept_spans() == [("a.journal", 10, 90)]


def test_an_erased_take_is_blanked_in_the_journal_too(studio, put, monkeypatch):
    wiped = []
    monkeypatch.setattr("keysense.capture.journal.wipe", lambda path, start, end: wiped.append((path.name, start, end)))
    (studio.folder.journal / "a.journal").write_bytes(b"\0" * 300)
    studio.erase_take(put(journal_span=("a.journal", 10, 90)))
    assert wiped == [("a.journal", 10, 90)]


def test_takes_of_an_agreement_taken_back_are_hidden_at_once_and_erased_on_word(studio, put):
    pip = studio.add_pupil("Pip", agreed_by="x", on="2026-09-01")
    take = put()
    studio.name_take(take, pupil=pip.id)
    studio.withdraw(pip.id)
    assert studio.takes() == []
    with pytest.raises(UnknownName):
        studio.take(take)
    assert studio.erase_pupil(pip.id) == 1


def test_erasing_is_clean_while_another_program_has_the_studio_open(tmp_path):
    with Studio.open(tmp_path / "s", now=lambda: START) as studio, Studio.open(tmp_path / "s") as other:
        wren = studio.add_pupil("Wrenikin", agreed_by="Ottoline", on="2026-09-01")
        studio.name_take(studio.add_take(a_take(), take_to_smf(a_take()), started_utc=START), pupil=wren.id)
        assert len(other.takes()) == 1
        studio.erase_pupil(wren.id)
        assert other.takes() == []
        for trace in (b"renikin", wren.id.encode(), b"Ottoline"):
            assert trace not in bytes_in(tmp_path), trace


def test_the_music_of_a_wiped_take_is_in_no_byte_of_the_folder(tmp_path, clock):
    with Studio.open(tmp_path / "s", now=clock) as studio:
        pip = studio.add_pupil("Pip", agreed_by="x", on="2026-09-01")
        needles = []
        for pitch in range(30, 80):
            music = take_to_smf(a_take(30, pitch=pitch))
            ref = studio.add_take(a_take(30, pitch=pitch), music, started_utc=START, carry=False)
            if pitch % 2:
                studio.name_take(ref, pupil=pip.id)
            else:
                needles.append(music[60:110])
        assert all(needle in bytes_in(tmp_path) for needle in needles)
        clock.on(hours=25)
        assert len(studio.wipe_due()) == 25
        left = bytes_in(tmp_path)
        assert not any(needle in left for needle in needles)
        assert len(studio.takes()) == 25
