"""Signs of loudness between the staves of a piano are for both hands, unless the lower staff has its own."""

from __future__ import annotations

from fixtures.scores.text import Score
from fixtures.scores.writing import musicxml
from keysense.targets.target import Target
from tests.targets.pages import target_from, target_of

LOUDNESS = [
    "{p} C4 D4 E4 F4 | {<} G4 F4 E4 D4 {!} | {f} C4 D4 E4 F4 | C4:4",
    "C3:2 G3:2 | C3:2 G3:2 | C3:2 G3:2 | C3:4",
]


def loudness(target: Target) -> list[tuple[str, str, float, float]]:
    return [
        (m.kind, m.hand, m.start_quarter, m.end_quarter) for m in target.marks if m.kind in ("dynamic", "crescendo")
    ]


def test_loudness_between_the_staves_is_for_both_hands() -> None:
    both = [("dynamic", "", 0, 8), ("crescendo", "", 4, 8), ("dynamic", "", 8, 16)]
    assert loudness(target_of(Score("Between", LOUDNESS))) == both
    above = musicxml(Score("Above", LOUDNESS)).replace('placement="below"', 'placement="above"')
    assert loudness(target_from(above)) == [(kind, "R", start, end) for kind, _, start, end in both]


def test_the_lower_staff_keeps_loudness_of_its_own() -> None:
    own = [LOUDNESS[0], "{mf} C3:2 G3:2 | C3:2 G3:2 | {p} C3:2 G3:2 | C3:4"]
    assert loudness(target_of(Score("Own", own))) == [
        ("dynamic", "R", 0, 8), ("dynamic", "L", 0, 8), ("crescendo", "R", 4, 8), ("dynamic", "R", 8, 16),
        ("dynamic", "L", 8, 16),
    ]  # fmt: skip
    doubled = [LOUDNESS[0], "{p} C3:2 G3:2 | C3:2 G3:2 | C3:2 G3:2 | C3:4"]  # said twice once, then meant for both
    assert loudness(target_of(Score("Doubled", doubled))) == [
        ("dynamic", "R", 0, 8), ("dynamic", "L", 0, 8), ("crescendo", "", 4, 8), ("dynamic", "", 8, 16),
    ]  # fmt: skip
