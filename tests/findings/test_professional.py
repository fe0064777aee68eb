"""One professional take that a registry package ships, with its own alignment, as a check from outside.

Source: parangonar 3.4.0, ``assets/mozart_k265_var1.match`` (218 written notes, 219 key presses, pedal), read through
partitura. What is compared is worked out here from partitura's own columns, never by keysense. Computed, not published.
"""

from __future__ import annotations

import importlib.util
import warnings
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from keysense.findings import Reading, look
from keysense.following.following import PAIR, Following
from keysense.notes import PEDAL, Take
from keysense.targets.target import Mark, Target


@dataclass(frozen=True)
class Shipped:
    """The take and its score as keysense takes them, the shipped pairs, and partitura's columns."""

    take: Take
    target: Target
    following: Following
    written: np.ndarray
    onset_s: np.ndarray
    key_up_s: np.ndarray
    pedalled_s: np.ndarray
    period_s: float
    labels: list[str]


@cache
def shipped() -> Shipped:
    spec = importlib.util.find_spec("parangonar")
    assert spec is not None and spec.origin is not None, "pip install parangonar==3.4.0 tqdm"
    path = Path(spec.origin).parent / "assets" / "mozart_k265_var1.match"
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # partitura and what it imports warn of their own ways
        import partitura
        from partitura.musicanalysis import encode_performance

        performance, alignment, score = partitura.load_match(str(path), create_score=True)
        part, played = score[0], performance[0]
        pedalled = played.note_array()["duration_sec"].astype(float)
        played.sustain_pedal_threshold = 128  # else "duration_sec" holds notes on with the pedal
        parameters, _ = encode_performance(score, performance, alignment)
    written = part.note_array(include_staff=True)
    notes = sorted(played.notes, key=lambda note: note["note_on"])
    bars = [float(part.quarter_map(bar.start.t)) for bar in part.iter_all(partitura.score.Measure)]
    # the page has no slurs: runs of sixteenths stand in for them
    slurs = [Mark("slur", start, start + 3.75, f"s{start}", "R") for start in (0.0, 16.0, 32.0)]
    target = Target.from_notes(
        onset_quarter=written["onset_quarter"], duration_quarter=written["duration_quarter"], pitch=written["pitch"],
        hand=["R" if staff == 1 else "L" for staff in written["staff"]], id=written["id"].tolist(), bars_quarter=bars,
        marks=slurs,
    )  # fmt: skip
    pedals = np.array([(c["time"], c["number"], c["value"]) for c in played.controls], PEDAL)
    onset, release = (np.array([note[key] for note in notes], float) for key in ("note_on", "note_off"))
    take = Take.from_notes(onset_s=onset, release_s=release, pitch=[note["midi_pitch"] for note in notes],
                           velocity=[note["velocity"] for note in notes], pedals=pedals)  # fmt: skip
    rows = {str(note_id): row for row, note_id in enumerate(target.notes["id"])}
    presses = {str(note["id"]): k for k, note in enumerate(notes)}
    pairs = sorted(
        (presses[a["performance_id"]], rows[a["score_id"]] if a["label"] == "match" else -1)
        for a in alignment if "performance_id" in a
    )  # fmt: skip
    following = Following(
        np.array([(k, row, 0, "match" if row >= 0 else "extra", 1.0) for k, row in pairs], PAIR),
        np.zeros(0, np.int32), [], {}, None, 1.0, False,
    )  # fmt: skip
    of_row = np.full(len(rows), -1)
    for k, row in pairs:
        if row >= 0:
            of_row[row] = k
    order = [of_row[row] for row in range(len(rows))]
    ids = [str(note["id"]) for note in played.notes]
    pedalled_by = dict(zip(ids, pedalled, strict=True))
    held = np.array([pedalled_by[str(note["id"])] for note in notes])
    return Shipped(take, target, following, target.notes, onset[order], release[order], onset[order] + held[order],
                   float(np.median(parameters["beat_period"])), [a["label"] for a in alignment])  # fmt: skip


@cache
def followed() -> Reading:
    return look(shipped().take, shipped().target)


@cache
def given() -> Reading:
    return look(shipped().take, shipped().target, following=shipped().following)


