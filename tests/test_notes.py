"""A take keeps every row it is given, in order, and refuses what cannot be."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keysense.errors import KeysenseError, NotesError
from keysense.notes import PEDAL, Take

times = st.floats(-1e3, 1e4, allow_nan=False)
rows = st.lists(st.tuples(times, times, st.integers(0, 127), st.integers(0, 127)), max_size=40)


def from_rows(notes: list[tuple[float, float, int, int]]) -> Take:
    onset, release, pitch, velocity = (list(column) for column in zip(*notes, strict=True)) if notes else ([],) * 4
    return Take.from_notes(onset_s=onset, release_s=release, pitch=pitch, velocity=velocity)


@given(rows)
def test_rows_are_sorted_stably_and_none_is_lost(notes: list[tuple[float, float, int, int]]) -> None:
    take = from_rows(notes)
    expected = sorted(notes, key=lambda note: note[0])
    heard = [(float(n["onset_s"]), float(n["release_s"]), int(n["pitch"]), int(n["velocity"])) for n in take.notes]
    assert heard == expected


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_times_that_are_no_times_are_refused_with_the_row(bad: float) -> None:
    with pytest.raises(NotesError, match=r"onset_s\[1\]"):
        Take.from_notes(onset_s=[0, bad], release_s=[1, 2], pitch=[60, 62], velocity=[64, 64])


def test_milliseconds_passed_as_seconds_are_guessed() -> None:
    with pytest.raises(NotesError, match="milliseconds"):
        Take.from_notes(onset_s=[0, 90_000_000], release_s=[1, 2], pitch=[60, 62], velocity=[64, 64])


def test_pedals_are_sorted_and_refused_like_notes() -> None:
    def pedalled(rows: object) -> Take:
        return Take.from_notes(onset_s=[0], release_s=[1], pitch=[60], velocity=[64], pedals=rows)  # type: ignore[arg-type]

    moves = [(5.0, 64, 0), (1.0, 64, 127), (3.0, 67, 10)]
    assert pedalled(np.array(moves, PEDAL)).pedals["time_s"].tolist() == [1.0, 3.0, 5.0]
    with pytest.raises(NotesError, match=r"pedals\.time_s\[1\]"):
        pedalled(np.array([(1.0, 64, 127), (np.nan, 64, 0)], PEDAL))
    with pytest.raises(NotesError, match=r"pedals\.value\[0\] is 200"):
        pedalled(np.array([(1.0, 64, 200)], PEDAL))
    for no_pedals in ([1.0, 2.0], "down", moves, np.zeros(2)):
        with pytest.raises(NotesError, match="pedals must be an array of rows"):
            pedalled(no_pedals)


def test_columns_of_unequal_length_are_refused() -> None:
    with pytest.raises(NotesError, match="pitch has 1 rows"):
        Take.from_notes(onset_s=[0, 1], release_s=[1, 2], pitch=[60], velocity=[64, 64])


@pytest.mark.parametrize(("pitch", "velocity"), [([128], [64]), ([60], [-1])])
def test_numbers_midi_does_not_have_are_refused(pitch: list[int], velocity: list[int]) -> None:
    with pytest.raises(NotesError, match="0 to 127"):
        Take.from_notes(onset_s=[0], release_s=[1], pitch=pitch, velocity=velocity)


def test_an_empty_take_lasts_no_time() -> None:
    assert from_rows([]).duration_s == 0.0
    assert len(from_rows([])) == 0


def test_every_error_has_one_root() -> None:
    from keysense import errors

    named = [getattr(errors, name) for name in errors.__all__]
    assert all(issubclass(error, KeysenseError) for error in named)
    assert all(name in (errors.__doc__ or "") for name in errors.__all__)


@pytest.mark.parametrize("pitch", [[np.nan], ["C4"], [61.7], [[60]]])
def test_what_is_no_pitch_is_refused_in_words(pitch: list[object]) -> None:
    with pytest.raises(NotesError, match="pitch"):
        Take.from_notes(onset_s=[0], release_s=[1], pitch=pitch, velocity=[64])  # type: ignore[arg-type]
