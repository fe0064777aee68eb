"""Music with a written repeat: played as written, with the repeat left out, going back and skipping in it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from keysense.following import LiveFollower, follow
from keysense.following.passes import went_back
from keysense.notes import Take
from keysense.targets import read_target
from keysense.targets.target import Target

FORWARD = '<barline location="left"><repeat direction="forward"/></barline>'
BACKWARD = '<repeat direction="backward"/>'


def page(path: Path, bars: Sequence[tuple[Sequence[int], str, str]], beats: int) -> Target:
    """Quarters on the white keys, counted from middle C; a bar: (keys, what stands at its left, and at its right)."""
    parts = []
    for number, (keys, left, right) in enumerate(bars, 0 if len(bars[0][0]) < beats else 1):
        notes = "".join(
            f"<note><pitch><step>{'CDEFGAB'[key % 7]}</step><octave>{4 + key // 7}</octave></pitch>"
            f"<duration>1</duration></note>"
            for key in keys
        )
        meter = f"<time><beats>{beats}</beats><beat-type>4</beat-type></time>"
        first = f"<attributes><divisions>1</divisions>{meter}</attributes>"
        pick_up = ' implicit="yes"' if not number else ""
        closing = f'<barline location="right">{right}</barline>' if right else ""
        parts.append(f'<measure number="{number}"{pick_up}>{"" if parts else first}{left}{notes}{closing}</measure>')
    text = (
        '<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name>P</part-name>'
        f'</score-part></part-list><part id="P1">{"".join(parts)}</part></score-partwise>'
    )
    path.write_text(text)
    return read_target(path)


def played(target: Target, rows: Sequence[int], seed: int, *, pause_at: int = -1) -> Take:
    """These rows one after the other at an uneven pace of 100 quarters a minute."""
    step = 0.6 * np.exp(np.random.default_rng(seed).normal(0, 0.04, len(rows)))
    if pause_at >= 0:
        step[pause_at] += 0.6
    onset = 0.5 + np.cumsum(step)
    return Take.from_notes(
        onset_s=onset, release_s=onset + 0.5, pitch=target.notes["pitch"][rows], velocity=np.full(len(rows), 64)
    )


def repeated_bars(path: Path, seed: int) -> Target:
    """Eight bars of four, played twice, and four more: rows 0 to 31, 32 to 63 and 64 to 79."""
    keys = np.random.default_rng(seed).integers(0, 9, (12, 4)).tolist()
    signs = {0: (FORWARD, ""), 7: ("", BACKWARD)}
    return page(path, [(bar, *signs.get(i, ("", ""))) for i, bar in enumerate(keys)], 4)


@pytest.mark.parametrize(("rows", "back_to"), [([*range(36), *range(48, 80)], None), ([*range(48), *range(40, 80)], 3)])
def test_in_the_second_time_a_skip_is_no_going_back(tmp_path: Path, rows: list[int], back_to: int | None) -> None:
    for seed in range(4):
        target = repeated_bars(tmp_path / "repeated.musicxml", seed)
        pause_at = next(i for i in range(1, len(rows)) if rows[i] != rows[i - 1] + 1)
        following = follow(target, played(target, rows, seed, pause_at=pause_at))
        assert following.pairs["target"].tolist() == rows
        bars = [int(target.notes["bar"][to]) for _, to in went_back(following, target)]
        assert bars == ([] if back_to is None else [back_to])


def with_endings(path: Path, seed: int, pick_up: int) -> Target:
    """In three: a pick-up, six bars played twice with two endings, and eight more. The second time begins 21 on."""
    rng = np.random.default_rng(seed)
    keys = [rng.integers(0, 9, 3).tolist() for _ in range(16)]
    first = '<barline location="left"><ending number="1" type="start"/></barline>'
    second = '<barline location="left"><ending number="2" type="start"/></barline>'
    signs = {
        0: (FORWARD, ""),
        6: (first, f'<ending number="1" type="stop"/>{BACKWARD}'),
        7: (second, '<ending number="2" type="stop"/>'),
    }
    before = [(rng.integers(0, 9, pick_up).tolist(), "", "")] if pick_up else []
    return page(path, before + [(bar, *signs.get(i, ("", ""))) for i, bar in enumerate(keys)], 3)


@pytest.mark.parametrize("pick_up", [0, 1, 2])
@pytest.mark.parametrize("slips", [0, 1])
def test_a_repeat_left_out_is_neither_a_slip_nor_a_jump(tmp_path: Path, pick_up: int, slips: int) -> None:
    for seed in range(6):
        target = with_endings(tmp_path / "endings.musicxml", seed, pick_up)
        ends = pick_up + 18  # the first time without its ending
        rows = [*range(ends), *range(ends + 3 + 18, len(target.notes))]
        assert target.notes["bar"][rows[ends]] == 8
        del rows[ends : ends + slips]  # with the first note of the second ending left out
        following = follow(target, played(target, rows, seed))
        assert following.pairs["target"].tolist() == rows
        assert not following.omitted.size
        assert not went_back(following, target)
        assert following.confidence > 0.9
        whole = follow(target, played(target, range(len(target.notes)), seed))
        assert whole.pairs["target"].tolist() == [*range(len(target.notes))]
        assert len(whole.passes) == 1


def test_a_repeat_without_endings_is_left_out_too_and_live(tmp_path: Path) -> None:
    for seed in range(6):
        target = repeated_bars(tmp_path / "repeated.musicxml", seed)
        rows = [*range(32), *range(64, 80)]
        take = played(target, rows, seed)
        following = follow(target, take)
        assert following.pairs["target"].tolist() == rows
        assert [(p["first_played"], p["last_played"]) for p in following.passes] == [(0, 31), (32, 47)]
        live = LiveFollower(target)
        places = [live.hear(float(press["onset_s"]), int(press["pitch"])).target for press in take.notes]
        assert places[36:] == rows[36:]