def test_every_note_is_found_and_the_one_extra_too() -> None:
    labels = shipped().labels
    assert (labels.count("match"), labels.count("insertion")) == (218, 1)
    reading = followed()
    assert reading.one("notes_as_written").value == 218
    assert reading.one("notes_other_pitch").value == reading.one("notes_left_out").value == 0
    assert reading.one("notes_extra").value == 1


def test_our_pairs_are_the_shipped_pairs() -> None:
    ours = {(int(p["played"]), int(p["target"])) for p in followed().following.pairs if p["target"] >= 0}
    theirs = {(int(p["played"]), int(p["target"])) for p in shipped().following.pairs if p["target"] >= 0}
    assert len(ours & theirs) >= 216


def test_the_tempo_is_partituras_median_beat_period() -> None:
    # partitura takes a median over beats, ours a mean over all steps but the last bar's
    assert followed().one("tempo").value == pytest.approx(60 / shipped().period_s, rel=0.03)


def _pedalled(start: float) -> np.ndarray:
    """Whether the controller was down as the key came up, or as the next one went down, of the same steps."""
    s = shipped()
    sustain = sorted((float(t), int(v)) for t, c, v in s.take.pedals.tolist() if c == 64)

    def down(time: float) -> bool:
        return next((v for t, v in reversed(sustain) if t <= time), 0) >= 64

    return np.array([down(s.key_up_s[a]) or down(s.onset_s[b] - 0.02) for a, b in _joined(start)])


def _overlaps(start: float, release_s: np.ndarray) -> np.ndarray:
    """Overlaps of the sixteenths of a run, worked out note by note from partitura's columns."""
    return np.array([release_s[a] - shipped().onset_s[b] for a, b in _joined(start)])


def _joined(start: float) -> list[tuple[int, int]]:
    """Rows of two neighbouring sixteenths of a run that are not the same key."""
    s = shipped()
    run = [
        k for k, note in enumerate(s.written)
        if note["hand"] == "R" and note["duration_quarter"] == 0.25 and start <= note["onset_quarter"] <= start + 3.75
    ]  # fmt: skip
    run.sort(key=lambda k: s.written["onset_quarter"][k])
    onset, pitch = s.written["onset_quarter"], s.written["pitch"]
    return [(a, b) for a, b in pairwise(run) if onset[b] - onset[a] == 0.25 and pitch[a] != pitch[b]]


@pytest.mark.parametrize("start", [0.0, 16.0, 32.0])
def test_overlap_under_a_run_is_that_of_its_keys_and_never_the_pedals(start: float) -> None:
    found = given().one("overlap", "R", f"s{start}")
    keys, down = 1000 * _overlaps(start, shipped().key_up_s), _pedalled(start)
    assert found.n == np.count_nonzero(~down)  # steps with the pedal down are not judged
    assert found.value == pytest.approx(np.median(keys[~down]), abs=1e-6)
    every = np.concatenate([1000 * _overlaps(at, shipped().key_up_s) for at in (0.0, 16.0, 32.0)])
    alone = given().one("key_overlap", "R")
    assert (alone.n, alone.value) == (len(every), pytest.approx(np.median(every), abs=1e-6))


def test_partituras_own_durations_hold_notes_on_with_the_pedal() -> None:
    # the trap: note_array()["duration_sec"] includes the pedal unless sustain_pedal_threshold is 128
    s = shipped()
    assert np.count_nonzero(s.pedalled_s > s.key_up_s + 0.01) > 10


def test_the_hands_lag_is_that_of_the_onsets() -> None:
    s = shipped()
    lags = []
    for quarter in np.unique(s.written["onset_quarter"]):
        at = s.written["onset_quarter"] == quarter
        right, left = (s.onset_s[at & (s.written["hand"] == hand)] for hand in ("R", "L"))
        if len(right) and len(left):
            lags.append(1000 * (left.mean() - right.mean()))
    found = given().one("hands_lag")
    assert found.n == len(lags)
    assert found.value == pytest.approx(np.median(lags), abs=1e-6)


def test_velocity_by_hand_is_that_of_the_keys() -> None:
    velocity, hand = _velocity_of_rows(), shipped().written["hand"]
    for contour in given().contours:
        assert sorted(contour.velocity.tolist()) == sorted(velocity[hand == contour.hand].tolist())
        found = given().one("loudness", contour.hand)
        assert found.n == np.count_nonzero(hand == contour.hand)
        assert found.value == pytest.approx(velocity[hand == contour.hand].mean())


