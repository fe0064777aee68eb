"""A reading as a whole: its JSON, what a lost place gives, and the way from a real following."""

from __future__ import annotations

import json
import math

import mir_eval
import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Marked, both_hands, five_fingers, millers_cat
from fixtures.make.player import Planted, play
from keysense.errors import NotesError
from keysense.finding import Finding
from keysense.findings import Reading, finding_from_json, look
from keysense.notes import Take
from keysense.practice import read_practice
from keysense.targets.target import Mark, Target
from keysense.units import UNITS
from keysense.words import say_lost

MARKED = both_hands(8).with_marks(
    Marked("crescendo", 0, 16, "c1"), Marked("slur", 0, 7, "s1", "R"), Marked("staccato", 16, 24, "t1", "R"),
    Marked("dynamic", 0, 16, "p1", "", "p"), Marked("dynamic", 16, 40, "f1", "", "f"),
).with_phrases((0, 16), (16, 36))  # fmt: skip
NAMES = {
    "tempo", "drift", "evenness_timing", "evenness_timing_robust", "sd_ioi", "cv_ioi", "evenness_loudness", "rise",
    "loudness_contrast", "overlap", "overlap_ratio", "hold_ratio", "hands_lag", "notes_as_written",
    "notes_other_pitch", "notes_left_out", "notes_extra", "waits", "breath", "breath_time", "breath_air", "goings_back",
    "period_spread", "final_slowing", "rise_top", "slurs_joined", "slur_end", "chord_spread", "melody_lead",
    "melody_lead_loudness", "voicing", "arch_tempo", "arch_loudness", "keys_range", "keys_used",
    "loudness", "loudness_range", "key_overlap", "npvi", "articulated_as_written", "articulated_otherwise",
    "run_unevenness", "run_instability", "pulse_scatter", "key_scatter", "sd_ioi_up", "sd_ioi_down",
    "rise_slope", "rise_order",
}  # fmt: skip


@pytest.fixture(scope="module")
def reading() -> Reading:
    return heard(MARKED, Planted(ioi_noise=0.05, touch_noise=6, hold_noise=0.05, lag_noise_s=0.01))


