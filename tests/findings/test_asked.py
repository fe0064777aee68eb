"""Where character and page ask for different touches, the character is asked: in one take as between two."""

from __future__ import annotations

import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Marked, five_fingers
from fixtures.make.player import Planted
from keysense.comparing import Character, compare
from keysense.findings import Reading

SLURS = [Marked("slur", 8.0 * k, 8.0 * k + 7, f"slur-{k}", "R") for k in range(3)]
DOTS = [Marked("staccato", 24.0 + k, 24.0 + k, f"dot-{k}", "R") for k in range(8)]
MUSIC = five_fingers(5).with_marks(*SLURS, *DOTS)
APART, JOINED = (Character(touch, wishes={"touch": touch}) for touch in ("apart", "joined"))
NOISE = {"ioi_noise": 0.03, "touch_noise": 4, "hold_noise": 0.04}
LET_GO = Planted(**NOISE, hold=0.5, overlap_s=-0.3)
HELD = Planted(**NOISE, hold=0.98, overlap_s=0.03)


def asked(reading: Reading) -> set[str]:
    return {f.name for f in reading.findings if f.name in ("overlap_ratio", "hold_ratio") and f.limit is not None}


@pytest.mark.parametrize(("character", "names"), [
    (None, {"overlap_ratio", "hold_ratio"}), (APART, {"hold_ratio"}), (JOINED, {"overlap_ratio"}),
    (Character("loud", wishes={"loudness": "louder"}), {"overlap_ratio", "hold_ratio"}),
], ids=["nobody", "apart", "joined", "of touch nothing"])  # fmt: skip
def test_the_wish_stands_above_what_is_printed_against_it(character: Character | None, names: set[str]) -> None:
    assert asked(heard(MUSIC, LET_GO, 1, character=character)) == names


def test_one_touch_has_one_verdict_in_the_take_and_between_two_takes() -> None:
    joined, apart = heard(MUSIC, HELD, 1, character=JOINED), heard(MUSIC, LET_GO, 2, character=APART)
    touch = compare(joined, apart, wants_a=JOINED, wants_b=APART).one("touch")
    assert (touch.wish, touch.outcome) == ("apart", "asked and heard")
    judged = [f for reading in (joined, apart) for name in ("overlap_ratio", "hold_ratio") for f in reading.named(name)]
    assert judged and all(f.verdict != "beyond" for f in judged)
    assert any(f.verdict == "beyond" for f in heard(MUSIC, LET_GO, 2).named("overlap_ratio"))


def test_marks_of_the_characters_own_are_always_asked() -> None:
    own = Character("apart", wishes={"touch": "apart"}, marks=(MUSIC.target().marks[0],))
    assert "overlap_ratio" in asked(heard(MUSIC, LET_GO, 1, character=own))
