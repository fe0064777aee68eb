"""Paper under the music: where it lies, and what of it is drawn on which line."""

from __future__ import annotations

import re

import numpy as np
import pytest

from keysense.engraving import engrave
from keysense.plots.asked import paper_under
from keysense.plots.tune import drawn_lines
from keysense.targets import read_target
from keysense.targets.marking import Marking, marked
from keysense.targets.target import Mark, Target


@pytest.fixture(scope="module")
def cat() -> Target:
    from fixtures.studio_for_pages import SCORES

    return read_target(SCORES / "millers_cat.musicxml")


def xs(drawn: str) -> list[float]:
    return [float(x) for d in re.findall(r' d="([^"]+)"', drawn) for x in re.findall(r"[ML]([\d.]+)", d)]


def test_a_hairpin_over_two_lines_opens_on_the_first_and_goes_on_on_the_second(cat: Target) -> None:
    target = marked(cat, [Marking("crescendo", (3, 1.0), (6, 2.0))])
    lines = engrave(cat, width=1440, bars_a_line=4).systems
    first, second = (paper_under(target, line).split("it grows")[1] for line in lines)
    heights = [
        [float(v) for v in re.findall(r"M[\d.]+ ([\d.]+)L[\d.]+ ([\d.]+)V", drawn)[0]] for drawn in (first, second)
    ]
    middle = [line.height + 23 for line in lines]
    opening = [[m - top for top in pair] for m, pair in zip(middle, heights, strict=True)]
    assert opening[0][0] == pytest.approx(2, abs=0.2) and opening[1][1] == pytest.approx(18, abs=0.2)
    assert opening[0][0] < opening[0][1] <= opening[1][0] < opening[1][1]
    third_bar = target.notes["id"][target.notes["bar"] == 3][0]
    assert min(xs(first)) == pytest.approx(lines[0].note_x[str(third_bar)] - 10, abs=0.2)


def test_what_the_page_prints_itself_is_not_drawn_again(cat: Target) -> None:
    target = marked(cat, [Marking("diminuendo", (1, 1.0), (2, 1.0))])
    (mark,) = [mark for mark in target.marks if mark.kind == "diminuendo"]
    line = engrave(cat, width=1440, bars_a_line=4).systems[0]
    assert "it fades" in paper_under(target, line) and "it fades" not in paper_under(target, line, engraved={mark.id})


def test_a_slur_of_a_character_is_a_bow_of_paper_from_its_first_note_to_its_last(cat: Target) -> None:
    ids = [str(id_) for id_ in cat.notes["id"][(cat.notes["hand"] == "R") & (cat.notes["bar"] <= 6)]]
    slur = Mark("slur", 0.0, 23.0, "s1", hand="R", layer="sleepy", note_ids=tuple(ids))
    target = cat.with_marks([*cat.marks, slur])
    first, second = engrave(cat, width=1440, bars_a_line=4).systems
    assert paper_under(target, first, layer="proud") == paper_under(cat, first)
    here, goes_on = (paper_under(target, line, layer="sleepy") for line in (first, second))
    assert "joined" in here and "joined" in goes_on
    begins = [float(x) for x in re.findall(r"M([\d.]+) [-\d.]+Q", here + goes_on)]
    ends = [float(x) for x in re.findall(r"Q[-\d.]+ [-\d.]+ ([\d.]+) [-\d.]+Q", here + goes_on)]
    assert begins[0] == pytest.approx(first.note_x[ids[0]], abs=0.1) and ends[0] == first.width - 4
    assert begins[1] < min(second.note_x.values()) and ends[1] == pytest.approx(second.note_x[ids[-1]], abs=0.1)


def test_the_end_of_a_phrase_lies_between_its_last_note_and_the_next(cat: Target) -> None:
    target = marked(cat, [Marking("phrase", (2, 3.0), (2, 3.0), "sleepy", "R")])
    line = engrave(cat, width=1440, bars_a_line=4).systems[0]
    assert paper_under(target, line, layer="proud") == paper_under(cat, line)
    drawn = paper_under(target, line, layer="sleepy").replace(paper_under(cat, line), "")
    last = target.notes["id"][(target.notes["bar"] == 2) & (target.notes["hand"] == "R")][-1]
    following = target.notes["id"][(target.notes["bar"] == 3) & (target.notes["hand"] == "R")][0]
    assert line.note_x[str(last)] < min(xs(drawn)) and max(xs(drawn)) < line.note_x[str(following)]


def test_a_tune_without_a_page_has_a_place_for_every_note_of_its_lines() -> None:
    tune = Target.from_notes(
        onset_quarter=[0, 0, 1, 2, 3, 4, 4, 5], duration_quarter=np.ones(8), pitch=[60, 40, 62, 64, 65, 67, 43, 72],
        hand=["R", "L", "R", "R", "R", "R", "L", "R"],
    )  # fmt: skip
    (first, second) = drawn_lines(tune, "Tune", width=400, bars_a_line=1)
    assert set(first.note_x) == {"n0", "n1", "n2", "n3", "n4"} and set(second.note_x) == {"n5", "n6", "n7"}
    assert first.note_x["n0"] == first.note_x["n1"] and first.note_y["n0"] < first.note_y["n1"]
    assert first.note_x["n0"] < first.note_x["n2"] < first.note_x["n3"] < first.note_x["n4"]
    disc = paper_under(marked(tune, [Marking("guide", (1, 1.0), (1, 1.0), pitch=40)]), first)
    assert f'cy="{first.note_y["n1"]:g}"' in disc.replace('.0"', '"')
