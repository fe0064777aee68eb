"""A take beside the playing it was learnt from: its shape, phrase by phrase, and nothing but its shape."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fixtures.make.music import Music, millers_cat
from fixtures.make.player import Planted, play
from keysense.comparing.phrases import LINES, phrase_shapes
from keysense.findings.heard import Heard
from keysense.practice import read_practice

CAT = millers_cat()
MODEL = Planted(ioi_noise=0.03, touch_noise=4, arch=0.25, swell=30)
CHILD = Planted(ioi_noise=0.05, touch_noise=6)


def heard(planted: Planted, seed: int, music: Music = CAT) -> Heard:
    played = play(music, planted, seed)
    return Heard(played.take(), music.target(), played.following(), read_practice())


def words(model: Planted, pupil: Planted, seed: int) -> dict[tuple[int, str], str]:
    return {
        (one.phrase, one.line): one.word for one in phrase_shapes(heard(model, 2 * seed), heard(pupil, 2 * seed + 1))
    }


def shares(model: Planted, pupil: Planted, seeds: int = 25) -> dict[tuple[str, str], float]:
    """How often each line of a phrase is given each word."""
    kept = [(line, word) for s in range(seeds) for (_, line), word in words(model, pupil, s).items()]
    return {key: kept.count(key) / (2 * seeds) for key in kept}


def test_the_model_at_half_the_loudness_and_half_the_pace_has_the_same_shape() -> None:
    model = heard(replace(MODEL, ioi_noise=0.0, touch_noise=0), 1)
    notes = model.take.notes.copy()
    notes["velocity"] //= 2
    notes["onset_s"] *= 2
    notes["release_s"] *= 2
    half = replace(model, take=replace(model.take, notes=notes))
    assert {(one.line, one.word) for one in phrase_shapes(model, half)} == {(line, "same shape") for line in LINES}


def test_a_child_s_smaller_shape_is_the_same_and_an_upside_down_one_is_its_own() -> None:
    along = shares(MODEL, replace(CHILD, arch=0.2, swell=20, tempo_qpm=50, loudness=44))
    against = shares(MODEL, replace(CHILD, arch=-0.3, swell=-30))
    for line in LINES:
        assert along.get((line, "a shape of its own"), 0) <= 0.02
        assert along[line, "same shape"] >= 0.4  # one phrase of 13 notes, one playing
        assert against.get((line, "same shape"), 0) <= 0.02
        assert against[line, "a shape of its own"] >= 0.6


def test_chance_is_given_a_word_on_at_most_one_page_in_twenty() -> None:
    claimed = [{"same shape", "a shape of its own"} & set(words(MODEL, CHILD, s).values()) for s in range(200)]
    assert np.mean([bool(one) for one in claimed]) <= 0.05 + 2 * (0.05 * 0.95 / 200) ** 0.5


def test_where_the_model_itself_has_no_shape_nothing_is_asked() -> None:
    alike = [word for s in range(40) for word in words(CHILD, CHILD, s).values()]
    assert np.mean([word == "no shape to follow" for word in alike]) >= 0.9


def test_one_loudness_and_too_few_notes_are_said() -> None:
    flat = phrase_shapes(heard(MODEL, 1), heard(replace(CHILD, one_velocity=True), 2))
    assert all("one loudness" in one.why for one in flat if one.line == "loudness")
    assert not any("one loudness" in one.why for one in flat if one.line == "time")
    short = CAT.with_phrases((0, 4), (4, 32))
    first = [one for one in phrase_shapes(heard(MODEL, 1, short), heard(CHILD, 2, short)) if one.phrase == 1]
    assert all("and 4 came" in one.why or "and 3 came" in one.why for one in first)


def test_a_lost_place_tells_nothing() -> None:
    lost = heard(CHILD, 1)
    lost = replace(lost, following=replace(lost.following, lost=True))
    assert phrase_shapes(heard(MODEL, 1), lost) == ()


def test_no_figure_of_distance_is_given() -> None:
    kept = phrase_shapes(heard(MODEL, 1), heard(CHILD, 2))[0].to_json()
    assert set(kept) == {"phrase", "bars", "line", "word", "n", "why_missing"}