def _velocity_of_rows() -> np.ndarray:
    rows = {int(p["target"]): int(p["played"]) for p in shipped().following.pairs if p["target"] >= 0}
    return np.array([float(shipped().take.notes["velocity"][rows[k]]) for k in range(len(shipped().written))])


def _together() -> list[np.ndarray]:
    """Rows of partitura's columns that are written on one onset, two or more."""
    onset = shipped().written["onset_quarter"]
    groups = [np.flatnonzero(onset == quarter) for quarter in np.unique(onset)]
    return [group for group in groups if len(group) > 1]


def test_chords_spread_as_their_onsets_do() -> None:
    s = shipped()
    spread = [1000 * np.ptp(s.onset_s[group]) for group in _together()]
    found = given().one("chord_spread")
    assert found.n == len(spread)
    assert found.value == pytest.approx(np.median(spread), abs=1e-6)
    assert found.value < 69  # computed: the 95th percentile of 12,323 professional chords


def _sung(group: np.ndarray) -> int | None:
    right = [k for k in group if shipped().written["hand"][k] == "R"]
    return max(right, key=lambda k: shipped().written["pitch"][k]) if right else None


def test_the_melody_leads_as_its_onsets_do() -> None:
    # published: Goebl 2001, about 30 ms and mostly of velocity; here only that ours is what the onsets say
    s, lead, louder = shipped(), [], []
    velocity = _velocity_of_rows()
    for group in _together():
        top = _sung(group)
        if top is not None:
            others = [k for k in group if k != top]
            lead.append(1000 * (s.onset_s[others].mean() - s.onset_s[top]))
            louder.append(velocity[top] - velocity[others].mean())
    found = given().one("melody_lead")
    assert found.n == len(lead)
    assert found.value == pytest.approx(np.median(lead), abs=1e-6)
    assert given().one("melody_lead_loudness").value == pytest.approx(np.median(louder), abs=1e-6)


def test_the_melody_stands_out_as_its_velocities_do() -> None:
    s = shipped()
    velocity, onset = _velocity_of_rows(), s.written["onset_quarter"]
    sung = {_sung(np.flatnonzero(onset == quarter)) for quarter in np.unique(onset)} - {None}
    is_sung = np.isin(np.arange(len(onset)), list(sung))
    assert given().one("voicing").value == pytest.approx(velocity[is_sung].mean() - velocity[~is_sung].mean(), abs=1e-6)


def test_the_spread_of_the_period_is_that_of_the_onsets() -> None:
    from scipy.stats import median_abs_deviation

    s = shipped()
    quarters = np.unique(s.written["onset_quarter"])
    first = np.array([s.onset_s[s.written["onset_quarter"] == quarter].min() for quarter in quarters])
    period = np.diff(first) / np.diff(quarters)
    theirs = 100 * median_abs_deviation(period, scale="normal") / np.median(period)
    assert given().one("period_spread").value == pytest.approx(theirs, rel=1e-5)  # 1.4826 is rounded


def test_the_pedal_moves_when_its_controller_does() -> None:
    # published: Repp 1996: neither constant in ms nor proportional to tempo, so there is no limit
    s = shipped()
    sustain = [(float(t), int(v)) for t, c, v in s.take.pedals.tolist() if c == 64]
    turns = [(t, v >= 64) for (t, v), before in zip(sustain, [0, *(v for _, v in sustain)], strict=False)
             if (v >= 64) != (before >= 64)]  # fmt: skip
    onset = s.take.notes["onset_s"]
    for name, way in (("pedal_press", True), ("pedal_release", False)):
        after = [1000 * (t - onset[np.argmin(np.abs(onset - t))]) for t, down in turns if down is way]
        found = given().one(name)
        assert found.n == sum(abs(value) <= 1000 for value in after)
        if found.value is None:
            assert found.n < 6
        else:
            assert found.value == pytest.approx(np.median([v for v in after if abs(v) <= 1000]), abs=1e-6)
        assert found.limit is None
    down = sum(end - start for (start, is_down), (end, _) in pairwise(turns) if is_down)
    share = given().one("pedal_share").value
    assert share == pytest.approx(100 * down / s.take.duration_s, abs=3)