def walked(value):
    if isinstance(value, dict):
        for inner in value.values():
            yield from walked(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from walked(inner)
    else:
        yield value


def test_every_name_of_the_interface_is_there_with_its_unit(reading: Reading) -> None:
    assert {finding.name for finding in reading.findings} == NAMES
    for finding in reading.findings:
        assert finding.unit in UNITS
        assert finding.value is not None or finding.why_missing
        if finding.value is not None and finding.unit != "count":
            assert finding.low <= finding.value <= finding.high, finding
        if finding.unit == "count":
            assert finding.low is finding.high is None


def test_the_json_is_the_contracts(reading: Reading) -> None:
    kept = json.loads(json.dumps(reading.to_json(take_id="a" * 32, target_id="t1"), allow_nan=False))
    assert list(kept) == ["schema", "keysense", "recipe", "take", "target", "following", "findings"]
    assert kept["schema"] == 1
    assert set(kept["take"]) == {"id", "file", "n", "duration_s"}
    assert set(kept["target"]) == {"id", "title", "kind", "n", "bars", "note_ids"}
    assert isinstance(kept["target"]["kind"], str)
    assert set(kept["following"]) >= {"pairs", "omitted", "passes", "shift_semitones", "tempo_ratio", "confidence"}
    for row in kept["findings"]:
        assert set(row) >= {"name", "value", "unit", "n", "low", "high", "limit", "place"}
        assert set(row["place"]) == {"bars", "hand", "mark"}
        assert ("places" in row) is (row["unit"] == "count")
        assert row["limit"] is None or row["limit"]["side"] in ("max", "min", "both")
    assert not [value for value in walked(kept) if isinstance(value, float) and not math.isfinite(value)]


def test_findings_come_back_from_json(reading: Reading) -> None:
    for finding in reading.findings:
        again = finding_from_json(json.loads(json.dumps(finding.to_json())))
        assert again == finding
        assert again.verdict == finding.verdict


def test_one_finds_by_name_hand_and_mark(reading: Reading) -> None:
    assert reading.one("evenness_timing", "L").place.hand == "L"
    assert reading.one("rise", "L", "c1").place.mark == "c1"
    assert reading.one("rise", mark="nowhere") is None
    assert len(reading.named("evenness_timing")) == 2


def test_a_lost_place_gives_no_findings() -> None:
    rng = np.random.default_rng(5)
    onset = np.sort(rng.uniform(0, 20, 60))
    take = Take.from_notes(onset_s=onset, release_s=onset + 0.2, pitch=rng.integers(30, 100, 60), velocity=[60] * 60)
    reading = look(take, millers_cat().target())
    assert reading.following.lost
    assert reading.findings == ()
    assert reading.contours == ()
    assert reading.to_json()["findings"] == []


def test_a_place_lost_on_the_way_is_told_with_its_bar_and_one_that_never_was_without() -> None:
    rng = np.random.default_rng(3)
    music = both_hands(16)
    played, target = play(music, Planted(), 1), music.target()
    bar = target.notes["bar"][played.row]
    for last in (3, 5):
        took = played.take().notes.copy()
        others = rng.integers(40, 95, np.count_nonzero(bar > last))
        took["pitch"][bar > last] = others
        reading = look(Take(took, played.take().pedals, played.take().meta), target)
        assert reading.following.lost and reading.lost_after_bar == last
        assert f"after bar {last}" in say_lost(reading.why_lost, reading.lost_after_bar)
    took["pitch"] = rng.integers(40, 95, len(took))
    never = look(Take(took, played.take().pedals, played.take().meta), target)
    assert never.following.lost and never.lost_after_bar is None
    assert say_lost(never.why_lost, None).startswith("I lost the place, so")


def test_an_empty_take_is_looked_at_without_harm() -> None:
    empty = Take.from_notes(onset_s=[], release_s=[], pitch=[], velocity=[])
    reading = look(empty, millers_cat().target())
    assert not [finding for finding in reading.findings if finding.value not in (None, 0)]


@pytest.mark.parametrize("planted", [
    Planted(), Planted(up=5), Planted(tempo_qpm=45), Planted(restart=(9, 0)), Planted(left_out=(3, 4, 5)),
    Planted(one_velocity=True), Planted(pedal=True), Planted(other={3: 70, 8: 61}, extra=(12,)),
])  # fmt: skip
def test_a_real_following_gives_what_the_planted_pairs_give(planted: Planted) -> None:
    played = play(millers_cat(), planted, 3)
    ours, given = (
        look(played.take(), played.music.target()),
        look(played.take(), played.music.target(), following=played.following()),
    )
    for name in ("tempo", "evenness_timing", "notes_as_written", "notes_other_pitch", "notes_left_out", "notes_extra"):
        a, b = ours.one(name), given.one(name)
        assert a.value == pytest.approx(b.value, rel=1e-6), name


def test_a_following_of_another_take_or_target_is_refused() -> None:
    whole, short = play(millers_cat(), Planted(), 1), play(millers_cat(), Planted(left_out=(3, 4)), 1)
    target = whole.music.target()
    for take, following in ((whole.take(), short.following()), (short.take(), whole.following())):
        with pytest.raises(NotesError, match="follow"):
            look(take, target, following=following)
    with pytest.raises(NotesError, match="target"):
        look(whole.take(), five_fingers(1).target(), following=whole.following())


def test_marks_of_a_character_are_looked_at_only_when_it_is_asked() -> None:
    played = play(five_fingers(4), Planted(touch_noise=4), 1)
    target = played.music.target().with_marks([Mark("crescendo", 0, 16, "own", "R", layer="sleepy")])
    from keysense.comparing import Character

    plain = look(played.take(), target, following=played.following())
    asked = look(played.take(), target, following=played.following(), character=Character("sleepy"))
    assert plain.one("rise") is None
    assert asked.one("rise", mark="own") is not None
    drawn = Character("bold", marks=(Mark("diminuendo", 0, 16, "bold-1", layer="bold"),))
    assert look(played.take(), target, following=played.following(), character=drawn).one("rise", mark="bold-1")


def test_a_teachers_own_table_moves_the_limit(tmp_path) -> None:
    own = tmp_path / "practice.toml"
    own.write_text("[drift]\nvalue = 1.0\n")
    found = heard(five_fingers(4), Planted(drift=0.05), practice=read_practice(own)).one("drift")
    assert found.limit.value == 1.0
    assert found.verdict == "beyond"


def test_the_shipped_table_says_where_each_row_comes_from() -> None:
    for row in read_practice().rows.values():
        assert row.meaning
        assert row.basis in ("published", "computed", "common practice")
        assert row.basis != "common practice" or row.source.startswith("common practice, no source")
    limited = {finding.name for finding in heard(MARKED, Planted(touch_noise=4)).findings if finding.limit is not None}
    assert {"drift", "evenness_timing", "hands_lag", "rise", "overlap_ratio"} <= limited


def test_a_malformed_value_never_gets_in() -> None:
    with pytest.raises(ValueError, match="unit"):
        Finding("tempo", 1.0, "bpm", 3)  # type: ignore[arg-type]


PITCHES = [60, 62, 64, 65, 67, 65, 64, 62, 60, 60]


def test_notes_counted_beside_mir_evals_onset_score() -> None:
    # computed check value: 10 reference notes against 11 played, one wrong pitch (66), one 60 ms late, one extra 59:
    # precision .7273, recall .8, F .7619 at 50 ms; a follower forgives lateness, so our count is the one at 100 ms
    reference = np.array([[0.5 * k, 0.5 * k + 0.4] for k in range(10)])
    played, pitches = reference.copy(), PITCHES.copy()
    pitches[3] = 66
    played[6] += 0.06
    played = np.vstack([played, [2.25, 2.4]])
    pitches.append(59)

    def hz(midi):
        return mir_eval.util.midi_to_hz(np.array(midi, float))

    def onset_score(tolerance_s):
        # the library's own name for comparing two lists of notes
        return mir_eval.transcription.precision_recall_f1_overlap(
            reference, hz(PITCHES), played, hz(pitches), onset_tolerance=tolerance_s, offset_ratio=None
        )[:3]

    assert onset_score(0.05) == pytest.approx((0.7273, 0.8, 0.7619), abs=1e-4)
    take = Take.from_notes(onset_s=played[:, 0], release_s=played[:, 1], pitch=pitches, velocity=[60] * 11)
    target = Target.from_notes(onset_quarter=np.arange(10.0), duration_quarter=[1.0] * 10, pitch=PITCHES)
    reading = look(take, target)
    assert reading.one("notes_as_written").value == round(onset_score(0.1)[1] * 10) == 9
    assert reading.one("notes_other_pitch").value == 1
    assert reading.one("notes_extra").value == 1
