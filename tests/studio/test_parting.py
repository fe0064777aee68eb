"""Takes parted and put together: nothing of what came from the keys is lost, and both can be undone."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from keysense.capture.journal import JournalWriter, journals, read_journal
from keysense.capture.keeping import recover, sweep
from keysense.capture.records import Kind
from keysense.capture.tailing import place_in
from keysense.errors import StudioError
from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio import Studio
from keysense.studio.parting import silences

SECOND = 1_000_000_000


def play(studio: Studio, onset: list[float], *, ago_s: float = 0.0, pitch: int = 60) -> str:
    take = Take.from_notes(
        onset_s=onset, release_s=[t + 0.3 for t in onset], pitch=[pitch + i for i in range(len(onset))],
        velocity=[50 + i for i in range(len(onset))],
    )  # fmt: skip
    return studio.add_take(take, take_to_smf(take), started_utc=studio.now() - timedelta(seconds=ago_s))


def journalled(studio: Studio, onset: list[float]) -> str:
    """Played into a journal and kept as the lesson keeps it."""
    writer = JournalWriter(studio.folder.journal)
    writer.wall()
    for i, at in enumerate(onset):
        writer.message(bytes((0x90, 60 + i, 70)), round((1 + at) * SECOND), 0)
        writer.message(bytes((0x80, 60 + i, 64)), round((1.3 + at) * SECOND), 0)
    writer.close()
    return recover(studio)[0].take_id


def test_silences_are_found_where_nothing_sounded_and_held_keys_are_none() -> None:
    take = Take.from_notes(
        onset_s=[0, 1, 3, 4], release_s=[0.5, 1.5, 3.5, 4.5], pitch=[60, 62, 64, 65], velocity=[60] * 4
    )
    assert [(note, round(gap, 3)) for note, gap in silences(take)] == [(2, 1.5)]
    held = Take.from_notes(onset_s=[0, 1, 3], release_s=[3.2, 1.5, 3.5], pitch=[40, 62, 64], velocity=[60] * 3)
    assert silences(held) == []


def test_a_take_is_parted_and_brought_back_note_for_note(studio: Studio) -> None:
    take = play(studio, [0, 0.5, 1, 4, 4.5])
    whole = studio.take_notes(take).notes
    first, second = studio.split_take(take, 3)
    assert (first.n, second.n) == (3, 2)
    assert (second.started_utc - first.started_utc).total_seconds() == pytest.approx(4.0, abs=1e-3)
    late = studio.take_notes(second.id).notes
    np.testing.assert_array_equal(late["pitch"], whole["pitch"][3:])
    np.testing.assert_allclose(late["onset_s"], [0, 0.5], atol=1e-4)
    assert {one.id for one in studio.takes()} == {first.id, second.id}
    assert studio.replaced_by(take) == [first.id, second.id]
    assert [one.id for one in studio.undo_cut(second.id)] == [take]
    np.testing.assert_array_equal(studio.take_notes(take).notes, whole)
    assert [one.id for one in studio.takes()] == [take]


def test_parted_and_put_together_again_is_the_same_playing(studio: Studio) -> None:
    take = play(studio, [0, 0.5, 1, 4, 4.5])
    whole = studio.take_notes(take).notes
    first, second = studio.split_take(take, 2)
    joined = studio.join_takes(second.id, first.id)
    notes = studio.take_notes(joined.id).notes
    for name in ("onset_s", "release_s"):
        np.testing.assert_allclose(notes[name], whole[name], atol=2e-3)
    for name in ("pitch", "velocity"):
        np.testing.assert_array_equal(notes[name], whole[name])
    with pytest.raises(StudioError, match="undo that first"):
        studio.undo_cut(first.id)
    assert {one.id for one in studio.undo_cut(joined.id)} == {first.id, second.id}
    assert [one.id for one in studio.undo_cut(first.id)] == [take]


def test_names_stay_and_a_kept_take_stays_kept(studio: Studio) -> None:
    pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
    cat = studio.add_piece("The Miller’s Cat").id
    take = play(studio, [0, 1, 5, 6])
    studio.name_take(take, pupil=pip, piece=cat, character="sleepy")
    for part in studio.split_take(take, 2):
        assert (part.state, part.pupil_id, part.piece_id, part.character) == ("kept", pip, cat, "sleepy")


def test_only_neighbours_of_one_pupil_and_piece_are_put_together(studio: Studio) -> None:
    pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
    odile = studio.add_pupil("Odile", agreed_by="mother", on="2026-09-01").id
    a, b, c = (play(studio, [0, 1], ago_s=ago) for ago in (60, 40, 20))
    with pytest.raises(StudioError, match="another take lies between"):
        studio.join_takes(a, c)
    studio.drop_take(b)
    with pytest.raises(StudioError, match="another take lies between"):
        studio.join_takes(a, c)
    studio.undo_drop(b)
    studio.name_take(a, pupil=pip)
    studio.name_take(b, pupil=odile)
    with pytest.raises(StudioError, match="two pupils"):
        studio.join_takes(a, b)
    with pytest.raises(StudioError, match="one take"):
        studio.join_takes(a, a)
    found = studio.neighbour_before(studio.take(c))
    assert found is not None and found.id == b
    assert studio.neighbour_before(studio.take(a)) is None


def test_what_was_set_aside_cannot_be_named_or_parted_and_faults_are_said(studio: Studio) -> None:
    take = play(studio, [0, 1, 5, 6])
    with pytest.raises(StudioError, match="has 4 notes"):
        studio.split_take(take, 4)
    first, _ = studio.split_take(take, 2)
    with pytest.raises(StudioError, match="set aside"):
        studio.split_take(take, 1)
    with pytest.raises(StudioError, match="parted or put together"):
        studio.name_take(take, character="sleepy")
    with pytest.raises(StudioError, match="nothing to undo"):
        studio.undo_cut(play(studio, [0, 1]))
    assert studio.made_of(first.id) == [take]


def test_parts_know_where_they_lie_in_the_listening(studio: Studio) -> None:
    take = journalled(studio, [0, 1, 2, 5, 6])
    span = studio.take(take).journal_span
    assert span is not None
    first, second = studio.split_take(take, 3)
    assert first.journal_span and second.journal_span
    assert (first.journal_span.start, second.journal_span.end) == (span.start, span.end)
    assert first.journal_span.end == second.journal_span.start
    path = studio.folder.journal / span.journal
    there = [r for r in read_journal(path).records if r.start == second.journal_span.start]
    assert there[0].payload == bytes((0x90, 63, 70))
    assert place_in(path.with_name("none"), 0, 1, 0.0) is None
    assert recover(studio) == []
    joined = studio.join_takes(first.id, second.id)
    assert joined.journal_span == span


def test_a_part_that_nobody_kept_is_wiped_with_what_it_came_from_and_its_neighbour_stays(studio: Studio) -> None:
    pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
    take = journalled(studio, [0, 1, 2, 5, 6])
    first, second = studio.split_take(take, 3)
    studio.name_take(first.id, pupil=pip)
    sweep(studio, studio.now() + timedelta(hours=25))
    assert studio.take(first.id).state == "kept" and studio.made_of(first.id) == []
    for gone in (take, second.id):
        with pytest.raises(StudioError, match="erased"):
            studio.take(gone)
    path = journals(studio.folder.journal)[0]
    keys = [r.payload[1] for r in read_journal(path).records if r.kind is Kind.MESSAGE and r.payload[0] == 0x90]
    assert keys == [60, 61, 62]


def test_erasing_a_pupil_leaves_nothing_of_what_was_set_aside(studio: Studio) -> None:
    pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
    take = play(studio, [0, 1, 5, 6])
    first, _ = studio.split_take(take, 2)
    studio.name_take(first.id, pupil=pip)
    studio.erase_pupil(pip)
    with pytest.raises(StudioError, match="erased"):
        studio.take(take)
