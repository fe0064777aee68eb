"""What happens in the invented studio: who plays what, when, and how. Every name and tune is our own.

Studio: the Tallow Bridge Music Room. Nothing here says what keysense is to hear; that comes out of the playing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from keysense.demo.performer import Playing

__all__ = ["LAST_WEEK", "MODEL", "PIECES", "PUPILS", "TODAY", "WARMUP", "WEEKS", "Scene", "warmup_playing"]

PUPILS = {"Juno": "her mother", "Marek": "his father", "Pip": "his grandmother", "Odile": "her father"}
"""Nickname -> who agreed. Pip's sister Wren is five and has no agreement: what she plays is not kept."""

PIECES = {
    "The Miller’s Cat": "millers_cat",
    "Snail at the Gate": "snail_at_the_gate",
    "Gate Posts": "gate_posts",
    "Three Doors, the first": "three_doors_1",
    "Three Doors, the second": "three_doors_2",
    "Three Doors, the third": "three_doors_3",
    "Up and Down the Stairs": "up_and_down_the_stairs",
}
"""Title -> score among the demo's scores. Ferry Bell has none: it is learnt by ear."""

WARMUP = "Up and Down the Stairs"
WEEKS = 10
TAKES_A_WEEK = 3


@dataclass(frozen=True)
class Scene:
    """One playing: what the teacher typed (nothing: it stays unnamed), the tune, and the way it is played."""

    says: str
    tune: str
    playing: Playing
    told: str
    cable_out_s: float | None = None


_SLEEPY = Playing(
    tempo_qpm=68, loudness=[(0, 36), (5, 42), (15, 34), (16, 36), (23, 78), (28, 54), (32, 38)], hold=1.06,
    unsteady=0.035, touch_spread=2.0, breaths={16.0: 0.45},
)  # fmt: skip
_PROUD = Playing(
    tempo_qpm=112, loudness=[(0, 88), (24, 94), (32, 92)], hold=0.5, unsteady=0.025, touch_spread=4.0,
)  # fmt: skip

MODEL = (
    Playing(tempo_qpm=88, loudness=[(0, 60), (6, 70), (12, 56)], unsteady=0.015, touch_spread=2.0),
    Playing(tempo_qpm=88, loudness=[(0, 62), (6, 72), (12, 58)], unsteady=0.015, touch_spread=2.0),
)
"""The teacher plays Ferry Bell in twice."""

_STANDING = replace(_SLEEPY, waits={29: 1.4})  # before the second quarter of bar 6

LAST_WEEK = (
    Scene("pip millers cat sleepy", "millers_cat", _STANDING, "Pip tries the cat asleep; in bar 6 it stands still."),
    Scene("pip cat sleepy", "millers_cat", _STANDING, "Once more, and again in bar 6."),
    Scene("pip cat sleepy", "millers_cat", _STANDING, "And a third time."),
    Scene("pip cat sleepy", "millers_cat", _STANDING, "And a fourth."),
    Scene(
        "odile three doors the second, first sight", "three_doors_2",
        Playing(58, [(0, 58), (16, 60)], unsteady=0.07, touch_spread=5.0, waits={9: 1.4}),
        "Odile reads a card at first sight, and waits before a leap.",
    ),
    Scene(
        "odile three doors the third, first sight", "three_doors_3",
        Playing(58, [(0, 60), (16, 58)], unsteady=0.07, touch_spread=5.0, waits={9: 1.2}),
        "And another card.",
    ),
)  # fmt: skip

TODAY = (
    Scene("pip millers cat sleepy", "millers_cat", _SLEEPY, "Pip plays the cat asleep."),
    Scene("pip cat prowd", "millers_cat", _PROUD, "And the same tune, proud (the name is misspelt)."),
    Scene(
        "juno snail", "snail_at_the_gate",
        Playing(72, [(0, 58), (8, 52)], unsteady=0.05, touch_spread=5.0), "Juno plays a tune of eight notes.",
    ),
    Scene(
        "marek ferry bell by ear", "ferry_bell",
        Playing(84, [(0, 54), (6, 74), (12, 50)], unsteady=0.04, touch_spread=4.0),
        "Marek plays Ferry Bell by ear; there is no score, only the teacher's own playing.",
    ),
    Scene(
        "odile three doors the first, first sight", "three_doors_1",
        Playing(60, [(0, 60), (16, 58)], unsteady=0.08, touch_spread=5.0, waits={4: 1.3, 12: 1.1}, other={7: 62},
                goes_back=(9, 8)),
        "Odile plays at first sight: she waits, another note sounds, she goes back.",
    ),
    Scene(
        "pip cat", "millers_cat", Playing(92, [(0, 80), (32, 80)], one_loudness=True),
        "The piano's touch is switched off: every key sends one loudness.",
    ),
    Scene(
        "marek gate posts", "gate_posts", Playing(60, [(0, 62), (16, 66)], left_late_ms=0.0, unsteady=0.03),
        "The cable comes out in the middle, and is put back.", cable_out_s=9.0,
    ),
)  # fmt: skip


def warmup_playing(week: int) -> Playing:
    """Juno's warm-up in one week (0 the first): the same pace, the steps a little more even each time."""
    return Playing(
        tempo_qpm=80, loudness=[(0, 58), (8, 66), (16, 58)], unsteady=0.16 - 0.01 * week, touch_spread=6.0 - 0.25 * week
    )
